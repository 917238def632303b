package custody_test

import (
	"bytes"
	"crypto"
	"crypto/sha256"
	"crypto/x509"
	"encoding/asn1"
	"encoding/hex"
	"encoding/pem"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/digitorus/timestamp"
	"github.com/stretchr/testify/require"

	"kickplate/claims/custody"
)

// tsa is a real time-stamp authority made with openssl ts: a root, an authority below it, and a handler that has openssl
// answer each request.
type tsa struct {
	dir    string
	roots  *x509.CertPool
	server *httptest.Server
	mu     sync.Mutex // openssl's serial file is not made for two at once
	asked  int
	// spoil, when set, answers in openssl's place.
	spoil func(w http.ResponseWriter, query []byte) bool
}

const tsaConfig = `[ req ]
distinguished_name = dn
prompt = no
[ dn ]
CN = %s
[ root ]
basicConstraints = critical,CA:true
keyUsage = critical,keyCertSign,cRLSign
subjectKeyIdentifier = hash
[ tsa ]
basicConstraints = critical,CA:false
keyUsage = critical,digitalSignature
extendedKeyUsage = critical,timeStamping
subjectKeyIdentifier = hash
[ lax ]
basicConstraints = critical,CA:false
extendedKeyUsage = timeStamping
[ web ]
basicConstraints = critical,CA:false
extendedKeyUsage = critical,serverAuth
[ ts ]
default_tsa = conf
[ conf ]
serial = serial
crypto_device = builtin
signer_cert = tsa.pem
certs = root.pem
signer_key = tsa.key
signer_digest = sha256
default_policy = 1.2.3.4.1
other_policies = 1.2.3.4.5
digests = sha256, sha512
accuracy = secs:1, millisecs:500
ordering = yes
tsa_name = yes
ess_cert_id_chain = no
ess_cert_id_alg = sha256
`

func newTSA(t testing.TB) *tsa {
	t.Helper()
	a := &tsa{dir: t.TempDir(), roots: x509.NewCertPool()}
	require.NoError(t, os.WriteFile(filepath.Join(a.dir, "serial"), []byte("01\n"), 0o600))
	for _, name := range []string{"root", "tsa"} {
		require.NoError(t, os.WriteFile(filepath.Join(a.dir, name+".cnf"), fmt.Appendf(nil, tsaConfig, "Example "+name), 0o600))
	}
	for _, args := range [][]string{
		{"req", "-x509", "-newkey", "rsa:2048", "-nodes", "-keyout", "root.key", "-out", "root.pem", "-days", "30", "-config", "root.cnf", "-extensions", "root"},
		{"req", "-newkey", "rsa:2048", "-nodes", "-keyout", "tsa.key", "-out", "tsa.csr", "-config", "tsa.cnf"},
		{"x509", "-req", "-in", "tsa.csr", "-CA", "root.pem", "-CAkey", "root.key", "-CAcreateserial", "-out", "tsa.pem", "-days", "30", "-extfile", "tsa.cnf", "-extensions", "tsa"},
	} {
		out, err := openssl(t, a.dir, args...)
		require.NoError(t, err, out)
	}
	root, err := os.ReadFile(filepath.Join(a.dir, "root.pem"))
	require.NoError(t, err)
	require.True(t, a.roots.AppendCertsFromPEM(root))
	a.server = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		query, err := io.ReadAll(r.Body)
		if err != nil || r.Method != http.MethodPost || r.Header.Get("Content-Type") != "application/timestamp-query" {
			http.Error(w, "not a query", http.StatusBadRequest)
			return
		}
		a.mu.Lock()
		defer a.mu.Unlock()
		a.asked++
		if a.spoil != nil && a.spoil(w, query) {
			return
		}
		w.Header().Set("Content-Type", "application/timestamp-reply")
		_, _ = w.Write(a.answer(t, query))
	}))
	t.Cleanup(a.server.Close)
	return a
}

