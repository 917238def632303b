package web

import (
	"archive/zip"
	"bytes"
	"context"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

// link makes a job with a bundle and a link to it: the job, the link's id and its secret.
func (f *fixture) link(seed int, ask map[string]any) (job, id, token string) {
	f.t.Helper()
	job = f.openJob(f.owner, seed)
	require.Equal(f.t, http.StatusCreated, f.owner.do(http.MethodPost, "/jobs/"+job+"/bundles", nil).status)
	id, token = f.relink(job, ask)
	return job, id, token
}

func (f *fixture) relink(job string, ask map[string]any) (id, token string) {
	f.t.Helper()
	in := map[string]any{"for": "payer", "to": "Claims desk, Alpenfrost"}
	for k, v := range ask {
		in[k] = v
	}
	res := f.owner.do(http.MethodPost, "/jobs/"+job+"/links", in)
	require.Equal(f.t, http.StatusCreated, res.status, res.text())
	token, ok := strings.CutPrefix(res.json()["url"].(string), f.url+"/r#")
	require.True(f.t, ok, res.text())
	return res.json()["link"].(map[string]any)["id"].(string), token
}

// browser is somebody with a link.
type browser struct {
	*client
	id, cookie string
}

func (f *fixture) browser(id string) *browser { return &browser{client: f.anybody(), id: id} }

func (b *browser) open(token string) *answered {
	b.t.Helper()
	res := b.send(http.MethodPost, "/open", map[string]any{"token": token})
	for _, c := range (&http.Response{Header: res.header}).Cookies() {
		require.Equal(b.t, reviewCookie, c.Name)
		require.True(b.t, c.HttpOnly)
		require.Equal(b.t, http.SameSiteStrictMode, c.SameSite)
		require.Equal(b.t, "/api/v1/review/"+b.id, c.Path, "the cookie reaches this link's addresses alone")
		b.cookie = c.Value
	}
	return res
}

func (b *browser) send(method, path string, body any, more ...header) *answered {
	b.t.Helper()
	if b.cookie != "" {
		more = append(more, header{"Cookie": reviewCookie + "=" + b.cookie})
	}
	return b.do(method, "/review/"+b.id+path, body, more...)
}

func (b *browser) file(name string) *answered {
	b.t.Helper()
	return b.send(http.MethodGet, "/file?name="+url.QueryEscape(name), nil)
}

func (f *fixture) fetches(job string) (how []string) {
	f.t.Helper()
	list, _ := f.owner.do(http.MethodGet, "/jobs/"+job, nil).json()["fetches"].([]any)
	for _, it := range list {
		how = append(how, it.(map[string]any)["body"].(map[string]any)["how"].(string))
	}
	return how
}

func TestReviewByLink(t *testing.T) {
	f := newFixture(t)
	job, id, token := f.link(1, nil)
	b := f.browser(id)
	res := b.open(token)
	require.Equal(t, http.StatusOK, res.status, res.text())
	opened := res.json()
	assert.Equal(t, "Claims desk, Alpenfrost", opened["to"])
	assert.Equal(t, false, opened["add"])
	assert.NotContains(t, res.text(), job, "nothing about the job but its bundle")

	t.Run("files of the bundle", func(t *testing.T) {
		whole := b.send(http.MethodGet, "/bundle", nil)
		require.Equal(t, http.StatusOK, whole.status)
		assert.Equal(t, opened["digest"], string(claims.DigestOf(whole.body)))
		z, err := zip.NewReader(bytes.NewReader(whole.body), int64(len(whole.body)))
		require.NoError(t, err)
		for _, file := range z.File {
			_, name, _ := strings.Cut(file.Name, "/")
			got := b.file(name)
			require.Equal(t, http.StatusOK, got.status, name)
			assert.EqualValues(t, file.UncompressedSize64, len(got.body), name)
			assert.Contains(t, got.header.Get("Content-Disposition"), "attachment", name)
			assert.Contains(t, got.header.Get("Content-Security-Policy"), "sandbox", name)
		}
		assert.Equal(t, http.StatusPartialContent, b.send(http.MethodGet, "/bundle", nil, header{"Range": "bytes=0-9"}).status)
		for _, name := range []string{"data/nothing", "../x", "data/", "data", "claim-x/data/evidence.json"} {
			b.file(name).problem(http.StatusNotFound, claims.NotFound)
		}
	})
	t.Run("each opening and each download is an entry, a piece is none", func(t *testing.T) {
		require.Equal(t, http.StatusOK, b.open(token).status, "loading the page again goes on with the same opening")
		assert.Equal(t, []string{"link " + id, "link " + id + " download"}, f.fetches(job))
		other := f.browser(id)
		require.Equal(t, http.StatusOK, other.open(token).status)
		assert.Equal(t, []string{"link " + id, "link " + id + " download", "link " + id}, f.fetches(job))
		list := f.owner.do(http.MethodGet, "/jobs/"+job+"/links", nil).json()["links"].([]any)
		require.Len(t, list, 1)
		shown := list[0].(map[string]any)
		assert.EqualValues(t, 2, shown["openings"])
		assert.Equal(t, true, shown["open"])
		assert.NotContains(t, f.owner.do(http.MethodGet, "/jobs/"+job+"/links", nil).text(), token)
	})
	t.Run("building again for a link makes no new version", func(t *testing.T) {
		assert.EqualValues(t, 1, f.owner.do(http.MethodPost, "/jobs/"+job+"/bundles", nil).json()["version"])
	})
	t.Run("headers", func(t *testing.T) {
		for _, got := range []*answered{res, b.file("data/evidence.json"), b.send(http.MethodGet, "/bundle", nil), f.browser(id).open("x")} {
			assert.Equal(t, "no-store", got.header.Get("Cache-Control"))
			assert.Equal(t, "no-referrer", got.header.Get("Referrer-Policy"))
			assert.Equal(t, "noindex, nofollow, noarchive", got.header.Get("X-Robots-Tag"))
			assert.Equal(t, "nosniff", got.header.Get("X-Content-Type-Options"))
		}
	})
	t.Run("the link's address says nothing to whoever asks for it without its secret", func(t *testing.T) {
		for _, method := range []string{http.MethodHead, http.MethodGet} {
			for _, path := range []string{"/r", "/r?" + id} {
				req, err := http.NewRequest(method, f.url+path, nil)
				require.NoError(t, err)
				got, err := http.DefaultClient.Do(req)
				require.NoError(t, err)
				got.Body.Close()
				for name, values := range got.Header {
					assert.NotContains(t, strings.Join(values, " "), "Alpenfrost", name)
				}
				assert.Empty(t, got.Cookies())
			}
		}
		for _, path := range []string{"/bundle", "/file?name=data/evidence.json"} {
			got := f.browser(id).lax().do(http.MethodHead, "/review/"+id+path, nil)
			assert.GreaterOrEqual(t, got.status, 400)
			assert.Empty(t, got.body)
		}
	})
	t.Run("nothing secret is in the log, the store or the journal", func(t *testing.T) {
		st, err := f.opt.Service.Stores.Shop(context.Background(), testShop)
		require.NoError(t, err)
		secret := token[strings.LastIndex(token, ".")+1:]
		for _, s := range []string{secret, b.cookie} {
			assert.NotContains(t, f.log.String(), s)
			assert.NotContains(t, f.owner.do(http.MethodGet, "/jobs/"+job+"/entries", nil).text(), s)
			require.NoError(t, st.Notes(context.Background(), "", func(name string, value []byte) bool {
				assert.NotContains(t, name+string(value), s)
				return true
			}))
		}
	})
}

// Whatever is wrong with a link, the answer is the same, and so are the steps that lead to it.
func TestLinksThatAreNotGood(t *testing.T) {
	f := newFixture(t)
	job, id, token := f.link(1, map[string]any{"days": 2})
	_, otherID, otherToken := f.link(2, nil)
	b := f.browser(id)
	require.Equal(t, http.StatusOK, b.open(token).status)
	ended, endedToken := f.relink(job, nil)
	c := f.browser(ended)
	require.Equal(t, http.StatusOK, c.open(endedToken).status)
	require.Equal(t, http.StatusOK, c.file("data/evidence.json").status)
	require.Equal(t, http.StatusNoContent, f.owner.do(http.MethodDelete, "/jobs/"+job+"/links/"+ended, nil).status)

	secret := token[strings.LastIndex(token, ".")+1:]
	flip := strings.Map(func(r rune) rune {
		if r == 'A' {
			return 'B'
		}
		return 'A'
	}, secret)
	said := map[string]bool{}
	for name, try := range map[string]struct{ id, token string }{
		"ended":                   {ended, endedToken},
		"wrong secret":            {id, string(testShop) + "." + id + "." + flip},
		"no secret":               {id, string(testShop) + "." + id + "."},
		"another link's token":    {id, otherToken},
		"this token elsewhere":    {otherID, token},
		"a link that never was":   {newID(), string(testShop) + "." + newID() + "." + secret},
		"another shop's":          {id, "other." + id + "." + secret},
		"no shop":                 {id, "." + id + "." + secret},
		"a session of the shop's": {id, f.owner.token},
		"a path":                  {id, "../../x"},
	} {
		t.Run(name, func(t *testing.T) {
			p := f.browser(try.id).open(try.token).problem(http.StatusNotFound, claims.NotFound)
			said[p.Detail] = true
		})
	}
	assert.Len(t, said, 1, "the same is said of all: %v", said)

	t.Run("ended ends what is open", func(t *testing.T) {
		c.file("data/evidence.json").problem(http.StatusNotFound, claims.NotFound)
		c.send(http.MethodGet, "/bundle", nil).problem(http.StatusNotFound, claims.NotFound)
		require.Equal(t, http.StatusNoContent, f.owner.do(http.MethodDelete, "/jobs/"+job+"/links/"+ended, nil).status, "twice is fine")
		j := f.owner.do(http.MethodGet, "/jobs/"+job, nil).json()
		assert.Len(t, j["unshares"], 1)
		assert.Len(t, j["shares"], 2)
	})
	t.Run("one link's cookie opens no other", func(t *testing.T) {
		d := f.browser(otherID)
		d.cookie = b.cookie
		d.file("data/evidence.json").problem(http.StatusNotFound, claims.NotFound)
	})
	t.Run("a cookie that is none", func(t *testing.T) {
		for _, cookie := range []string{"", "x", f.owner.token, token, "other." + strings.Repeat("A", 43)} {
			d := f.browser(id)
			d.cookie = cookie
			d.file("data/evidence.json").problem(http.StatusNotFound, claims.NotFound)
		}
	})
	t.Run("a link is no sign-in", func(t *testing.T) {
		d := f.anybody()
		for _, secret := range []string{token, b.cookie} {
			d.token = secret
			d.do(http.MethodGet, "/jobs", nil).problem(http.StatusUnauthorized, claims.SignIn)
		}
	})
	t.Run("expired", func(t *testing.T) {
		f.clock.move(48*time.Hour - time.Second)
		require.Equal(t, http.StatusOK, f.browser(id).open(token).status, "to the last second")
		f.clock.move(time.Second)
		p := f.browser(id).open(token).problem(http.StatusNotFound, claims.NotFound)
		assert.True(t, said[p.Detail])
		require.NoError(t, f.srv.opt.Shares.Sweep(context.Background(), testShop))
		st, err := f.opt.Service.Stores.Shop(context.Background(), testShop)
		require.NoError(t, err)
		require.NoError(t, st.Notes(context.Background(), "share/", func(name string, value []byte) bool {
			assert.NotContains(t, name+string(value), id, "what has ended is swept")
			return true
		}))
		list := f.owner.do(http.MethodGet, "/jobs/"+job+"/links", nil).json()["links"].([]any)
		require.Len(t, list, 2, "the journal still tells of it")
		for _, l := range list {
			assert.Equal(t, false, l.(map[string]any)["open"])
		}
	})
	t.Run("what can't be a link", func(t *testing.T) {
		for _, in := range []map[string]any{{"for": "payer", "to": " "}, {"for": "nobody", "to": "x"}, {"for": "payer", "to": "x", "days": 181}, {"for": "payer", "to": "x", "version": 9}} {
			res := f.owner.lax().do(http.MethodPost, "/jobs/"+job+"/links", in)
			assert.Contains(t, []int{http.StatusUnprocessableEntity, http.StatusNotFound}, res.status, res.text())
		}
		f.owner.do(http.MethodDelete, "/jobs/"+job+"/links/"+newID(), nil).problem(http.StatusNotFound, claims.NotFound)
	})
}

func TestLinksAreLimited(t *testing.T) {
	t.Run("attempts on one link, whoever makes them", func(t *testing.T) {
		f := newFixture(t, func(o *Options) { o.Limits.Attempts = 10 })
		_, id, token := f.link(1, nil)
		f.srv.attempts = newAttempts(10, 6*time.Second, f.clock.now)
		for range 10 {
			f.browser(id).open("x").problem(http.StatusNotFound, claims.NotFound)
		}
		res := f.browser(id).open(token)
		res.problem(http.StatusTooManyRequests, codeSlowDown)
		assert.NotEmpty(t, res.header.Get("Retry-After"))
		f.clock.move(7 * time.Second)
		assert.Equal(t, http.StatusOK, f.browser(id).open(token).status)
	})
	t.Run("reading over one link", func(t *testing.T) {
		f := newFixture(t, func(o *Options) { o.Limits.Looks, o.Limits.LookEvery = 5, time.Second })
		_, id, token := f.link(1, nil)
		_, other, otherToken := f.link(2, nil)
		b := f.browser(id)
		require.Equal(t, http.StatusOK, b.open(token).status)
		for range 5 {
			require.Equal(t, http.StatusOK, b.file("bagit.txt").status)
		}
		b.file("bagit.txt").problem(http.StatusTooManyRequests, codeSlowDown)
		c := f.browser(other)
		require.Equal(t, http.StatusOK, c.open(otherToken).status)
		assert.Equal(t, http.StatusOK, c.file("bagit.txt").status, "another link is not held up")
	})
	t.Run("openings", func(t *testing.T) {
		f := newFixture(t)
		job, id, token := f.link(1, nil)
		for range 200 {
			require.Equal(t, http.StatusOK, f.browser(id).open(token).status)
		}
		p := f.browser(id).open(token).problem(http.StatusForbidden, claims.Forbidden)
		assert.Contains(t, p.Detail, "200 times")
		assert.Len(t, f.fetches(job), 200)
	})
	t.Run("links of one job", func(t *testing.T) {
		f := newFixture(t)
		job, _, _ := f.link(1, nil)
		for range 49 {
			f.relink(job, nil)
		}
		f.owner.do(http.MethodPost, "/jobs/"+job+"/links", map[string]any{"for": "payer", "to": "x"}).problem(http.StatusRequestEntityTooLarge, claims.TooLarge)
	})
}

// What the other side sends stands in the journal as theirs, and touches nothing else.
func TestTheOtherSideAdds(t *testing.T) {
	f := newFixture(t)
	job, id, token := f.link(1, map[string]any{"for": "customer", "to": "J. Tiller", "add": true})
	b := f.browser(id)
	opened := b.open(token).json()
	assert.EqualValues(t, 10, opened["statements"])
	assert.EqualValues(t, 20, opened["pictures"])
	put := func(b *browser, data []byte) *answered {
		return b.send(http.MethodPut, "/pictures/"+string(claims.DigestOf(data)), data)
	}
	mine := photo(t, 77)
	require.Equal(t, http.StatusCreated, put(b, mine).status)
	before := f.owner.do(http.MethodGet, "/jobs/"+job+"/check", nil).json()["report"].(map[string]any)["counts"]
	res := b.send(http.MethodPost, "/statements", map[string]any{"name": " Jonas  Tiller ", "words": "The scratch was not there before.", "pictures": []any{claims.DigestOf(mine)}})
	require.Equal(t, http.StatusCreated, res.status, res.text())
	assert.EqualValues(t, 9, res.json()["statements"])

	j := f.owner.do(http.MethodGet, "/jobs/"+job, nil).json()
	said := j["linkStatements"].([]any)[0].(map[string]any)
	assert.Equal(t, "Jonas Tiller (by link)", said["by"])
	assert.Equal(t, "server", said["device"])
	body := said["body"].(map[string]any)
	assert.Equal(t, "customer", body["from"])
	assert.Equal(t, id, body["link"])
	assert.Len(t, j["photos"], 1, "it is none of the shop's photos")
	assert.Contains(t, j["facts"], string(claims.DigestOf(mine)), "it is examined like every upload")
	assert.Equal(t, before, f.owner.do(http.MethodGet, "/jobs/"+job+"/check", nil).json()["report"].(map[string]any)["counts"], "no requirement is met by it")

	t.Run("refused", func(t *testing.T) {
		ours := photo(t, 1) // a photo of the shop's own job: here, but not theirs
		b.send(http.MethodPost, "/statements", map[string]any{"name": "x", "words": "y", "pictures": []any{claims.DigestOf(ours)}}).problem(http.StatusUnprocessableEntity, claims.Invalid)
		b.lax2(http.MethodPost, "/statements", map[string]any{"name": "", "words": "y"}).problem(http.StatusUnprocessableEntity, claims.Invalid)
		b.lax2(http.MethodPost, "/statements", map[string]any{"name": "x", "words": " "}).problem(http.StatusUnprocessableEntity, claims.Invalid)
		put(b, []byte("<html><script>alert(1)</script></html>")).problem(http.StatusUnsupportedMediaType, claims.Unsupported)
		b.send(http.MethodPut, "/pictures/"+strings.Repeat("a", 64), mine).problem(http.StatusUnprocessableEntity, claims.Invalid)
		b.send(http.MethodPut, "/pictures/"+strings.Repeat("a", 64), make([]byte, claims.MaxTheirs+1)).problem(http.StatusRequestEntityTooLarge, claims.TooLarge)
		f.owner.do(http.MethodPost, "/entries", batch(f.entry(job, "link-statement", map[string]any{"link": id, "from": "customer", "name": "x", "words": "y"}))).problem(http.StatusForbidden, claims.Forbidden)
	})
	t.Run("a link that takes nothing", func(t *testing.T) {
		reader, readerToken := f.relink(job, nil)
		c := f.browser(reader)
		require.Equal(t, http.StatusOK, c.open(readerToken).status)
		put(c, mine).problem(http.StatusForbidden, claims.Forbidden)
		c.send(http.MethodPost, "/statements", map[string]any{"name": "x", "words": "y"}).problem(http.StatusForbidden, claims.Forbidden)
		put(f.browser(id), mine).problem(http.StatusNotFound, claims.NotFound)
	})
	t.Run("no more than so many", func(t *testing.T) {
		for n := range 19 {
			require.Equal(t, http.StatusCreated, put(b, photo(t, 100+n)).status, n)
		}
		put(b, photo(t, 200)).problem(http.StatusRequestEntityTooLarge, claims.TooLarge)
		require.Equal(t, http.StatusCreated, put(b, mine).status, "the same again is fine")
		for range 9 {
			require.Equal(t, http.StatusCreated, b.send(http.MethodPost, "/statements", map[string]any{"name": "x", "words": "y"}).status)
		}
		b.send(http.MethodPost, "/statements", map[string]any{"name": "x", "words": "y"}).problem(http.StatusForbidden, claims.Forbidden)
	})
	t.Run("a bundle that holds the customer back does not tell", func(t *testing.T) {
		require.Equal(t, http.StatusCreated, f.owner.do(http.MethodPost, "/jobs/"+job+"/bundles", map[string]any{"hold": []string{"customer"}}).status)
		file := f.owner.do(http.MethodGet, "/jobs/"+job+"/bundles/2", nil)
		z, err := zip.NewReader(bytes.NewReader(file.body), int64(len(file.body)))
		require.NoError(t, err)
		for _, name := range []string{"data/custody/entries.txt", "data/evidence.json", "data/index.html"} {
			r, err := z.Open(strings.SplitN(z.File[0].Name, "/", 2)[0] + "/" + name)
			require.NoError(t, err)
			var text bytes.Buffer
			_, err = text.ReadFrom(r)
			require.NoError(t, err)
			for _, told := range []string{"Tiller", "scratch was not there"} {
				assert.False(t, strings.Contains(text.String(), told), "%s says %q", name, told)
			}
		}
	})
}

func (b *browser) lax2(method, path string, body any) *answered {
	l := &browser{b.lax(), b.id, b.cookie}
	return l.send(method, path, body)
}

// A download in pieces is one download.
func TestPiecesAreOneDownload(t *testing.T) {
	f := newFixture(t)
	job, _, _ := f.link(1, nil)
	desk := f.person("Perrin", claims.Office)
	piece := func(c *client, of string) {
		require.Equal(t, http.StatusPartialContent, c.do(http.MethodGet, "/jobs/"+job+"/bundles/1", nil, header{"Range": of}).status)
	}
	piece(f.owner, "bytes=1-20")
	piece(f.owner, "bytes=20-")
	piece(f.owner, "bytes=0-19")
	assert.Equal(t, []string{"download"}, f.fetches(job), "also when the first byte comes last")
	piece(desk, "bytes=5-9")
	assert.Len(t, f.fetches(job), 2, "somebody else's")
	require.Equal(t, http.StatusOK, f.owner.do(http.MethodGet, "/jobs/"+job+"/bundles/1", nil).status)
	assert.Len(t, f.fetches(job), 3, "a whole download is one of its own")
	f.clock.move(2 * time.Hour)
	piece(f.owner, "bytes=0-19")
	assert.Len(t, f.fetches(job), 4, "later is another time")
}
