package claims

import (
	"context"
	"crypto/subtle"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"sync"
	"time"
)

// Shares lets somebody without an account see one built bundle, by a link that ends. What it keeps are notes of the shop's store:
//
//	share/link/<id>      a share: which bundle, for whom, until when, and the hash of the link's secret
//	share/seen/<sha256>  one opening of a link in one browser, by the hash of what that browser holds
//
// A link reaches that bundle's bytes and nothing else of the shop; no secret is ever kept. Making, ending and each opening are
// entries of the job. Use one Shares per store: that a link opens at most so often is guarded by its lock.
type Shares struct {
	Service *Service
	// Random is the source of secrets.
	Random io.Reader
	// Mailer sends bundles and links by e-mail; nil = no mail server is set up.
	Mailer Mailer

	mu sync.Mutex
}

// Bounds of links. They are stated to whoever makes one.
const (
	ShareFor     = 30 * 24 * time.Hour  // how long a link lasts when nothing is said
	ShareLongest = 180 * 24 * time.Hour // and at most
	SeenFor      = 12 * time.Hour       // one opening in one browser
	maxShares    = 50                   // of one job at a time
	maxOpenings  = 200                  // of one link
	maxStatement = 10                   // statements over one link
	maxTheirs    = 20                   // pictures over one link

	noteShares = "share/link/"
	noteSeen   = "share/seen/"
)

// The kinds of entry about links; all are made by the server.
const (
	KindShared        Kind = "shared"         // a link to a bundle was made
	KindUnshared      Kind = "unshared"       // a link was ended before its time
	KindLinkStatement Kind = "link-statement" // the other side said something over a link
)

// Shared records that a link to a bundle was made. The link's secret is in no entry.
type Shared struct {
	Link    string `json:"link"`
	Version int    `json:"version"`
	Digest  Digest `json:"digest"`
	// For is payer, customer or other; To is who it is meant for.
	For   string `json:"for"`
	To    string `json:"to"`
	Until string `json:"until"`
	// Add says that whoever has the link may add a statement and pictures of their own.
	Add bool `json:"add,omitempty"`
}

func (b *Shared) validate() *Error {
	return first(one("link", EntryID(b.Link)), count("version", b.Version, 100_000), oneOf("for", b.For, "payer", "customer", "other"), required("for", b.For),
		line("to", b.To, true), moment("until", b.Until))
}

// Unshared records that a link was ended before its time.
type Unshared struct {
	Link string `json:"link"`
	Why  string `json:"why,omitempty"`
}

func (b *Unshared) validate() *Error {
	return first(one("link", EntryID(b.Link)), line("why", b.Why, false))
}

// share is what is kept of a link.
type share struct {
	Shared
	Job     JobID     `json:"job"`
	Name    string    `json:"name"` // of the bundle's file
	Secret  string    `json:"secret"`
	By      string    `json:"by"`
	Made    time.Time `json:"made"`
	Expires time.Time `json:"expires"`
	// Openings are counted; Last is the latest. Statements and Theirs are what came in over it.
	Openings   int       `json:"openings,omitempty"`
	Last       time.Time `json:"last,omitzero"`
	Statements int       `json:"statements,omitempty"`
	Theirs     []Digest  `json:"theirs,omitempty"`
}

// seen is one opening of a link in one browser.
type seen struct {
	Link       string    `json:"link"`
	At         time.Time `json:"at"`
	Expires    time.Time `json:"expires"`
	Downloaded bool      `json:"downloaded,omitempty"`
}

// Share is a link as the desk sees it.
type Share struct {
	ID      string    `json:"id"`
	Version int       `json:"version"`
	For     string    `json:"for"`
	To      string    `json:"to"`
	Add     bool      `json:"add"`
	By      string    `json:"by"`
	Made    time.Time `json:"made"`
	Until   time.Time `json:"until"`
	// Ended is when it was ended before its time; zero = it was not.
	Ended time.Time `json:"ended,omitzero"`
	Open  bool      `json:"open"`
	// Openings are those on record, Last the latest of them.
	Openings int       `json:"openings"`
	Last     time.Time `json:"last,omitzero"`
}

