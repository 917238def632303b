package rules

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"
)

func (v *validator) photo(path string, r *Requirement) {
	p := r.Photo
	if len(p.Subject) == 0 {
		v.add(path+"/subject", "names no subject; write what the picture must show, for example subject: rating-plate")
	}
	for _, s := range p.Subject {
		if s == "any" && len(p.Subject) == 1 {
			continue
		}
		v.word(path+"/subject", "photo subject", v.known.Subjects, s)
	}
	v.component(path+"/component", p.Component, r.Per)
	v.within(path+"/at-least", p.AtLeast, 0, 100)
	v.within(path+"/long-side", p.LongSide, 0, 50000)
	if p.Pair != "" {
		v.word(path+"/pair", "photo subject", v.known.Subjects, p.Pair)
	}
	v.event(path+"/before", p.Before)
	v.event(path+"/after", p.After)
	if p.TimeBasis != "" {
		v.word(path+"/time-basis", "time basis", timeBases, p.TimeBasis)
	}
}

func (v *validator) reading(path string, r *Requirement) {
	p := r.Reading
	if len(p.Of) == 0 && p.Component == "" {
		v.add(path, "names neither a reading of the pack (of: …) nor a component (component: …)")
	}
	if len(p.Of) > 0 && (p.Component != "" && p.Component != "replaced-part" || len(p.Quantity) > 0 || len(p.Units) > 0) {
		v.add(path+"/of", "the named reading already says component, quantity and units; leave those out")
	}
	v.list(path+"/of", p.Of)
	for _, id := range p.Of {
		v.reference(path+"/of", "reading", v.plans, id)
	}
	v.component(path+"/component", p.Component, r.Per)
	v.words(path+"/quantity", "quantity", v.known.Quantities, p.Quantity)
	if p.Moment != "" {
		v.word(path+"/moment", "moment", v.known.Moments, p.Moment)
	}
	v.words(path+"/outcome", "verdict of a reading", readingOutcomes, p.Outcome)
	v.within(path+"/at-least", p.AtLeast, 0, 100)
	v.event(path+"/before", p.Before)
	v.event(path+"/after", p.After)
}

func (v *validator) field(path string, r *Requirement) {
	f := r.Field
	switch f.Kind {
	case "date":
		v.name(path+"/name", v.known.Dates, f.Name)
	case "number":
		v.name(path+"/name", v.known.Numbers, f.Name)
	default:
		v.name(path+"/name", v.known.Fields, f.Name)
	}
	switch f.Kind {
	case "", "text":
	case "date", "number":
		if f.MinLength != 0 || f.MaxLength != 0 || f.Digits || f.Letters || len(f.OneOf) > 0 || f.Mentions {
			v.add(path+"/kind", "a %s has no length, letters or list of values; leave those out", f.Kind)
		}
	default:
		v.add(path+"/kind", "%q is no kind of field; write text, date or number", clip(f.Kind))
	}
	if f.NotInFuture && f.Kind != "date" {
		v.add(path+"/not-in-future", "only a date can lie in the future; write kind: date")
	}
	if f.Mentions && r.Per != PerReplacedPart {
		v.add(path+"/mentions", "there is no part in turn to mention; write per: replaced-part")
	}
	if f.Digits && f.Letters {
		v.add(path+"/letters", "digits and letters exclude each other; keep one")
	}
	v.within(path+"/min-length", f.MinLength, 0, 10000)
	v.within(path+"/max-length", f.MaxLength, 0, 100000)
	if f.MaxLength > 0 && f.MinLength > f.MaxLength {
		v.add(path+"/max-length", "is less than min-length, so nothing would fit")
	}
	v.list(path+"/one-of", f.OneOf)
}

func (v *validator) agreement(path string, a *AgreementRule) {
	v.name(path+"/number", v.known.Fields, a.Number)
	if len(a.With) == 0 || len(a.With) > 16 {
		v.add(path+"/with", "names %d places to compare with; give one to 16", len(a.With))
	}
	for i, w := range a.With {
		path := fmt.Sprintf("%s/with/%d", path, i)
		switch {
		case (w.Field == "") == (w.Codes == ""):
			v.add(path, "each place is either a field or the codes on a photo; write field: … or codes: …")
		case w.Field != "":
			v.name(path+"/field", v.known.Fields, w.Field)
		default:
			v.word(path+"/codes", "photo subject", v.known.Subjects, w.Codes)
		}
	}
	v.within(path+"/at-least", a.AtLeast, 0, len(a.With))
}

func (v *validator) part(path string, r *Requirement) {
	p := r.Part
	if r.Per != PerReplacedPart {
		v.add(path, "a part rule is asked for each replaced part; write per: replaced-part beside it")
	}
	if !p.Number && !p.Invoice && !p.Serial && !p.Original && len(p.Held) == 0 &&
		!p.FailedPhoto && !p.LabelPhoto && !p.FittedPhoto && !p.Cause && !p.Reading {
		v.add(path, "asks nothing of the part; add number, invoice, serial, original, held, failed-photo, label-photo, fitted-photo, cause or reading")
	}
	v.words(path+"/held", "place of an old part", v.known.PartHeld, p.Held)
}

