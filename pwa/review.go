package pwa

import (
	"fmt"
	"net/http"
	"strings"
)

// reviewFile is the page behind a reviewer's link, served as /r. It is the same for everybody: what is behind a link is asked for by the
// page's script, with the secret out of the address's fragment, which no browser sends.
const reviewFile = "review/index.html"

// ReviewPolicy is what the reviewer's page may do: run and show what comes from here, and nothing else.
const ReviewPolicy = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' blob:; connect-src 'self'; worker-src 'self'; " +
	"base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// addReview fills in the reviewer's page. It loads its modules ahead, and no service worker.
func (s *Site) addReview(parts map[string][]byte, base string, fill *strings.Replacer) error {
	data, ok := parts[reviewFile]
	if !ok {
		return fmt.Errorf("%s is missing", reviewFile)
	}
	ahead := modules(base, atStart(parts, "review/main.js"))
	f, err := newFile(reviewFile, []byte(strings.Replace(fill.Replace(string(data)), markModules, ahead, 1)), false)
	if err != nil {
		return err
	}
	f.review = true
	s.files["/r"] = f
	return nil
}

// reviewHeaders keep the page out of caches, indexes and Referers.
func reviewHeaders(h http.Header) {
	h.Set("Content-Security-Policy", ReviewPolicy)
	h.Set("Cache-Control", "no-store")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("X-Robots-Tag", "noindex, nofollow, noarchive")
	h.Set("Permissions-Policy", "camera=(), microphone=(), geolocation=()")
}
