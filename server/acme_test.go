package main

import (
	"crypto"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/asn1"
	"encoding/base64"
	"encoding/json"
	"encoding/pem"
	"fmt"
	"math/big"
	"net"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/crypto/acme"
)

// acmeAuthority is a small certificate authority that speaks as much of RFC 8555 as one order needs and really looks at the TLS-ALPN-01
// challenge (RFC 8737) on the port of the server under test. It does not check the signatures of requests.
type acmeAuthority struct {
	t    *testing.T
	url  string
	port string // of the server under test
	key  *ecdsa.PrivateKey
	cert *x509.Certificate

	mu         sync.Mutex
	account    crypto.PublicKey
	valid      bool
	challenged int
	issued     []byte
}

func newACME(t *testing.T, port string) *acmeAuthority {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(t, err)
	ca := &x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "test authority"}, NotBefore: time.Now().Add(-time.Hour),
		NotAfter: time.Now().Add(24 * time.Hour), IsCA: true, BasicConstraintsValid: true, KeyUsage: x509.KeyUsageCertSign}
	der, err := x509.CreateCertificate(rand.Reader, ca, ca, key.Public(), key)
	require.NoError(t, err)
	cert, err := x509.ParseCertificate(der)
	require.NoError(t, err)
	a := &acmeAuthority{t: t, port: port, key: key, cert: cert}
	s := httptest.NewServer(a)
	t.Cleanup(s.Close)
	a.url = s.URL
	return a
}

func (a *acmeAuthority) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	a.mu.Lock()
	defer a.mu.Unlock()
	w.Header().Set("Replay-Nonce", makeID())
	var jws struct{ Protected, Payload string }
	if r.Method == http.MethodPost {
		if err := json.NewDecoder(r.Body).Decode(&jws); err != nil {
			http.Error(w, err.Error(), http.StatusBadRequest)
			return
		}
	}
	reply := func(status int, v any) {
		w.Header().Set("Content-Type", "application/json")
		w.WriteHeader(status)
		_ = json.NewEncoder(w).Encode(v)
	}
	switch r.URL.Path {
	case "/directory":
		reply(http.StatusOK, map[string]string{"newNonce": a.url + "/nonce", "newAccount": a.url + "/account", "newOrder": a.url + "/order"})
	case "/nonce":
	case "/account":
		a.account = a.keyOf(jws.Protected)
		w.Header().Set("Location", a.url+"/account/1")
		reply(http.StatusCreated, map[string]string{"status": "valid"})
	case "/order", "/order/1":
		w.Header().Set("Location", a.url+"/order/1")
		status := http.StatusOK
		if r.URL.Path == "/order" {
			status = http.StatusCreated
		}
		reply(status, a.order())
	case "/authz":
		reply(http.StatusOK, a.authz())
	case "/challenge":
		a.challenged++
		if err := a.look(); err != nil {
			a.t.Errorf("the challenge does not hold: %v", err)
		} else {
			a.valid = true
		}
		reply(http.StatusOK, a.challenge())
	case "/finalize":
		if err := a.issue(jws.Payload); err != nil {
			a.t.Errorf("finalize: %v", err)
		}
		w.Header().Set("Location", a.url+"/order/1")
		reply(http.StatusOK, a.order())
	case "/certificate":
		w.Header().Set("Content-Type", "application/pem-certificate-chain")
		_ = pem.Encode(w, &pem.Block{Type: "CERTIFICATE", Bytes: a.issued})
	default:
		http.NotFound(w, r)
	}
}

const acmeToken = "0123456789abcdefghijklmnopqrstuvwxyz"

func (a *acmeAuthority) status() string {
	if a.valid {
		return "valid"
	}
	return "pending"
}

func (a *acmeAuthority) challenge() map[string]string {
	return map[string]string{"type": "tls-alpn-01", "url": a.url + "/challenge", "token": acmeToken, "status": a.status()}
}

func (a *acmeAuthority) authz() map[string]any {
	return map[string]any{"status": a.status(), "identifier": map[string]string{"type": "dns", "value": "shop.example"}, "challenges": []any{a.challenge()}}
}

func (a *acmeAuthority) order() map[string]any {
	o := map[string]any{"status": "pending", "identifiers": []any{map[string]string{"type": "dns", "value": "shop.example"}},
		"authorizations": []string{a.url + "/authz"}, "finalize": a.url + "/finalize"}
	if a.valid {
		o["status"] = "ready"
	}
	if a.issued != nil {
		o["status"], o["certificate"] = "valid", a.url+"/certificate"
	}
	return o
}

