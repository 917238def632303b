package web

import (
	"fmt"
	"net/http"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

// The desk's own addresses: a body is judged before it is kept, figures add up over answers, what two people wrote is shown.
func TestDeskScreensOverHTTP(t *testing.T) {
	f := newFixture(t)
	desk := f.person("Olu Park", claims.Office)

	t.Run("AnEntryIsJudgedAndNotKept", func(t *testing.T) {
		for _, c := range []struct {
			kind, body, where string
		}{
			{"coverage", `{"submitDays":30}`, ""},
			{"coverage", `{"submitDays":9999}`, "body.submitDays"},
			{"coverage", `{"purchased":"2026-02-30"}`, "body.purchased"},
			{"coverage", `{"terms":[{"for":"drive","parts":12},{"for":"drive","parts":24}]}`, "body.terms"},
			{"payment", `{"from":"payer","amount":{"minor":100,"currency":"USD"},"lines":[{"line":"labour","minor":90}]}`, "body.lines"},
			{"settle", `{"outcome":"written-off"}`, "body.reason"},
			{"answer", `{"outcome":"refused","reason":"No Reason"}`, "body.reason"},
			{"something-new", `{"x":1}`, ""},
		} {
			t.Run(c.kind+" "+c.body, func(t *testing.T) {
				res := desk.do(http.MethodPost, "/entries/check", []byte(fmt.Sprintf(`{"kind":%q,"body":%s}`, c.kind, c.body)), header{"Content-Type": "application/json"})
				if c.where == "" {
					require.Equal(t, http.StatusNoContent, res.status, res.text())
					return
				}
				assert.Equal(t, c.where, res.problem(http.StatusUnprocessableEntity, claims.Invalid).Where)
			})
		}
		assert.Empty(t, desk.do(http.MethodGet, "/jobs", nil).json()["jobs"])
		desk.lax().do(http.MethodPost, "/entries/check", []byte(`{"kind":"note"}`), header{"Content-Type": "application/json"}).problem(http.StatusUnprocessableEntity, claims.Invalid)
	})

	t.Run("FiguresAndClashes", func(t *testing.T) {
		job := f.openJob(desk, 1)
		money := desk.do(http.MethodGet, "/figures/money", nil).json()
		assert.EqualValues(t, 1, money["jobs"])
		found := desk.do(http.MethodGet, "/figures/found?since="+f.clock.now().Add(-48*time.Hour).Format(time.DateOnly), nil).json()
		assert.EqualValues(t, 1, found["jobs"])
		assert.Empty(t, desk.do(http.MethodGet, "/jobs/"+job+"/clashes", nil).json()["clashes"])
		assert.Equal(t, "since", desk.do(http.MethodGet, "/figures/found?since=monday", nil).problem(http.StatusUnprocessableEntity, claims.Invalid).Where)
		desk.do(http.MethodGet, "/figures/money?cursor=nowhere", nil).problem(http.StatusUnprocessableEntity, claims.Invalid)
		desk.do(http.MethodGet, "/jobs/"+newID()+"/clashes", nil).problem(http.StatusNotFound, claims.NotFound)
		assert.Len(t, desk.do(http.MethodGet, "/jobs?key=state&value=open", nil).json()["jobs"], 1)
		assert.Len(t, desk.do(http.MethodGet, "/jobs?key=undated&value=gathering", nil).json()["jobs"], 1)
		assert.Empty(t, desk.do(http.MethodGet, "/jobs?key=due&value=return", nil).json()["jobs"])
	})
}
