package main

import (
	"crypto/tls"
	"crypto/x509"
	"io"
	"io/fs"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

// get fetches a page without following redirects.
func get(t *testing.T, config *tls.Config, url string) (*http.Response, string) {
	t.Helper()
	c := &http.Client{Timeout: 20 * time.Second, Transport: &http.Transport{TLSClientConfig: config, ForceAttemptHTTP2: true},
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	res, err := c.Get(url)
	require.NoError(t, err)
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	require.NoError(t, err)
	return res, string(body)
}

// A shop without a public name: the phone gets the certificate by plain http, trusts it, and then has HTTPS; the desk on the
// machine itself needs none of that. Everything survives a restart.
func TestOwnAuthority(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	p := start(t, data, true, "--own-authority", "--name", "kickplate.lan")
	_, der := get(t, nil, p.url+"/trust/kickplate.crt")
	ca, err := x509.ParseCertificate([]byte(der))
	require.NoError(t, err)
	roots := x509.NewCertPool()
	roots.AddCert(ca)
	u, err := url.Parse(p.url)
	require.NoError(t, err)
	for _, name := range []string{"kickplate.lan", "localhost"} {
		conn, err := tls.Dial("tcp", u.Host, &tls.Config{RootCAs: roots, ServerName: name})
		require.NoError(t, err, name)
		conn.Close()
	}
	res, body := get(t, &tls.Config{RootCAs: roots}, "https://"+u.Host+"/api/v1/clock")
	assert.Equal(t, http.StatusOK, res.StatusCode)
	assert.Equal(t, 2, res.ProtoMajor)
	assert.Contains(t, body, "now")
	assert.Empty(t, res.Header.Get("Strict-Transport-Security"), "it would take the plain page away from the next phone")
	_, page := get(t, nil, p.url+"/trust")
	said := strings.Join(p.said, "\n")
	for _, want := range []string{"https://kickplate.lan:" + u.Port(), "http://kickplate.lan:" + u.Port() + "/trust"} {
		assert.Contains(t, said, want)
		assert.Contains(t, page, want)
	}
	token := p.enter() // by plain http, on this machine
	status, _, raw, err := request(patient(), token, http.MethodPost, p.url+"/api/v1/pairings", "", nil, nil)
	require.NoError(t, err)
	require.Equal(t, http.StatusCreated, status, string(raw))
	assert.Contains(t, string(raw), "https://kickplate.lan:"+u.Port()+"/#pair=", "a phone is paired by https")

	info, err := os.Stat(filepath.Join(data, "keys", "authority-key.pem"))
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o600), info.Mode().Perm())
	require.NoError(t, p.stop(), "%s", p.errs)
	again := start(t, data, true, "--own-authority")
	_, der2 := get(t, nil, again.url+"/trust/kickplate.crt")
	assert.Equal(t, der, der2, "phones that trust it go on trusting it")
}

// A certificate from elsewhere, made by OpenSSL; renewing the files needs no restart (see certFiles).
func TestGivenCertificate(t *testing.T) {
	dir := t.TempDir()
	cert, key := filepath.Join(dir, "cert.pem"), filepath.Join(dir, "key.pem")
	out, err := exec.Command("openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes", "-keyout", key, "-out", cert,
		"-days", "30", "-subj", "/CN=shop", "-addext", "subjectAltName=DNS:shop.example,IP:127.0.0.1").CombinedOutput()
	if _, missing := err.(*exec.Error); missing {
		t.Fatal("this test needs the apt package openssl")
	}
	require.NoError(t, err, string(out))
	pem, err := os.ReadFile(cert)
	require.NoError(t, err)
	roots := x509.NewCertPool()
	require.True(t, roots.AppendCertsFromPEM(pem))
	p := start(t, filepath.Join(dir, "data"), true, "--tls-cert", cert, "--tls-key", key)
	assert.True(t, strings.HasPrefix(p.url, "https://127.0.0.1:"), p.url)
	res, _ := get(t, &tls.Config{RootCAs: roots}, p.url+"/api/v1/clock")
	assert.Equal(t, http.StatusOK, res.StatusCode)
	assert.Contains(t, res.Header.Get("Strict-Transport-Security"), "max-age=")
	_, err = (&http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: roots, MaxVersion: tls.VersionTLS11}}}).Get(p.url)
	assert.Error(t, err, "TLS 1.1 is over")
	plain, err := http.Get(strings.Replace(p.url, "https://", "http://", 1))
	if err == nil {
		plain.Body.Close()
		assert.Equal(t, http.StatusBadRequest, plain.StatusCode)
	}
}

