package dispute

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"kickplate/claims"
	"kickplate/rules"
)

// The outcomes of a finding.
const (
	ShownBefore = "shown-before"
	ShownAfter  = "shown-after"
	NotShown    = "not-shown"
	Conflicting = "conflicting"
)

// Finding is what the items on record say about an allegation.
//
// An item is of the place when the words of its area are those of the allegation's area, or more (a part of it), or when an entry names it
// (Allege.Evidence). It is of the kind when the kinds are equal or the allegation names none.
//
// Shown before work: a damage record of the place and kind, with a picture that is from before the first work, or signed by the customer
// before it; or a picture from before the first work that is marked as one of damage at the place.
// Shown after work only: not shown before, and a damage record of the place and kind from after the first work, or a picture from after it marked
// as damage, or a picture of the place as received from the other side.
// Conflicting: items of the place contradict each other (see conflicts).
// Not shown either way: everything else.
type Finding struct {
	Outcome string `json:"outcome"`
	Title   string `json:"title"`
	Says    string `json:"says"`
	// For are the items that lead to the outcome; Against is what speaks against the shop, whatever the outcome.
	For     []Point  `json:"for"`
	Against []Point  `json:"against"`
	Missing []string `json:"missing"`
}

// Point is one thing that the entries show.
type Point struct {
	Says    string           `json:"says"`
	Entries []claims.EntryID `json:"entries"`
}

// matter gathers what bears on one allegation.
type matter struct {
	*reader
	it *claims.Item[claims.Allege]
	a  *Allegation
	at place

	before, after, conflict []Point
	records                 []*claims.Item[claims.Damage] // damage of the place, any kind
	none                    []*claims.Item[claims.Damage] // the place was looked at, no damage seen
}

func (r *reader) finding(it *claims.Item[claims.Allege], a *Allegation) Finding {
	m := &matter{reader: r, it: it, a: a, at: placeOf(it.Body.Area)}
	for i := range r.j.Damages {
		d := &r.j.Damages[i]
		if !ofPlace(matchDamage(&it.Body, m.at, d)) {
			continue
		}
		if d.Body.Kind == rules.NoDamage {
			m.none = append(m.none, d)
		} else {
			m.records = append(m.records, d)
		}
	}
	m.shownBefore()
	m.shownAfter()
	m.conflicts()
	f := Finding{Against: m.against(), Missing: m.missing()}
	switch {
	case len(m.conflict) > 0:
		f.Outcome, f.For = Conflicting, append(append(m.conflict, m.before...), m.after...)
		f.Says = "The items on record contradict each other; they don't decide the question."
	case len(m.before) > 0:
		f.Outcome, f.For = ShownBefore, m.before
		f.Says = "The items on record show damage of this kind at this place before work began. They don't show who caused it."
	case len(m.after) > 0:
		f.Outcome, f.For = ShownAfter, m.after
		f.Says = "The items on record show damage of this kind at this place after work only. They don't show who caused it."
	default:
		f.Outcome = NotShown
		f.Says = "No item on record shows damage of this kind at this place, neither before work nor after it."
	}
	f.Title = titleOf(rules.DisputeFindings(), f.Outcome)
	if f.For == nil {
		f.For = []Point{}
	}
	return f
}

// kind reports whether a record speaks of the alleged kind of damage.
func (m *matter) kind(d *claims.Damage) bool { return m.it.Body.Kind == "" || d.Kind == m.it.Body.Kind }

