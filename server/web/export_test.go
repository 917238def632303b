package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"os/exec"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

// readCSV has Python's csv module read a list strictly (RFC 4180 dialect) and gives its rows by column.
func readCSV(t testing.TB, data []byte) []map[string]string {
	t.Helper()
	_, err := exec.LookPath("python3")
	require.NoError(t, err, "install the Debian package python3")
	cmd := exec.Command("python3", "-c", `
import csv, io, json, sys
raw = sys.stdin.buffer.read()
assert not raw.startswith(b"\xef\xbb\xbf"), "a byte-order mark"
rows = list(csv.reader(io.StringIO(raw.decode("utf-8", "strict"), newline=""), dialect="excel", strict=True))
assert all(len(r) == len(rows[0]) for r in rows), "rows of different lengths"
plain = lambda c: c[1:] if c.startswith("'") else c
json.dump([dict(zip(rows[0], map(plain, r))) for r in rows[1:]], sys.stdout)`)
	cmd.Stdin = bytes.NewReader(data)
	var says bytes.Buffer
	cmd.Stderr = &says
	out, err := cmd.Output()
	require.NoError(t, err, "%s", says.String())
	var rows []map[string]string
	require.NoError(t, json.Unmarshal(out, &rows))
	return rows
}

func (c *client) list(path string) []map[string]string {
	c.t.Helper()
	res := c.do(http.MethodGet, path, nil)
	require.Equal(c.t, http.StatusOK, res.status, res.text())
	assert.Equal(c.t, "text/csv; charset=utf-8; header=present", res.header.Get("Content-Type"))
	assert.Regexp(c.t, `^attachment; filename="kickplate-[a-z-]+-\d{4}-\d\d-\d\d\.csv"$`, res.header.Get("Content-Disposition"))
	assert.Equal(c.t, strings.Count(res.text(), "\r\n") > 0, true, "lines end in CRLF")
	return readCSV(c.t, res.body)
}

// nasty are texts that break careless writers and readers; formula beginnings as OWASP lists them (from memory).
func nasty() []string {
	return []string{"=HYPERLINK(\"http://x.example\",\"y\")", "+1 555 010 1234", "-2+3", "@SUM(A1)", "'quoted'", "a,b;c d", `say "no"`, "naïve ☃ 氷",
		"|cmd", "%0a", "＝1+1", "-3.50", "1e5", "\"", ",", "x\\"}
}

func TestListsAsCSV(t *testing.T) {
	f := newFixture(t)
	var entries []string
	names := map[string]string{}
	for i := range 130 { // more than a page
		job := newID()
		name := fmt.Sprintf("%s %d", nasty()[i%len(nasty())], i)
		if i < len(nasty()) {
			name = nasty()[i]
		}
		names[job] = name
		entries = append(entries, f.entry(job, "customer", map[string]any{"name": name}))
	}
	require.Equal(t, http.StatusOK, f.owner.do(http.MethodPost, "/entries", batch(entries...)).status)
	rows := f.owner.list("/jobs.csv")
	require.Len(t, rows, 130)
	for _, r := range rows {
		assert.Equal(t, names[r["job"]], r["customer"])
		delete(names, r["job"])
	}
	assert.Empty(t, names, "every job once")
	assert.Len(t, f.owner.list("/jobs.csv?q=na%C3%AFve"), len(readable(f.owner, "/jobs?limit=200&q=na%C3%AFve")["jobs"].([]any)), "the same list as on the screen")

	raw := f.owner.do(http.MethodGet, "/jobs.csv", nil).text()
	for _, begin := range []string{",=", ",+", ",@", ",|", ",%", "\"=", "\"+", "\"@", ",＝"} {
		assert.NotContains(t, raw, begin, "a cell that a spreadsheet runs")
	}
	assert.NotContains(t, raw, ",-2+3")
	assert.Contains(t, raw, ",-3.50,", "a plain number stays one")
	f.owner.do(http.MethodGet, "/jobs.csv?order=sideways", nil).problem(http.StatusUnprocessableEntity, claims.Invalid)
	f.owner.do(http.MethodGet, "/jobs/"+newID()+"/entries.csv", nil).problem(http.StatusNotFound, claims.NotFound)
	f.owner.do(http.MethodGet, "/jobs/"+newID()+"/account.csv", nil).problem(http.StatusNotFound, claims.NotFound)
}

