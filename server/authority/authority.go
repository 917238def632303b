package authority

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"math/big"
	"net"
	"net/netip"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"
)

// How long certificates last. Apple's devices refuse server certificates of more than 825 days, also from authorities
// that a person added (Apple support article HT210176, from memory).
const (
	authorityFor = 10 * 365 * 24 * time.Hour
	serverFor    = 90 * 24 * time.Hour
	renewBefore  = 30 * 24 * time.Hour
)

// Names of the files in the folder.
const (
	keyFile  = "authority-key.pem"
	certFile = "authority.pem"
)

// Authority signs certificates for the names and addresses this machine has on a private network.
type Authority struct {
	cert *x509.Certificate
	key  *ecdsa.PrivateKey
	now  func() time.Time
	// names are what the server is called beside its host name; addresses finds the machine's own.
	names     []string
	addresses func() ([]netip.Addr, error)

	mu     sync.Mutex
	server *tls.Certificate
}

// Options for Open.
type Options struct {
	// Names are further names of the server, such as "kickplate.lan".
	Names []string
	Now   func() time.Time
	// Addresses returns the machine's own addresses; nil = ask the system.
	Addresses func() ([]netip.Addr, error)
}

// Open reads the authority in the folder, or makes one: its key is readable by this user only. A key file that others may
// read is refused.
func Open(dir string, o Options) (*Authority, error) {
	if o.Addresses == nil {
		o.Addresses = ownAddresses
	}
	a := &Authority{now: o.Now, addresses: o.Addresses, names: o.Names}
	for _, name := range o.Names {
		if !permittedName(name) {
			return nil, fmt.Errorf("the built-in authority can't vouch for %q: use a name that ends in .lan, .local, .home.arpa or .internal, or get a public certificate with --acme", name)
		}
	}
	err := a.load(dir)
	if errors.Is(err, fs.ErrNotExist) {
		if err = a.create(dir); err == nil {
			err = a.load(dir)
		}
	}
	if err != nil {
		return nil, fmt.Errorf("the built-in certificate authority in %s: %w", dir, err)
	}
	return a, nil
}

func (a *Authority) load(dir string) error {
	path := filepath.Join(dir, keyFile)
	info, err := os.Stat(path)
	if err != nil {
		return err
	}
	if info.Mode().Perm()&0o077 != 0 {
		return fmt.Errorf("others may read %s: whoever has it can pose as this server. Run: chmod 600 %s", keyFile, path)
	}
	keyDER, err := readPEM(path, "PRIVATE KEY")
	if err != nil {
		return err
	}
	certDER, err := readPEM(filepath.Join(dir, certFile), "CERTIFICATE")
	if err != nil {
		return err
	}
	key, err := x509.ParsePKCS8PrivateKey(keyDER)
	if err != nil {
		return fmt.Errorf("read %s: %w", keyFile, err)
	}
	own, ok := key.(*ecdsa.PrivateKey)
	if !ok {
		return fmt.Errorf("read %s: it holds another kind of key", keyFile)
	}
	if a.cert, err = x509.ParseCertificate(certDER); err != nil {
		return fmt.Errorf("read %s: %w", certFile, err)
	}
	if pub, ok := a.cert.PublicKey.(*ecdsa.PublicKey); !ok || !pub.Equal(own.Public()) {
		return fmt.Errorf("%s and %s do not belong together; restore both from one backup", keyFile, certFile)
	}
	if a.now().After(a.cert.NotAfter) {
		return fmt.Errorf("it expired on %s; move both files away to make a new one, and trust that on the phones", a.cert.NotAfter.Format(time.DateOnly))
	}
	a.key = own
	return nil
}

func readPEM(path, kind string) ([]byte, error) {
	raw, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	block, _ := pem.Decode(raw)
	if block == nil || block.Type != kind {
		return nil, fmt.Errorf("%s holds no %s in PEM form", filepath.Base(path), kind)
	}
	return block.Bytes, nil
}