func TestRenewedCertificateIsTaken(t *testing.T) {
	dir := t.TempDir()
	cert, key := filepath.Join(dir, "cert.pem"), filepath.Join(dir, "key.pem")
	make := func(name string) {
		out, err := exec.Command("openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes", "-keyout", key, "-out", cert,
			"-days", "30", "-subj", "/CN=shop", "-addext", "subjectAltName=DNS:"+name).CombinedOutput()
		require.NoError(t, err, string(out))
	}
	make("old.example")
	f, err := newCertFiles(cert, key, quiet(console{err: io.Discard}))
	require.NoError(t, err)
	assert.Equal(t, "old.example", f.name())
	make("new.example")
	require.NoError(t, os.Chtimes(cert, time.Now(), time.Now().Add(time.Minute)))
	f.looked = f.looked.Add(-2 * lookEvery)
	got, err := f.get(nil)
	require.NoError(t, err)
	assert.Equal(t, []string{"new.example"}, got.Leaf.DNSNames)
	require.NoError(t, os.WriteFile(cert, []byte("half a file"), 0o600))
	require.NoError(t, os.Chtimes(cert, time.Now(), time.Now().Add(time.Hour)))
	f.looked = f.looked.Add(-2 * lookEvery)
	still, err := f.get(nil)
	require.NoError(t, err)
	assert.Same(t, got, still, "files that are just being replaced leave the old one in use")
}

// Told to stop, the server lets the request under way finish and leaves a folder that opens again.
func TestStopsGracefully(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	p := start(t, data, true)
	token := p.enter()
	pic := snapshot("graceful", 1)
	done := make(chan int, 1)
	pr, pw := io.Pipe()
	go func() {
		req, err := http.NewRequest(http.MethodPut, p.url+"/api/v1/originals/"+digestOf(pic), pr)
		if err != nil {
			done <- 0
			return
		}
		req.Header.Set("Authorization", "Bearer "+token)
		res, err := patient().Do(req)
		if err != nil {
			done <- -1
			return
		}
		res.Body.Close()
		done <- res.StatusCode
	}()
	_, err := pw.Write(pic[:100])
	require.NoError(t, err)
	// Only when the bytes that were sent have come to the disk is the request surely running.
	require.Eventually(t, func() bool {
		found := false
		err := filepath.WalkDir(filepath.Join(data, "incoming"), func(_ string, d fs.DirEntry, err error) error {
			found = found || err == nil && !d.IsDir()
			return nil
		})
		return err == nil && found
	}, time.Minute, 20*time.Millisecond)
	require.NoError(t, p.cmd.Process.Signal(os.Interrupt))
	time.Sleep(300 * time.Millisecond)
	_, err = pw.Write(pic[100:])
	require.NoError(t, err)
	require.NoError(t, pw.Close())
	assert.Equal(t, http.StatusCreated, <-done)
	p.once.Do(func() { p.waited = p.cmd.Wait() })
	require.NoError(t, p.waited, "%s", p.errs)
	again := start(t, data, true)
	status, _, _, err := request(patient(), token, http.MethodHead, again.url+"/api/v1/originals/"+digestOf(pic), "", nil, nil)
	require.NoError(t, err)
	assert.Equal(t, http.StatusOK, status)
}

func digestOf(data []byte) string { return string(claims.DigestOf(data)) }
