package authority

import (
	"bytes"
	_ "embed"
	"encoding/pem"
	"fmt"
	"html/template"
	"net/http"
	"strings"
)

//go:embed page.html
var pageHTML string

//go:embed page.css
var pageCSS []byte

// pagePolicy allows the page its own style sheet and nothing else: no script, no frames, no forms.
const pagePolicy = "default-src 'none'; style-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// Page leads a person through trusting the authority, at /trust, and hands out its certificate (never its key). appURL is where the
// app is reached by HTTPS, pageURL the page itself by plain HTTP; draw makes a QR code as SVG.
func (a *Authority) Page(appURL, pageURL string, draw func(text string) (string, error)) (http.Handler, error) {
	t, err := template.New("page").Parse(pageHTML)
	if err != nil {
		return nil, fmt.Errorf("read the page on trusting the authority: %w", err)
	}
	svg, err := draw(pageURL)
	if err != nil {
		return nil, err
	}
	var page bytes.Buffer
	err = t.Execute(&page, map[string]any{
		"Name": a.cert.Subject.CommonName, "URL": appURL, "Here": pageURL, "QR": template.HTML(svg),
		"Fingerprint": groups(a.Fingerprint()),
	})
	if err != nil {
		return nil, fmt.Errorf("write the page on trusting the authority: %w", err)
	}
	cert := pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: a.cert.Raw})
	mux := http.NewServeMux()
	mux.HandleFunc("GET /trust", send("text/html; charset=utf-8", page.Bytes()))
	mux.HandleFunc("GET /trust/page.css", send("text/css; charset=utf-8", pageCSS))
	// DER under this type is what iPhones take for a profile and Android for a certificate.
	mux.HandleFunc("GET /trust/kickplate.crt", send("application/x-x509-ca-cert", a.cert.Raw))
	mux.HandleFunc("GET /trust/kickplate.pem", send("application/x-pem-file", cert))
	return mux, nil
}

func send(kind string, data []byte) http.HandlerFunc {
	return func(w http.ResponseWriter, _ *http.Request) {
		h := w.Header()
		h.Set("Content-Type", kind)
		h.Set("Content-Security-Policy", pagePolicy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cache-Control", "no-store")
		_, _ = w.Write(data) // the reader may have gone away; there is nobody to tell
	}
}

// groups cuts a fingerprint into pieces of four bytes, which are easier to compare.
func groups(print string) []string {
	pairs := strings.Split(print, ":")
	var out []string
	for len(pairs) > 0 {
		n := min(4, len(pairs))
		out = append(out, strings.Join(pairs[:n], " "))
		pairs = pairs[n:]
	}
	return out
}

// Plain answers those who come by plain HTTP. The machine itself gets everything (browsers treat it as a secure place);
// others get the page on trusting the authority, and are sent to HTTPS for all else.
func Plain(app, page http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		switch {
		case r.URL.Path == "/trust" || strings.HasPrefix(r.URL.Path, "/trust/"):
			page.ServeHTTP(w, r)
		case fromHere(r):
			app.ServeHTTP(w, r)
		case r.Method == http.MethodGet && !strings.HasPrefix(r.URL.Path, "/api/"):
			w.Header().Set("Cache-Control", "no-store")
			http.Redirect(w, r, "/trust", http.StatusFound)
		default:
			w.Header().Set("Cache-Control", "no-store")
			http.Error(w, "Use https here. Open /trust to let this device trust the shop's certificate.", http.StatusForbidden)
		}
	})
}

// fromHere reports whether the request comes from this machine and was meant for it: the second half keeps other sites'
// names that resolve to 127.0.0.1 out.
func fromHere(r *http.Request) bool {
	return loopback(r.RemoteAddr) && loopback(r.Host)
}
