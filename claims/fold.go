package claims

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
)

// Fold makes the state of one job from its entries. It is pure and total: the order of arrival does not matter, an
// entry given twice counts once, an entry of an unknown kind is kept in Unknown, and whatever does not fit together becomes a
// Problem. The canonical order is by the device's clock (instant), then device, its sequence, and id.
//
// A correction replaces the body of the entry it names and keeps its place; a correction of a correction comes after that one, even when its
// device's clock is slow. A strike takes an entry, with all
// its corrections, out of the account. Entries of the kinds open, customer, site, unit and coverage are
// merged: what a later one leaves empty stays as the earlier one had it.
func Fold(entries []Kept) Job {
	es := canonical(entries)
	f := folder{byID: make(map[EntryID]*version, len(es))}
	f.dedupe(es)
	f.link()
	f.strikes()
	for i := range f.all {
		f.take(&f.all[i])
	}
	f.finish()
	return f.job
}

// version is one entry on its way through the fold.
type version struct {
	k      Kept
	root   *version   // the entry it corrects, through the chain; nil = itself
	fixes  []*version // corrections of a root, each after the one it corrects, otherwise in canonical order
	struck *Change
}

type folder struct {
	job    Job
	all    []version
	byID   map[EntryID]*version
	number int
	codes  map[Digest]CodesRead
}

func canonical(entries []Kept) []*Kept {
	es := make([]*Kept, len(entries))
	for i := range entries {
		es[i] = &entries[i]
	}
	slices.SortFunc(es, func(a, b *Kept) int {
		if c := a.At.Compare(b.At); c != 0 {
			return c
		}
		return cmp.Or(cmp.Compare(a.Device, b.Device), cmp.Compare(a.Seq, b.Seq), cmp.Compare(a.ID, b.ID), bytes.Compare(a.Raw, b.Raw))
	})
	return es
}

func (f *folder) problem(id EntryID, format string, args ...any) {
	f.job.Problems = append(f.job.Problems, Problem{Entry: id, Says: fmt.Sprintf(format, args...)})
}

// dedupe keeps one of each id; the same id with other bytes is a problem, and the first in canonical order stands.
func (f *folder) dedupe(es []*Kept) {
	f.all = make([]version, 0, len(es))
	for _, k := range es {
		if have, ok := f.byID[k.ID]; ok {
			if !bytes.Equal(have.k.Raw, k.Raw) {
				f.problem(k.ID, "Two different entries carry the same id; the earlier one stands.")
			} else if have.k.Received.IsZero() || !k.Received.IsZero() && k.Received.Before(have.k.Received) {
				have.k.Received, have.k.Leaf = k.Received, k.Leaf
			}
			continue
		}
		f.all = append(f.all, version{k: *k})
		f.byID[k.ID] = &f.all[len(f.all)-1]
	}
}

// link hangs each correction on the entry it corrects, through chains of corrections.
func (f *folder) link() {
	for i := range f.all {
		v := &f.all[i]
		if v.k.Supersedes == "" {
			continue
		}
		root, steps := v, 0
		for root != nil && root.k.Supersedes != "" {
			if steps++; steps > len(f.all) {
				root = nil
				break
			}
			root = f.byID[root.k.Supersedes]
		}
		switch {
		case root == nil:
			f.problem(v.k.ID, "This corrects an entry that is not here (yet), or itself in a circle; it is left out of the account until then.")
			v.struck = &Change{} // out of the account, but not struck by anybody
		case root.k.Kind != v.k.Kind:
			f.problem(v.k.ID, "This is a %s and can't correct a %s; it is left out of the account.", v.k.Kind, root.k.Kind)
			v.struck = &Change{}
		default:
			v.root = root
			root.fixes = append(root.fixes, v)
		}
	}
	for i := range f.all {
		if v := &f.all[i]; len(v.fixes) > 1 {
			v.fixes = f.inOrder(v.fixes)
		}
	}
}

// inOrder puts each correction after the one it corrects: who corrects a version has seen it, whatever the clock of the device says.
func (f *folder) inOrder(fixes []*version) []*version {
	list := make([]*version, 0, len(fixes))
	placed := make(map[*version]bool, len(fixes))
	for _, v := range fixes {
		from := len(list)
		for v.root != nil && !placed[v] {
			placed[v] = true
			list = append(list, v)
			v = f.byID[v.k.Supersedes]
		}
		slices.Reverse(list[from:])
	}
	return list
}

