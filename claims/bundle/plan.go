package bundle

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"kickplate/claims"
	"kickplate/claims/dispute"
	"kickplate/rules"
	"kickplate/rules/readings"
)

// What became of an original in a bundle.
const (
	keptWhole    = "whole"    // byte for byte as received
	keptView     = "view"     // held back; the view made from it, which has no metadata, stands in its place
	keptCovered  = "covered"  // held back; the view with covers burnt in, which has no metadata, stands in its place
	keptWithheld = "withheld" // held back, nothing in its place
)

// shot is one photo, clip or document with all that the bundle says about it.
type shot struct {
	claims.Item[claims.Photo]
	no    int    // 1.. in the reviewer's order
	stem  string // 0001-rating-plate
	file  string // path in the bag, "" = not in it
	thumb string // path in the bag, "" = there is none
	kept  string
	why   string // reason when not kept whole
	cover string // begins the names of the covered pictures, "" = it is not covered
	made  *Derivation
	same  int // number of the earlier photo with the same bytes, 0 = none
	facts *claims.PhotoFacts
	known *rules.Photo
	sum   string // SHA-256 of file, once written
	bytes int64  // size of file, once written
}

// Withheld is one thing that was left out on purpose, with what binds the shop to it.
type Withheld struct {
	What   string        `json:"what"` // entry or original
	Name   string        `json:"name"` // the entry's id or the photo's number and subject
	Leaf   *uint64       `json:"leaf,omitempty"`
	Digest claims.Digest `json:"sha256,omitempty"`
	Why    string        `json:"why"`
}

// line is one entry as it goes into custody/entries.txt.
type line struct {
	rec  claims.Record
	kept claims.Kept
	read bool // kept is valid
	why  string
}

// plan is everything decided about a bundle before the first byte is written.
type plan struct {
	parcel  *claims.Parcel
	job     claims.Job // without what is held back
	report  rules.Report
	hold    *holder
	shots   []*shot
	struck  []struckPhoto
	lines   []line
	left    []Withheld
	number  string
	root    string
	built   time.Time
	byEntry map[claims.EntryID]*shot
	numbers map[claims.EntryID]int // numbers of the account, by entry

	bill      claims.Bill
	cover     claims.CoverageAnswer
	balance   *EvidenceBalance
	conflicts []readings.Conflict

	// view is what a dispute file says about its allegations; nil in a claim.
	view *dispute.View
}

// struckPhoto is a photo that was struck from the account: it is listed with its digest, its picture stays out.
type struckPhoto struct {
	claims.Struck
	digest claims.Digest
}

func newPlan(ctx context.Context, p *claims.Parcel) (*plan, error) {
	pl := &plan{parcel: p, built: p.Built.UTC().Truncate(time.Second), byEntry: map[claims.EntryID]*shot{}}
	var kept []claims.Kept
	for _, r := range p.Records {
		l := line{rec: r}
		if k, err := claims.KeptOf(r); err == nil {
			l.kept, l.read = k, true
			kept = append(kept, k)
		}
		pl.lines = append(pl.lines, l)
	}
	pl.hold = newHolder(p.Hold, kept)
	if p.Dispute != nil {
		pl.choose(kept)
	}
	pl.hold.covered = coveredDigests(p)
	gone := map[claims.EntryID]bool{}
	for i := range pl.lines {
		l := &pl.lines[i]
		if l.why != "" {
			// left out by choice already
		} else if l.read {
			l.why = pl.hold.entry(&l.kept)
		} else if pl.hold.any() {
			l.why = "it can't be read, so nobody can say what is in it"
		}
		if l.why != "" {
			gone[l.rec.Entry] = true
			pl.left = append(pl.left, Withheld{What: "entry", Name: string(l.rec.Entry), Leaf: &l.rec.Leaf, Why: l.why})
		}
	}
	var err error
	if pl.job, err = pl.hold.job(pl.parcel.Job, gone); err != nil {
		return nil, err
	}
	pl.report = pl.hold.report(pl.parcel.Report)
	pl.numbers = accountNumbers(&pl.job)
	pl.bill = pl.job.Bill() // by the entries alone: before a bundle is built, what the shop's rates say is entered
	if pl.cover, err = pl.answered(); err != nil {
		return nil, err
	}
	pl.balance = balanceOf(&pl.job, pl.bill)
	pl.conflicts = claims.ConflictsOf(&pl.job, p.Pack)
	pl.number = cmp.Or(pl.job.Coverage.Number, pl.job.Open.Number, string(pl.job.ID))
	pl.root = "claim-" + safeName(pl.number, "unnumbered")
	if p.Dispute != nil {
		pl.number = cmp.Or(pl.job.Open.Number, string(pl.job.ID))
		pl.root = "dispute-" + safeName(pl.number, "unnumbered")
		v := dispute.Of(&pl.job)
		pl.view = &v
	}
	return pl, pl.photos(ctx)
}