// answer has openssl answer a query; the caller holds the lock.
func (a *tsa) answer(t testing.TB, query []byte) []byte {
	t.Helper()
	require.NoError(t, os.WriteFile(filepath.Join(a.dir, "query"), query, 0o600))
	out, err := openssl(t, a.dir, "ts", "-reply", "-queryfile", "query", "-config", "tsa.cnf", "-section", "conf", "-out", "reply")
	require.NoError(t, err, out)
	reply, err := os.ReadFile(filepath.Join(a.dir, "reply"))
	require.NoError(t, err)
	return reply
}

func (a *tsa) authority() *custody.Authority {
	return &custody.Authority{URL: a.server.URL, Roots: a.roots}
}

// TestStampRequest: the bytes are those of "openssl ts -query -no_nonce -cert" for the text "abc" (computed with openssl).
func TestStampRequest(t *testing.T) {
	query, err := custody.StampRequest([]byte("abc"), nil)
	require.NoError(t, err)
	require.Equal(t, "30390201013031300d060960864801650304020105000420ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad0101ff", hex.EncodeToString(query))
}

func TestStampOpenSSL(t *testing.T) {
	a := newTSA(t)
	data := []byte("kickplate/0011223344556677\n9\nCsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I=\n")
	response, stamp, err := a.authority().Stamp(t.Context(), data)
	require.NoError(t, err)
	require.WithinDuration(t, time.Now(), stamp.Time, time.Minute)
	require.Equal(t, 1500*time.Millisecond, stamp.Accuracy)
	require.Equal(t, "CN=Example tsa", stamp.Authority)
	require.True(t, stamp.Chained)

	write := func(name string, b []byte) { require.NoError(t, os.WriteFile(filepath.Join(a.dir, name), b, 0o600)) }
	write("data", data)
	write("stamp.tsr", response)
	verify := []string{"ts", "-verify", "-data", "data", "-in", "stamp.tsr", "-CAfile", "root.pem"}
	out, err := openssl(t, a.dir, verify...)
	require.NoError(t, err, out)
	require.Contains(t, out, "Verification: OK")
	write("data", append(data, '!'))
	out, err = openssl(t, a.dir, verify...)
	require.Error(t, err, out)
	require.Contains(t, out, "message imprint mismatch")

	_, err = custody.VerifyStamp(response, append(data, '!'), a.roots)
	require.ErrorContains(t, err, "for other data")
	again, err := custody.VerifyStamp(response, data, nil)
	require.NoError(t, err)
	require.False(t, again.Chained)
	stranger := newTSA(t)
	_, err = custody.VerifyStamp(response, data, stranger.roots)
	require.ErrorContains(t, err, "leads to none that is trusted")

	out, err = openssl(t, a.dir, "ts", "-reply", "-in", "stamp.tsr", "-token_out", "-out", "token")
	require.NoError(t, err, out)
	token, err := os.ReadFile(filepath.Join(a.dir, "token"))
	require.NoError(t, err)
	bare, err := custody.VerifyStamp(token, data, a.roots)
	require.NoError(t, err, "a bare token is as good")
	require.Equal(t, stamp, bare)
}

// keptStamp is the response in testdata, made once with openssl.
func keptStamp(t testing.TB) (response, data []byte, roots *x509.CertPool) {
	t.Helper()
	read := func(name string) []byte {
		raw, err := os.ReadFile(filepath.Join(vectors, name))
		require.NoError(t, err)
		return raw
	}
	roots = x509.NewCertPool()
	require.True(t, roots.AppendCertsFromPEM(read("stamp-root.pem")))
	return read("stamp.tsr"), read("checkpoint-c2sp.txt"), roots
}

// TestStampKept: a stamp from before goes on verifying when its certificates have run out.
func TestStampKept(t *testing.T) {
	response, data, roots := keptStamp(t)
	stamp, err := custody.VerifyStamp(response, data, roots)
	require.NoError(t, err)
	require.Equal(t, "2026-11-25T11:06:23Z", stamp.Time.Format(time.RFC3339)) // as "openssl ts -reply -text" prints it
	require.Equal(t, "2", strings.TrimLeft(stamp.Serial, "0"))
}

