package mailer_test

import (
	"bytes"
	"context"
	"encoding/base64"
	"io"
	"mime"
	"mime/multipart"
	"net"
	"net/mail"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
	"kickplate/server/mailer"
	"kickplate/server/mailer/mailtest"
)

const secret = "hunter two & a half"

func ready(t *testing.T, s *mailtest.Server, change func(*mailer.Options)) *mailer.Mailer {
	t.Helper()
	o := mailer.Options{Address: s.Address, From: "office@corner.example", Security: mailer.StartTLS, User: "office", Password: secret, Roots: s.Roots,
		Now: func() time.Time { return time.Date(2026, 3, 4, 9, 0, 0, 0, time.UTC) }}
	if change != nil {
		change(&o)
	}
	m, err := mailer.New(o)
	require.NoError(t, err)
	return m
}

// A message comes through a real server (emersion/go-smtp) as it was written; the standard library's parsers read it.
func TestSend(t *testing.T) {
	file := bytes.Repeat([]byte("PK\x03\x04 \r\n.\r\n not a line \x00\xff"), 5000)
	for _, security := range []string{mailer.StartTLS, mailer.TLS} {
		t.Run(security, func(t *testing.T) {
			s := mailtest.New(t, mailtest.Options{Security: security, User: "office", Password: secret})
			m := ready(t, s, func(o *mailer.Options) { o.Security = security })
			text := "Grüße,\n.\na line that begins with a point\n" + strings.Repeat("long ", 300) + "\nhttps://x.example/r#shop.1.abc\n"
			require.NoError(t, m.Send(context.Background(), claims.Mail{FromName: "Corner, Shop “A”", To: "desk@payer.example", Subject: "Claim 42: Kühlgerät\u2003", Text: text, Name: "claim-42-v1.zip", File: bytes.NewReader(file)}))
			got := s.Messages()
			require.Len(t, got, 1)
			assert.True(t, got[0].TLS || security == mailer.TLS)
			assert.Equal(t, "office@corner.example", got[0].From)
			assert.Equal(t, "desk@payer.example", got[0].To)
			msg, err := mail.ReadMessage(bytes.NewReader(got[0].Data))
			require.NoError(t, err)
			from, err := msg.Header.AddressList("From")
			require.NoError(t, err)
			assert.Equal(t, "Corner, Shop “A”", from[0].Name)
			subject, err := new(mime.WordDecoder).DecodeHeader(msg.Header.Get("Subject"))
			require.NoError(t, err)
			assert.Equal(t, "Claim 42: Kühlgerät", strings.TrimSpace(subject))
			date, err := msg.Header.Date()
			require.NoError(t, err)
			assert.True(t, date.Equal(time.Date(2026, 3, 4, 9, 0, 0, 0, time.UTC)))
			assert.NotEmpty(t, msg.Header.Get("Message-Id"))
			for _, line := range bytes.Split(got[0].Data, []byte("\r\n")) {
				assert.LessOrEqual(t, len(line), 998, "RFC 5322 section 2.1.1")
			}
			kind, params, err := mime.ParseMediaType(msg.Header.Get("Content-Type"))
			require.NoError(t, err)
			require.Equal(t, "multipart/mixed", kind)
			parts := multipart.NewReader(msg.Body, params["boundary"])
			words, err := parts.NextPart() // undoes quoted-printable by itself
			require.NoError(t, err)
			said, err := io.ReadAll(words)
			require.NoError(t, err)
			assert.Equal(t, strings.TrimSpace(text), strings.TrimSpace(strings.ReplaceAll(string(said), "\r\n", "\n")))
			part, err := parts.NextPart()
			require.NoError(t, err)
			assert.Equal(t, "claim-42-v1.zip", part.FileName())
			assert.True(t, strings.HasPrefix(part.Header.Get("Content-Type"), "application/zip"))
			came, err := io.ReadAll(base64.NewDecoder(base64.StdEncoding, part))
			require.NoError(t, err)
			assert.Equal(t, file, came)
		})
	}
}

func TestRefused(t *testing.T) {
	s := mailtest.New(t, mailtest.Options{Security: "starttls", User: "office", Password: secret, Refuse: "gone@payer.example"})
	plain := mailtest.New(t, mailtest.Options{Security: "none", User: "office", Password: secret})
	closed, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	require.NoError(t, closed.Close())
	for name, c := range map[string]struct {
		server *mailtest.Server
		change func(*mailer.Options)
		to     string
		says   string
	}{
		"wrong password":            {s, func(o *mailer.Options) { o.Password = "wrong " + secret }, "a@payer.example", "did not take the message"},
		"no password":               {s, func(o *mailer.Options) { o.User, o.Password = "", "" }, "a@payer.example", "did not take the message"},
		"unknown recipient":         {s, nil, "gone@payer.example", "No such user here"},
		"no encryption to be had":   {plain, nil, "a@payer.example", "did not take the message"},
		"a certificate of nobody's": {s, func(o *mailer.Options) { o.Roots = nil }, "a@payer.example", "certificate"},
		"nobody there":              {s, func(o *mailer.Options) { o.Address = closed.Addr().String() }, "a@payer.example", "did not take the message"},
	} {
		t.Run(name, func(t *testing.T) {
			m := ready(t, c.server, c.change)
			err := m.Send(context.Background(), claims.Mail{To: c.to, Subject: "x", Text: "y"})
			require.Equal(t, claims.Undelivered, claims.CodeOf(err), "%v", err)
			assert.ErrorContains(t, err, c.says)
			assert.NotContains(t, err.Error(), secret)
		})
	}
	assert.Empty(t, s.Messages())
	assert.Empty(t, plain.Messages(), "no message and no password goes over an open line")
}

func TestOptions(t *testing.T) {
	good := mailer.Options{Address: "mail.example:587", From: "a@b.example"}
	_, err := mailer.New(good)
	require.NoError(t, err)
	for name, change := range map[string]func(*mailer.Options){
		"no port":             func(o *mailer.Options) { o.Address = "mail.example" },
		"port nought":         func(o *mailer.Options) { o.Address = "mail.example:0" },
		"no host":             func(o *mailer.Options) { o.Address = ":587" },
		"no address":          func(o *mailer.Options) { o.From = "office" },
		"two addresses":       func(o *mailer.Options) { o.From = "a@b.example, c@d.example" },
		"an unknown way":      func(o *mailer.Options) { o.Security = "ssl" },
		"open over a network": func(o *mailer.Options) { o.Security = mailer.None },
		"half a sign-in":      func(o *mailer.Options) { o.User = "x" },
	} {
		t.Run(name, func(t *testing.T) {
			o := good
			change(&o)
			_, err := mailer.New(o)
			assert.Error(t, err)
		})
	}
	_, err = mailer.New(mailer.Options{Address: "127.0.0.1:25", From: "a@b.example", Security: mailer.None})
	assert.NoError(t, err, "a relay on this machine")
}