func (v *validator) ack(path string, a *AckRule) {
	v.word(path+"/about", "thing to acknowledge", v.known.About, a.About)
	v.words(path+"/outcome", "outcome", v.known.AckOutcomes, a.Outcome)
	v.event(path+"/before", a.Before)
	v.event(path+"/after", a.After)
	if a.ShownDamage != "" && a.ShownDamage != "any" {
		v.word(path+"/shown-damage", "time of seeing damage", v.known.DamageSeen, a.ShownDamage)
	}
	v.words(path+"/shown", "photo subject", v.known.Subjects, a.Shown)
}

func (v *validator) interval(path string, i *IntervalRule) {
	v.moment(path+"/from", i.From)
	v.moment(path+"/to", i.To)
	v.within(path+"/days", i.Days, 0, 36600)
	v.within(path+"/warn", i.Warn, 0, i.Days)
	if i.DaysFrom != "" {
		v.name(path+"/days-from", v.known.Numbers, i.DaysFrom)
	}
}

func (v *validator) number(path string, n *NumberRule) {
	if (n.Name == "") == (n.Count == "") {
		v.add(path, "names %s; write either name: … (a number of the job) or count: …", map[bool]string{true: "no number", false: "two numbers"}[n.Name == ""])
	}
	if n.Name != "" {
		v.name(path+"/name", v.known.Numbers, n.Name)
	}
	if n.Count != "" && !contains(counts(), n.Count) {
		v.add(path+"/count", "%q can't be counted; write one of %s", clip(n.Count), join(counts(), "or"))
	}
	if n.AtMost == "" && n.AtLeast == "" {
		v.add(path, "has no limit; add at-most or at-least")
	}
	v.limit(path+"/at-most", n.AtMost)
	v.limit(path+"/at-least", n.AtLeast)
}

func counts() []string { return []string{"visits", "parts", "photos", "readings", "damages"} }

// condition also refuses an empty condition: it would always hold, and nobody writes that on purpose.
func (v *validator) condition(path string, c *Condition, depth int) {
	if c == nil {
		return
	}
	if depth >= MaxDepth {
		v.add(path, "conditions are nested deeper than %d; write it flatter", MaxDepth)
		return
	}
	if c.isEmpty() {
		v.add(path, "is empty; leave when out if the requirement always applies")
	}
	for i := range c.All {
		v.condition(fmt.Sprintf("%s/all/%d", path, i), &c.All[i], depth+1)
	}
	for i := range c.Any {
		v.condition(fmt.Sprintf("%s/any/%d", path, i), &c.Any[i], depth+1)
	}
	v.condition(path+"/not", c.Not, depth+1)
	v.words(path+"/unit", "unit kind", v.known.UnitKinds, c.Unit)
	v.words(path+"/coverage", "coverage kind", v.known.CoverageKinds, c.Coverage)
	v.wordsOrAny(path+"/replaced", "component", v.known.Components, c.Replaced)
	v.wordsOrAny(path+"/damage", "time of seeing damage", v.known.DamageSeen, c.Damage)
	v.words(path+"/damage-kind", "damage kind", v.known.DamageKinds, c.DamageKind)
	v.words(path+"/held", "place of an old part", v.known.PartHeld, c.Held)
	v.words(path+"/happened", "event", v.events, c.Happened)
	v.words(path+"/measured", "component", v.known.Components, c.Measured)
	v.words(path+"/pictured", "photo subject", v.known.Subjects, c.Pictured)
	if c.Field != "" {
		v.name(path+"/field", slices.Concat(v.known.Fields, v.known.Dates), c.Field)
		if len(c.Is) == 0 && c.Known == nil {
			v.add(path+"/field", "asks nothing of %s; add is: [ … ] or known: true", c.Field)
		}
	}
	if len(c.Is) > 0 && c.Field == "" {
		v.add(path+"/is", "has no field to look at; add field: …")
	}
	if c.Known != nil && (c.Field == "") == (c.Number == "") {
		v.add(path+"/known", "belongs to one field or one number; add field: … or number: …")
	}
	if c.Number != "" {
		v.name(path+"/number", v.known.Numbers, c.Number)
		if c.Above == "" && c.AtLeast == "" && c.Known == nil {
			v.add(path+"/number", "asks nothing of %s; add above, at-least or known", c.Number)
		}
	} else if c.Above != "" || c.AtLeast != "" {
		v.add(path, "above and at-least need a number to look at; add number: …")
	}
	v.limit(path+"/above", c.Above)
	v.limit(path+"/at-least", c.AtLeast)
	v.list(path+"/is", c.Is)
}

