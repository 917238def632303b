package dispute

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"kickplate/claims"
	"kickplate/rules"
)

// Event is one thing on the timeline, or several pictures in a row. To is set for a stretch of time.
type Event struct {
	At      time.Time        `json:"at"`
	To      time.Time        `json:"to,omitzero"`
	Lane    string           `json:"lane"`
	Kind    string           `json:"kind"`
	Says    string           `json:"says"`
	Entries []claims.EntryID `json:"entries,omitempty"`
	Count   int              `json:"count,omitempty"`
	// Bad marks what was moved or contradicted: a picture whose clocks disagree.
	Bad bool `json:"bad,omitempty"`
}

// The lanes of the drawing, from top to bottom.
const (
	laneVisit     = "visit"
	laneWork      = "work"
	lanePhotos    = "photos"
	laneDamage    = "damage"
	laneSignature = "signature"
	laneDispute   = "dispute"
)

func lanes() []rules.Term {
	return []rules.Term{{ID: laneVisit, Title: "Visit"}, {ID: laneWork, Title: "Work"}, {ID: lanePhotos, Title: "Photos"}, {ID: laneDamage, Title: "Condition"},
		{ID: laneSignature, Title: "Signature"}, {ID: laneDispute, Title: "Dispute"}}
}

// together is how near pictures must follow each other to be drawn as one mark.
const together = 90 * time.Second

// timeline lists what happened, by corrected clocks, in order.
func (r *reader) timeline() []Event {
	out := []Event{}
	add := func(at time.Time, lane, kind, says string, ids ...claims.EntryID) *Event {
		out = append(out, Event{At: at, Lane: lane, Kind: kind, Says: says, Entries: ids})
		return &out[len(out)-1]
	}
	for _, v := range r.j.Visits {
		r.visit(v, add)
	}
	r.spans(add)
	r.shots(add)
	for i := range r.j.Damages {
		d := &r.j.Damages[i]
		add(fair(d), laneDamage, "damage", r.line(d).Says, d.Entry)
	}
	for i := range r.j.Acks {
		a := &r.j.Acks[i]
		says := titleOf(rules.AckAbout(), a.Body.About) + ": " + lowerFirst(titleOf(rules.AckOutcomes(), a.Body.Outcome))
		if a.Body.Name != "" {
			says += " by " + a.Body.Name
		}
		add(fair(a), laneSignature, a.Body.Outcome, says+".", a.Entry)
	}
	for i := range r.j.Allegations {
		a := &r.j.Allegations[i]
		add(fair(a), laneDispute, "allege", "Allegation: "+areaTitle(a.Body.Area)+lead(", ", lowerFirst(titleOf(rules.DamageKinds(), a.Body.Kind)))+".", a.Entry)
	}
	for i := range r.j.Statements {
		s := &r.j.Statements[i]
		add(fair(s), laneDispute, "statement", "Statement of: "+lowerFirst(titleOf(rules.StatementFrom(), s.Body.From))+".", s.Entry)
	}
	for i := range r.j.LinkStatements {
		s := &r.j.LinkStatements[i]
		add(fair(s), laneDispute, "statement", "Statement over a link by "+s.Body.Name+" ("+s.Body.From+").", s.Entry)
	}
	for _, s := range settlement(r.j) {
		add(s.At, laneDispute, string(s.Kind), s.Says, s.Entry)
	}
	slices.SortStableFunc(out, func(a, b Event) int {
		return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.Lane, b.Lane), cmp.Compare(a.Says, b.Says))
	})
	return out
}

func (r *reader) visit(v claims.Visit, add func(time.Time, string, string, string, ...claims.EntryID) *Event) {
	switch {
	case v.Arrived != nil && v.Left != nil:
		from, to := stated(v.Arrived, v.Arrived.Body.When), stated(v.Left, v.Left.Body.When)
		add(from, laneVisit, "visit", "Arrived "+from.Format("15:04")+", left "+to.Format("15:04")+".", v.Arrived.Entry, v.Left.Entry).To = to
	case v.Arrived != nil:
		at := stated(v.Arrived, v.Arrived.Body.When)
		add(at, laneVisit, "arrive", "Arrived "+at.Format("15:04")+"; no entry says when the visit ended.", v.Arrived.Entry)
	case v.Left != nil:
		at := stated(v.Left, v.Left.Body.When)
		add(at, laneVisit, "leave", "Left "+at.Format("15:04")+"; no entry says when the visit began.", v.Left.Entry)
	}
}

// spans pairs each start of work with the next end, and adds the parts.
func (r *reader) spans(add func(time.Time, string, string, string, ...claims.EntryID) *Event) {
	used := map[claims.EntryID]bool{}
	for i := range r.j.WorkStarts {
		s := &r.j.WorkStarts[i]
		from := stated(s, s.Body.When)
		e := add(from, laneWork, "work", "Work started "+from.Format("15:04")+".", s.Entry)
		for k := range r.j.WorkFinishes {
			f := &r.j.WorkFinishes[k]
			if to := stated(f, f.Body.When); !used[f.Entry] && !to.Before(from) {
				used[f.Entry] = true
				e.To, e.Says, e.Entries = to, "Work from "+from.Format("15:04")+" to "+to.Format("15:04")+".", append(e.Entries, f.Entry)
				break
			}
		}
	}
	for i := range r.j.WorkFinishes {
		if f := &r.j.WorkFinishes[i]; !used[f.Entry] {
			at := stated(f, f.Body.When)
			add(at, laneWork, "work-finish", "Work finished "+at.Format("15:04")+".", f.Entry)
		}
	}
	for i := range r.j.Parts {
		p := &r.j.Parts[i]
		add(fair(p), laneWork, "part", upperFirst(lowerFirst(componentTitle(p.Body.Component))+" "+p.Body.Action+"."), p.Entry)
	}
}

// shots draws pictures that follow each other closely as one.
func (r *reader) shots(add func(time.Time, string, string, string, ...claims.EntryID) *Event) {
	idx := make([]int, 0, len(r.j.Photos))
	for i := range r.j.Photos {
		idx = append(idx, i)
	}
	slices.SortStableFunc(idx, func(a, b int) int {
		return cmp.Or(r.taken(a).Compare(r.taken(b)), cmp.Compare(r.j.Photos[a].Number, r.j.Photos[b].Number))
	})
	var last *Event
	var names []string
	var theirs string
	flush := func() {
		if last == nil {
			return
		}
		slices.Sort(names)
		last.Count = len(last.Entries)
		last.Says = fmt.Sprintf("%s: %s.", plural(last.Count, "picture"), strings.Join(slices.Compact(names), "; "))
		if theirs != "" {
			last.Says = "As received from the " + theirs + ": " + last.Says
		}
	}
	for _, i := range idx {
		p, at := &r.j.Photos[i], r.taken(i)
		if p.Body.From != "" { // when the other side took it is not known: it stands where it was received
			if at = p.Received.In(p.At.Location()); p.Received.IsZero() {
				at = fair(p)
			}
		}
		bad := r.views[i].Time.Basis == claims.Conflicting
		if last == nil || p.Body.From != theirs || bad != last.Bad || at.Sub(last.At) > together {
			flush()
			last, names, theirs = add(at, lanePhotos, "photos", "", p.Entry), nil, p.Body.From
			last.Bad = bad
			if theirs != "" {
				last.Lane = laneDispute
			}
		} else {
			last.Entries = append(last.Entries, p.Entry)
			last.To = at
		}
		names = append(names, photoTitle(&p.Body))
	}
	flush()
}

func plural(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}
