package authority

import (
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"net"
	"net/netip"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func addresses(list ...string) func() ([]netip.Addr, error) {
	return func() ([]netip.Addr, error) {
		var out []netip.Addr
		for _, s := range list {
			out = append(out, netip.MustParseAddr(s))
		}
		return out, nil
	}
}

func open(t *testing.T, dir string, o Options) *Authority {
	t.Helper()
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Addresses == nil {
		o.Addresses = addresses("192.168.1.20", "fd00::20", "203.0.113.9")
	}
	a, err := Open(dir, o)
	require.NoError(t, err)
	return a
}

func TestMadeOnceAndKeptPrivate(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "keys")
	a := open(t, dir, Options{})
	info, err := os.Stat(filepath.Join(dir, keyFile))
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o600), info.Mode().Perm())
	again := open(t, dir, Options{})
	assert.Equal(t, a.Fingerprint(), again.Fingerprint())
	assert.Len(t, a.Fingerprint(), 32*3-1)

	t.Run("a key that others may read is refused", func(t *testing.T) {
		require.NoError(t, os.Chmod(filepath.Join(dir, keyFile), 0o640))
		_, err := Open(dir, Options{Now: time.Now})
		assert.ErrorContains(t, err, "chmod 600")
		require.NoError(t, os.Chmod(filepath.Join(dir, keyFile), 0o600))
	})
	t.Run("an expired one is refused", func(t *testing.T) {
		_, err := Open(dir, Options{Now: func() time.Time { return time.Now().Add(authorityFor + time.Hour) }})
		assert.ErrorContains(t, err, "expired")
	})
	t.Run("a name on the public network is refused", func(t *testing.T) {
		_, err := Open(dir, Options{Now: time.Now, Names: []string{"www.example.com"}})
		assert.ErrorContains(t, err, "--acme")
	})
	t.Run("two files that do not belong together", func(t *testing.T) {
		other := filepath.Join(t.TempDir(), "keys")
		open(t, other, Options{})
		raw, err := os.ReadFile(filepath.Join(other, certFile))
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(dir, certFile), raw, 0o644))
		_, err = Open(dir, Options{Now: time.Now})
		assert.ErrorContains(t, err, "do not belong together")
	})
}

func pool(a *Authority) *x509.CertPool {
	p := x509.NewCertPool()
	p.AddCert(a.cert)
	return p
}

func TestServerCertificate(t *testing.T) {
	now := time.Now()
	a := open(t, t.TempDir(), Options{Names: []string{"kickplate.lan"}, Now: func() time.Time { return now }})
	made, err := a.serverCertificate()
	require.NoError(t, err)
	for _, name := range []string{"localhost", "kickplate.lan", "192.168.1.20", "127.0.0.1", "::1", "fd00::20"} {
		_, err := made.Leaf.Verify(x509.VerifyOptions{Roots: pool(a), DNSName: name, CurrentTime: now})
		assert.NoError(t, err, name)
	}
	_, err = made.Leaf.Verify(x509.VerifyOptions{Roots: pool(a), DNSName: "203.0.113.9", CurrentTime: now})
	assert.Error(t, err, "a public address is not vouched for")
	assert.LessOrEqual(t, made.Leaf.NotAfter.Sub(made.Leaf.NotBefore), 825*24*time.Hour)

	t.Run("the same until something changes", func(t *testing.T) {
		same, err := a.serverCertificate()
		require.NoError(t, err)
		assert.Same(t, made, same)
		a.addresses = addresses("192.168.1.77")
		moved, err := a.serverCertificate()
		require.NoError(t, err)
		assert.NoError(t, moved.Leaf.VerifyHostname("192.168.1.77"))
		now = now.Add(serverFor - renewBefore + time.Hour)
		renewed, err := a.serverCertificate()
		require.NoError(t, err)
		assert.NotEqual(t, moved.Leaf.SerialNumber, renewed.Leaf.SerialNumber)
	})
}

// Whoever steals the key still can't pose as a public site: by Go's verifier and by OpenSSL's.
func TestNameConstraintsHold(t *testing.T) {
	dir := t.TempDir()
	a := open(t, dir, Options{})
	good, err := a.issue([]string{"kickplate.lan"}, []net.IP{net.IPv4(192, 168, 1, 20).To4()})
	require.NoError(t, err)
	bad, err := a.issue([]string{"www.example.com"}, nil)
	require.NoError(t, err)
	public, err := a.issue([]string{"kickplate.lan"}, []net.IP{net.IPv4(203, 0, 113, 9).To4()})
	require.NoError(t, err)
	for name, c := range map[string]struct {
		cert *tls.Certificate
		ok   bool
	}{"private": {good, true}, "public name": {bad, false}, "public address": {public, false}} {
		t.Run(name, func(t *testing.T) {
			_, err := c.cert.Leaf.Verify(x509.VerifyOptions{Roots: pool(a)})
			assert.Equal(t, c.ok, err == nil, "%v", err)
			leaf := filepath.Join(dir, "leaf.pem")
			require.NoError(t, os.WriteFile(leaf, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: c.cert.Certificate[0]}), 0o600))
			out, err := exec.Command("openssl", "verify", "-x509_strict", "-purpose", "sslserver", "-CAfile", filepath.Join(dir, certFile), leaf).CombinedOutput()
			if _, missing := err.(*exec.Error); missing {
				t.Fatal("this test needs the apt package openssl")
			}
			assert.Equal(t, c.ok, err == nil, "%s", out)
			if !c.ok {
				assert.Contains(t, string(out), "permitted subtree violation")
			}
		})
	}
}