func (m *matter) shownBefore() {
	used := map[claims.EntryID]bool{}
	for _, d := range m.records {
		if !m.kind(&d.Body) {
			continue
		}
		var shots []claims.EntryID
		for _, id := range d.Body.Photos {
			if i, ok := m.photo[id]; ok && m.orders[i].Answer == claims.Before && m.j.Photos[i].Body.From == "" {
				shots, used[id] = append(shots, id), true
			}
		}
		if len(shots) > 0 {
			says := m.line(d).Says + fmt.Sprintf(" Pictured before work: %s.", m.orders[m.photo[shots[0]]].Says)
			m.before = append(m.before, Point{strings.ReplaceAll(says, "..", "."), append(shots, d.Entry)})
			continue
		}
		if claims.ItemOrder(m.j, d).Answer != claims.Before {
			continue
		}
		for i := range m.j.Acks {
			a := &m.j.Acks[i]
			if a.Body.Outcome == "signed" && slices.Contains(a.Body.Shown, d.Entry) && claims.ItemOrder(m.j, a).Answer == claims.Before {
				m.before = append(m.before, Point{m.line(d).Says + " Signed before work by " + a.Body.Name + ".", []claims.EntryID{d.Entry, a.Entry}})
			}
		}
	}
	for _, p := range m.a.Before {
		if ofPlace(p.Match) && strings.HasPrefix(p.Subject, "damage-") && !used[p.Entry] && !m.otherKind(p.Entry) {
			m.before = append(m.before, Point{"A picture from before work is marked as one of damage at this place. " + p.Order.Says, []claims.EntryID{p.Entry}})
		}
	}
}

// otherKind reports whether a picture belongs to records of other kinds of damage only.
func (m *matter) otherKind(photo claims.EntryID) bool {
	other := false
	for i := range m.j.Damages {
		if d := &m.j.Damages[i].Body; slices.Contains(d.Photos, photo) {
			if d.Kind != rules.NoDamage && m.kind(d) {
				return false
			}
			other = true
		}
	}
	return other
}

func (m *matter) shownAfter() {
	used := map[claims.EntryID]bool{}
	for _, d := range m.records {
		if !m.kind(&d.Body) {
			continue
		}
		ids, late := []claims.EntryID{d.Entry}, claims.ItemOrder(m.j, d).Answer == claims.After && d.Body.Seen != "on-arrival"
		for _, id := range d.Body.Photos {
			if i, ok := m.photo[id]; ok && m.orders[i].Answer == claims.After {
				ids, used[id], late = append(ids, id), true, true
			}
		}
		if late {
			m.after = append(m.after, Point{m.line(d).Says, ids})
		}
	}
	for _, p := range m.a.After {
		if ofPlace(p.Match) && strings.HasPrefix(p.Subject, "damage-") && !used[p.Entry] && !m.otherKind(p.Entry) {
			m.after = append(m.after, Point{"A picture from after work is marked as one of damage at this place. " + p.Order.Says, []claims.EntryID{p.Entry}})
		}
	}
	for _, p := range m.a.Theirs {
		if p.Order.Answer != claims.Before {
			m.after = append(m.after, Point{"A picture as received from the " + p.From + ", taken to show this damage. When it was taken rests on their word.", []claims.EntryID{p.Entry}})
		}
	}
}

// conflicts: damage seen before work and, at any time, no damage seen at the same place, save after a part there was fitted; a record that says “on arrival” but was entered after work
// had begun, with no picture from before; pictures of the damage whose clocks contradict each other, with nothing else from before; a
// recorded extent that is larger after work than before.
func (m *matter) conflicts() {
	for _, n := range m.none {
		if len(m.before) > 0 && !m.fittedBefore(fair(n)) {
			m.conflict = append(m.conflict, Point{"The place was also recorded as looked at, no damage seen (" + lowerFirst(titleOf(rules.DamageSeen(), n.Body.Seen)) + ").", []claims.EntryID{n.Entry}})
		}
	}
	for _, d := range m.records {
		if !m.kind(&d.Body) {
			continue
		}
		if c := m.line(d); c.Doubt != "" && len(m.before) == 0 {
			m.conflict = append(m.conflict, Point{c.Says + " " + c.Doubt, []claims.EntryID{d.Entry}})
			continue
		}
		for _, id := range d.Body.Photos {
			if i, ok := m.photo[id]; ok && m.orders[i].Answer == claims.Conflicting && len(m.before) == 0 {
				m.conflict = append(m.conflict, Point{"A picture of the damage: " + m.orders[i].Says, []claims.EntryID{id}})
			}
		}
	}
	if p, ok := m.grown(); ok {
		m.conflict = append(m.conflict, p)
	}
}