// strikes marks what was struck. A strike itself can't be struck: what was struck by mistake is entered anew.
func (f *folder) strikes() {
	for i := range f.all {
		v := &f.all[i]
		if v.k.Kind != KindStrike || v.struck != nil {
			continue
		}
		body, err := DecodeBody(KindStrike, v.k.Body)
		if err != nil {
			continue // take reports it
		}
		s := body.(*Strike)
		target := f.byID[s.Entry]
		switch {
		case target == nil:
			f.problem(v.k.ID, "This strikes an entry that is not here (yet).")
			continue
		case target.k.Kind == KindStrike || target.k.Kind == KindHold || serverKind(target.k.Kind):
			f.problem(v.k.ID, "An entry of the kind %s can't be struck.", target.k.Kind)
			continue
		}
		if target.root != nil {
			target = target.root
		}
		if target.struck == nil {
			target.struck = &Change{Entry: v.k.ID, At: v.k.At, By: v.k.By, Why: s.Reason}
		}
	}
}

// take puts one entry into the account.
func (f *folder) take(v *version) {
	if f.job.ID == "" {
		f.job.ID, f.job.Shop, f.job.Opened = v.k.Job, v.k.Shop, v.k.At
	}
	if v.k.Job != f.job.ID || v.k.Shop != f.job.Shop {
		f.problem(v.k.ID, "This entry belongs to another job.")
		return
	}
	f.job.Entries++
	f.job.Changed = v.k.At
	if bearing(v.k.Kind) {
		f.job.Bearing++
	}
	if v.k.Erased != "" {
		f.job.Gone++
		return
	}
	if v.k.Kind == KindPhoto && (v.root != nil || v.struck != nil || len(v.fixes) > 0) {
		if body, err := DecodeBody(v.k.Kind, v.k.Body); err == nil {
			f.job.others = append(f.job.others, body.(*Photo).Digest)
		}
	}
	if v.root != nil {
		return // its root takes it
	}
	if v.struck != nil {
		if v.struck.Entry != "" {
			f.job.Struck = append(f.job.Struck, Struck{Entry: v.k.ID, Kind: v.k.Kind, At: v.k.At, By: v.k.By, Body: v.k.Body, Strike: *v.struck})
		} else {
			f.job.Unknown = append(f.job.Unknown, v.k)
		}
		return
	}
	now := v
	if n := len(v.fixes); n > 0 {
		now = v.fixes[n-1]
	}
	body, err := DecodeBody(v.k.Kind, now.k.Body)
	if err != nil {
		f.problem(now.k.ID, "The body can't be read: %v", err)
		f.job.Unknown = append(f.job.Unknown, now.k)
		return
	}
	if !f.place(v, now, body) {
		f.job.Unknown = append(f.job.Unknown, now.k)
	}
}

// item wraps a body with what is known of its entry.
func item[B any](f *folder, v, now *version, body *B) Item[B] {
	f.number++
	it := Item[B]{
		Entry: v.k.ID, Latest: now.k.ID, Number: f.number, At: v.k.At, By: v.k.By, Device: v.k.Device, Seq: v.k.Seq,
		Clock: v.k.Clock, Received: v.k.Received, Leaf: v.k.Leaf, Body: *body,
	}
	for _, fix := range v.fixes {
		it.Corrected = append(it.Corrected, Change{Entry: fix.k.ID, At: fix.k.At, By: fix.k.By, Why: fix.k.Why})
	}
	return it
}

func add[B any](f *folder, to *[]Item[B], v, now *version, body *B) bool {
	*to = append(*to, item(f, v, now, body))
	return true
}