// TestStampBitFlips changes each byte of a response: whatever still verifies says the same.
func TestStampBitFlips(t *testing.T) {
	a := newTSA(t)
	data := []byte("data")
	response, stamp, err := a.authority().Stamp(t.Context(), data)
	require.NoError(t, err)
	harmless := 0
	for i := range response {
		spoilt := append([]byte(nil), response...)
		spoilt[i] ^= 0x04
		got, err := custody.VerifyStamp(spoilt, data, a.roots)
		if err == nil {
			harmless++
			require.Equal(t, stamp, got, "byte %d", i)
		}
	}
	require.Less(t, harmless, len(response)/2)
	for i := range len(response) {
		_, err := custody.VerifyStamp(response[:i], data, a.roots)
		require.Error(t, err)
	}
}

// TestStampCertificates: what RFC 3161, 2.3 and 2.4.2 demand of the certificate that signs, beyond a signature that holds.
func TestStampCertificates(t *testing.T) {
	a := newTSA(t)
	data := []byte("data")
	serial, err := openssl(t, a.dir, "x509", "-in", "tsa.pem", "-noout", "-serial")
	require.NoError(t, err)
	certificate := func(name string) *x509.Certificate {
		raw, err := os.ReadFile(filepath.Join(a.dir, name+".pem"))
		require.NoError(t, err)
		block, _ := pem.Decode(raw)
		c, err := x509.ParseCertificate(block.Bytes)
		require.NoError(t, err)
		return c
	}
	// issue makes another certificate for the authority's key, name and number.
	issue := func(name, extensions, days string) *x509.Certificate {
		out, err := openssl(t, a.dir, "x509", "-req", "-in", "tsa.csr", "-CA", "root.pem", "-CAkey", "root.key", "-set_serial",
			"0x"+strings.TrimSpace(strings.TrimPrefix(serial, "serial=")), "-out", name+".pem", "-days", days, "-extfile", "tsa.cnf", "-extensions", extensions)
		require.NoError(t, err, out)
		return certificate(name)
	}
	key := func() crypto.Signer {
		raw, err := os.ReadFile(filepath.Join(a.dir, "tsa.key"))
		require.NoError(t, err)
		block, _ := pem.Decode(raw)
		k, err := x509.ParsePKCS8PrivateKey(block.Bytes)
		require.NoError(t, err)
		return k.(crypto.Signer)
	}()
	sum := sha256.Sum256(data)
	// sign makes a token that is whole in itself, with whatever certificate.
	sign := func(c *x509.Certificate, at time.Time, withCertificate bool) []byte {
		ts := timestamp.Timestamp{
			HashAlgorithm: crypto.SHA256, HashedMessage: sum[:], Time: at, Policy: asn1.ObjectIdentifier{1, 2, 3, 4, 1}, AddTSACertificate: withCertificate,
		}
		raw, err := ts.CreateResponseWithOpts(c, key, crypto.SHA256)
		require.NoError(t, err)
		return raw
	}
	// All certificates come before the moment that they sign for: openssl starts them at the second in which it makes them.
	lax, web, twin := issue("lax", "lax", "30"), issue("web", "web", "30"), issue("twin", "tsa", "31")
	good := a.answer(t, mustQuery(t, data))
	now := time.Now().UTC().Truncate(time.Second)
	_, err = custody.VerifyStamp(sign(certificate("tsa"), now, true), data, a.roots)
	require.NoError(t, err, "what is made here passes when nothing is wrong with it")

	swapped := bytes.Replace(good, certificate("tsa").Raw, twin.Raw, 1)
	require.Len(t, swapped, len(good))
	require.NotEqual(t, good, swapped)
	for name, test := range map[string]struct {
		token []byte
		says  string
	}{
		"no certificate":      {sign(certificate("tsa"), now, false), "does not hold the one certificate that signed it"},
		"usage not critical":  {sign(lax, now, true), "not for time-stamping alone"},
		"another usage":       {sign(web, now, true), "not for time-stamping alone"},
		"before it was valid": {sign(certificate("tsa"), now.AddDate(0, -1, 0), true), "not valid at the time in the stamp"},
		"after it was valid":  {sign(certificate("tsa"), now.AddDate(0, 2, 0), true), "not valid at the time in the stamp"},
		"a twin slipped in":   {swapped, "names another certificate"},
	} {
		_, err := custody.VerifyStamp(test.token, data, a.roots)
		require.ErrorContains(t, err, test.says, name)
		_, err = custody.VerifyStamp(test.token, data, nil)
		require.ErrorContains(t, err, test.says, name+", without roots")
	}
}

