package pwa

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"io"
	"io/fs"
	"net/http"
	"net/http/httptest"
	"path"
	"regexp"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func get(t *testing.T, h http.Handler, target string, headers ...string) *http.Response {
	t.Helper()
	return ask(t, h, http.MethodGet, target, headers...)
}

func ask(t *testing.T, h http.Handler, method, target string, headers ...string) *http.Response {
	t.Helper()
	r := httptest.NewRequest(method, target, nil)
	for i := 0; i+1 < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w.Result()
}

func body(t *testing.T, r *http.Response) string {
	t.Helper()
	b, err := io.ReadAll(r.Body)
	require.NoError(t, err)
	return string(b)
}

func newTestSite(t *testing.T) *Site {
	t.Helper()
	s, err := New()
	require.NoError(t, err)
	return s
}

// precached is the list of addresses in the service worker as it is sent.
func precached(t *testing.T, s *Site) []string {
	t.Helper()
	m := regexp.MustCompile(`const files = (\[.*?\]);`).FindStringSubmatch(body(t, get(t, s, "/sw.js")))
	require.Len(t, m, 2)
	var list []string
	require.NoError(t, json.Unmarshal([]byte(m[1]), &list))
	return list
}

func TestPages(t *testing.T) {
	s := newTestSite(t)
	for _, c := range []struct {
		method, path string
		status       int
		kind, cache  string
	}{
		{"GET", "/", 200, "text/html; charset=utf-8", "no-cache"},
		{"HEAD", "/", 200, "text/html; charset=utf-8", "no-cache"},
		{"GET", "/job/0190b2c0-0000-7000-8000-000000000000/visit", 200, "text/html; charset=utf-8", "no-cache"},
		{"GET", "/new", 200, "text/html; charset=utf-8", "no-cache"},
		{"GET", "/sw.js", 200, "text/javascript; charset=utf-8", "no-cache"},
		{"GET", "/manifest.webmanifest", 200, "application/manifest+json", "no-cache"},
		{"GET", s.base("a") + "js/main.js", 200, "text/javascript; charset=utf-8", "public, max-age=31536000, immutable"},
		{"GET", s.base("a") + "vendor/preact.mjs", 200, "text/javascript; charset=utf-8", "public, max-age=31536000, immutable"},
		{"GET", s.base("a") + "app.css", 200, "text/css; charset=utf-8", "public, max-age=31536000, immutable"},
		{"GET", s.base("a") + "icons/icon-192.png", 200, "image/png", "public, max-age=31536000, immutable"},
		{"GET", s.base("c") + "wasm_exec.js", 200, "text/javascript; charset=utf-8", "public, max-age=31536000, immutable"},
		{"GET", "/a/0000000000000000/js/main.js", 404, "text/plain; charset=utf-8", "no-store"},
		{"GET", "/a/0000000000000000/js/main", 404, "text/plain; charset=utf-8", "no-store"},
		{"GET", "/api/v1/jobs", 404, "text/plain; charset=utf-8", "no-store"},
		{"GET", "/favicon.ico", 404, "text/plain; charset=utf-8", "no-store"},
		{"GET", "/../embed.go", 404, "text/plain; charset=utf-8", "no-store"},
		{"GET", s.base("v") + "wasm_exec.js", 200, "text/javascript; charset=utf-8", "public, max-age=31536000, immutable"},
		{"GET", s.base("a") + "review/main.js", 200, "text/javascript; charset=utf-8", "public, max-age=31536000, immutable"},
		{"GET", "/v/0000000000000000/verify", 404, "text/plain; charset=utf-8", "no-store"},
		{"POST", "/", 405, "text/plain; charset=utf-8", ""},
	} {
		t.Run(c.method+" "+c.path, func(t *testing.T) {
			res := ask(t, s, c.method, c.path)
			assert.Equal(t, c.status, res.StatusCode)
			assert.Equal(t, c.kind, res.Header.Get("Content-Type"))
			assert.Equal(t, c.cache, res.Header.Get("Cache-Control"))
			if c.method == "HEAD" {
				assert.Empty(t, body(t, res))
				assert.NotEqual(t, "0", res.Header.Get("Content-Length"))
			}
			if c.status == 200 {
				assert.Equal(t, "nosniff", res.Header.Get("X-Content-Type-Options"))
				assert.Equal(t, ContentSecurityPolicy, res.Header.Get("Content-Security-Policy"))
			}
		})
	}
}

