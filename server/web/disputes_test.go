package web

import (
	"bytes"
	"context"
	"encoding/xml"
	"io"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
	"kickplate/claims/bundle"
)

// disputedJob is a job with damage pictured before work, work, and an allegation a week later.
func disputedJob(t *testing.T, f *fixture, desk *client) (job, allegation, before, after string) {
	t.Helper()
	job = f.openJob(desk, 7)
	keep := func(kind string, body any) string {
		f.clock.move(2 * time.Minute)
		e := f.entry(job, kind, body, func(m map[string]any) { m["clock"] = map[string]any{"offsetMs": 0, "uncertaintyMs": 40} })
		res := desk.do(http.MethodPost, "/entries", batch(e))
		require.Equal(t, http.StatusOK, res.status, res.text())
		return res.json()["results"].([]any)[0].(map[string]any)["id"].(string)
	}
	shot := func(seed int, subject, area string) string {
		data := photo(t, seed)
		desk.upload(data)
		body := photoBody(data, subject)
		body["area"] = area
		return keep("photo", body)
	}
	keep("customer", map[string]any{"name": "Ida Fenn", "phone": "555-0142"})
	keep("arrive", map[string]any{})
	before = shot(70, "damage-close", "freezer liner, left wall")
	keep("damage", map[string]any{"area": "freezer-liner-left-wall", "kind": "melted", "seen": "on-arrival", "widthMm": "60", "heightMm": "25", "scale": "ruler", "photos": []string{before}})
	keep("damage", map[string]any{"area": "floor", "kind": "none", "seen": "on-arrival"})
	keep("work-start", map[string]any{})
	after = shot(71, "work-area", "freezer liner, left wall")
	keep("work-finish", map[string]any{})
	keep("leave", map[string]any{})
	f.clock.move(7 * 24 * time.Hour)
	allegation = keep("allege", map[string]any{"area": "freezer liner, left wall", "kind": "melted", "words": "You melted it.", "by": "Ida Fenn", "how": "e-mail",
		"replyBy": f.clock.now().AddDate(0, 0, 6).Format(time.DateOnly), "amount": map[string]any{"minor": 78000, "currency": "USD"}})
	return job, allegation, before, after
}