// photos puts the photos into the reviewer's order, numbers and names them, and decides what is held back.
func (pl *plan) photos(ctx context.Context) error {
	known := map[string]*rules.Photo{}
	for i := range pl.parcel.Facts.Photos {
		known[pl.parcel.Facts.Photos[i].Entry] = &pl.parcel.Facts.Photos[i]
	}
	for _, it := range pl.job.Photos {
		s := &shot{Item: it, known: known[string(it.Entry)]}
		if f, ok := pl.job.Facts[it.Body.Digest]; ok {
			s.facts = &f
		}
		pl.shots = append(pl.shots, s)
		pl.byEntry[s.Entry] = s
	}
	slices.SortStableFunc(pl.shots, func(a, b *shot) int {
		return cmp.Or(cmp.Compare(rank(a.Body.Subject), rank(b.Body.Subject)), strings.Compare(a.Body.Subject, b.Body.Subject), a.At.Compare(b.At), cmp.Compare(a.Number, b.Number))
	})
	if pl.view != nil {
		pl.exhibitOrder()
	}
	first := map[claims.Digest]*shot{}
	for i, s := range pl.shots {
		s.no = i + 1
		s.stem = fmt.Sprintf("%04d-%s", s.no, safeName(s.Body.Subject, "photo"))
		if s.Body.Component != "" {
			s.stem += "-" + safeName(s.Body.Component, "part")
		}
		if f := first[s.Body.Digest]; f != nil {
			s.same, s.file, s.thumb, s.kept, s.why, s.made = f.no, f.file, f.thumb, f.kept, f.why, f.made
			continue
		}
		first[s.Body.Digest] = s
		if err := pl.original(ctx, s); err != nil {
			return err
		}
	}
	for _, st := range pl.job.Struck {
		if st.Kind != claims.KindPhoto {
			continue
		}
		pl.struck = append(pl.struck, struckPhoto{Struck: st, digest: pl.struckDigest(st.Entry)})
	}
	return nil
}

// struckDigest is the digest of a struck photo. It is named also when the entry is held back: it binds the shop, and tells nothing.
func (pl *plan) struckDigest(entry claims.EntryID) claims.Digest {
	for _, st := range pl.parcel.Job.Struck {
		if st.Entry != entry {
			continue
		}
		if body, err := claims.DecodeBody(st.Kind, st.Body); err == nil {
			return body.(*claims.Photo).Digest
		}
	}
	return ""
}