func (f *folder) place(v, now *version, body any) bool {
	j := &f.job
	switch b := body.(type) {
	case *Open:
		j.Open.merge(*b)
		f.said(v, now)
	case *Customer:
		j.Customer.merge(*b)
		f.said(v, now)
	case *Site:
		j.Site.merge(*b)
		f.said(v, now)
	case *Unit:
		j.Unit.merge(*b)
		f.said(v, now)
	case *Coverage:
		j.Coverage.merge(*b)
		f.said(v, now)
	case *Step:
		return f.step(v, now, b)
	case *Leave:
		left := item(f, v, now, b)
		if n := len(j.Visits); n > 0 && j.Visits[n-1].Left == nil {
			j.Visits[n-1].Left = &left
		} else {
			f.problem(v.k.ID, "A visit ended that had not begun.")
			j.Visits = append(j.Visits, Visit{Left: &left})
		}
	case *Photo:
		return add(f, &j.Photos, v, now, b)
	case *Markup:
		return add(f, &j.Markups, v, now, b)
	case *Reading:
		return add(f, &j.Readings, v, now, b)
	case *Sign:
		return add(f, &j.Signs, v, now, b)
	case *Narrative:
		if v.k.Kind == KindCause {
			return add(f, &j.Causes, v, now, b)
		}
		return add(f, &j.Corrections, v, now, b)
	case *Damage:
		return add(f, &j.Damages, v, now, b)
	case *Part:
		return add(f, &j.Parts, v, now, b)
	case *PartReturn:
		return add(f, &j.PartReturns, v, now, b)
	case *Refrigerant:
		return add(f, &j.Refrigerants, v, now, b)
	case *Labour:
		return add(f, &j.Labour, v, now, b)
	case *Trip:
		return add(f, &j.Trips, v, now, b)
	case *Acknowledge:
		return add(f, &j.Acks, v, now, b)
	case *Note:
		return add(f, &j.Notes, v, now, b)
	case *CautionShown:
		return add(f, &j.Cautions, v, now, b)
	case *Waive:
		return add(f, &j.Waivers, v, now, b)
	case *Built:
		return add(f, &j.Bundles, v, now, b)
	case *Fetched:
		return add(f, &j.Fetches, v, now, b)
	case *Mailed:
		return add(f, &j.Mails, v, now, b)
	case *HandedIn:
		return add(f, &j.HandedIn, v, now, b)
	case *Shared:
		return add(f, &j.Shares, v, now, b)
	case *Unshared:
		return add(f, &j.Unshares, v, now, b)
	case *Statement:
		return add(f, &j.Statements, v, now, b)
	case *Send:
		return add(f, &j.Sends, v, now, b)
	case *Answer:
		return add(f, &j.Answers, v, now, b)
	case *Allege:
		return add(f, &j.Allegations, v, now, b)
	case *LinkStatement:
		for _, p := range b.Pictures {
			j.others = append(j.others, p.Digest)
		}
		return add(f, &j.LinkStatements, v, now, b)
	case *Respond:
		return add(f, &j.Responses, v, now, b)
	case *Offer:
		return add(f, &j.Offers, v, now, b)
	case *OfferAnswer:
		return add(f, &j.OfferAnswers, v, now, b)
	case *Release:
		return add(f, &j.Releases, v, now, b)
	case *PaidOut:
		return add(f, &j.PaidOut, v, now, b)
	case *InsurerNotice:
		return add(f, &j.InsurerNotices, v, now, b)
	case *DisputeEnd:
		return add(f, &j.DisputeEnds, v, now, b)
	case *Bill:
		return add(f, &j.Bills, v, now, b)
	case *Payment:
		return add(f, &j.Payments, v, now, b)
	case *Reply:
		return add(f, &j.Replies, v, now, b)
	case *Settle:
		return add(f, &j.Settlements, v, now, b)
	case *Cover:
		return add(f, &j.Covers, v, now, b)
	case *LegalHold:
		return add(f, &j.Holds, v, now, b)
	case *Exported:
		return add(f, &j.Exports, v, now, b)
	case *Erase:
		return add(f, &j.Erased, v, now, b)
	case *Likeness:
		return add(f, &j.Likenesses, v, now, b)
	case *PhotoFacts:
		if j.Facts == nil {
			j.Facts = map[Digest]PhotoFacts{}
		}
		j.Facts[b.Digest] = *b
	case *CodesRead:
		if f.codes == nil {
			f.codes = map[Digest]CodesRead{}
		}
		f.codes[b.Digest] = *b
	case *Strike:
		// strikes has dealt with it
	default:
		return false
	}
	return true
}

// said notes which entry speaks for each field of a merged kind: the latest that does not leave it empty.
func (f *folder) said(v, now *version) {
	var fields map[string]json.RawMessage
	if json.Unmarshal(now.k.Body, &fields) != nil {
		return // the body was decoded before
	}
	if f.job.Said == nil {
		f.job.Said = map[string]EntryID{}
	}
	for name, value := range fields {
		if emptyJSON(value) {
			continue
		}
		f.job.Said[string(v.k.Kind)+"."+strings.ToLower(name)] = v.k.ID
	}
}

func (f *folder) step(v, now *version, b *Step) bool {
	j := &f.job
	switch v.k.Kind {
	case KindWorkStart:
		return add(f, &j.WorkStarts, v, now, b)
	case KindWorkFinish:
		return add(f, &j.WorkFinishes, v, now, b)
	}
	arrived := item(f, v, now, b)
	if n := len(j.Visits); n > 0 && j.Visits[n-1].Left == nil {
		f.problem(v.k.ID, "A visit began before the one before had ended.")
	}
	j.Visits = append(j.Visits, Visit{Arrived: &arrived})
	return true
}

// finish joins what the server found out with the photos it belongs to.
func (f *folder) finish() {
	if n := len(f.job.Erased); n > 0 && f.job.Open.Number == "" {
		f.job.Open.Number = f.job.Erased[n-1].Body.Number
	}
	if f.job.Gone > 0 {
		f.job.Problems = nil // what stayed does not fit together without what went: that is known, and nobody's fault
	}
	for d, read := range f.codes {
		if facts, ok := f.job.Facts[d]; ok {
			facts.Codes, facts.CodesSought = read.Codes, true
			f.job.Facts[d] = facts
		}
	}
	slices.SortStableFunc(f.job.Problems, func(a, b Problem) int {
		return cmp.Or(cmp.Compare(a.Entry, b.Entry), cmp.Compare(a.Says, b.Says))
	})
	f.job.Problems = slices.Compact(f.job.Problems)
}