// base is the folder of the hashed files ("a") or of the core ("c").
func (s *Site) base(which string) string {
	for p := range s.files {
		if parts := strings.Split(p, "/"); len(parts) > 3 && parts[1] == which {
			return "/" + which + "/" + parts[2] + "/"
		}
	}
	return "/" + which + "/?/"
}

// Codings are chosen as RFC 9110 section 12.5.3 says, and each has its own entity tag (section 8.8.3.3).
func TestCodings(t *testing.T) {
	s := newTestSite(t)
	plain := get(t, s, "/")
	text := body(t, plain)
	t.Run("gzip", func(t *testing.T) {
		res := get(t, s, "/", "Accept-Encoding", "br;q=0.5, GZIP ; q=0.8")
		require.Equal(t, "gzip", res.Header.Get("Content-Encoding"))
		assert.NotEqual(t, plain.Header.Get("ETag"), res.Header.Get("ETag"))
		r, err := gzip.NewReader(res.Body)
		require.NoError(t, err)
		got, err := io.ReadAll(r)
		require.NoError(t, err)
		assert.Equal(t, text, string(got))
	})
	for _, refused := range []string{"", "identity", "gzip;q=0", "gzip;q=0.000", "deflate", "x-gzip-ish"} {
		t.Run("plain for "+refused, func(t *testing.T) {
			res := get(t, s, "/", "Accept-Encoding", refused)
			assert.Empty(t, res.Header.Get("Content-Encoding"))
			assert.Equal(t, text, body(t, res))
		})
	}
	t.Run("what does not shrink is sent as it is", func(t *testing.T) {
		assert.Empty(t, get(t, s, s.base("a")+"icons/icon-192.png", "Accept-Encoding", "gzip").Header.Get("Content-Encoding"))
	})
	t.Run("the core comes in brotli or not at all", func(t *testing.T) {
		res := get(t, s, s.base("c")+"core.wasm", "Accept-Encoding", "gzip, deflate, br")
		assert.Equal(t, 200, res.StatusCode)
		assert.Equal(t, "br", res.Header.Get("Content-Encoding"))
		assert.Equal(t, "application/wasm", res.Header.Get("Content-Type"))
		res = get(t, s, s.base("c")+"core.wasm", "Accept-Encoding", "gzip")
		assert.Equal(t, http.StatusNotAcceptable, res.StatusCode)
		assert.Equal(t, "no-store", res.Header.Get("Cache-Control"))
	})
	t.Run("not modified", func(t *testing.T) {
		for _, match := range []string{plain.Header.Get("ETag"), "W/" + plain.Header.Get("ETag"), `"x", ` + plain.Header.Get("ETag"), "*"} {
			res := get(t, s, "/", "If-None-Match", match)
			assert.Equal(t, http.StatusNotModified, res.StatusCode, match)
			assert.Empty(t, body(t, res))
		}
		assert.Equal(t, 200, get(t, s, "/", "If-None-Match", `"x"`).StatusCode)
		assert.Equal(t, 200, get(t, s, "/", "Accept-Encoding", "gzip", "If-None-Match", plain.Header.Get("ETag")).StatusCode, "the gzip form is another entity")
	})
}