// fittedBefore reports whether a part of this place was fitted before a moment.
func (m *matter) fittedBefore(at time.Time) bool {
	return slices.ContainsFunc(m.j.Parts, func(p claims.Item[claims.Part]) bool {
		return p.Body.Action != "removed" && placeOf(componentTitle(p.Body.Component)).within(m.at) && fair(&p).Before(at)
	})
}

// grown finds a record from after work whose extent is larger, in one direction, than every one from before.
func (m *matter) grown() (Point, bool) {
	var first, last *claims.Item[claims.Damage]
	for _, d := range m.records {
		if !m.kind(&d.Body) || d.Body.WidthMM == "" && d.Body.HeightMM == "" {
			continue
		}
		switch claims.ItemOrder(m.j, d).Answer {
		case claims.Before:
			if first == nil || larger(&d.Body, &first.Body) {
				first = d
			}
		case claims.After:
			if last == nil || larger(&d.Body, &last.Body) {
				last = d
			}
		}
	}
	if first == nil || last == nil || !larger(&last.Body, &first.Body) {
		return Point{}, false
	}
	return Point{"The extent on record is larger after work (" + m.line(last).Extent + ") than before it (" + m.line(first).Extent + ").", []claims.EntryID{first.Entry, last.Entry}}, true
}

// larger compares two extents: in width or in height, by more than a tenth, since nobody measures damage closer (common practice, no source).
func larger(a, b *claims.Damage) bool {
	return more(a.WidthMM, b.WidthMM) || more(a.HeightMM, b.HeightMM)
}

// against is what speaks against the shop.
func (m *matter) against() []Point {
	out := []Point{}
	add := func(says string, ids ...claims.EntryID) {
		if len(out) < 40 {
			out = append(out, Point{says, append([]claims.EntryID{}, ids...)})
		}
	}
	for _, n := range m.none {
		if claims.ItemOrder(m.j, n).Answer == claims.Before && len(m.after) > 0 {
			add("Before work the shop recorded that no damage was seen here.", n.Entry)
		}
	}
	for _, d := range m.records {
		if c := m.line(d); c.Relative == "during-work" || c.Relative == "after-work" {
			if c.Seen != "on-arrival" {
				add("The shop itself recorded damage here after work had begun: "+c.Says, d.Entry)
			}
		}
		if m.it.Body.Kind != "" && d.Body.Kind != m.it.Body.Kind && claims.ItemOrder(m.j, d).Answer == claims.Before {
			add("The damage on record from before work is of another kind: "+m.line(d).Says, d.Entry)
		}
		for _, c := range d.Corrected {
			if c.At.After(fair(m.it)) {
				add("A record of damage here was changed after the allegation came in: "+c.Why, d.Entry, c.Entry)
			}
		}
		if fair(d).After(fair(m.it)) {
			add("A record of damage here was made only after the allegation came in.", d.Entry)
		}
	}
	for i := range m.j.Parts {
		if p := &m.j.Parts[i]; placeOf(componentTitle(p.Body.Component)).within(m.at) {
			add("The shop worked at this place: "+lowerFirst(componentTitle(p.Body.Component))+" "+p.Body.Action+".", p.Entry)
		}
	}
	if !slices.ContainsFunc(m.a.Before, func(p PlacePhoto) bool { return ofPlace(p.Match) }) {
		add("There is no picture of this very place that is shown to be from before work.")
	}
	for _, p := range m.a.Unplaced {
		add("Nobody can tell whether a picture of this place is from before or after work. "+p.Order.Says, p.Entry)
	}
	m.signatures(add)
	for i := range m.j.Struck {
		if s := &m.j.Struck[i]; m.struckHere(s) {
			add("An entry about this place was struck ("+strings.ReplaceAll(string(s.Kind), "-", " ")+"): "+s.Strike.Why, s.Entry, s.Strike.Entry)
		}
	}
	for i := range m.j.Likenesses {
		if l := &m.j.Likenesses[i]; slices.ContainsFunc(m.a.Before, func(p PlacePhoto) bool { return p.Entry == l.Body.Photo }) {
			add("A picture of this place looks like one of another job, or is the same.", l.Body.Photo, l.Entry)
		}
	}
	for _, list := range [][]PlacePhoto{m.a.Before, m.a.After} {
		for _, p := range list {
			if t := m.views[m.photo[p.Entry]].Time; t.Basis == claims.Conflicting {
				add("The clocks of a picture of this place contradict each other. "+t.Says, p.Entry)
			}
		}
	}
	return out
}