// Sharing is what is asked for when a link is made. Days 0 means ShareFor.
type Sharing struct {
	Version int
	For, To string
	Days    int
	Add     bool
}

// Share makes a link to a built bundle. Token is its secret, shown this once.
func (h *Shares) Share(ctx context.Context, a Actor, job JobID, in Sharing) (token string, made Share, err error) {
	s := h.Service
	st, err := s.store(ctx, a, ActShare)
	if err != nil {
		return "", Share{}, err
	}
	j, err := s.Job(ctx, a, job)
	if err != nil {
		return "", Share{}, err
	}
	built, ok := j.Built(in.Version)
	if !ok {
		return "", Share{}, Errorf(NotFound, "There is no version %d of the bundle. Build it first.", in.Version).At("version")
	}
	if in.Days < 0 || in.Days > int(ShareLongest/(24*time.Hour)) {
		return "", Share{}, Errorf(Invalid, "A link lasts 1 to %d days.", int(ShareLongest/(24*time.Hour))).At("days")
	}
	lasts := time.Duration(in.Days) * 24 * time.Hour
	if in.Days == 0 {
		lasts = ShareFor
	}
	now := s.Now().UTC()
	rec := share{Job: job, Name: built.Name, By: a.Person, Made: now, Expires: now.Add(lasts)}
	rec.Shared = Shared{Link: s.MakeID(), Version: built.Version, Digest: built.Digest, For: in.For, To: strings.Join(strings.Fields(in.To), " "), Add: in.Add,
		Until: rec.Expires.Format(time.RFC3339)}
	if err := rec.Shared.validate(); err != nil {
		return "", Share{}, err
	}
	token, rec.Secret, err = newSecret(h.Random, string(a.Shop)+"."+rec.Link)
	if err != nil {
		return "", Share{}, fmt.Errorf("make a link: %w", err)
	}
	if err := h.add(ctx, st, job, rec); err != nil {
		return "", Share{}, err
	}
	// The entry last: should it fail, the secret was never shown and the note is swept when it ends.
	if err := s.record(ctx, st, a, job, KindShared, rec.Shared); err != nil {
		return "", Share{}, err
	}
	return token, rec.shown(now), nil
}

func (h *Shares) add(ctx context.Context, st Store, job JobID, rec share) error {
	h.mu.Lock()
	defer h.mu.Unlock()
	n := 0
	now := h.Service.Now()
	err := eachShare(ctx, st, func(old share) {
		if old.Job == job && now.Before(old.Expires) {
			n++
		}
	})
	if err != nil {
		return err
	}
	if n >= maxShares {
		return Errorf(TooLarge, "This job has %d links that are still open. End those that are not needed any more.", n)
	}
	return putJSON(ctx, st, noteShares+rec.Link, rec)
}

func eachShare(ctx context.Context, st Store, each func(share)) error {
	var bad error
	err := st.Notes(ctx, noteShares, func(name string, value []byte) bool {
		var rec share
		if err := json.Unmarshal(value, &rec); err != nil {
			bad = fmt.Errorf("read note %s: %w", name, err)
			return false
		}
		each(rec)
		return true
	})
	return errors.Join(err, bad)
}

func (r share) shown(now time.Time) Share {
	return Share{ID: r.Link, Version: r.Version, For: r.For, To: r.To, Add: r.Add, By: r.By, Made: r.Made, Until: r.Expires,
		Open: now.Before(r.Expires), Openings: r.Openings, Last: r.Last}
}

