package main

import (
	"archive/zip"
	"bytes"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

const tsaConfig = `[ req ]
distinguished_name = dn
prompt = no
[ dn ]
CN = Example time stamps
[ ext ]
basicConstraints = critical,CA:false
keyUsage = critical,digitalSignature
extendedKeyUsage = critical,timeStamping
[ conf ]
serial = serial
crypto_device = builtin
signer_cert = tsa.pem
certs = tsa.pem
signer_key = tsa.key
signer_digest = sha256
default_policy = 1.2.3.4.1
other_policies = 1.2.3.4.5
digests = sha256
ess_cert_id_alg = sha256
`

// newTimeStamper is a time-stamp authority whose answers openssl makes. It can be out of reach.
func newTimeStamper(t *testing.T) (url, dir string, reachable func(bool)) {
	dir = t.TempDir()
	openssl := func(args ...string) {
		cmd := exec.Command("openssl", args...)
		cmd.Dir = dir
		out, err := cmd.CombinedOutput()
		require.NoError(t, err, "openssl %v: %s", args, out)
	}
	require.NoError(t, os.WriteFile(filepath.Join(dir, "tsa.cnf"), []byte(tsaConfig), 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "serial"), []byte("01\n"), 0o600))
	openssl("req", "-x509", "-newkey", "rsa:2048", "-nodes", "-keyout", "tsa.key", "-out", "tsa.pem", "-days", "30", "-config", "tsa.cnf", "-extensions", "ext")
	var mu sync.Mutex
	away := true
	srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		mu.Lock()
		defer mu.Unlock()
		query, err := io.ReadAll(r.Body)
		if err != nil || away {
			http.Error(w, "out of order", http.StatusServiceUnavailable)
			return
		}
		assert.NoError(t, os.WriteFile(filepath.Join(dir, "query"), query, 0o600))
		openssl("ts", "-reply", "-queryfile", "query", "-config", "tsa.cnf", "-section", "conf", "-out", "reply")
		reply, err := os.ReadFile(filepath.Join(dir, "reply"))
		assert.NoError(t, err)
		w.Header().Set("Content-Type", "application/timestamp-reply")
		_, _ = w.Write(reply)
	}))
	t.Cleanup(srv.Close)
	return srv.URL, dir, func(on bool) { mu.Lock(); away = !on; mu.Unlock() }
}

// With --tsa a bundle carries a time stamp over its checkpoint that openssl accepts; while the authority can't be reached, bundles
// go without and nothing fails.
func TestTimeStampsGoIntoBundles(t *testing.T) {
	url, dir, reachable := newTimeStamper(t)
	p := start(t, filepath.Join(t.TempDir(), "data"), true, "--tsa", url)
	client, token := patient(), p.enter()
	job := uuid.Must(uuid.NewV7()).String()
	note := func(kind claims.Kind, body any) {
		e := asJSON(claims.Entry{ID: claims.EntryID(makeID()), Shop: theShop, Job: claims.JobID(job), Kind: kind, At: time.Now(), By: "kim", Device: "desk", Body: asJSON(body)})
		status, _, answer, err := request(client, token, http.MethodPost, p.url+"/api/v1/entries", "application/json", []byte(`{"entries":[`+string(e)+`]}`), nil)
		require.NoError(t, err)
		require.Equal(t, http.StatusOK, status, "%s", answer)
	}
	build := func() map[string][]byte {
		status, header, answer, err := request(client, token, http.MethodPost, p.url+"/api/v1/jobs/"+job+"/bundles", "application/json", []byte(`{}`), nil)
		require.NoError(t, err)
		require.Equal(t, http.StatusCreated, status, "%s", answer)
		status, _, raw, err := request(client, token, http.MethodGet, p.url+header.Get("Location"), "", nil, nil)
		require.NoError(t, err)
		require.Equal(t, http.StatusOK, status)
		z, err := zip.NewReader(bytes.NewReader(raw), int64(len(raw)))
		require.NoError(t, err)
		files := map[string][]byte{}
		for _, f := range z.File {
			if _, name, ok := strings.Cut(f.Name, "/data/custody/"); ok {
				r, err := f.Open()
				require.NoError(t, err)
				files[name], err = io.ReadAll(r)
				require.NoError(t, err)
			}
		}
		return files
	}
	note(claims.KindUnit, claims.Unit{Kind: "refrigerator"})
	note(claims.KindCoverage, claims.Coverage{Kind: "maker-warranty"})
	without := build()
	require.Contains(t, without, "checkpoint.txt")
	for name := range without {
		assert.False(t, strings.HasSuffix(name, ".tsr"), "the authority was away, yet there is %s", name)
	}

	reachable(true)
	note(claims.KindNote, claims.Note{Text: "later"})
	with := build()
	stamp := ""
	for name := range with {
		if strings.HasSuffix(name, ".tsr") {
			stamp = name
		}
	}
	require.NotEmpty(t, stamp, "no time stamp among %d custody files", len(with))
	for name, file := range map[string]string{stamp: "stamp.tsr", "checkpoint.txt": "checkpoint.txt"} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, file), with[name], 0o600))
	}
	cmd := exec.Command("openssl", "ts", "-verify", "-data", "checkpoint.txt", "-in", "stamp.tsr", "-CAfile", "tsa.pem")
	cmd.Dir = dir
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, "%s", out)
	assert.Contains(t, string(out), "Verification: OK")
}
