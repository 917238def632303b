// Package mailtest is a real SMTP server (emersion/go-smtp) for tests: it speaks TLS, asks for a password, and keeps what it takes.
// Only tests import it.
package mailtest

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"errors"
	"io"
	"math/big"
	"net"
	"sync"
	"testing"
	"time"

	"github.com/emersion/go-sasl"
	"github.com/emersion/go-smtp"
	"github.com/stretchr/testify/require"
)

// Options say how the server is. Without User it takes messages from anybody.
type Options struct {
	// Security is starttls, tls or none.
	Security       string
	User, Password string
	// Refuse is the recipient that it knows not.
	Refuse string
}

// Message is what came in.
type Message struct {
	From, To string
	Data     []byte
	TLS      bool
}

// Server is a mail server on a port of its own.
type Server struct {
	Address string
	// Roots hold the server's certificate.
	Roots *x509.CertPool
	o     Options

	mu  sync.Mutex
	got []Message
}

// New starts a server that ends with the test.
func New(t testing.TB, o Options) *Server {
	t.Helper()
	s := &Server{o: o, Roots: x509.NewCertPool()}
	cert := certificate(t)
	s.Roots.AddCert(cert.Leaf)
	srv := smtp.NewServer(s)
	srv.Domain, srv.ReadTimeout, srv.WriteTimeout, srv.MaxMessageBytes = "mail.test", time.Minute, time.Minute, 64<<20
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	s.Address = ln.Addr().String()
	config := &tls.Config{Certificates: []tls.Certificate{cert}, MinVersion: tls.VersionTLS12}
	switch o.Security {
	case "starttls":
		srv.TLSConfig = config
	case "tls":
		ln = tls.NewListener(ln, config)
	}
	ended := make(chan struct{})
	go func() { defer close(ended); _ = srv.Serve(ln) }()
	t.Cleanup(func() { srv.Close(); <-ended })
	return s
}

// Messages are what was taken so far.
func (s *Server) Messages() []Message {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append([]Message{}, s.got...)
}

// NewSession implements smtp.Backend.
func (s *Server) NewSession(c *smtp.Conn) (smtp.Session, error) {
	_, secure := c.TLSConnectionState()
	return &session{s: s, m: Message{TLS: secure}}, nil
}

type session struct {
	s  *Server
	m  Message
	in bool
}

func (c *session) AuthMechanisms() []string {
	if c.s.o.User == "" {
		return nil
	}
	return []string{sasl.Plain}
}

func (c *session) Auth(string) (sasl.Server, error) {
	return sasl.NewPlainServer(func(_, user, password string) error {
		if user != c.s.o.User || password != c.s.o.Password {
			return errors.New("authentication failed")
		}
		c.in = true
		return nil
	}), nil
}

func (c *session) Mail(from string, _ *smtp.MailOptions) error {
	if c.s.o.User != "" && !c.in {
		return smtp.ErrAuthRequired
	}
	c.m.From = from
	return nil
}

func (c *session) Rcpt(to string, _ *smtp.RcptOptions) error {
	if to == c.s.o.Refuse {
		return &smtp.SMTPError{Code: 550, EnhancedCode: smtp.EnhancedCode{5, 1, 1}, Message: "No such user here"}
	}
	c.m.To = to
	return nil
}

func (c *session) Data(r io.Reader) error {
	data, err := io.ReadAll(r)
	if err != nil {
		return err
	}
	c.m.Data = data
	c.s.mu.Lock()
	defer c.s.mu.Unlock()
	c.s.got = append(c.s.got, c.m)
	return nil
}

func (c *session) Reset()        { c.m.From, c.m.To = "", "" }
func (c *session) Logout() error { return nil }

func certificate(t testing.TB) tls.Certificate {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(t, err)
	template := &x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "mail.test"}, NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour),
		IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}, IsCA: true, BasicConstraintsValid: true, KeyUsage: x509.KeyUsageDigitalSignature | x509.KeyUsageCertSign, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}}
	der, err := x509.CreateCertificate(rand.Reader, template, template, &key.PublicKey, key)
	require.NoError(t, err)
	leaf, err := x509.ParseCertificate(der)
	require.NoError(t, err)
	return tls.Certificate{Certificate: [][]byte{der}, PrivateKey: key, Leaf: leaf}
}
