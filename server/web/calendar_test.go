package web

import (
	"context"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/emersion/go-ical"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

// fetch is what a calendar program does: no headers, no cookie, only the address.
func fetch(t *testing.T, method, url string) (*http.Response, string) {
	t.Helper()
	req, err := http.NewRequest(method, url, nil)
	require.NoError(t, err)
	res, err := http.DefaultClient.Do(req)
	require.NoError(t, err)
	defer res.Body.Close()
	raw, err := io.ReadAll(res.Body)
	require.NoError(t, err)
	return res, string(raw)
}

// The feed is read by an independent parser (emersion/go-ical).
func TestCalendarBySecretAddress(t *testing.T) {
	f := newFixture(t)
	job := newID()
	require.Equal(t, http.StatusOK, f.owner.do(http.MethodPost, "/entries", batch(
		f.entry(job, "open", map[string]any{"complaint": "x", "number": "J-77"}),
		f.entry(job, "customer", map[string]any{"name": "Ottilie Brandt"}),
		f.entry(job, "site", map[string]any{"address": "9 Kiln Street"}),
		f.entry(job, "unit", map[string]any{"kind": "dishwasher"}),
		f.entry(job, "coverage", map[string]any{"kind": "maker-warranty", "payer": "Norrvik Care", "submitDays": 30}),
		f.entry(job, "arrive", map[string]any{}), f.entry(job, "leave", map[string]any{}),
		f.entry(job, "part", map[string]any{"component": "drain-pump", "action": "replaced", "price": map[string]any{"minor": 4250, "currency": "USD"}}),
	)).status)
	ana := f.person("Ana", claims.Technician)
	assert.Equal(t, false, ana.do(http.MethodGet, "/calendar/address", nil).json()["there"])
	make := func(c *client, full bool) string {
		res := c.do(http.MethodPost, "/calendar/address", map[string]any{"full": full})
		require.Equal(t, http.StatusCreated, res.status, res.text())
		return res.json()["url"].(string)
	}
	plain := make(ana, false)
	require.True(t, strings.HasPrefix(plain, f.url+"/calendar/shop.") && strings.HasSuffix(plain, ".ics"))
	res, text := fetch(t, http.MethodGet, plain)
	require.Equal(t, http.StatusOK, res.StatusCode, text)
	assert.Equal(t, "text/calendar; charset=utf-8", res.Header.Get("Content-Type"))
	assert.Equal(t, "no-store", res.Header.Get("Cache-Control"))
	assert.Equal(t, "noindex, nofollow, noarchive", res.Header.Get("X-Robots-Tag"))
	cal, err := ical.NewDecoder(strings.NewReader(text)).Decode()
	require.NoError(t, err)
	require.Len(t, cal.Events(), 1)
	summary, err := cal.Events()[0].Props.Text(ical.PropSummary)
	require.NoError(t, err)
	assert.Contains(t, summary, "J-77 dishwasher")
	for _, private := range []string{"Brandt", "Kiln", "Norrvik", "42.50"} {
		assert.NotContains(t, text, private, "unless chosen")
	}
	known := ana.do(http.MethodGet, "/calendar/address", nil).json()
	assert.Equal(t, true, known["there"])
	assert.Equal(t, false, known["full"])
	assert.NotEmpty(t, known["seen"])

	full := make(f.owner, true)
	_, text = fetch(t, http.MethodGet, full)
	cal, err = ical.NewDecoder(strings.NewReader(text)).Decode()
	require.NoError(t, err)
	says, err := cal.Events()[0].Props.Text(ical.PropDescription)
	require.NoError(t, err)
	for _, chosen := range []string{"Ottilie Brandt", "9 Kiln Street", "Norrvik Care", "42.50 USD"} {
		assert.Contains(t, says, chosen)
	}

	gone := func(url string) {
		t.Helper()
		res, text := fetch(t, http.MethodGet, url)
		assert.Equal(t, http.StatusNotFound, res.StatusCode)
		assert.NotContains(t, text, "J-77")
	}
	t.Run("its head says nothing more", func(t *testing.T) {
		res, text := fetch(t, http.MethodHead, plain)
		assert.Equal(t, http.StatusOK, res.StatusCode)
		assert.Empty(t, text)
	})
	t.Run("the token is good for nothing else, and nothing else is good there", func(t *testing.T) {
		token := strings.TrimSuffix(plain[strings.LastIndex(plain, "/")+1:], ".ics")
		c := f.anybody()
		c.token = token
		c.do(http.MethodGet, "/jobs", nil).problem(http.StatusUnauthorized, claims.SignIn)
		f.anybody().do(http.MethodPost, "/session", map[string]string{"token": token}).problem(http.StatusUnauthorized, claims.SignIn)
		gone(f.url + "/calendar/" + f.owner.token + ".ics")
		gone(f.url + "/calendar/" + token)
		gone(f.url + "/calendar/other" + token[len("shop"):] + ".ics")
		gone(f.url + "/calendar/x.ics")
		gone(f.url + "/calendar/.ics")
	})
	t.Run("nothing secret is in the log or the store", func(t *testing.T) {
		secret := strings.TrimSuffix(plain[strings.LastIndex(plain, ".")-43:], ".ics")
		require.Len(t, secret, 43)
		assert.NotContains(t, f.log.String(), secret)
		assert.Contains(t, f.log.String(), "path=/calendar/…")
		st, err := f.opt.Service.Stores.Shop(context.Background(), testShop)
		require.NoError(t, err)
		require.NoError(t, st.Notes(context.Background(), "", func(name string, value []byte) bool {
			assert.NotContains(t, name+string(value), secret)
			return true
		}))
	})
	t.Run("made anew, dropped, left the shop, not used", func(t *testing.T) {
		renewed := make(ana, false)
		gone(plain)
		f.clock.move(200 * 24 * time.Hour)
		ana = f.letInAgain("Ana")
		res, _ := fetch(t, http.MethodGet, renewed)
		require.Equal(t, http.StatusOK, res.StatusCode)
		f.clock.move(300 * 24 * time.Hour)
		res, _ = fetch(t, http.MethodGet, renewed)
		assert.Equal(t, http.StatusOK, res.StatusCode, "use prolongs it")
		gone(full)
		ana = f.letInAgain("Ana")
		require.Equal(t, http.StatusNoContent, ana.do(http.MethodDelete, "/calendar/address", nil).status)
		gone(renewed)
		require.Equal(t, http.StatusNoContent, ana.do(http.MethodDelete, "/calendar/address", nil).status)
		last := make(ana, false)
		id := ana.do(http.MethodGet, "/session", nil).json()["person"].(map[string]any)["id"].(string)
		require.Equal(t, http.StatusNoContent, f.owner.do(http.MethodDelete, "/people/"+id, nil).status)
		gone(last)
	})
}

// letInAgain signs a person in anew after a long time, and the owner, too.
func (f *fixture) letInAgain(name string) *client {
	f.t.Helper()
	token, err := f.access.OwnerLink(context.Background(), testShop)
	require.NoError(f.t, err)
	f.owner = f.enter(token)
	for _, p := range f.owner.do(http.MethodGet, "/people", nil).json()["people"].([]any) {
		if p := p.(map[string]any); p["name"] == name {
			link := f.owner.do(http.MethodPost, "/people/"+p["id"].(string)+"/links", nil).json()["enter"].(string)
			_, token, _ := strings.Cut(link, "#enter=")
			return f.enter(token)
		}
	}
	f.t.Fatalf("there is no %s", name)
	return nil
}

func TestCalendarIsLimited(t *testing.T) {
	f := newFixture(t)
	url := f.owner.do(http.MethodPost, "/calendar/address", nil).json()["url"].(string)
	f.srv.attempts = newAttempts(3, time.Minute, f.clock.now)
	for range 3 {
		res, _ := fetch(t, http.MethodGet, url)
		require.Equal(t, http.StatusOK, res.StatusCode)
	}
	res, _ := fetch(t, http.MethodGet, url)
	assert.Equal(t, http.StatusTooManyRequests, res.StatusCode)
	assert.NotEmpty(t, res.Header.Get("Retry-After"))
}