// privateRanges are the addresses the authority may vouch for: RFC 1918, RFC 4193, link-local and loopback.
func privateRanges() []string {
	return []string{"10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "127.0.0.0/8", "fc00::/7", "fe80::/10", "::1/128"}
}

// privateDomains are the names it may vouch for: RFC 6762 (.local), RFC 8375 (home.arpa), .internal (reserved by ICANN in
// 2024, from memory), localhost, and .lan, which nobody owns and many routers use.
func privateDomains() []string { return []string{"local", "lan", "home.arpa", "internal", "localhost"} }

func permittedName(name string) bool {
	for _, d := range append(privateDomains(), hostName()) {
		if d != "" && (name == d || strings.HasSuffix(name, "."+d)) {
			return true
		}
	}
	return false
}

func permittedAddress(addr netip.Addr) bool {
	for _, r := range privateRanges() {
		if netip.MustParsePrefix(r).Contains(addr) {
			return true
		}
	}
	return false
}

// hostName is this machine's name when it can stand in a certificate.
func hostName() string {
	name, err := os.Hostname()
	if err != nil {
		return ""
	}
	name = strings.ToLower(strings.TrimSuffix(name, "."))
	for _, label := range strings.Split(name, ".") {
		if label == "" || strings.Trim(label, "abcdefghijklmnopqrstuvwxyz0123456789-") != "" {
			return ""
		}
	}
	return name
}

func (a *Authority) create(dir string) error {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return err
	}
	now := a.now()
	name := hostName()
	if name == "" {
		name = "this machine"
	}
	t := &x509.Certificate{
		SerialNumber: serial(),
		Subject:      pkix.Name{CommonName: "Kickplate on " + name + ", " + now.Format(time.DateOnly), Organization: []string{"Kickplate (private network only)"}},
		NotBefore:    now.Add(-time.Hour), NotAfter: now.Add(authorityFor),
		IsCA: true, BasicConstraintsValid: true, MaxPathLenZero: true,
		KeyUsage:                    x509.KeyUsageCertSign | x509.KeyUsageCRLSign,
		PermittedDNSDomainsCritical: true,
		PermittedDNSDomains:         privateDomains(),
	}
	if h := hostName(); h != "" && !slices.Contains(t.PermittedDNSDomains, h) && !strings.Contains(h, ".") {
		t.PermittedDNSDomains = append(t.PermittedDNSDomains, h)
	}
	for _, r := range privateRanges() {
		_, n, err := net.ParseCIDR(r)
		if err != nil {
			return err
		}
		t.PermittedIPRanges = append(t.PermittedIPRanges, n)
	}
	certDER, err := x509.CreateCertificate(rand.Reader, t, t, key.Public(), key)
	if err != nil {
		return err
	}
	keyDER, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return err
	}
	if err := writeNew(filepath.Join(dir, certFile), "CERTIFICATE", certDER, 0o644); err != nil {
		return err
	}
	return writeNew(filepath.Join(dir, keyFile), "PRIVATE KEY", keyDER, 0o600)
}

func serial() *big.Int {
	n, err := rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 120))
	if err != nil {
		panic(err) // crypto/rand never fails on the systems Go supports
	}
	return n.Add(n, big.NewInt(1))
}

// writeNew writes a file whole or not at all: temporary file, sync, rename. The key comes last, so that a certificate
// without its key is simply made anew.
func writeNew(path, kind string, der []byte, mode fs.FileMode) error {
	tmp, err := os.CreateTemp(filepath.Dir(path), ".new-*")
	if err != nil {
		return err
	}
	defer os.Remove(tmp.Name())
	err = errors.Join(tmp.Chmod(mode), pem.Encode(tmp, &pem.Block{Type: kind, Bytes: der}), tmp.Sync(), tmp.Close())
	if err != nil {
		return err
	}
	return os.Rename(tmp.Name(), path)
}

// Certificate is the authority's own certificate, DER.
func (a *Authority) Certificate() []byte { return slices.Clone(a.cert.Raw) }

