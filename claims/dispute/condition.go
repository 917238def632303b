package dispute

import (
	"slices"
	"strings"
	"time"

	"kickplate/claims"
	"kickplate/rules"
)

// Condition is one line of the condition record: damage that was seen at a place, or that none was.
type Condition struct {
	Entry  claims.EntryID `json:"entry"`
	Number int            `json:"number"`
	At     time.Time      `json:"at"`
	By     string         `json:"by"`
	Area   string         `json:"area"`
	Kind   string         `json:"kind"`
	// Says is the line in words.
	Says   string `json:"says"`
	Extent string `json:"extent,omitempty"`
	// Scale is what the extent was measured with.
	Scale string `json:"scale,omitempty"`
	// Seen is what the entry states: on-arrival, during-work or on-leaving. Relative is what the order of the entries shows: before-work,
	// before-teardown (work had begun, nothing was out yet), during-work, after-work or cannot-tell; Order says by which clock.
	Seen     string       `json:"seen"`
	Relative string       `json:"relative,omitempty"`
	Order    claims.Order `json:"order"`
	// Doubt says where the two do not agree.
	Doubt  string           `json:"doubt,omitempty"`
	SaidBy string           `json:"saidBy,omitempty"`
	Said   string           `json:"said,omitempty"`
	Bears  string           `json:"bears,omitempty"`
	View   string           `json:"view,omitempty"`
	X      int              `json:"x,omitempty"`
	Y      int              `json:"y,omitempty"`
	Photos []claims.EntryID `json:"photos"`
	// Signed are the signatures, or reasons why there is none, given with it on the screen.
	Signed []claims.EntryID `json:"signed,omitempty"`
}

// condition is the whole record, in the order of the account.
func (r *reader) condition() []Condition {
	out := []Condition{}
	for i := range r.j.Damages {
		out = append(out, r.line(&r.j.Damages[i]))
	}
	return out
}

func (r *reader) line(d *claims.Item[claims.Damage]) Condition {
	b := &d.Body
	c := Condition{Entry: d.Entry, Number: d.Number, At: fair(d), By: d.By, Area: b.Area, Kind: b.Kind, Seen: b.Seen, Order: claims.ItemOrder(r.j, d),
		SaidBy: b.SaidBy, Said: b.Said, Bears: b.Bears, View: b.View, X: b.X, Y: b.Y, Photos: slices.Clone(b.Photos), Scale: b.Scale}
	if c.Photos == nil {
		c.Photos = []claims.EntryID{}
	}
	switch {
	case b.WidthMM != "" && b.HeightMM != "":
		c.Extent = b.WidthMM + " × " + b.HeightMM + " mm"
	case b.WidthMM+b.HeightMM != "":
		c.Extent = b.WidthMM + b.HeightMM + " mm"
	}
	c.Relative = r.relative(d, c.Order)
	c.Doubt = r.doubt(b.Seen, c.Relative, c.At, c.Order)
	for i := range r.j.Acks {
		if a := &r.j.Acks[i]; shownIn(&a.Body, d) {
			c.Signed = append(c.Signed, a.Entry)
		}
	}
	c.Says = c.words(b.Words)
	return c
}

// shownIn reports whether a damage record, or one of its pictures, was on the screen when a signature was asked for.
func shownIn(a *claims.Acknowledge, d *claims.Item[claims.Damage]) bool {
	return slices.Contains(a.Shown, d.Entry) || slices.ContainsFunc(d.Body.Photos, func(p claims.EntryID) bool { return slices.Contains(a.Shown, p) })
}

// relative places a record between arrival, the first work, the first part taken out, and the last end of work.
func (r *reader) relative(d *claims.Item[claims.Damage], o claims.Order) string {
	switch o.Answer {
	case claims.Before:
		return "before-work"
	case claims.After:
	default:
		return claims.CannotTell
	}
	at := fair(d)
	if n := len(r.j.WorkFinishes); n > 0 {
		end := &r.j.WorkFinishes[n-1]
		if at.After(stated(end, end.Body.When)) {
			return "after-work"
		}
	}
	for i := range r.j.Parts {
		if p := &r.j.Parts[i]; p.Body.Action != "fitted" && !at.Before(fair(p)) {
			return "during-work"
		}
	}
	if len(r.j.WorkStarts) > 0 && slices.ContainsFunc(r.j.Parts, func(p claims.Item[claims.Part]) bool { return p.Body.Action != "fitted" }) {
		return "before-teardown"
	}
	return "during-work"
}

func (r *reader) doubt(seen, relative string, at time.Time, o claims.Order) string {
	switch {
	case o.Answer == claims.Conflicting:
		return o.Says
	case seen == "on-arrival" && o.Answer == claims.After && r.worked(at):
		return "It says “on arrival”, but it was entered after work had begun."
	case seen == "on-leaving" && relative == "before-work":
		return "It says “on leaving”, but it was entered before work began."
	case seen == "during-work" && relative == "before-work":
		return "It says “during the work”, but it was entered before work began."
	}
	return ""
}

func (c *Condition) words(own string) string {
	s := upperFirst(areaTitle(c.Area)) + ": "
	if c.Kind == rules.NoDamage {
		s += "looked at, no damage seen"
	} else {
		s += lowerFirst(titleOf(rules.DamageKinds(), c.Kind))
	}
	if c.Extent != "" {
		s += ", " + c.Extent
		if c.Scale != "" {
			s += " (" + lowerFirst(titleOf(rules.DamageScales(), c.Scale)) + ")"
		}
	}
	s += ", " + lowerFirst(titleOf(rules.DamageSeen(), c.Seen)) + "."
	if own = strings.TrimSpace(own); own != "" {
		s += " " + own
	}
	return s
}

// worked reports whether there was work between the last arrival before a moment and the moment.
func (r *reader) worked(at time.Time) bool {
	var arrived time.Time
	for _, v := range r.j.Visits {
		if a := v.Arrived; a != nil {
			if t := stated(a, a.Body.When); !t.After(at) && t.After(arrived) {
				arrived = t
			}
		}
	}
	return slices.ContainsFunc(r.j.Works(), func(w claims.Work) bool { return !w.At.Before(arrived) && !w.At.After(at) })
}