// signatures: damage from before work that nobody signed for, or that the customer declined to sign.
func (m *matter) signatures(add func(string, ...claims.EntryID)) {
	if len(m.before) == 0 {
		return
	}
	signed := false
	for i := range m.j.Acks {
		a := &m.j.Acks[i]
		if !slices.ContainsFunc(m.records, func(d *claims.Item[claims.Damage]) bool { return shownIn(&a.Body, d) }) {
			continue
		}
		switch a.Body.Outcome {
		case "signed":
			signed = true
			if claims.ItemOrder(m.j, a).Answer == claims.After {
				add("The damage was signed for only after work had begun.", a.Entry)
			}
		case "declined":
			add("The customer was shown the damage and declined to sign: "+a.Body.Reason, a.Entry)
		case "absent":
			add("The customer was not there to see the damage: "+a.Body.Reason, a.Entry)
		}
	}
	if !signed {
		add("The customer did not sign for the damage on record.")
	}
}

func (m *matter) struckHere(s *claims.Struck) bool {
	body, err := claims.DecodeBody(s.Kind, s.Body)
	if err != nil {
		return false
	}
	switch b := body.(type) {
	case *claims.Damage:
		return ofPlace(m.at.relation(placeOf(b.Area)))
	case *claims.Photo:
		return ofPlace(m.at.relation(photoPlace(b)))
	}
	return false
}

// missing is what would decide more, each with its reason.
func (m *matter) missing() []string {
	out := []string{}
	add := func(s string) { out = append(out, s) }
	if _, ok := m.j.FirstWork(); !ok {
		add("An entry that tells when work began: without it, before and after can't be told.")
	}
	if len(m.before) == 0 {
		if n := slices.ContainsFunc(m.a.Before, func(p PlacePhoto) bool { return ofPlace(p.Match) }); n {
			add("Nobody has recorded what the pictures from before work show at this place. Look at them and enter the condition; the entry will bear today's date.")
		} else {
			add("A picture of this place from before work.")
		}
	}
	if !slices.ContainsFunc(m.a.After, func(p PlacePhoto) bool { return ofPlace(p.Match) }) {
		add("A picture of this place from after the work.")
	}
	if len(m.before) > 0 && !slices.ContainsFunc(m.j.Acks, func(a claims.Item[claims.Acknowledge]) bool {
		return a.Body.Outcome == "signed" && slices.ContainsFunc(m.records, func(d *claims.Item[claims.Damage]) bool { return shownIn(&a.Body, d) })
	}) {
		add("The customer's signature under the condition on arrival.")
	}
	if len(m.records) > 0 && !slices.ContainsFunc(m.records, func(d *claims.Item[claims.Damage]) bool { return d.Body.WidthMM+d.Body.HeightMM != "" }) {
		add("The extent of the damage, measured with a scale.")
	}
	if len(m.a.Theirs) == 0 && !slices.ContainsFunc(m.a.Statements, func(s Said) bool { return len(s.Pictures) > 0 }) {
		add("A picture by the customer of what is alleged.")
	}
	if m.it.Body.Since == "" {
		add("Since when it is said to be so.")
	}
	return out
}