func TestStampAuthority(t *testing.T) {
	a := newTSA(t)
	old := a.answer(t, mustQuery(t, []byte("data")))
	reply := func(kind string, body []byte) func(http.ResponseWriter, []byte) bool {
		return func(w http.ResponseWriter, _ []byte) bool {
			w.Header().Set("Content-Type", kind)
			_, _ = w.Write(body)
			return true
		}
	}
	const kind = "application/timestamp-reply"
	for name, test := range map[string]struct {
		spoil func(http.ResponseWriter, []byte) bool
		says  string
	}{
		"down": {func(w http.ResponseWriter, _ []byte) bool {
			http.Error(w, "no", http.StatusServiceUnavailable)
			return true
		}, "503"},
		"a web page":     {reply("text/html", []byte("<html>")), "not a time stamp"},
		"noise":          {reply(kind, []byte("noise")), "cannot be read"},
		"empty":          {reply(kind, nil), "cannot be read"},
		"endless":        {reply(kind, make([]byte, custody.MaxStamp+10)), "more than"},
		"a replayed one": {reply(kind, old), "another request"},
		"a refusal":      {reply(kind, []byte{0x30, 0x05, 0x30, 0x03, 0x02, 0x01, 0x02}), "rejected"},
		"for other data": {func(w http.ResponseWriter, _ []byte) bool {
			return reply(kind, a.answer(t, mustQuery(t, []byte("x"))))(w, nil)
		}, "other data"},
		"a giant key":     {reply(kind, append([]byte{0x30, 0x82, 0x13, 0x8c, 0x03, 0x82, 0x13, 0x88}, make([]byte, 5000)...)), "more than any in use"},
		"nested too deep": {reply(kind, nested(40)), "more than 32 levels"},
		"nested for ever": {reply(kind, bytes.Repeat([]byte{0x30, 0x80}, 60_000)), "cannot be read"},
	} {
		a.spoil = test.spoil
		began := time.Now()
		_, _, err := a.authority().Stamp(t.Context(), []byte("data"))
		require.ErrorContains(t, err, test.says, name)
		require.Less(t, time.Since(began), time.Minute, name)
	}
	a.spoil = func(http.ResponseWriter, []byte) bool { time.Sleep(300 * time.Millisecond); return true }
	slow := a.authority()
	slow.Timeout = 30 * time.Millisecond
	_, _, err := slow.Stamp(t.Context(), []byte("data"))
	require.ErrorContains(t, err, "deadline exceeded")
	for _, url := range []string{"", "file:///etc/passwd", "tsa.example", "ftp://tsa.example/", "http://"} {
		require.Error(t, (&custody.Authority{URL: url}).Check(), url)
	}
}

// nested is n sequences, one in the other.
func nested(n int) []byte {
	b := []byte{}
	for range n {
		b = append([]byte{0x30, byte(len(b))}, b...)
	}
	return b
}

func mustQuery(t testing.TB, data []byte) []byte {
	t.Helper()
	query, err := custody.StampRequest(data, nil)
	require.NoError(t, err)
	return query
}