// What the service worker fetches ahead must all be there, and be all that the app needs to start.
func TestPrecache(t *testing.T) {
	s := newTestSite(t)
	list := precached(t, s)
	require.Greater(t, len(list), 30)
	size := func(p string) int {
		res := get(t, s, p, "Accept-Encoding", "gzip")
		assert.Equal(t, 200, res.StatusCode, p)
		return len(body(t, res))
	}
	total := 0
	for _, p := range list {
		total += size(p)
	}
	first, named := size("/"), map[string]bool{}
	for _, m := range regexp.MustCompile(`(?:href|src)="(/[^"]*)"`).FindAllStringSubmatch(body(t, get(t, s, "/")), -1) {
		assert.Contains(t, list, m[1], "what the page starts with is there without a line")
		if !named[m[1]] {
			first += size(m[1])
		}
		named[m[1]] = true
	}
	t.Logf("until the screen is usable: %d bytes, compressed; all that is kept for when there is no line: %d bytes in %d files", first, total, len(list))
	assert.LessOrEqual(t, first, 100_000, "the first load, compressed, in bytes, besides the core")
	assert.LessOrEqual(t, total, 170_000, "what the service worker fetches meanwhile, compressed, in bytes")
	for _, mark := range []string{markBase, markVersion, markPrecache, markDesk, markModules, markCore} {
		for _, p := range []string{"/", "/sw.js", "/manifest.webmanifest"} {
			assert.NotContains(t, body(t, get(t, s, p)), mark, p)
		}
	}
	var manifest struct {
		Icons []struct{ Src, Sizes, Purpose string }
	}
	require.NoError(t, json.Unmarshal([]byte(body(t, get(t, s, "/manifest.webmanifest"))), &manifest))
	require.NotEmpty(t, manifest.Icons)
	for _, i := range manifest.Icons {
		assert.Equal(t, 200, get(t, s, i.Src).StatusCode, i.Src)
	}
}

// The policy forbids inline script and style: a page that had some would only fail in the browser.
func TestNothingInline(t *testing.T) {
	page := body(t, get(t, newTestSite(t), "/"))
	assert.NotRegexp(t, `<script(?:[^>]*)>[^<\s]`, page)
	assert.NotRegexp(t, `\sstyle=|\son[a-z]+=|javascript:`, page)
	assert.NotContains(t, page, "<style")
}

func mapOf(t *testing.T) (fstest.MapFS, fstest.MapFS) {
	t.Helper()
	files := map[string]fstest.MapFS{"static": {}, "built": {}}
	for dir, m := range files {
		sub, err := fs.Sub(embedded, dir)
		require.NoError(t, err)
		parts, err := readAll(sub)
		require.NoError(t, err)
		for name, data := range parts {
			m[name] = &fstest.MapFile{Data: bytes.Clone(data)}
		}
	}
	return files["static"], files["built"]
}

// The version follows the content, so nobody ever has to raise a number.
func TestVersion(t *testing.T) {
	before := newTestSite(t)
	for _, name := range []string{"app.css", "js/screens/visit.js", "sw.js", "index.html", "icons/icon.svg"} {
		t.Run(name, func(t *testing.T) {
			static, built := mapOf(t)
			static[name].Data = append(static[name].Data, ' ')
			after, err := newSite(static, built)
			require.NoError(t, err)
			assert.NotEqual(t, before.Version(), after.Version())
			assert.NotEqual(t, body(t, get(t, before, "/sw.js")), body(t, get(t, after, "/sw.js")), "browsers look for another sw.js")
			assert.Equal(t, before.base("c"), after.base("c"), "the core is not fetched again for a screen")
		})
	}
	t.Run("the core", func(t *testing.T) {
		static, built := mapOf(t)
		built["core.wasm.br"].Data = append(built["core.wasm.br"].Data, 0)
		after, err := newSite(static, built)
		require.NoError(t, err)
		assert.NotEqual(t, before.Version(), after.Version())
		assert.NotEqual(t, before.base("c"), after.base("c"))
	})
}

