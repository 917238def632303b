package register

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"kickplate/claims"
)

// Register keeps rows in notes of the shop's store, many to a note:
//
//	register/<id>     a list of rows
//
// Use one Register per store: two imports at once are kept apart by its lock.
type Register struct {
	Stores claims.Stores
	// Kinds are the kinds of unit that a row may name.
	Kinds  []string
	Now    func() time.Time
	MakeID func() string

	mu sync.Mutex
}

const (
	notes    = "register/"
	perNote  = 200
	mostRows = 50 // that Find gives
	shown    = 20 // rows of a preview
)

// Preview is what a file would bring. Nothing of it is kept yet.
type Preview struct {
	// File is the SHA-256 of the file: Keep takes the same file only.
	File claims.Digest `json:"file"`
	// New rows would come, Already are here, Bad lines can't be taken.
	New      int       `json:"new"`
	Already  int       `json:"already"`
	Bad      int       `json:"bad"`
	Problems []Problem `json:"problems"`
	// Columns were found, Ignored are not known; Rows are the first new ones.
	Columns []string `json:"columns"`
	Ignored []string `json:"ignored,omitempty"`
	Rows    []Row    `json:"rows"`
}

// Preview reads a file and says what it would bring and what is wrong with each line.
func (g *Register) Preview(ctx context.Context, a claims.Actor, raw []byte) (Preview, error) {
	p, _, err := g.look(ctx, a, raw)
	return p, err
}

func (g *Register) look(ctx context.Context, a claims.Actor, raw []byte) (Preview, []Row, error) {
	if err := a.Allow(claims.ActImport); err != nil {
		return Preview{}, nil, err
	}
	f, err := read(raw, g.Kinds)
	if err != nil {
		return Preview{}, nil, err
	}
	here := map[string]bool{}
	if err := g.each(ctx, a.Shop, func(_ string, list []Row) bool {
		for _, r := range list {
			here[r.key()] = true
		}
		return true
	}); err != nil {
		return Preview{}, nil, err
	}
	p := Preview{File: claims.DigestOf(raw), Bad: f.bad, Problems: f.problems, Columns: f.columns, Ignored: f.ignored, Rows: []Row{}}
	if p.Problems == nil {
		p.Problems = []Problem{}
	}
	fresh := slices.DeleteFunc(f.rows, func(r Row) bool { return here[r.key()] })
	p.New, p.Already = len(fresh), len(f.rows)-len(fresh)
	if len(here)+len(fresh) > maxKept {
		return Preview{}, nil, claims.Errorf(claims.TooLarge, "The register would have more than %d rows.", maxKept)
	}
	p.Rows = append(p.Rows, fresh[:min(shown, len(fresh))]...)
	return p, fresh, nil
}

// Keep keeps the new rows of a file that was previewed: file is its SHA-256 from there. While lines are bad nothing is kept, unless
// they are to be left out (skip). Keeping the same file twice keeps nothing twice.
func (g *Register) Keep(ctx context.Context, a claims.Actor, raw []byte, file claims.Digest, skip bool) (Preview, error) {
	g.mu.Lock()
	defer g.mu.Unlock()
	p, fresh, err := g.look(ctx, a, raw)
	switch {
	case err != nil:
		return Preview{}, err
	case p.File != file:
		return Preview{}, claims.Errorf(claims.Stale, "This is not the file that was looked at. Look at it again first.").At("file")
	case p.Bad > 0 && !skip:
		return Preview{}, claims.Errorf(claims.Invalid, "%d lines can't be taken, so nothing was kept. Mend them, or say that they are to be left out.", p.Bad)
	}
	st, err := g.Stores.Shop(ctx, a.Shop)
	if err != nil {
		return Preview{}, err
	}
	now := g.Now().UTC()
	for part := range slices.Chunk(fresh, perNote) {
		for i := range part {
			part[i].ID, part[i].Added = g.MakeID(), now
		}
		value, err := json.Marshal(part)
		if err != nil {
			return Preview{}, fmt.Errorf("write the register: %w", err)
		}
		if err := st.PutNote(ctx, notes+g.MakeID(), value); err != nil {
			return Preview{}, err
		}
	}
	return p, nil
}

func (g *Register) each(ctx context.Context, shop claims.ShopID, yield func(note string, list []Row) bool) error {
	st, err := g.Stores.Shop(ctx, shop)
	if err != nil {
		return err
	}
	var bad error
	err = st.Notes(ctx, notes, func(name string, value []byte) bool {
		var list []Row
		if err := json.Unmarshal(value, &list); err != nil {
			bad = fmt.Errorf("read note %s: %w", name, err)
			return false
		}
		return yield(name, list)
	})
	if err == nil {
		err = bad
	}
	return err
}

// Find lists the rows that have, for each word typed, a word beginning with it; by name, at most mostRows.
func (g *Register) Find(ctx context.Context, a claims.Actor, typed string) ([]Row, error) {
	if err := a.Allow(claims.ActRead); err != nil {
		return nil, err
	}
	words := claims.WordsOf(typed)
	found := []Row{}
	if len(words) == 0 {
		return found, nil
	}
	err := g.each(ctx, a.Shop, func(_ string, list []Row) bool {
		for _, r := range list {
			if r.matches(words) {
				found = append(found, r)
			}
		}
		return len(found) < 10*mostRows
	})
	slices.SortFunc(found, func(a, b Row) int { return strings.Compare(strings.ToLower(a.Name)+a.ID, strings.ToLower(b.Name)+b.ID) })
	return found[:min(len(found), mostRows)], err
}

// Count is how many rows there are.
func (g *Register) Count(ctx context.Context, a claims.Actor) (int, error) {
	if err := a.Allow(claims.ActRead); err != nil {
		return 0, err
	}
	n := 0
	err := g.each(ctx, a.Shop, func(_ string, list []Row) bool {
		n += len(list)
		return true
	})
	return n, err
}

// Remove takes a row out. Jobs that were opened from it keep what they copied.
func (g *Register) Remove(ctx context.Context, a claims.Actor, id string) error {
	if err := a.Allow(claims.ActImport); err != nil {
		return err
	}
	g.mu.Lock()
	defer g.mu.Unlock()
	note, rest := "", []Row(nil)
	err := g.each(ctx, a.Shop, func(name string, list []Row) bool {
		if slices.ContainsFunc(list, func(r Row) bool { return r.ID == id }) {
			note, rest = name, slices.DeleteFunc(list, func(r Row) bool { return r.ID == id })
		}
		return note == ""
	})
	if err != nil {
		return err
	}
	if note == "" {
		return claims.Errorf(claims.NotFound, "There is no such row in the register.")
	}
	st, err := g.Stores.Shop(ctx, a.Shop)
	if err != nil {
		return err
	}
	if len(rest) == 0 {
		return st.PutNote(ctx, note, nil)
	}
	value, err := json.Marshal(rest)
	if err != nil {
		return fmt.Errorf("write the register: %w", err)
	}
	return st.PutNote(ctx, note, value)
}
