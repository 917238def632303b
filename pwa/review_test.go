package pwa

import (
	"io/fs"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The reviewer's page is the same for everybody, says so to caches and indexes, and may do nothing that it does not need.
func TestReviewPage(t *testing.T) {
	s := newTestSite(t)
	for _, method := range []string{"GET", "HEAD"} {
		res := ask(t, s, method, "/r")
		require.Equal(t, 200, res.StatusCode)
		assert.Equal(t, "text/html; charset=utf-8", res.Header.Get("Content-Type"))
		assert.Equal(t, "no-store", res.Header.Get("Cache-Control"))
		assert.Equal(t, "no-referrer", res.Header.Get("Referrer-Policy"))
		assert.Equal(t, "noindex, nofollow, noarchive", res.Header.Get("X-Robots-Tag"))
		assert.Equal(t, ReviewPolicy, res.Header.Get("Content-Security-Policy"))
		assert.NotContains(t, ReviewPolicy, "unsafe-inline")
	}
	page := body(t, get(t, s, "/r"))
	assert.NotRegexp(t, `<script(?:[^>]*)>[^<\s]`, page)
	assert.NotRegexp(t, `\sstyle=|\son[a-z]+=|javascript:|<style`, page)
	links := regexp.MustCompile(`(?:href|src)="(/[^"]*)"`).FindAllStringSubmatch(page, -1)
	require.Greater(t, len(links), 10)
	for _, m := range links {
		assert.Equal(t, 200, get(t, s, m[1]).StatusCode, m[1])
	}
	checker := regexp.MustCompile(`content="(/v/[0-9a-f]{16}/)"`).FindStringSubmatch(page)
	require.Len(t, checker, 2)
	for _, name := range []string{"verify.wasm", "wasm_exec.js"} {
		assert.Equal(t, 200, get(t, s, checker[1]+name, "Accept-Encoding", "br").StatusCode, name)
	}
	for _, p := range precached(t, s) {
		assert.NotContains(t, p, "review", "phones of the shop do not fetch it ahead")
	}
	assert.Contains(t, body(t, get(t, s, "/sw.js")), `url.pathname === "/r"`, "the service worker leaves it alone")
}

// Its texts: each that is asked for is there, and none that nobody asks for.
func TestReviewCatalogue(t *testing.T) {
	static, err := fs.Sub(embedded, "static")
	require.NoError(t, err)
	parts, err := readAll(static)
	require.NoError(t, err)
	have, used, prefixes := map[string]bool{}, map[string]bool{}, map[string]bool{}
	for _, m := range regexp.MustCompile(`"(review\.[a-z-]+)": (?:"|\{)`).FindAllStringSubmatch(string(parts["review/words-en.js"]), -1) {
		assert.False(t, have[m[1]], "%s stands twice", m[1])
		have[m[1]] = true
	}
	require.Greater(t, len(have), 80)
	for name, data := range parts {
		if !strings.HasPrefix(name, "review/") || strings.HasPrefix(name, "review/words-") || !strings.HasSuffix(name, ".js") {
			continue
		}
		for _, m := range regexp.MustCompile(`"(review\.[a-z-]+)"`).FindAllStringSubmatch(string(data), -1) {
			assert.True(t, have[m[1]], "%s asks for %q, which the catalogue does not have", name, m[1])
			used[m[1]] = true
		}
		for _, m := range regexp.MustCompile("`(review\\.[a-z-]*)\\$\\{").FindAllStringSubmatch(string(data), -1) {
			prefixes[m[1]] = true
		}
	}
	for key := range have {
		ok := used[key]
		for p := range prefixes {
			ok = ok || strings.HasPrefix(key, p)
		}
		assert.True(t, ok, "nobody asks for the text %q", key)
	}
}