// Shares lists the links of a job as its entries tell, newest first: also those that have ended.
func (h *Shares) Shares(ctx context.Context, a Actor, job JobID) ([]Share, error) {
	s := h.Service
	st, err := s.store(ctx, a, ActShare)
	if err != nil {
		return nil, err
	}
	j, err := s.Job(ctx, a, job)
	if err != nil {
		return nil, err
	}
	now := s.Now()
	list := []Share{}
	for _, it := range slices.Backward(j.Shares) {
		until, err := time.Parse(time.RFC3339, it.Body.Until)
		if err != nil {
			return nil, fmt.Errorf("link %s of job %s: %w", it.Body.Link, job, err)
		}
		out := Share{ID: it.Body.Link, Version: it.Body.Version, For: it.Body.For, To: it.Body.To, Add: it.Body.Add, By: it.By, Made: it.At, Until: until}
		for _, u := range j.Unshares {
			if u.Body.Link == out.ID && out.Ended.IsZero() {
				out.Ended = u.At
			}
		}
		for _, f := range j.Fetches {
			if how, rest, _ := strings.Cut(f.Body.How, " "); how == "link" && rest == out.ID {
				out.Openings, out.Last = out.Openings+1, f.At
			}
		}
		if _, err := h.link(ctx, st, out.ID); err == nil {
			out.Open = out.Ended.IsZero() && now.Before(until)
		} else if CodeOf(err) != NotFound {
			return nil, err
		}
		list = append(list, out)
	}
	return list, nil
}

// Unshare ends a link at once. Ending it twice is fine.
func (h *Shares) Unshare(ctx context.Context, a Actor, job JobID, id, why string) error {
	s := h.Service
	st, err := s.store(ctx, a, ActShare)
	if err != nil {
		return err
	}
	j, err := s.Job(ctx, a, job)
	if err != nil {
		return err
	}
	if !slices.ContainsFunc(j.Shares, func(it Item[Shared]) bool { return it.Body.Link == id }) {
		return Errorf(NotFound, "This job has no such link.")
	}
	h.mu.Lock()
	err = st.PutNote(ctx, noteShares+id, nil)
	h.mu.Unlock()
	if err != nil {
		return err
	}
	if slices.ContainsFunc(j.Unshares, func(it Item[Unshared]) bool { return it.Body.Link == id }) {
		return nil
	}
	return s.record(ctx, st, a, job, KindUnshared, Unshared{Link: id, Why: why})
}

// Sweep removes what is left of links and openings that have ended.
func (h *Shares) Sweep(ctx context.Context, shop ShopID) error {
	st, err := h.Service.Stores.Shop(ctx, shop)
	if err != nil {
		return err
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	now := h.Service.Now()
	var old []string
	err = st.Notes(ctx, "share/", func(name string, value []byte) bool {
		var rec struct{ Expires time.Time }
		if json.Unmarshal(value, &rec) != nil || !now.Before(rec.Expires) {
			old = append(old, name)
		}
		return true
	})
	for _, name := range old {
		err = errors.Join(err, st.PutNote(ctx, name, nil))
	}
	return err
}

// noShare is the one answer to a link that never was, has ended, or has the wrong secret.
func noShare() *Error {
	return Errorf(NotFound, "This link is not good, or not good any more. Ask the shop that sent it for a new one.")
}

func (h *Shares) link(ctx context.Context, st Store, id string) (share, error) {
	var rec share
	err := getJSON(ctx, st, noteShares+id, &rec)
	if errors.Is(err, ErrAbsent) {
		return rec, noShare()
	}
	return rec, err
}

// good reads the share that a token opens. Whatever is wrong, the same steps are taken and the same is said.
func (h *Shares) good(ctx context.Context, id, token string) (Store, ShopID, share, error) {
	shop, rest, _ := strings.Cut(token, ".")
	named, _, _ := strings.Cut(rest, ".")
	if !ValidShop(ShopID(shop)) || !validUUID(id) || named != id || len(token) > 200 {
		return nil, "", share{}, noShare()
	}
	st, err := h.Service.Stores.Shop(ctx, ShopID(shop))
	if err != nil {
		return nil, "", share{}, err
	}
	rec, err := h.link(ctx, st, id)
	if err != nil && CodeOf(err) != NotFound {
		return nil, "", share{}, err
	}
	same := subtle.ConstantTimeCompare([]byte(hashToken(token)), []byte(rec.Secret)) == 1
	if err != nil || !same || !h.Service.Now().Before(rec.Expires) {
		return nil, "", share{}, noShare()
	}
	return st, ShopID(shop), rec, nil
}
