package claims

import (
	"context"
	"fmt"
	"slices"
	"strings"
)

// MaxTheirs is the largest picture that comes in over a link, in bytes.
const MaxTheirs = 20 << 20

// LinkStatement is what the other side said over a link, in their own words, with pictures of theirs. It stands in the journal as theirs
// and counts for nothing in the shop's own account: no requirement is met by it.
type LinkStatement struct {
	// Link is the link it came over; From whom that was meant for (payer, customer, other), Name what they call themselves.
	Link     string         `json:"link"`
	From     string         `json:"from"`
	Name     string         `json:"name"`
	Words    string         `json:"words"`
	Pictures []TheirPicture `json:"pictures,omitempty"`
}

// TheirPicture is a picture of the other side's, examined like every upload.
type TheirPicture struct {
	Digest Digest `json:"digest"`
	Bytes  int64  `json:"bytes"`
}

func (b *LinkStatement) validate() *Error {
	if len(b.Pictures) > maxTheirs {
		return Errorf(TooLarge, "At most %d pictures come in over one link.", maxTheirs).At("pictures")
	}
	for _, p := range b.Pictures {
		if !p.Digest.Valid() || p.Bytes <= 0 {
			return Errorf(Invalid, "Name each picture by the SHA-256 of its bytes, with its size.").At("pictures")
		}
	}
	return first(one("link", EntryID(b.Link)), required("from", b.From), oneOf("from", b.From, "payer", "customer", "other"), line("name", b.Name, true), text("words", b.Words, true))
}

// MayAdd says whether the link that a ticket looks at takes more from the other side, before any bytes of it are read.
func (h *Shares) MayAdd(ctx context.Context, id, ticket string) error {
	_, _, rec, err := h.look(ctx, id, ticket)
	if err != nil {
		return err
	}
	return rec.takes()
}

func (r *share) takes() error {
	switch {
	case !r.Add:
		return Errorf(Forbidden, "Nothing can be added over this link. Write to the shop that sent it.")
	case r.Statements >= maxStatement:
		return Errorf(Forbidden, "%d statements came in over this link, which is the most. Write to the shop that sent it.", maxStatement)
	}
	return nil
}

// Picture takes a picture of the other side's. It is examined like every upload, kept, and in no account until a statement of the
// same link names it.
func (h *Shares) Picture(ctx context.Context, id, ticket string, u Upload) (TheirPicture, error) {
	st, shop, rec, err := h.look(ctx, id, ticket)
	if err != nil {
		return TheirPicture{}, err
	}
	if err := rec.takes(); err != nil {
		return TheirPicture{}, err
	}
	if u.Size > MaxTheirs {
		return TheirPicture{}, Errorf(TooLarge, "A picture may have at most %d MiB.", MaxTheirs>>20)
	}
	// A place is taken first, so that nobody can make the shop keep more than that.
	_, err = h.change(ctx, st, id, func(rec *share) error {
		if slices.Contains(rec.Theirs, u.Digest) {
			return nil
		}
		if len(rec.Theirs) >= maxTheirs {
			return Errorf(TooLarge, "%d pictures came in over this link, which is the most.", maxTheirs)
		}
		rec.Theirs = append(rec.Theirs, u.Digest)
		return nil
	})
	if err != nil {
		return TheirPicture{}, err
	}
	facts, err := h.Service.receive(ctx, shop, u)
	if err == nil && !strings.HasPrefix(facts.Type, "image/") {
		err = Errorf(Unsupported, "Only pictures can be added here.")
	}
	if err != nil {
		_, undo := h.change(ctx, st, id, func(rec *share) error {
			rec.Theirs = slices.DeleteFunc(rec.Theirs, func(d Digest) bool { return d == u.Digest })
			return nil
		})
		if undo != nil && CodeOf(undo) != NotFound {
			return TheirPicture{}, undo
		}
		return TheirPicture{}, err
	}
	return TheirPicture{Digest: u.Digest, Bytes: u.Size}, nil
}

// State enters a statement of the other side's. It may name the pictures that came over the same link, and no others.
func (h *Shares) State(ctx context.Context, id, ticket, name, words string, pictures []Digest) (Opened, error) {
	st, shop, rec, err := h.look(ctx, id, ticket)
	if err != nil {
		return Opened{}, err
	}
	if err := rec.takes(); err != nil {
		return Opened{}, err
	}
	b := LinkStatement{Link: id, From: rec.For, Name: strings.Join(strings.Fields(name), " "), Words: words}
	blobs, err := h.Service.Blobs.Shop(ctx, shop)
	if err != nil {
		return Opened{}, err
	}
	h.Service.originals.RLock() // no picture is erased between now and the entry that names it
	defer h.Service.originals.RUnlock()
	for i, d := range pictures {
		if !slices.Contains(rec.Theirs, d) {
			return Opened{}, Errorf(Invalid, "This picture did not come over this link. Send it first.").At(fmt.Sprintf("pictures[%d]", i))
		}
		size, err := blobs.Has(ctx, d)
		if err != nil {
			return Opened{}, noPhoto(err)
		}
		b.Pictures = append(b.Pictures, TheirPicture{d, size})
	}
	if err := b.validate(); err != nil {
		return Opened{}, err
	}
	rec, err = h.change(ctx, st, id, func(rec *share) error {
		if err := rec.takes(); err != nil {
			return err
		}
		rec.Statements++
		return nil
	})
	if err != nil {
		return Opened{}, err
	}
	who := Actor{Shop: shop, Person: clipName(b.Name + " (by link)"), Device: serverDevice}
	if err := h.Service.record(ctx, st, who, rec.Job, KindLinkStatement, b); err != nil {
		return Opened{}, err
	}
	return h.opened(ctx, st, shop, rec)
}