// keyOf reads the account's key out of a protected header.
func (a *acmeAuthority) keyOf(protected string) crypto.PublicKey {
	raw, err := base64.RawURLEncoding.DecodeString(protected)
	require.NoError(a.t, err)
	var h struct{ JWK struct{ X, Y string } }
	require.NoError(a.t, json.Unmarshal(raw, &h))
	x, err := base64.RawURLEncoding.DecodeString(h.JWK.X)
	require.NoError(a.t, err)
	y, err := base64.RawURLEncoding.DecodeString(h.JWK.Y)
	require.NoError(a.t, err)
	key, err := ecdsa.ParseUncompressedPublicKey(elliptic.P256(), append(append([]byte{4}, x...), y...))
	require.NoError(a.t, err)
	return key
}

// look connects to the server as RFC 8737 says and compares the certificate's acmeIdentifier with the key authorization's hash.
func (a *acmeAuthority) look() error {
	conn, err := tls.Dial("tcp", "127.0.0.1:"+a.port, &tls.Config{ServerName: "shop.example", NextProtos: []string{acme.ALPNProto}, InsecureSkipVerify: true})
	if err != nil {
		return err
	}
	defer conn.Close()
	print, err := acme.JWKThumbprint(a.account)
	if err != nil {
		return err
	}
	want := sha256.Sum256([]byte(acmeToken + "." + print))
	for _, e := range conn.ConnectionState().PeerCertificates[0].Extensions {
		if e.Id.Equal(asn1.ObjectIdentifier{1, 3, 6, 1, 5, 5, 7, 1, 31}) {
			var got []byte
			if _, err := asn1.Unmarshal(e.Value, &got); err != nil || string(got) != string(want[:]) {
				return fmt.Errorf("the acmeIdentifier is another (%v)", err)
			}
			return nil
		}
	}
	return fmt.Errorf("the certificate has no acmeIdentifier")
}

func (a *acmeAuthority) issue(payload string) error {
	raw, err := base64.RawURLEncoding.DecodeString(payload)
	if err != nil {
		return err
	}
	var in struct{ CSR string }
	if err := json.Unmarshal(raw, &in); err != nil {
		return err
	}
	der, err := base64.RawURLEncoding.DecodeString(in.CSR)
	if err != nil {
		return err
	}
	csr, err := x509.ParseCertificateRequest(der)
	if err != nil {
		return err
	}
	leaf := &x509.Certificate{SerialNumber: big.NewInt(2), DNSNames: csr.DNSNames, NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(20 * time.Hour),
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}}
	a.issued, err = x509.CreateCertificate(rand.Reader, leaf, a.cert, csr.PublicKey, a.key)
	return err
}

// A server with a public name gets its certificate by itself, keeps it over a restart, and asks for no other name's.
func TestACME(t *testing.T) {
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	_, port, err := net.SplitHostPort(ln.Addr().String())
	require.NoError(t, err)
	require.NoError(t, ln.Close())
	authority := newACME(t, port)
	roots := x509.NewCertPool()
	roots.AddCert(authority.cert)
	data := filepath.Join(t.TempDir(), "data")
	args := []string{"--listen", "127.0.0.1:" + port, "--acme", "shop.example", "--acme-directory", authority.url + "/directory"}
	for range 2 {
		p := start(t, data, true, args...)
		assert.Equal(t, "https://shop.example", p.url)
		conn, err := tls.Dial("tcp", "127.0.0.1:"+port, &tls.Config{RootCAs: roots, ServerName: "shop.example", NextProtos: []string{"h2", "http/1.1"}})
		require.NoError(t, err, "%s", p.errs)
		assert.Equal(t, "h2", conn.ConnectionState().NegotiatedProtocol)
		require.NoError(t, conn.Close())
		_, err = tls.Dial("tcp", "127.0.0.1:"+port, &tls.Config{RootCAs: roots, ServerName: "other.example"})
		assert.Error(t, err)
		require.NoError(t, p.stop(), "%s", p.errs)
	}
	assert.Equal(t, 1, authority.challenged, "the second start uses the certificate of the first")
	files, err := filepath.Glob(filepath.Join(data, "keys", "acme", "*"))
	require.NoError(t, err)
	assert.Contains(t, strings.Join(files, " "), "shop.example")
}
