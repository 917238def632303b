package claims

import (
	"context"
	"errors"
	"fmt"
	"time"
)

// Opened is what somebody who opened a link may know before they read the bundle.
type Opened struct {
	ID      string    `json:"id"`
	Shop    string    `json:"shop"`
	Version int       `json:"version"`
	Digest  Digest    `json:"digest"`
	Name    string    `json:"name"`
	Bytes   int64     `json:"bytes"`
	To      string    `json:"to"`
	Until   time.Time `json:"until"`
	Add     bool      `json:"add"`
	// Statements and Pictures are how many more may be added.
	Statements int `json:"statements"`
	Pictures   int `json:"pictures"`
}

// Open trades a link's token for what a browser holds while it looks at the bundle, and records the opening. A browser that
// shows what it got before (ticket) goes on with the same opening; then nothing new is recorded and the ticket comes back as it is.
func (h *Shares) Open(ctx context.Context, id, token, ticket string) (string, Opened, error) {
	st, shop, rec, err := h.good(ctx, id, token)
	if err != nil {
		return "", Opened{}, err
	}
	if _, err := h.seen(ctx, st, id, ticket); err == nil {
		out, err := h.opened(ctx, st, shop, rec)
		return ticket, out, err
	} else if CodeOf(err) != NotFound {
		return "", Opened{}, err
	}
	if rec, err = h.count(ctx, st, id); err != nil {
		return "", Opened{}, err
	}
	ticket, hash, err := newSecret(h.Random, string(shop))
	if err != nil {
		return "", Opened{}, fmt.Errorf("open a link: %w", err)
	}
	now := h.Service.Now().UTC()
	if err := h.Service.record(ctx, st, rec.actor(shop), rec.Job, KindFetched, Fetched{Version: rec.Version, Digest: rec.Digest, How: "link " + id}); err != nil {
		return "", Opened{}, err
	}
	if err := putJSON(ctx, st, noteSeen+hash, seen{Link: id, At: now, Expires: earlier(now.Add(SeenFor), rec.Expires)}); err != nil {
		return "", Opened{}, err
	}
	out, err := h.opened(ctx, st, shop, rec)
	return ticket, out, err
}

// actor is in whose name openings are recorded: of whoever has the link, nobody of the shop. It may do nothing.
func (r share) actor(shop ShopID) Actor {
	return Actor{Shop: shop, Person: clipName(r.To + " (by link)"), Device: serverDevice}
}

func clipName(s string) string {
	if r := []rune(s); len(r) > maxName {
		return string(r[:maxName])
	}
	return s
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}

// count counts an opening, or refuses it.
func (h *Shares) count(ctx context.Context, st Store, id string) (share, error) {
	return h.change(ctx, st, id, func(rec *share) error {
		if rec.Openings >= maxOpenings {
			return Errorf(Forbidden, "This link was opened %d times, which is the most. Ask the shop that sent it for a new one.", maxOpenings)
		}
		rec.Openings, rec.Last = rec.Openings+1, h.Service.Now().UTC()
		return nil
	})
}

// change rewrites a share under the lock, so that a link that is being ended is not brought back.
func (h *Shares) change(ctx context.Context, st Store, id string, change func(*share) error) (share, error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	rec, err := h.link(ctx, st, id)
	if err != nil {
		return rec, err
	}
	if err := change(&rec); err != nil {
		return rec, err
	}
	return rec, putJSON(ctx, st, noteShares+id, rec)
}

// seen finds the opening that a ticket stands for.
func (h *Shares) seen(ctx context.Context, st Store, id, ticket string) (seen, error) {
	var s seen
	err := getJSON(ctx, st, noteSeen+hashToken(ticket), &s)
	if errors.Is(err, ErrAbsent) || err == nil && (s.Link != id || !h.Service.Now().Before(s.Expires)) {
		return s, noShare()
	}
	return s, err
}

// look finds the share that a ticket looks at; it ends with the link.
func (h *Shares) look(ctx context.Context, id, ticket string) (Store, ShopID, share, error) {
	shop, ok := shopOf(ticket)
	if !ok || !validUUID(id) {
		return nil, "", share{}, noShare()
	}
	st, err := h.Service.Stores.Shop(ctx, shop)
	if err != nil {
		return nil, "", share{}, err
	}
	if _, err := h.seen(ctx, st, id, ticket); err != nil {
		return nil, "", share{}, err
	}
	rec, err := h.link(ctx, st, id)
	if err == nil && !h.Service.Now().Before(rec.Expires) {
		err = noShare()
	}
	return st, shop, rec, err
}

func (h *Shares) opened(ctx context.Context, st Store, shop ShopID, rec share) (Opened, error) {
	letterhead, err := h.Service.shop(ctx, st, shop)
	if err != nil {
		return Opened{}, err
	}
	blobs, err := h.Service.Blobs.Shop(ctx, shop)
	if err != nil {
		return Opened{}, err
	}
	size, err := blobs.Has(ctx, rec.Digest)
	if err != nil {
		return Opened{}, fmt.Errorf("bundle version %d: %w", rec.Version, err)
	}
	out := Opened{ID: rec.Link, Shop: letterhead.Name, Version: rec.Version, Digest: rec.Digest, Name: rec.Name, Bytes: size, To: rec.To, Until: rec.Expires, Add: rec.Add}
	if rec.Add {
		out.Statements, out.Pictures = maxStatement-rec.Statements, maxTheirs-len(rec.Theirs)
	}
	return out, nil
}

// Read opens the bytes of the bundle that a ticket looks at. When they go out as a download, the first of an opening is recorded.
func (h *Shares) Read(ctx context.Context, id, ticket string, download bool) (Blob, Opened, error) {
	st, shop, rec, err := h.look(ctx, id, ticket)
	if err != nil {
		return nil, Opened{}, err
	}
	out, err := h.opened(ctx, st, shop, rec)
	if err != nil {
		return nil, Opened{}, err
	}
	blobs, err := h.Service.Blobs.Shop(ctx, shop)
	if err != nil {
		return nil, Opened{}, err
	}
	if download {
		if err := h.downloaded(ctx, st, shop, rec, ticket); err != nil {
			return nil, Opened{}, err
		}
	}
	blob, err := blobs.Open(ctx, rec.Digest)
	if err != nil {
		return nil, Opened{}, fmt.Errorf("bundle version %d: %w", rec.Version, err)
	}
	return blob, out, nil
}

// downloaded records the first download of an opening; a browser fetches in as many pieces as it likes.
func (h *Shares) downloaded(ctx context.Context, st Store, shop ShopID, rec share, ticket string) error {
	h.mu.Lock()
	defer h.mu.Unlock()
	s, err := h.seen(ctx, st, rec.Link, ticket)
	if err != nil || s.Downloaded {
		return err
	}
	s.Downloaded = true
	if err := h.Service.record(ctx, st, rec.actor(shop), rec.Job, KindFetched, Fetched{Version: rec.Version, Digest: rec.Digest, How: "link " + rec.Link + " download"}); err != nil {
		return err
	}
	return putJSON(ctx, st, noteSeen+hashToken(ticket), s)
}