func readable(c *client, path string) map[string]any { return c.do(http.MethodGet, path, nil).json() }

func TestListsOfMoneyPartsAndPeopleAsCSV(t *testing.T) {
	f := newFixture(t)
	job := f.openJob(f.owner, 1)
	part := f.entry(job, "part", map[string]any{"component": "defrost-heater", "action": "replaced", "number": "-H220", "price": map[string]any{"minor": 4250, "currency": "USD"}, "held": "held"})
	var head struct{ ID string }
	require.NoError(t, json.Unmarshal([]byte(part), &head))
	res := f.owner.do(http.MethodPost, "/entries", batch(part,
		f.entry(job, "part", map[string]any{"component": "door-gasket", "action": "replaced", "held": "scrapped"}),
		f.entry(job, "part-return", map[string]any{"part": head.ID, "held": "shipped", "tracking": "TR \"9\""}),
		f.entry(job, "payment", map[string]any{"from": "payer", "amount": map[string]any{"minor": -1205, "currency": "USD"}, "on": "2026-03-04", "reference": "=R1", "says": "taken back\nagain"}, own("Owner")),
		f.entry(job, "payment", map[string]any{"from": "customer", "amount": map[string]any{"minor": 500, "currency": "JPY"}}, own("Owner"))))
	require.Equal(t, http.StatusOK, res.status, res.text())

	paid := f.owner.list("/payments.csv")
	require.Len(t, paid, 2)
	by := map[string]map[string]string{paid[0]["from"]: paid[0], paid[1]["from"]: paid[1]}
	assert.Equal(t, "-12.05", by["payer"]["amount"])
	assert.Equal(t, "USD", by["payer"]["currency"])
	assert.Equal(t, "=R1", by["payer"]["reference"])
	assert.Equal(t, "taken back\nagain", strings.ReplaceAll(by["payer"]["says"], "\r\n", "\n"))
	assert.Equal(t, "500", by["customer"]["amount"], "a yen has no hundredths (ISO 4217)")

	back := f.owner.list("/parts-to-return.csv")
	require.Len(t, back, 1, "what was scrapped is not waited for")
	assert.Equal(t, "shipped", back[0]["where"])
	assert.Equal(t, "-H220", back[0]["part_number"])
	assert.Equal(t, `TR "9"`, back[0]["tracking"])

	bill := f.owner.list("/jobs/" + job + "/account.csv")
	last := bill[len(bill)-1]
	assert.Equal(t, "total", last["line"])
	assert.Equal(t, "42.50", last["amount"], "one part at 42.50")

	journal := f.owner.list("/jobs/" + job + "/entries.csv")
	got := f.owner.do(http.MethodGet, "/jobs/"+job+"/entries", nil).json()["entries"].([]any)
	require.NotEmpty(t, journal)
	require.LessOrEqual(t, len(journal), len(got), "what the server read on the photo may have come since")
	for i, r := range journal {
		e := got[i].(map[string]any)["entry"].(map[string]any)
		body, err := json.Marshal(e["body"])
		require.NoError(t, err)
		assert.Equal(t, e["id"], r["id"])
		assert.Equal(t, e["kind"], r["kind"])
		assert.JSONEq(t, string(body), r["body"])
	}

	ana := f.person("Ana, jr.", claims.Technician)
	people := f.owner.list("/people.csv")
	require.Len(t, people, 2)
	assert.Equal(t, "Ana, jr.", people[0]["name"])
	assert.NotContains(t, f.owner.do(http.MethodGet, "/people.csv", nil).text(), "argon2", "no hashes")
	assert.Empty(t, f.owner.list("/devices.csv"))
	assert.Len(t, ana.list("/due.csv"), len(readable(ana, "/due")["due"].([]any)))
	ana.do(http.MethodGet, "/people.csv", nil).problem(http.StatusForbidden, claims.Forbidden)
}
