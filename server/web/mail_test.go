package web

import (
	"bytes"
	"crypto/rand"
	"encoding/base64"
	"io"
	"mime"
	"mime/multipart"
	"mime/quotedprintable"
	"net/http"
	"net/mail"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
	"kickplate/server/mailer"
	"kickplate/server/mailer/mailtest"
)

// A link and a bundle go out through a real mail server; the link in the message opens the bundle.
func TestMail(t *testing.T) {
	const secret = "a password of the mail server"
	post := mailtest.New(t, mailtest.Options{Security: "starttls", User: "office", Password: secret, Refuse: "gone@payer.example"})
	m, err := mailer.New(mailer.Options{Address: post.Address, From: "office@corner.example", User: "office", Password: secret, Roots: post.Roots})
	require.NoError(t, err)
	f := newFixture(t, func(o *Options) { o.Shares = &claims.Shares{Service: o.Service, Random: rand.Reader, Mailer: m} })
	job, _, _ := f.link(1, nil)
	assert.Equal(t, map[string]any{"ready": true, "from": "office@corner.example"}, f.owner.do(http.MethodGet, "/mail", nil).json())
	send := func(change map[string]any) *answered {
		in := map[string]any{"for": "payer", "to": "Claims desk", "address": "desk@payer.example", "subject": "Claim J-1", "words": "Please find our claim."}
		for k, v := range change {
			in[k] = v
		}
		return f.owner.lax().do(http.MethodPost, "/jobs/"+job+"/mails", in)
	}

	t.Run("a link", func(t *testing.T) {
		res := send(nil)
		require.Equal(t, http.StatusCreated, res.status, res.text())
		got := post.Messages()
		require.Len(t, got, 1)
		msg, err := mail.ReadMessage(bytes.NewReader(got[0].Data))
		require.NoError(t, err)
		text, err := io.ReadAll(quotedprintable.NewReader(msg.Body))
		require.NoError(t, err)
		found := regexp.MustCompile(`/r#(shop\.([0-9a-f-]{36})\.\S{43})`).FindStringSubmatch(string(text))
		require.Len(t, found, 3, "%s", text)
		b := f.browser(found[2])
		require.Equal(t, http.StatusOK, b.open(found[1]).status)
		j := f.owner.do(http.MethodGet, "/jobs/"+job, nil).json()
		body := j["mails"].([]any)[0].(map[string]any)["body"].(map[string]any)
		assert.Equal(t, "desk@payer.example", body["to"])
		assert.Equal(t, found[2], body["link"])
		assert.NotContains(t, f.owner.do(http.MethodGet, "/jobs/"+job+"/entries", nil).text(), found[1], "the secret is in no entry")
	})
	t.Run("the bundle itself", func(t *testing.T) {
		res := send(map[string]any{"file": true})
		require.Equal(t, http.StatusCreated, res.status, res.text())
		got := post.Messages()
		msg, err := mail.ReadMessage(bytes.NewReader(got[len(got)-1].Data))
		require.NoError(t, err)
		_, params, err := mime.ParseMediaType(msg.Header.Get("Content-Type"))
		require.NoError(t, err)
		parts := multipart.NewReader(msg.Body, params["boundary"])
		_, err = parts.NextPart()
		require.NoError(t, err)
		file, err := parts.NextPart()
		require.NoError(t, err)
		came, err := io.ReadAll(base64.NewDecoder(base64.StdEncoding, file))
		require.NoError(t, err)
		assert.Equal(t, res.json()["digest"], string(claims.DigestOf(came)))
		assert.Empty(t, res.json()["link"])
	})
	t.Run("what is not taken leaves no link that opens", func(t *testing.T) {
		p := send(map[string]any{"address": "gone@payer.example"}).problem(http.StatusBadGateway, claims.Undelivered)
		assert.Contains(t, p.Detail, "No such user here")
		list := f.owner.do(http.MethodGet, "/jobs/"+job+"/links", nil).json()["links"].([]any)
		assert.Equal(t, false, list[0].(map[string]any)["open"])
		assert.Len(t, f.owner.do(http.MethodGet, "/jobs/"+job, nil).json()["mails"], 2)
	})
	t.Run("bad input", func(t *testing.T) {
		for _, in := range []map[string]any{{"address": "desk"}, {"address": "A <a@b.example>"}, {"address": "a@b.example, c@d.example"}, {"address": "a@b.example\r\nBcc: x@y.example"},
			{"subject": "x\r\nBcc: x@y.example"}, {"subject": " "}, {"words": ""}, {"for": "nobody"}, {"to": " "}} {
			send(in).problem(http.StatusUnprocessableEntity, claims.Invalid)
		}
		send(map[string]any{"version": 9}).problem(http.StatusNotFound, claims.NotFound)
		assert.Len(t, post.Messages(), 2)
	})
	t.Run("nothing secret and nobody's address in the log", func(t *testing.T) {
		for _, s := range []string{secret, "payer.example", "corner.example"} {
			assert.NotContains(t, f.log.String(), s)
		}
	})
	t.Run("limited", func(t *testing.T) {
		var last *answered
		for range 31 {
			last = send(map[string]any{"address": "x"})
		}
		last.problem(http.StatusTooManyRequests, codeSlowDown)
	})
}

func TestNoMailServer(t *testing.T) {
	f := newFixture(t)
	job, _, _ := f.link(1, nil)
	assert.Equal(t, map[string]any{"ready": false}, f.owner.do(http.MethodGet, "/mail", nil).json())
	f.owner.do(http.MethodPost, "/jobs/"+job+"/mails", map[string]any{"for": "payer", "to": "x", "address": "a@b.example", "subject": "x", "words": "y"}).
		problem(http.StatusUnsupportedMediaType, claims.Unsupported)
}
