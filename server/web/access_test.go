package web

import (
	"context"
	"fmt"
	"net/http"
	"net/netip"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

// everyRoute is who may use each address, written by hand from the house's rules: everybody who works in the shop reads, writes, uploads
// and builds; the desk lets phones in and looks after the log; the owner lets people in.
func everyRoute() map[string]string {
	return map[string]string{
		"GET /clock": "open", "GET /openapi.yaml": "open", "POST /session": "open", "POST /pairings/enter": "open",
		"GET /session": "all", "DELETE /session": "all", "PUT /session/password": "all",
		"POST /pairings": "desk", "GET /devices": "desk", "DELETE /devices/{device}": "desk",
		"GET /people": "desk", "POST /people": "owner", "PUT /people/{person}": "owner", "DELETE /people/{person}": "owner", "POST /people/{person}/links": "owner",
		"PUT /originals/{sha256}": "all", "HEAD /originals/{sha256}": "all", "PATCH /originals/{sha256}": "all", "GET /originals/{sha256}": "all",
		"GET /originals/{sha256}/view": "all", "GET /originals/{sha256}/thumb": "all", "GET /originals/{sha256}/facts": "all",
		"POST /entries": "all", "GET /jobs": "all", "GET /jobs/{job}": "all", "GET /jobs/{job}/entries": "all", "GET /jobs/{job}/check": "all", "GET /jobs/{job}/chains": "all", "GET /jobs/{job}/receipt": "all",
		"POST /jobs/{job}/bundles": "all", "GET /jobs/{job}/bundles/{version}": "all",
		"GET /jobs/{job}/links": "desk", "POST /jobs/{job}/links": "desk", "DELETE /jobs/{job}/links/{link}": "desk",
		"GET /register": "all", "POST /register/preview": "desk", "POST /register": "desk", "DELETE /register/{row}": "desk",
		"GET /mail": "desk", "POST /jobs/{job}/mails": "desk",
		"GET /calendar/address": "all", "POST /calendar/address": "all", "DELETE /calendar/address": "all",
		"GET /jobs.csv": "all", "GET /due.csv": "all", "GET /payments.csv": "all", "GET /parts-to-return.csv": "all", "GET /people.csv": "desk", "GET /devices.csv": "desk",
		"GET /jobs/{job}/entries.csv": "all", "GET /jobs/{job}/account.csv": "all",
		"POST /review/{link}/open": "open", "GET /review/{link}/bundle": "open", "GET /review/{link}/file": "open",
		"PUT /review/{link}/pictures/{sha256}": "open", "POST /review/{link}/statements": "open",
		"GET /jobs/{job}/coverage": "all", "GET /jobs/{job}/bill": "all", "GET /jobs/{job}/account": "all", "GET /jobs/{job}/draft": "all",
		"GET /jobs/{job}/refusal": "all", "POST /jobs/{job}/replies": "desk", "GET /jobs/{job}/alignments": "all", "GET /jobs/{job}/alignments/overlay.jpg": "all", "GET /jobs/{job}/disputes": "all", "GET /jobs/{job}/disputes/letter": "all", "GET /jobs/{job}/disputes/release": "all", "GET /jobs/{job}/timeline.svg": "all", "POST /jobs/{job}/dispute-files": "desk",
		"GET /due": "all", "GET /calendar.ics": "all", "GET /rates": "all", "PUT /rates": "desk",
		"GET /jobs/{job}/hold": "all", "GET /privacy/customer": "desk", "POST /privacy/exports": "desk", "POST /privacy/erasures/preview": "owner", "POST /privacy/erasures": "owner",
		"GET /privacy/retention": "owner", "PUT /privacy/retention": "owner", "POST /privacy/retention/proposals": "owner", "POST /privacy/retention/runs": "owner",
		"GET /packs": "all", "GET /packs/{pack}": "all", "GET /vocabulary": "all", "GET /shop": "all", "PUT /shop": "owner",
		"GET /jobs/{job}/clashes": "all", "POST /entries/check": "all", "GET /figures/money": "all", "GET /figures/found": "all",
		"GET /log/checkpoint": "desk", "GET /log/proof": "desk", "GET /log/consistency": "desk",
	}
}

func allowed(who string, role claims.Role) bool {
	switch who {
	case "open":
		return true
	case "all":
		return role != ""
	case "desk":
		return role == claims.Office || role == claims.Owner
	case "owner":
		return role == claims.Owner
	}
	return false
}

// Every address times every role, over HTTP, against the table above and against claims.May. Denied is what nobody listed.
func TestEveryRouteAndRole(t *testing.T) {
	f := newFixture(t)
	doc := loadDocument(t)
	table := everyRoute()
	param := regexp.MustCompile(`:(\w+)`)
	var described []string
	for path, item := range doc.Paths.Map() {
		for method := range item.Operations() {
			described = append(described, method+" "+path)
		}
	}
	roles := []claims.Role{"", claims.Technician, claims.Office, claims.Owner}
	var served []string
	for _, r := range f.srv.routes() {
		name := r.method + " " + param.ReplaceAllString(r.path, "{$1}")
		served = append(served, name)
		who, ok := table[name]
		require.True(t, ok, "%s is in no table: say who may use it", name)
		for _, role := range roles {
			t.Run(fmt.Sprintf("%s as %q", name, role), func(t *testing.T) {
				// A fresh person each time: some of these requests sign out or change the people.
				c := f.anybody()
				if role != "" {
					c = f.person("P"+newID(), role)
				}
				path := strings.NewReplacer("{sha256}", strings.Repeat("a", 64), "{job}", newID(), "{version}", "1", "{pack}", "x", "{device}", newID(), "{person}", newID(), "{link}", newID(), "{row}", newID()).
					Replace(strings.TrimPrefix(name, r.method+" "))
				res := c.lax().do(r.method, path, nil)
				switch {
				case allowed(who, role):
					if who != "open" { // an open address says 401 about tokens and passwords
						assert.NotContains(t, []int{http.StatusUnauthorized, http.StatusForbidden}, res.status, res.text())
					}
				case role == "":
					assert.Equal(t, http.StatusUnauthorized, res.status, res.text())
				default:
					assert.Equal(t, http.StatusForbidden, res.status, res.text())
				}
				if r.act != "" && r.act != signedIn {
					assert.Equal(t, allowed(who, role), claims.May(role, r.act), "the table of claims says otherwise")
				}
			})
		}
	}
	slices.Sort(described)
	slices.Sort(served)
	assert.Equal(t, described, served, "document and server have the same addresses")
	assert.Len(t, table, len(served))
}

func TestSignIn(t *testing.T) {
	f := newFixture(t)
	const password = "three unconnected words"
	require.Equal(t, http.StatusNoContent, f.owner.do(http.MethodPut, "/session/password", map[string]string{"password": password}).status)

	t.Run("by name and password", func(t *testing.T) {
		res := f.anybody().do(http.MethodPost, "/session", map[string]string{"person": " owner ", "password": password})
		require.Equal(t, http.StatusOK, res.status, res.text())
		c := f.anybody()
		c.token = cookieOf(t, res)
		who := c.do(http.MethodGet, "/session", nil).json()
		assert.Equal(t, "owner", who["actor"].(map[string]any)["role"])
		assert.Equal(t, true, who["secure"], "127.0.0.1 is a secure context")
		require.Equal(t, http.StatusNoContent, c.do(http.MethodDelete, "/session", nil).status)
		c.do(http.MethodGet, "/session", nil).problem(http.StatusUnauthorized, claims.SignIn)
	})
	t.Run("by cookie", func(t *testing.T) {
		res := f.anybody().do(http.MethodPost, "/session", map[string]string{"person": "Owner", "password": password})
		got := f.anybody().do(http.MethodGet, "/session", nil, header{"Cookie": cookieName + "=" + cookieOf(t, res)})
		assert.Equal(t, http.StatusOK, got.status)
	})
	t.Run("wrong name and wrong password look the same", func(t *testing.T) {
		a := f.anybody().do(http.MethodPost, "/session", map[string]string{"person": "Owner", "password": "wrong"}).problem(http.StatusUnauthorized, claims.SignIn)
		b := f.anybody().do(http.MethodPost, "/session", map[string]string{"person": "Nobody", "password": "wrong"}).problem(http.StatusUnauthorized, claims.SignIn)
		assert.Equal(t, a.Detail, b.Detail)
	})
	t.Run("tokens that are none", func(t *testing.T) {
		for _, token := range []string{"x", "shop.", "shop." + strings.Repeat("a", 43), "other." + strings.Repeat("A", 43), "../x." + strings.Repeat("A", 43)} {
			f.anybody().do(http.MethodPost, "/session", map[string]string{"token": token}).problem(http.StatusUnauthorized, claims.SignIn)
			c := f.anybody()
			c.token = token
			c.do(http.MethodGet, "/jobs", nil).problem(http.StatusUnauthorized, claims.SignIn)
		}
	})
	t.Run("neither or both", func(t *testing.T) {
		f.anybody().do(http.MethodPost, "/session", map[string]string{}).problem(http.StatusUnprocessableEntity, claims.Invalid)
		f.anybody().do(http.MethodPost, "/session", map[string]string{"token": "x", "person": "y", "password": "z"}).problem(http.StatusUnprocessableEntity, claims.Invalid)
	})
	t.Run("a changed password needs the present one once the link is old", func(t *testing.T) {
		f.clock.move(time.Hour)
		f.owner.do(http.MethodPut, "/session/password", map[string]string{"password": "something else 1"}).problem(http.StatusForbidden, claims.Forbidden)
		other := f.anybody()
		other.token = cookieOf(t, f.anybody().do(http.MethodPost, "/session", map[string]string{"person": "Owner", "password": password}))
		require.Equal(t, http.StatusNoContent, f.owner.do(http.MethodPut, "/session/password", map[string]string{"password": "something else 1", "present": password}).status)
		other.do(http.MethodGet, "/session", nil).problem(http.StatusUnauthorized, claims.SignIn)
		assert.Equal(t, http.StatusOK, f.owner.do(http.MethodGet, "/session", nil).status)
	})
	t.Run("too short a password", func(t *testing.T) {
		f.owner.lax().do(http.MethodPut, "/session/password", map[string]string{"password": "short"}).problem(http.StatusUnprocessableEntity, claims.Invalid)
	})
	t.Run("a session that is not used ends, one that is used goes on", func(t *testing.T) {
		used := f.person("Uma", claims.Office)
		idle := f.person("Ida", claims.Office)
		for range 3 {
			f.clock.move(20 * 24 * time.Hour)
			assert.Equal(t, http.StatusOK, used.do(http.MethodGet, "/session", nil).status)
		}
		idle.do(http.MethodGet, "/session", nil).problem(http.StatusUnauthorized, claims.SignIn)
	})
	t.Run("nothing secret is in the log or the store", func(t *testing.T) {
		for _, secret := range []string{password, f.owner.token} {
			assert.NotContains(t, f.log.String(), secret)
			st, err := f.opt.Service.Stores.Shop(context.Background(), testShop)
			require.NoError(t, err)
			require.NoError(t, st.Notes(context.Background(), "", func(name string, value []byte) bool {
				assert.NotContains(t, name+string(value), secret)
				return true
			}))
		}
	})
}

func TestOneTimeLinks(t *testing.T) {
	f := newFixture(t)
	ctx := context.Background()
	first, err := f.access.FirstLink(ctx, testShop)
	require.NoError(t, err)
	second, err := f.access.FirstLink(ctx, testShop)
	require.NoError(t, err)
	require.NotEqual(t, first, second, "each start prints a new one while the owner has neither password nor phone")
	f.anybody().do(http.MethodPost, "/session", map[string]string{"token": first}).problem(http.StatusUnauthorized, claims.SignIn)
	f.enter(second)
	f.anybody().do(http.MethodPost, "/session", map[string]string{"token": second}).problem(http.StatusUnauthorized, claims.SignIn)

	third, err := f.access.FirstLink(ctx, testShop)
	require.NoError(t, err)
	f.clock.move(claims.LinkFor)
	f.anybody().do(http.MethodPost, "/session", map[string]string{"token": third}).problem(http.StatusUnauthorized, claims.SignIn)

	require.Equal(t, http.StatusNoContent, f.owner.do(http.MethodPut, "/session/password", map[string]string{"password": "long enough now"}).status)
	none, err := f.access.FirstLink(ctx, testShop)
	require.NoError(t, err)
	assert.Empty(t, none, "an owner who has a password needs no link")
	lost, err := f.access.OwnerLink(ctx, testShop)
	require.NoError(t, err)
	f.enter(lost)
}

func TestPairing(t *testing.T) {
	f := newFixture(t)
	tech := f.person("Ana", claims.Technician)
	anaID := tech.do(http.MethodGet, "/session", nil).json()["person"].(map[string]any)["id"].(string)
	desk := f.person("Perrin", claims.Office)
	ownerID := f.owner.do(http.MethodGet, "/session", nil).json()["person"].(map[string]any)["id"].(string)

	pair := func(c *client, person string) *answered {
		return c.do(http.MethodPost, "/pairings", map[string]string{"person": person})
	}
	res := pair(desk, anaID)
	require.Equal(t, http.StatusCreated, res.status, res.text())
	made := res.json()
	assert.Equal(t, f.url+"/#pair="+made["token"].(string), made["url"])
	assert.Contains(t, made["svg"], "<svg")

	enter := func(token any) *answered {
		return f.anybody().do(http.MethodPost, "/pairings/enter", map[string]any{"token": token, "deviceName": "Ana's phone", "publicKey": "AAAA"})
	}
	got := enter(made["token"])
	require.Equal(t, http.StatusCreated, got.status, got.text())
	assert.Equal(t, "Ana", got.json()["actor"].(map[string]any)["person"])
	phone := f.anybody()
	phone.token = got.json()["token"].(string)
	browser := f.anybody()
	browser.token = cookieOf(t, got)
	for _, c := range []*client{phone, browser} {
		assert.Equal(t, http.StatusOK, c.do(http.MethodGet, "/jobs", nil).status)
		c.do(http.MethodGet, "/people", nil).problem(http.StatusForbidden, claims.Forbidden)
	}
	enter(made["token"]).problem(http.StatusUnauthorized, claims.SignIn)

	t.Run("a device's token signs in too", func(t *testing.T) {
		res := f.anybody().do(http.MethodPost, "/session", map[string]any{"token": phone.token})
		require.Equal(t, http.StatusOK, res.status, res.text())
	})
	t.Run("after two minutes it is too late", func(t *testing.T) {
		late := pair(desk, anaID).json()["token"]
		f.clock.move(claims.PairFor)
		enter(late).problem(http.StatusUnauthorized, claims.SignIn)
	})
	t.Run("nobody lets a phone in for somebody mightier", func(t *testing.T) {
		pair(desk, ownerID).problem(http.StatusForbidden, claims.Forbidden)
		require.Equal(t, http.StatusCreated, pair(f.owner, ownerID).status)
		pair(f.owner, newID()).problem(http.StatusNotFound, claims.NotFound)
	})
	t.Run("a pairing token is no session", func(t *testing.T) {
		c := f.anybody()
		c.token = pair(desk, anaID).json()["token"].(string)
		c.do(http.MethodGet, "/jobs", nil).problem(http.StatusUnauthorized, claims.SignIn)
	})
	t.Run("a lost phone is cut off in one action, with its sessions", func(t *testing.T) {
		devices := desk.do(http.MethodGet, "/devices", nil).json()["devices"].([]any)
		require.Len(t, devices, 1)
		device := devices[0].(map[string]any)
		assert.Equal(t, "Ana", device["personName"])
		assert.Equal(t, "Perrin", device["pairedBy"])
		require.Equal(t, http.StatusNoContent, desk.do(http.MethodDelete, "/devices/"+device["id"].(string), nil).status)
		phone.do(http.MethodGet, "/jobs", nil).problem(http.StatusUnauthorized, claims.SignIn)
		browser.do(http.MethodGet, "/jobs", nil).problem(http.StatusUnauthorized, claims.SignIn)
		assert.Equal(t, http.StatusOK, tech.do(http.MethodGet, "/jobs", nil).status, "the person's other sessions go on")
		desk.do(http.MethodDelete, "/devices/"+device["id"].(string), nil).problem(http.StatusNotFound, claims.NotFound)
	})
}

func TestPeople(t *testing.T) {
	f := newFixture(t)
	tech := f.person("Ana", claims.Technician)
	anaID := tech.do(http.MethodGet, "/session", nil).json()["person"].(map[string]any)["id"].(string)
	ownerID := f.owner.do(http.MethodGet, "/session", nil).json()["person"].(map[string]any)["id"].(string)

	f.owner.do(http.MethodPost, "/people", map[string]any{"name": " ANA ", "role": "office"}).problem(http.StatusConflict, claims.Conflict)
	f.owner.lax().do(http.MethodPost, "/people", map[string]any{"name": "Eve", "role": "root"}).problem(http.StatusUnprocessableEntity, claims.Invalid)
	f.owner.lax().do(http.MethodPost, "/people", map[string]any{"name": "a\nb\u202e", "role": "office", "admin": true}).problem(http.StatusUnprocessableEntity, claims.Invalid)

	t.Run("a new role holds at once", func(t *testing.T) {
		tech.do(http.MethodGet, "/people", nil).problem(http.StatusForbidden, claims.Forbidden)
		require.Equal(t, http.StatusOK, f.owner.do(http.MethodPut, "/people/"+anaID, map[string]any{"name": "Ana Ruiz", "role": "office"}).status)
		people := tech.do(http.MethodGet, "/people", nil).json()["people"].([]any)
		assert.Len(t, people, 2)
		assert.NotContains(t, fmt.Sprint(people), "argon2")
	})
	t.Run("the last owner stays", func(t *testing.T) {
		f.owner.do(http.MethodPut, "/people/"+ownerID, map[string]any{"name": "Owner", "role": "office"}).problem(http.StatusUnprocessableEntity, claims.Invalid)
		f.owner.do(http.MethodDelete, "/people/"+ownerID, nil).problem(http.StatusUnprocessableEntity, claims.Invalid)
	})
	t.Run("a new link ends the old ones", func(t *testing.T) {
		link := func() string {
			res := f.owner.do(http.MethodPost, "/people/"+anaID+"/links", nil)
			require.Equal(t, http.StatusCreated, res.status, res.text())
			_, token, _ := strings.Cut(res.json()["enter"].(string), "#enter=")
			return token
		}
		old, now := link(), link()
		f.anybody().do(http.MethodPost, "/session", map[string]any{"token": old}).problem(http.StatusUnauthorized, claims.SignIn)
		f.enter(now)
	})
	t.Run("who is removed is out at once", func(t *testing.T) {
		require.Equal(t, http.StatusNoContent, f.owner.do(http.MethodDelete, "/people/"+anaID, nil).status)
		tech.do(http.MethodGet, "/jobs", nil).problem(http.StatusUnauthorized, claims.SignIn)
	})
	t.Run("the letterhead", func(t *testing.T) {
		res := f.owner.do(http.MethodPut, "/shop", map[string]any{"id": "other", "name": "Teasel Repairs", "zone": "Europe/Berlin", "country": "DE", "currency": "EUR"})
		require.Equal(t, http.StatusOK, res.status, res.text())
		assert.Equal(t, "shop", res.json()["id"])
		assert.Equal(t, "Teasel Repairs", f.owner.do(http.MethodGet, "/shop", nil).json()["name"])
	})
}

func TestAttemptsAreLimited(t *testing.T) {
	f := newFixture(t, func(o *Options) { o.Limits.Attempts, o.Limits.AttemptEvery = 5, 10*time.Second })
	try := func() *answered {
		return f.anybody().do(http.MethodPost, "/session", map[string]string{"token": "shop." + strings.Repeat("A", 43)})
	}
	refused := 0
	for range 8 { // the fixture itself signed in once
		if try().status == http.StatusTooManyRequests {
			refused++
		}
	}
	assert.Equal(t, 4, refused)
	res := try()
	res.problem(http.StatusTooManyRequests, codeSlowDown)
	assert.Equal(t, "11", res.header.Get("Retry-After"))
	f.anybody().do(http.MethodPost, "/pairings/enter", map[string]string{"token": "x", "deviceName": "y"}).problem(http.StatusTooManyRequests, codeSlowDown)
	f.clock.move(11 * time.Second)
	try().problem(http.StatusUnauthorized, claims.SignIn)
	assert.Equal(t, http.StatusOK, f.owner.do(http.MethodGet, "/session", nil).status, "who is in is not held up")
}

// Behind no proxy, a made-up X-Forwarded-For does not give anybody new attempts; behind a stated one, it names the client.
func TestWhoseAddressCounts(t *testing.T) {
	count := func(o func(*Options)) int {
		f := newFixture(t, func(opt *Options) { opt.Limits.Attempts = 3; o(opt) })
		refused := 0
		for i := range 6 {
			res := f.anybody().do(http.MethodPost, "/session", map[string]string{"token": "x"}, header{"X-Forwarded-For": fmt.Sprintf("198.51.100.%d", i)})
			if res.status == http.StatusTooManyRequests {
				refused++
			}
		}
		return refused
	}
	assert.Equal(t, 4, count(func(*Options) {}))
	assert.Equal(t, 0, count(func(o *Options) { o.TrustedProxies = []netip.Prefix{netip.MustParsePrefix("127.0.0.0/8")} }))
}

func TestOtherSitesAreRefused(t *testing.T) {
	f := newFixture(t)
	for name, h := range map[string]header{
		"by fetch metadata": {"Sec-Fetch-Site": "cross-site"},
		"by origin":         {"Origin": "https://elsewhere.example"},
		"sandboxed":         {"Origin": "null"},
	} {
		t.Run(name, func(t *testing.T) {
			f.owner.do(http.MethodPost, "/entries", batch(f.entry(newID(), "note", map[string]any{"text": "x"})), h).problem(http.StatusForbidden, claims.Forbidden)
			f.anybody().do(http.MethodPost, "/session", map[string]string{"token": "x"}, h).problem(http.StatusForbidden, claims.Forbidden)
		})
	}
	same := header{"Sec-Fetch-Site": "same-origin", "Origin": f.url}
	assert.Equal(t, http.StatusOK, f.owner.do(http.MethodPost, "/entries", batch(f.entry(newID(), "note", map[string]any{"text": "x"})), same).status)
}

func TestHeaders(t *testing.T) {
	f := newFixture(t, func(o *Options) {
		o.HSTS = time.Hour
		o.TrustedProxies = []netip.Prefix{netip.MustParsePrefix("127.0.0.1/32")}
	})
	plain := f.anybody().do(http.MethodGet, "/clock", nil)
	assert.Empty(t, plain.header.Get("Strict-Transport-Security"), "never over http")
	assert.Equal(t, "no-store", plain.header.Get("Cache-Control"))
	assert.Contains(t, plain.header.Get("Content-Security-Policy"), "default-src 'none'")
	secure := f.anybody().do(http.MethodGet, "/clock", nil, header{"X-Forwarded-Proto": "https"})
	assert.Equal(t, "max-age=3600", secure.header.Get("Strict-Transport-Security"))
	res := f.anybody().do(http.MethodPost, "/session", map[string]string{"token": must(f.access.OwnerLink(context.Background(), testShop))}, header{"X-Forwarded-Proto": "https"})
	assert.Contains(t, res.header.Get("Set-Cookie"), "; Secure")
	app, err := http.Get(f.url + "/some/screen")
	require.NoError(t, err)
	app.Body.Close()
	assert.Equal(t, http.StatusOK, app.StatusCode)
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

func TestTurnsAreLimited(t *testing.T) {
	f := newFixture(t, func(o *Options) { o.Limits.Builds, o.Limits.Wait = 1, 50*time.Millisecond })
	job := f.openJob(f.owner, 50)
	require.True(t, f.srv.builds.TryAcquire(1))
	res := f.owner.do(http.MethodPost, "/jobs/"+job+"/bundles", nil)
	res.problem(http.StatusServiceUnavailable, claims.Busy)
	assert.Equal(t, "10", res.header.Get("Retry-After"))
	f.srv.builds.Release(1)
	assert.Equal(t, http.StatusCreated, f.owner.do(http.MethodPost, "/jobs/"+job+"/bundles", nil).status)
}