// The desk's way with an allegation: what is on record, the drawing, the letter, the offer and its release.
func TestDisputeOverHTTP(t *testing.T) {
	f := newFixture(t)
	desk := f.person("Olu Park", claims.Office)
	job, allegation, before, after := disputedJob(t, f, desk)
	v := desk.do(http.MethodGet, "/jobs/"+job+"/disputes", nil).json()
	list := v["allegations"].([]any)
	require.Len(t, list, 1)
	a := list[0].(map[string]any)
	assert.Equal(t, "open", a["state"])
	assert.Equal(t, "shown-before", a["finding"].(map[string]any)["outcome"])
	pair := a["pairs"].([]any)[0].(map[string]any)
	assert.Equal(t, []any{before, after}, []any{pair["before"], pair["after"]})
	assert.Len(t, v["condition"], 2)
	require.Len(t, v["proof"], 3)
	assert.Equal(t, "receipt", v["proof"].([]any)[1].(map[string]any)["order"].(map[string]any)["by"])

	svg := desk.do(http.MethodGet, "/jobs/"+job+"/timeline.svg", nil)
	assert.Equal(t, "image/svg+xml", svg.header.Get("Content-Type"))
	dec := xml.NewDecoder(strings.NewReader(svg.text()))
	for {
		if _, err := dec.Token(); err == io.EOF {
			break
		} else {
			require.NoError(t, err)
		}
	}
	letter := desk.do(http.MethodGet, "/jobs/"+job+"/disputes/letter?allegation="+allegation, nil).json()
	assert.Contains(t, letter["letter"], "Dear Ida Fenn,")
	assert.Equal(t, []any{allegation}, letter["allegations"])
	desk.do(http.MethodGet, "/jobs/"+job+"/disputes/letter?allegation="+newID(), nil).problem(http.StatusNotFound, claims.NotFound)

	due := desk.do(http.MethodGet, "/due", nil).json()["due"].([]any)
	require.Len(t, due, 1)
	assert.Equal(t, "answer-customer", due[0].(map[string]any)["code"])
	assert.EqualValues(t, 6, due[0].(map[string]any)["daysLeft"])

	build := "/jobs/" + job + "/dispute-files"
	f.person("Bo", claims.Technician).do(http.MethodPost, build, map[string]any{}).problem(http.StatusForbidden, claims.Forbidden)
	desk.lax().do(http.MethodPost, build, map[string]any{"include": []string{"everything"}}).problem(http.StatusUnprocessableEntity, claims.Invalid)
	desk.do(http.MethodPost, build, map[string]any{"allegations": []string{newID()}}).problem(http.StatusNotFound, claims.NotFound)
	assert.Nil(t, desk.do(http.MethodGet, "/jobs/"+job, nil).json()["responses"], "what was refused changed nothing")
	res := desk.do(http.MethodPost, build, map[string]any{"allegations": []string{allegation}, "letter": "Dear Ida Fenn,\n\nplease see exhibit 2."})
	require.Equal(t, http.StatusCreated, res.status, res.text())
	built := res.json()["bundle"].(map[string]any)
	assert.Equal(t, "dispute-j-7-v1.zip", built["name"])
	file := desk.do(http.MethodGet, "/jobs/"+job+"/bundles/1", nil)
	require.Equal(t, http.StatusOK, file.status)
	verdict, err := bundle.Verify(context.Background(), bytes.NewReader(file.body), int64(len(file.body)), bundle.Options{})
	require.NoError(t, err)
	assert.True(t, verdict.Holds, verdict.Text())
	same := desk.do(http.MethodPost, build, map[string]any{"allegations": []string{allegation}, "letter": "Dear Ida Fenn,\n\nplease see exhibit 2."}).json()
	assert.Equal(t, built["digest"], same["bundle"].(map[string]any)["digest"], "nothing happened since: the same file")
	assert.Equal(t, "answered", desk.do(http.MethodGet, "/jobs/"+job+"/disputes", nil).json()["allegations"].([]any)[0].(map[string]any)["state"])
	assert.Empty(t, desk.do(http.MethodGet, "/due", nil).json()["due"])

	keep := func(kind string, body any) string {
		f.clock.move(time.Minute)
		res := desk.do(http.MethodPost, "/entries", batch(f.entry(job, kind, body, own("Olu Park"))))
		require.Equal(t, http.StatusOK, res.status, res.text())
		return res.json()["results"].([]any)[0].(map[string]any)["id"].(string)
	}
	offer := keep("offer", map[string]any{"allegations": []string{allegation}, "from": "shop", "what": "money", "amount": map[string]any{"minor": 5000, "currency": "USD"},
		"answerBy": f.clock.now().AddDate(0, 0, 9).Format(time.DateOnly)})
	release := "/jobs/" + job + "/disputes/release?offer=" + url.QueryEscape(offer)
	desk.do(http.MethodGet, release, nil).problem(http.StatusUnprocessableEntity, claims.Invalid)
	shop := f.owner.do(http.MethodGet, "/shop", nil).json()
	shop["release"] = "{customer} takes {amount} for {area}."
	require.Equal(t, http.StatusOK, f.owner.do(http.MethodPut, "/shop", shop).status)
	assert.Equal(t, "Ida Fenn takes 50.00 USD for freezer liner, left wall.", desk.do(http.MethodGet, release, nil).json()["text"])
	due = desk.do(http.MethodGet, "/due", nil).json()["due"].([]any)
	require.Len(t, due, 1)
	assert.Equal(t, "offer", due[0].(map[string]any)["code"])
	// A technician can't offer anything.
	f.person("Ana", claims.Technician).do(http.MethodPost, "/entries", batch(f.entry(job, "offer", map[string]any{"allegations": []string{allegation}, "from": "shop", "what": "repair"}))).
		problem(http.StatusForbidden, claims.Forbidden)
	keep("dispute-end", map[string]any{"allegations": []string{allegation}, "outcome": "agreed"})
	assert.Empty(t, desk.do(http.MethodGet, "/due", nil).json()["due"])
	v = desk.do(http.MethodGet, "/jobs/"+job+"/disputes", nil).json()
	assert.Equal(t, true, v["allegations"].([]any)[0].(map[string]any)["ended"])
	assert.Len(t, v["settlement"], 3)
}