// Fingerprint is the SHA-256 of the certificate as phones show it: pairs of digits with colons.
func (a *Authority) Fingerprint() string {
	sum := sha256.Sum256(a.cert.Raw)
	pairs := make([]string, len(sum))
	for i, b := range sum {
		pairs[i] = fmt.Sprintf("%02X", b)
	}
	return strings.Join(pairs, ":")
}

// TLSConfig serves with a certificate for whatever this machine is called at the moment. It is made anew when the
// machine's addresses change or the old one runs out.
func (a *Authority) TLSConfig() *tls.Config {
	return &tls.Config{
		MinVersion: tls.VersionTLS12,
		NextProtos: []string{"h2", "http/1.1"},
		GetCertificate: func(*tls.ClientHelloInfo) (*tls.Certificate, error) {
			return a.serverCertificate()
		},
	}
}

func (a *Authority) serverCertificate() (*tls.Certificate, error) {
	names, addrs, err := a.identity()
	if err != nil {
		return nil, err
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.server != nil && a.now().Before(a.server.Leaf.NotAfter.Add(-renewBefore)) && covers(a.server.Leaf, names, addrs) {
		return a.server, nil
	}
	made, err := a.issue(names, addrs)
	if err != nil {
		return nil, fmt.Errorf("make a server certificate: %w", err)
	}
	a.server = made
	return made, nil
}

// identity is what the machine is called: names, and addresses on private networks.
func (a *Authority) identity() ([]string, []net.IP, error) {
	names := []string{"localhost"}
	if h := hostName(); h != "" {
		for _, n := range []string{h, h + ".local", h + ".lan"} {
			if slices.Contains(a.cert.PermittedDNSDomains, n) || permittedSuffix(a.cert.PermittedDNSDomains, n) {
				names = append(names, n)
			}
		}
	}
	for _, n := range a.names {
		if !slices.Contains(names, n) {
			names = append(names, n)
		}
	}
	found, err := a.addresses()
	if err != nil {
		return nil, nil, fmt.Errorf("find this machine's addresses: %w", err)
	}
	addrs := []net.IP{net.IPv4(127, 0, 0, 1).To4(), net.IPv6loopback}
	for _, f := range found {
		if f = f.Unmap().WithZone(""); permittedAddress(f) && !f.IsLoopback() {
			addrs = append(addrs, f.AsSlice())
		}
	}
	return names, addrs, nil
}

func permittedSuffix(domains []string, name string) bool {
	return slices.ContainsFunc(domains, func(d string) bool { return strings.HasSuffix(name, "."+d) })
}

func covers(leaf *x509.Certificate, names []string, addrs []net.IP) bool {
	for _, n := range names {
		if !slices.Contains(leaf.DNSNames, n) {
			return false
		}
	}
	for _, ip := range addrs {
		if !slices.ContainsFunc(leaf.IPAddresses, ip.Equal) {
			return false
		}
	}
	return true
}

func (a *Authority) issue(names []string, addrs []net.IP) (*tls.Certificate, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, err
	}
	now := a.now()
	end := now.Add(serverFor)
	if end.After(a.cert.NotAfter) {
		end = a.cert.NotAfter
	}
	t := &x509.Certificate{
		SerialNumber: serial(), Subject: pkix.Name{CommonName: "Kickplate"},
		NotBefore: now.Add(-time.Hour), NotAfter: end,
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}, BasicConstraintsValid: true,
		DNSNames: names, IPAddresses: addrs,
	}
	der, err := x509.CreateCertificate(rand.Reader, t, a.cert, key.Public(), a.key)
	if err != nil {
		return nil, err
	}
	leaf, err := x509.ParseCertificate(der)
	if err != nil {
		return nil, err
	}
	return &tls.Certificate{Certificate: [][]byte{der, a.cert.Raw}, PrivateKey: key, Leaf: leaf}, nil
}

// ownAddresses asks the system.
func ownAddresses() ([]netip.Addr, error) {
	list, err := net.InterfaceAddrs()
	if err != nil {
		return nil, err
	}
	var out []netip.Addr
	for _, a := range list {
		if p, err := netip.ParsePrefix(a.String()); err == nil {
			out = append(out, p.Addr())
		}
	}
	return out, nil
}