func (c *Condition) isEmpty() bool {
	return len(c.All) == 0 && len(c.Any) == 0 && c.Not == nil && len(c.Unit) == 0 && len(c.Coverage) == 0 &&
		len(c.Replaced) == 0 && len(c.Damage) == 0 && len(c.DamageKind) == 0 && len(c.Held) == 0 && len(c.Happened) == 0 &&
		len(c.Measured) == 0 && len(c.Pictured) == 0 && c.Field == "" && len(c.Is) == 0 && c.Known == nil &&
		c.Number == "" && c.Above == "" && c.AtLeast == ""
}

func (v *validator) id(path, id string) {
	if !isID(id) {
		v.add(path, "%q is no id; write lower-case words joined by dashes, for example plate-photo", clip(id))
	}
}

// isID accepts kebab-case of at most 64 characters.
func isID(s string) bool {
	if s == "" || len(s) > 64 || s[0] == '-' || s[len(s)-1] == '-' {
		return false
	}
	for i := 0; i < len(s); i++ {
		c := s[i]
		if (c < 'a' || c > 'z') && (c < '0' || c > '9') && (c != '-' || s[i-1] == '-') {
			return false
		}
	}
	return true
}

// name checks a dotted name such as unit.serial against the list of those that a job can fill.
func (v *validator) name(path string, list []Term, s string) {
	if strings.Contains(s, ".") || s == "" {
		v.word(path, "name", list, s)
		return
	}
	v.add(path, "%q is no name; write it with a dot, for example %s", clip(s), list[0].ID)
}

func (v *validator) text(path, s string) {
	switch {
	case strings.TrimSpace(s) == "":
		v.add(path, "is missing; write a short text")
	case len(s) > 2000:
		v.add(path, "is longer than 2000 bytes; people read this on a phone")
	case !utf8.ValidString(s):
		v.add(path, "is not valid UTF-8")
	}
}

func (v *validator) word(path, what string, terms []Term, s string) {
	if has(terms, s) {
		return
	}
	if near := Nearest(s, ids(terms)); near != "" {
		v.add(path, "%q is no known %s; did you mean %s?", clip(s), what, near)
		return
	}
	v.add(path, "%q is no known %s; write one of %s", clip(s), what, join(ids(terms), "or"))
}

func (v *validator) words(path, what string, terms []Term, list []string) {
	v.list(path, list)
	for _, s := range list {
		v.word(path, what, terms, s)
	}
}

func (v *validator) wordsOrAny(path, what string, terms []Term, list []string) {
	if len(list) == 1 && list[0] == "any" {
		return
	}
	v.words(path, what, terms, list)
}

func (v *validator) list(path string, list []string) {
	if len(list) > MaxList {
		v.add(path, "has %d members; the most is %d", len(list), MaxList)
	}
}

func (v *validator) component(path, s, per string) {
	switch {
	case s == "":
	case s == PerReplacedPart:
		if per != PerReplacedPart {
			v.add(path, "there is no replaced part in turn; write per: replaced-part")
		}
	default:
		v.word(path, "component", v.known.Components, s)
	}
}

func (v *validator) event(path, s string) {
	if s == "" {
		return
	}
	if w, ok := parseWhen(s, false); !ok || w.event == "" {
		v.notAMoment(path, s, "an event")
	}
}

func (v *validator) moment(path, s string) {
	w, ok := parseWhen(s, false)
	if !ok {
		v.notAMoment(path, s, "an event, a dotted date such as coverage.start, or now")
		return
	}
	if w.date != "" {
		v.name(path, v.known.Dates, w.date)
	}
}

func (v *validator) notAMoment(path, s, want string) {
	name := strings.TrimPrefix(strings.TrimPrefix(s, "first "), "last ")
	if near := Nearest(name, ids(v.events)); near != "" {
		v.add(path, "%q is no known event; did you mean %s?", clip(s), near)
		return
	}
	v.add(path, "%q is not %s; events are %s", clip(s), want, join(ids(v.events), "and"))
}

func (v *validator) within(path string, n, low, high int) {
	if n < low || n > high {
		v.add(path, "%d is outside %d to %d", n, low, high)
	}
}

func (v *validator) limit(path, s string) {
	if s == "" {
		return
	}
	if _, ok := parseDecimal(s); !ok {
		if strings.Contains(s, ".") && (s[0] < '0' || s[0] > '9') && s[0] != '-' {
			v.name(path, v.known.Numbers, s)
			return
		}
		v.add(path, "%q is neither a decimal number nor the dotted name of one", clip(s))
	}
}

func (v *validator) reference(path, what string, known map[string]bool, id string) {
	if known[id] {
		return
	}
	all := make([]string, 0, len(known))
	for k := range known {
		all = append(all, k)
	}
	slices.Sort(all)
	if near := Nearest(id, all); near != "" {
		v.add(path, "the pack has no %s %q; did you mean %s?", what, clip(id), near)
		return
	}
	v.add(path, "the pack has no %s %q; add it to the pack's list or name one that is there", what, clip(id))
}