func TestBrokenTree(t *testing.T) {
	for name, breakIt := range map[string]func(static, built fstest.MapFS){
		"no index":        func(s, _ fstest.MapFS) { delete(s, "index.html") },
		"no worker":       func(s, _ fstest.MapFS) { delete(s, "sw.js") },
		"no core":         func(_, b fstest.MapFS) { delete(b, "core.wasm.br") },
		"no glue":         func(_, b fstest.MapFS) { delete(b, "wasm_exec.js") },
		"an unknown kind": func(s, _ fstest.MapFS) { s["a.exe"] = &fstest.MapFile{Data: []byte("x")} },
	} {
		t.Run(name, func(t *testing.T) {
			static, built := mapOf(t)
			breakIt(static, built)
			_, err := newSite(static, built)
			assert.Error(t, err)
		})
	}
}

// Every import leads to a file that is there: a typing error would otherwise show on the one screen that needs it.
func TestImportsResolve(t *testing.T) {
	static, _ := mapOf(t)
	imports := regexp.MustCompile(`(?m)(?:^import|^export)[^"\n]*from "([^"]+)"|import "([^"]+)"|new URL\("([^"]+)", import\.meta|\bimport\("([^"]+)"\)`)
	seen := 0
	for name, f := range static {
		if !strings.HasSuffix(name, ".js") || name == "sw.js" {
			continue
		}
		assert.LessOrEqual(t, bytes.Count(f.Data, []byte("\n")), 400, "%s is too long", name)
		for _, m := range imports.FindAllStringSubmatch(string(f.Data), -1) {
			target := m[1] + m[2] + m[3] + m[4]
			require.True(t, strings.HasPrefix(target, "."), "%s imports the bare name %s", name, target)
			assert.Contains(t, static, path.Join(path.Dir(name), target), "%s imports %s", name, target)
			seen++
		}
	}
	assert.Greater(t, seen, 100)
}

// Every text that a screen asks for is in the catalogue, and the catalogue has no text that nobody asks for.
func TestCatalogue(t *testing.T) {
	static, _ := mapOf(t)
	entry := regexp.MustCompile(`(?m)(?:^|[,{]) *(?:"([a-zA-Z0-9.-]+)"|([a-z]+)): (?:"|\{)`)
	have := map[string]bool{}
	texts := string(static["js/words-en.js"].Data) + string(static["js/desk/words-en.js"].Data) + string(static["js/dispute/words-en.js"].Data) // these join the app's
	for _, m := range entry.FindAllStringSubmatch(texts, -1) {
		if key := m[1] + m[2]; key != "one" && key != "other" {
			assert.False(t, have[key], "%s stands twice", key)
			have[key] = true
		}
	}
	require.Greater(t, len(have), 400)
	said := regexp.MustCompile("\\bt\\(\\s*(?:\"([^\"]+)\"|`([^`$]*)\\$\\{)")
	literal := regexp.MustCompile(`"([a-z]+(?:\.[a-zA-Z0-9-]+)+)"`)
	used, prefixes := map[string]bool{}, map[string]bool{"term.": true, "kind.": true}
	for name, f := range static {
		if !strings.HasPrefix(name, "js/") || strings.HasPrefix(name, "js/words") || strings.HasPrefix(path.Base(name), "words-") {
			continue
		}
		for _, m := range said.FindAllStringSubmatch(string(f.Data), -1) {
			if m[1] != "" {
				used[m[1]] = true
				assert.True(t, have[m[1]], "%s asks for %q, which the catalogue does not have", name, m[1])
			} else {
				prefixes[m[2]] = true
			}
		}
		// Texts picked by a condition, as in t(fast ? "a.b" : "a.c"), and texts named in tables.
		for _, m := range literal.FindAllStringSubmatch(string(f.Data), -1) {
			used[m[1]] = true
		}
	}
	for key := range have {
		ok := used[key]
		for p := range prefixes {
			ok = ok || p != "" && strings.HasPrefix(key, p)
		}
		assert.True(t, ok, "nobody asks for the text %q", key)
	}
}
