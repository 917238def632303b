package bundle

import (
	"bytes"
	"context"
	"crypto/x509"
	"os"
	"path/filepath"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

// authority is a time-stamp authority made with openssl: it returns a response over data, and its root as a file.
func authority(t testing.TB, data []byte) (response []byte, root string) {
	dir := t.TempDir()
	write := func(name, content string) {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(content), 0o600))
	}
	write("tsa.cnf", `[req]
distinguished_name = dn
x509_extensions = v3
prompt = no
[dn]
CN = Invented Time Stamps
[v3]
keyUsage = critical, digitalSignature
extendedKeyUsage = critical, timeStamping
[tsa]
default_tsa = t
[t]
serial = serial
signer_cert = cert.pem
signer_key = key.pem
certs = cert.pem
signer_digest = sha256
default_policy = 1.2.3.4
other_policies = 1.2.3.5
digests = sha256
ess_cert_id_alg = sha256
`)
	write("serial", "01\n")
	write("data", string(data))
	run := func(args ...string) { tool(t, "openssl", dir, "openssl", args...) }
	run("req", "-x509", "-newkey", "rsa:2048", "-nodes", "-keyout", "key.pem", "-out", "cert.pem", "-days", "30", "-config", "tsa.cnf")
	run("ts", "-query", "-data", "data", "-sha256", "-cert", "-out", "query.tsq")
	run("ts", "-reply", "-config", "tsa.cnf", "-section", "t", "-queryfile", "query.tsq", "-out", "reply.tsr")
	response, err := os.ReadFile(filepath.Join(dir, "reply.tsr"))
	require.NoError(t, err)
	return response, filepath.Join(dir, "cert.pem")
}

// The commands of README.txt for the signature and the time stamp, run by openssl on an unzipped bundle.
func TestOpensslChecksTheBundle(t *testing.T) {
	p := smallParcel(t, claims.Hold{})
	response, root := authority(t, p.Custody.Checkpoint)
	p.Custody.Stamps = [][]byte{response}
	data, _ := pack(t, p)
	dir := unpack(t, data)

	out := tool(t, "openssl", dir, "openssl", "ts", "-verify", "-data", "data/custody/checkpoint.txt", "-in", "data/custody/time-stamp-1.tsr", "-CAfile", root)
	assert.Contains(t, out, "Verification: OK")

	// The commands for the signature are taken from README.txt as they stand there.
	readme, err := os.ReadFile(filepath.Join(dir, "data/README.txt"))
	require.NoError(t, err)
	commands := regexp.MustCompile(`(?m)^ {7}((?:sed '|sed -n 's|\(printf '\\060|openssl pkeyutl).*)$`).FindAllSubmatch(readme, -1)
	require.Len(t, commands, 4)
	script := "set -e\n"
	for _, c := range commands {
		script += string(c[1]) + "\n"
	}
	out = tool(t, "openssl", dir, "sh", "-c", script)
	assert.Contains(t, out, "Signature Verified Successfully")

	t.Run("Verify", func(t *testing.T) {
		r := verify(t, data)
		require.True(t, r.Holds, r.Text())
		assert.Contains(t, r.Text(), "was not followed to a root")
		roots := x509.NewCertPool()
		raw, err := os.ReadFile(root)
		require.NoError(t, err)
		require.True(t, roots.AppendCertsFromPEM(raw))
		r, err = Verify(context.Background(), bytes.NewReader(data), int64(len(data)), Options{Roots: roots})
		require.NoError(t, err)
		require.True(t, r.Holds, r.Text())
		assert.Contains(t, r.Text(), "leads to a root that you trust")
	})
	t.Run("a stamp over something else", func(t *testing.T) {
		other, _ := authority(t, []byte("another checkpoint"))
		spoilt := repack(true, func(_ testing.TB, c *contents) { c.data["data/custody/time-stamp-1.tsr"] = other })(t, data)
		r := verify(t, spoilt)
		assert.Equal(t, 1, r.broken("custody"), r.Text())
	})
	t.Run("a stamp that is missing", func(t *testing.T) {
		spoilt := repack(true, func(_ testing.TB, c *contents) { delete(c.data, "data/custody/time-stamp-1.tsr") })(t, data)
		assert.Positive(t, func() int { r := verify(t, spoilt); return r.broken("custody") }())
	})
}
