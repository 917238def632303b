package authority

import (
	"context"
	"crypto/tls"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func said(who string) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { fmt.Fprintf(w, "%s %s", who, r.Proto) })
}

// One port: TLS gets the app, plain http from this machine too, the page for all.
func TestOnePortForBoth(t *testing.T) {
	a := open(t, t.TempDir(), Options{})
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	secure, plain := Split(ctx, ln, a.TLSConfig())
	page, err := a.Page("https://192.168.1.20:8080", "http://192.168.1.20:8080/trust", func(s string) (string, error) { return "<svg>" + s + "</svg>", nil })
	require.NoError(t, err)
	for l, h := range map[net.Listener]http.Handler{secure: said("app"), plain: Plain(said("local"), page)} {
		hs := &http.Server{Handler: h}
		go hs.Serve(l)
		defer hs.Close()
	}
	port := ln.Addr().(*net.TCPAddr).Port
	get := func(c *http.Client, url string) (int, string, http.Header) {
		res, err := c.Get(url)
		require.NoError(t, err)
		defer res.Body.Close()
		body, err := io.ReadAll(res.Body)
		require.NoError(t, err)
		return res.StatusCode, string(body), res.Header
	}
	trusting := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: pool(a)}, ForceAttemptHTTP2: true}}
	_, body, _ := get(trusting, fmt.Sprintf("https://127.0.0.1:%d/", port))
	assert.Equal(t, "app HTTP/2.0", body)
	_, err = http.Get(fmt.Sprintf("https://127.0.0.1:%d/", port))
	assert.ErrorContains(t, err, "unknown authority")
	_, body, _ = get(http.DefaultClient, fmt.Sprintf("http://127.0.0.1:%d/", port))
	assert.Equal(t, "local HTTP/1.1", body)

	status, body, h := get(http.DefaultClient, fmt.Sprintf("http://127.0.0.1:%d/trust", port))
	assert.Equal(t, http.StatusOK, status)
	for _, want := range []string{"https://192.168.1.20:8080", "<svg>http://192.168.1.20:8080/trust</svg>", strings.ReplaceAll(a.Fingerprint()[:11], ":", " "), "iPhone", "Android"} {
		assert.Contains(t, body, want)
	}
	assert.NotContains(t, body, "<script")
	assert.Contains(t, h.Get("Content-Security-Policy"), "default-src 'none'")
	_, body, h = get(http.DefaultClient, fmt.Sprintf("http://127.0.0.1:%d/trust/kickplate.crt", port))
	assert.Equal(t, string(a.Certificate()), body)
	assert.Equal(t, "application/x-x509-ca-cert", h.Get("Content-Type"))

	t.Run("somebody who says nothing holds up nobody", func(t *testing.T) {
		conn, err := net.Dial("tcp", ln.Addr().String())
		require.NoError(t, err)
		defer conn.Close()
		_, body, _ := get(http.DefaultClient, fmt.Sprintf("http://127.0.0.1:%d/", port))
		assert.Equal(t, "local HTTP/1.1", body)
	})
	t.Run("ending ends both", func(t *testing.T) {
		cancel()
		require.Eventually(t, func() bool {
			c, err := net.Dial("tcp", ln.Addr().String())
			if err == nil {
				c.Close()
			}
			return err != nil
		}, time.Minute, 10*time.Millisecond)
		_, err := secure.Accept()
		assert.ErrorIs(t, err, net.ErrClosed)
	})
}

// What others than the machine itself get by plain http.
func TestPlainForOthers(t *testing.T) {
	h := Plain(said("app"), said("page"))
	ask := func(remote, host, method, path string) *httptest.ResponseRecorder {
		r := httptest.NewRequest(method, path, nil)
		r.RemoteAddr, r.Host = remote, host
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		return w
	}
	phone, shop := "192.168.1.55:4000", "192.168.1.20:8080"
	assert.Contains(t, ask(phone, shop, "GET", "/trust").Body.String(), "page")
	res := ask(phone, shop, "GET", "/jobs")
	assert.Equal(t, http.StatusFound, res.Code)
	assert.Equal(t, "/trust", res.Header().Get("Location"))
	for _, c := range [][2]string{{"POST", "/api/v1/session"}, {"GET", "/api/v1/jobs"}, {"POST", "/"}} {
		assert.Equal(t, http.StatusForbidden, ask(phone, shop, c[0], c[1]).Code, c)
	}
	assert.Contains(t, ask("127.0.0.1:4000", "localhost:8080", "POST", "/api/v1/session").Body.String(), "app")
	assert.Contains(t, ask("[::1]:4000", "[::1]:8080", "GET", "/").Body.String(), "app")
	// Another site's name that was made to lead to this machine.
	assert.Equal(t, http.StatusForbidden, ask("127.0.0.1:4000", "rebound.example:8080", "POST", "/api/v1/session").Code)
	assert.Equal(t, http.StatusFound, ask("127.0.0.1:4000", "127.0.0.1.example", "GET", "/").Code)
}
