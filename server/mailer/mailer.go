// Package mailer sends messages through the shop's own mail server (SMTP, RFC 5321) with TLS from the start or by STARTTLS (RFC 8314, RFC 3207).
//
// Start with New. The package implements claims.Mailer and must never log a message, an address or the password.
package mailer

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"io"
	"net"
	"net/mail"
	"strconv"
	"strings"
	"time"

	gomail "github.com/wneessen/go-mail"

	"kickplate/claims"
)

// The ways to encrypt.
const (
	StartTLS = "starttls" // a plain connection that must become an encrypted one before anything is said
	TLS      = "tls"      // encrypted from the first byte
	None     = "none"     // for a relay on this machine only
)

// Options say how to reach the mail server. Address and From are needed.
type Options struct {
	// Address is HOST:PORT; From the address messages come from.
	Address, From string
	// Security is StartTLS (when empty), TLS or None.
	Security string
	// User and Password sign in; empty = the server takes messages without.
	User, Password string
	// Roots are for the server's certificate; nil = the system's.
	Roots *x509.CertPool
	Now   func() time.Time
}

// Mailer sends messages; it holds no connection.
type Mailer struct {
	o    Options
	host string
	port int
}

var _ claims.Mailer = (*Mailer)(nil)

// patience is how long one step of the conversation may take.
const patience = 30 * time.Second

// New checks the options. The error says which to correct; nothing is sent yet.
func New(o Options) (*Mailer, error) {
	host, port, err := net.SplitHostPort(o.Address)
	if err != nil {
		return nil, fmt.Errorf("the mail server %q is no HOST:PORT, such as mail.example.com:587", o.Address)
	}
	n, err := strconv.Atoi(port)
	if err != nil || n < 1 || n > 65535 || host == "" {
		return nil, fmt.Errorf("the mail server %q is no HOST:PORT, such as mail.example.com:587", o.Address)
	}
	from, err := mail.ParseAddress(o.From)
	if err != nil || from.Name != "" {
		return nil, fmt.Errorf("%q is no mail address to send from, such as office@example.com", o.From)
	}
	o.From = from.Address
	switch o.Security {
	case "":
		o.Security = StartTLS
	case StartTLS, TLS:
	case None:
		if ip := net.ParseIP(host); host != "localhost" && (ip == nil || !ip.IsLoopback()) {
			return nil, errors.New("a mail server is reached without encryption on this machine only: choose starttls or tls")
		}
	default:
		return nil, fmt.Errorf("%q is no way to encrypt; choose starttls, tls or none", o.Security)
	}
	if (o.User == "") != (o.Password == "") {
		return nil, errors.New("the mail server's user and password go together")
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	return &Mailer{o, host, n}, nil
}

// From implements claims.Mailer.
func (m *Mailer) From() string { return m.o.From }

// Send implements claims.Mailer.
func (m *Mailer) Send(ctx context.Context, what claims.Mail) error {
	msg := gomail.NewMsg()
	if err := msg.FromFormat(what.FromName, m.o.From); err != nil {
		return fmt.Errorf("write a message: %w", err)
	}
	if err := msg.To(what.To); err != nil {
		return &claims.Error{Code: claims.Invalid, Where: "address", Err: err, Says: "This is no mail address that can be written to."}
	}
	msg.Subject(what.Subject)
	msg.SetDateWithValue(m.o.Now())
	msg.SetMessageID()
	msg.SetBodyString(gomail.TypeTextPlain, what.Text)
	if what.File != nil {
		if _, err := what.File.Seek(0, io.SeekStart); err != nil {
			return fmt.Errorf("attach %s: %w", what.Name, err)
		}
		msg.AttachReadSeeker(what.Name, what.File, gomail.WithFileContentType("application/zip"))
	}
	client, err := gomail.NewClient(m.host, m.options()...)
	if err != nil {
		return fmt.Errorf("reach the mail server: %w", err)
	}
	if err := client.DialAndSendWithContext(ctx, msg); err != nil {
		return m.refused(err)
	}
	return nil
}

func (m *Mailer) options() []gomail.Option {
	opts := []gomail.Option{gomail.WithPort(m.port), gomail.WithTimeout(patience), gomail.WithTLSConfig(&tls.Config{ServerName: m.host, RootCAs: m.o.Roots, MinVersion: tls.VersionTLS12})}
	switch m.o.Security {
	case StartTLS:
		opts = append(opts, gomail.WithTLSPolicy(gomail.TLSMandatory))
	case TLS:
		opts = append(opts, gomail.WithSSL())
	default:
		opts = append(opts, gomail.WithTLSPolicy(gomail.NoTLS))
	}
	if m.o.User != "" {
		opts = append(opts, gomail.WithSMTPAuth(gomail.SMTPAuthAutoDiscover), gomail.WithUsername(m.o.User), gomail.WithPassword(m.o.Password))
	}
	return opts
}

// refused turns what went wrong into a sentence with the server's own answer, without the password wherever it came from.
func (m *Mailer) refused(err error) error {
	says := strings.Join(strings.Fields(err.Error()), " ")
	says, _, _ = strings.Cut(says, ", affected recipient") // what follows is numbers of the library's
	if m.o.Password != "" {
		says = strings.ReplaceAll(says, m.o.Password, "…")
	}
	if r := []rune(says); len(r) > 300 {
		says = string(r[:300]) + " …"
	}
	return claims.Errorf(claims.Undelivered, "The mail server did not take the message: %s. Nothing was sent.", strings.TrimSuffix(says, "."))
}
