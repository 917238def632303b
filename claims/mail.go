package claims

import (
	"context"
	"fmt"
	"io"
	"strings"
	"time"
)

// Mailer hands messages to the shop's mail server.
type Mailer interface {
	// Send returns nil when the server has taken the message for its recipient. A refusal is an *Error of the code Undelivered.
	Send(ctx context.Context, m Mail) error
	// From is the address messages are sent from.
	From() string
}

// Mail is one message to one person, as plain text, with at most one file.
type Mail struct {
	// FromName stands beside the address it comes from.
	FromName          string
	To, Subject, Text string
	// Name and File are the file that goes along; a nil File = none.
	Name string
	File io.ReadSeeker
}

// Undelivered says that the mail server did not take a message.
const Undelivered ErrorCode = "undelivered"

// KindMailed tells that a bundle, or a link to one, went out by e-mail. The server writes it.
const KindMailed Kind = "mailed"

// Mailed records that the shop's mail server took a message. Whether somebody read it is not known; the opening of a link is.
type Mailed struct {
	To      string `json:"to"`
	Subject string `json:"subject"`
	Version int    `json:"version"`
	Digest  Digest `json:"digest"`
	// For is whom it was meant for; Link the link that was in it, empty = the file went along.
	For  string `json:"for"`
	Link string `json:"link,omitempty"`
}

func (b *Mailed) validate() *Error {
	return first(line("to", b.To, true), line("subject", b.Subject, true), count("version", b.Version, 100_000), oneOf("for", b.For, "payer", "customer", "other"), required("for", b.For),
		maybe("link", EntryID(b.Link)))
}

// maxMailed is the largest bundle that goes along as a file, in bytes: many mail servers take no more than 25 MB, and a file grows by a
// third on its way (common practice, no source).
const maxMailed = 15 << 20

// Mailing is what is asked for when a bundle goes out by e-mail. Sharing's To is the name that a link is for; Address the mail address.
type Mailing struct {
	Sharing
	Address, Subject, Words string
	// File sends the bundle itself instead of a link.
	File bool
}

// Mail sends a bundle, or a fresh link to it, by the shop's mail server. address makes a link's address from its token. When the
// message is not taken, the link is ended again.
func (h *Shares) Mail(ctx context.Context, a Actor, job JobID, in Mailing, address func(token string) string) (Mailed, error) {
	s := h.Service
	st, err := s.store(ctx, a, ActShare)
	if err != nil {
		return Mailed{}, err
	}
	if h.Mailer == nil {
		return Mailed{}, Errorf(Unsupported, "No mail server is set up here. The operator names one when the program is started (--smtp); a link can be copied all the same.")
	}
	to, err := oneAddress(in.Address)
	if err != nil {
		return Mailed{}, err
	}
	if e := first(line("subject", in.Subject, true), text("words", in.Words, true)); e != nil {
		return Mailed{}, e
	}
	j, err := s.Job(ctx, a, job)
	if err != nil {
		return Mailed{}, err
	}
	built, ok := j.Built(in.Version)
	if !ok {
		return Mailed{}, Errorf(NotFound, "There is no version %d of the bundle. Build it first.", in.Version).At("version")
	}
	in.Version = built.Version
	out := Mailed{To: to, Subject: in.Subject, Version: built.Version, Digest: built.Digest, For: in.For}
	if err := out.validate(); err != nil {
		return Mailed{}, err
	}
	letterhead, err := s.shop(ctx, st, a.Shop)
	if err != nil {
		return Mailed{}, err
	}
	m := Mail{FromName: letterhead.Name, To: to, Subject: in.Subject, Text: strings.TrimSpace(in.Words) + "\n"}
	if in.File {
		if built.Bytes > maxMailed {
			return Mailed{}, Errorf(TooLarge, "This bundle has %d MB; at most %d MB go by e-mail. Send a link instead.", built.Bytes>>20, maxMailed>>20).At("file")
		}
		blobs, err := s.Blobs.Shop(ctx, a.Shop)
		if err != nil {
			return Mailed{}, err
		}
		blob, err := blobs.Open(ctx, built.Digest)
		if err != nil {
			return Mailed{}, fmt.Errorf("bundle version %d: %w", built.Version, err)
		}
		defer blob.Close()
		m.Name, m.File = built.Name, blob
		m.Text += fmt.Sprintf("\n%s is attached. README.txt in it says how to check it.\nSHA-256: %s\n", built.Name, built.Digest)
	} else {
		token, made, err := h.Share(ctx, a, job, in.Sharing)
		if err != nil {
			return Mailed{}, err
		}
		out.Link = made.ID
		m.Text += fmt.Sprintf("\n%s\n\nThe link works until %s and needs no account. What is behind it can be checked in the browser and saved.\n", address(token), made.Until.UTC().Format(time.DateOnly))
	}
	if err := h.Mailer.Send(ctx, m); err != nil {
		if out.Link != "" {
			if undo := h.Unshare(context.WithoutCancel(ctx), a, job, out.Link, "the message was not sent"); undo != nil {
				return Mailed{}, fmt.Errorf("end the link of a message that was not sent: %w", undo)
			}
		}
		return Mailed{}, err
	}
	return out, s.record(context.WithoutCancel(ctx), st, a, job, KindMailed, out)
}

// oneAddress reads one mail address without a name. It takes the plain form that people have (a dot-atom of RFC 5322, section 3.2.3, in
// any script, and a host name); whether there is such a person is for the mail server to say. (net/mail would bring the network along
// to the phone.)
func oneAddress(s string) (string, error) {
	s = strings.TrimSpace(s)
	local, host, ok := strings.Cut(s, "@")
	if ok = ok && oneLine(s, maxName) && local != "" && len(local) <= 64 && strings.Contains(host, ".") && !strings.Contains(host, "@"); ok {
		for _, part := range append(strings.Split(host, "."), strings.Split(local, ".")...) {
			ok = ok && part != "" && !strings.ContainsAny(part, " \t\"(),:;<>[]\\")
		}
	}
	if !ok {
		return "", Errorf(Invalid, "This is no mail address; one looks like name@example.com, and only one goes here.").At("address")
	}
	return s, nil
}