// original decides under which name, and in which form, an original goes in.
func (pl *plan) original(ctx context.Context, s *shot) error {
	d := s.Body.Digest
	size, err := pl.parcel.Blobs.Has(ctx, d)
	if err != nil {
		return fmt.Errorf("original of photo %d (%s, %s): %w", s.no, s.Body.Subject, d, err)
	}
	has := func(name string) (bool, error) {
		_, err := pl.parcel.Blobs.Derived(ctx, d, name)
		if errors.Is(err, claims.ErrAbsent) {
			return false, nil
		}
		return err == nil, err
	}
	thumb, err := has(claims.DerivedThumb)
	if err != nil {
		return fmt.Errorf("thumbnail of photo %d (%s, %s): %w", s.no, s.Body.Subject, d, err)
	}
	s.kept, s.file, s.bytes = keptWhole, "data/originals/"+s.stem+s.facts.Extension(), size
	if thumb {
		s.thumb = "data/thumbnails/" + s.stem + ".jpg"
	}
	if pl.hold.hold.Customer && s.Body.Subject == "customer-document" {
		s.kept, s.why, s.file, s.thumb = keptWithheld, "customer details", "", ""
	} else if covered, err := pl.covering(ctx, s); err != nil || covered {
		if err != nil {
			return err
		}
	} else if pl.hold.hold.Position {
		if s.why, err = pl.placed(ctx, s); err != nil {
			return err
		}
		if s.why != "" {
			strip, err := pl.strippable(ctx, s)
			if err != nil {
				return fmt.Errorf("original of photo %d (%s, %s): %w", s.no, s.Body.Subject, d, err)
			}
			view, err := has(claims.DerivedView)
			if err != nil {
				return fmt.Errorf("view of photo %d (%s, %s): %w", s.no, s.Body.Subject, d, err)
			}
			if strip {
				s.kept, s.file = keptStripped, "data/originals/"+s.stem+"-stripped.jpg"
				s.made = &Derivation{From: d, Steps: []string{stepStrip}}
			} else if view {
				s.kept, s.file = keptView, "data/originals/"+s.stem+"-view.jpg"
				s.made = &Derivation{From: d, Steps: []string{stepView}}
			} else {
				s.kept, s.file, s.thumb = keptWithheld, "", ""
			}
		}
	}
	if s.kept != keptWhole {
		pl.left = append(pl.left, Withheld{What: "original", Name: fmt.Sprintf("photo %d, %s", s.no, subjectTitle(s.Body.Subject)), Digest: d, Why: s.why})
	}
	return nil
}

// placed says why an original might tell where it was taken, or "".
func (pl *plan) placed(ctx context.Context, s *shot) (string, error) {
	full := pl.parcel.Job.Facts[s.Body.Digest] // with the position
	switch {
	case full.Digest == "":
		return "it was not examined, so nobody can say whether it holds a position", nil
	case full.GPS != nil:
		return "a position", nil
	case strings.HasPrefix(full.Type, "video/"), strings.HasPrefix(full.Type, "audio/"):
		return "clips may hold a position", nil
	case len(full.Notes) > 0 && strings.HasPrefix(full.Type, "image/"):
		return "its metadata can't be read fully, so nobody can say whether it holds a position", nil
	}
	found, err := mentions(ctx, pl.parcel.Blobs, s.Body.Digest, "GPSLatitude")
	if err != nil {
		return "", fmt.Errorf("original of photo %d (%s, %s): %w", s.no, s.Body.Subject, s.Body.Digest, err)
	}
	if found {
		return "a position", nil
	}
	return "", nil
}

// subjects in the order in which a reviewer with two minutes wants them; the rest follows.
func reviewOrder() []string {
	return []string{
		"rating-plate", "proof-of-purchase", "symptom", "meter-display", "failed-part", "part-label", "fitted-part", "after-repair", "as-left-display",
		"whole-unit", "surroundings", "floor", "work-area", "damage-wide", "damage-close", "customer-document", "other",
	}
}

func rank(subject string) int {
	order := reviewOrder()
	if i := slices.Index(order, subject); i >= 0 {
		return i
	}
	return len(order)
}

// safeName makes a short name of lower-case ASCII letters, digits and dashes.
func safeName(s, otherwise string) string {
	var out strings.Builder
	dash := false
	for _, c := range strings.ToLower(s) {
		if (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') {
			if dash && out.Len() > 0 {
				out.WriteByte('-')
			}
			dash = false
			out.WriteRune(c)
		} else {
			dash = true
		}
		if out.Len() >= 40 {
			break
		}
	}
	if out.Len() == 0 {
		return otherwise
	}
	return out.String()
}
