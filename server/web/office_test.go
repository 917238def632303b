package web

import (
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"golang.org/x/mod/sumdb/note"

	"kickplate/claims"
	"kickplate/claims/custody"
)

// The desk's way with one job over HTTP: prices, bill, coverage, deadline, refusal and the reply with its bundle.
func TestDeskOverHTTP(t *testing.T) {
	f := newFixture(t)
	desk := f.person("Ana", claims.Office) // the name that the entries bear
	job := f.openJob(desk, 1)
	keep := func(kind string, body any) {
		res := desk.do(http.MethodPost, "/entries", []byte(`{"entries":[`+f.entry(job, kind, body)+`]}`), header{"Content-Type": "application/json"})
		require.Equal(t, http.StatusOK, res.status, res.text())
	}
	keep("coverage", map[string]any{"kind": "maker-warranty", "payer": "Alpenfrost Care", "startEvent": "purchase", "purchased": "2026-01-10", "termMonths": 24, "submitDays": 30})
	keep("arrive", map[string]any{})
	keep("part", map[string]any{"component": "defrost-heater", "action": "replaced", "number": "AF-9", "price": map[string]any{"minor": 6480, "currency": "USD"}})
	keep("labour", map[string]any{"minutes": 90})
	keep("leave", map[string]any{})

	rates := map[string]any{"cards": []any{map[string]any{"name": "2026", "from": "2026-01-01", "currency": "USD", "rounding": "half-up",
		"labour": map[string]any{"perHour": "80.00"}, "trip": map[string]any{}, "parts": map[string]any{}, "tax": map[string]any{}}}}
	require.Equal(t, http.StatusOK, desk.do(http.MethodPut, "/rates", rates).status)
	bad := map[string]any{"cards": []any{map[string]any{"name": "2026", "from": "2026-01-01", "currency": "USD", "rounding": "upwards"}}}
	desk.do(http.MethodPut, "/rates", bad).problem(http.StatusUnprocessableEntity, claims.Invalid)
	f.person("Tam", claims.Technician).do(http.MethodPut, "/rates", rates).problem(http.StatusForbidden, claims.Forbidden)

	bill := desk.do(http.MethodGet, "/jobs/"+job+"/bill", nil).json()
	// By hand: a part at 64.80 and 1.5 hours at 80.00 = 120.00 make 184.80.
	assert.EqualValues(t, 18480, bill["total"])
	assert.EqualValues(t, 18480, bill["payer"])
	cover := desk.do(http.MethodGet, "/jobs/"+job+"/coverage", nil).json()
	assert.Equal(t, "covered", cover["verdict"], cover["says"])
	draft := desk.do(http.MethodGet, "/jobs/"+job+"/draft", nil).json()
	assert.NotEmpty(t, draft["complaint"].(map[string]any)["text"])
	due := desk.do(http.MethodGet, "/due", nil).json()["due"].([]any)
	require.Len(t, due, 1)
	assert.Equal(t, job, due[0].(map[string]any)["job"])
	feed := desk.do(http.MethodGet, "/calendar.ics", nil)
	assert.True(t, strings.HasPrefix(feed.text(), "BEGIN:VCALENDAR\r\n"), feed.text())
	assert.Contains(t, desk.do(http.MethodGet, "/jobs/"+job+"/chains", nil).json(), "chains")

	// The receipt's code, typed in as a person would, is a code of the log; the signature is the shop's.
	receipt := f.person("Ida", claims.Technician).do(http.MethodGet, "/jobs/"+job+"/receipt", nil).json()
	code, err := custody.ParseCode(strings.ToLower(receipt["code"].(string)))
	require.NoError(t, err)
	point, err := custody.Peek([]byte(receipt["checkpoint"].(string)))
	require.NoError(t, err)
	assert.Equal(t, point.Code(), code)
	verifier, err := note.NewVerifier(receipt["key"].(string))
	require.NoError(t, err)
	_, err = note.Open([]byte(receipt["checkpoint"].(string)), note.VerifierList(verifier))
	require.NoError(t, err, "x/mod's reader of signed notes accepts it")
	assert.Contains(t, receipt["qr"], "<svg")

	desk.do(http.MethodPost, "/jobs/"+job+"/replies", map[string]any{"reason": "no-proof-of-purchase"}).problem(http.StatusUnprocessableEntity, claims.Invalid)
	keep("send", map[string]any{"to": "Alpenfrost Care"})
	help := desk.do(http.MethodGet, "/jobs/"+job+"/refusal", nil).json()
	reasons := help["reasons"].([]any)
	require.NotEmpty(t, reasons)
	reason := reasons[0].(map[string]any)
	name, _ := reason["id"].(string)
	if name == "" {
		name, _ = reason["reason"].(string)
	}
	require.NotEmpty(t, name, "%v", reason)
	keep("answer", map[string]any{"outcome": "refused", "reason": name})
	res := desk.do(http.MethodPost, "/jobs/"+job+"/replies", map[string]any{"letter": "Please look again."})
	require.Equal(t, http.StatusCreated, res.status, res.text())
	assert.Equal(t, "Please look again.", res.json()["reply"].(map[string]any)["letter"])
	assert.NotEmpty(t, res.json()["bundle"].(map[string]any)["digest"])
	account := desk.do(http.MethodGet, "/jobs/"+job+"/account", nil).json()
	assert.NotEmpty(t, account["bill"])
}
