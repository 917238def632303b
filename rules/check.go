package rules

import (
	"strconv"
	"time"
)

// Outcome is the answer to one requirement.
type Outcome string

// The outcomes of a check.
const (
	Met       Outcome = "met"
	Gap       Outcome = "gap"   // missing or wrong; the cure says what to do
	Doubt     Outcome = "doubt" // needs a person's eyes; the sentence says why
	Waived    Outcome = "waived"
	NotNeeded Outcome = "not-needed"
)

// Finding is the answer to one requirement, or to one of its turns when it is asked per part or per damage.
type Finding struct {
	// ID is the requirement's id, with ":component" or ":entry" behind it when asked per part or per damage.
	ID          string  `json:"id"`
	Requirement string  `json:"requirement"`
	Stage       string  `json:"stage"`
	Title       string  `json:"title"`
	Severity    string  `json:"severity"`
	Outcome     Outcome `json:"outcome"`
	// Sentence says what is so; Cure what to do about a gap or a doubt; Why the reason for asking.
	Sentence string `json:"sentence"`
	Cure     string `json:"cure,omitempty"`
	Why      string `json:"why"`
	// Entries are the journal entries that satisfy the requirement, or those in question.
	Entries []string `json:"entries,omitempty"`
	// Due is the last calendar day (YYYY-MM-DD at the site) of a deadline; Soon says that it is near.
	Due  string `json:"due,omitempty"`
	Soon bool   `json:"soon,omitempty"`
}

// Open reports whether the finding still needs something: a gap or a doubt.
func (f *Finding) Open() bool { return f.Outcome == Gap || f.Outcome == Doubt }

// Counts are the numbers of findings by outcome. Open counts required gaps and doubts.
type Counts struct {
	Met       int `json:"met"`
	Gap       int `json:"gap"`
	Doubt     int `json:"doubt"`
	Waived    int `json:"waived"`
	NotNeeded int `json:"notNeeded"`
	Open      int `json:"open"`
}

// Report is the outcome of a check: findings by stage, then in the order of the pack.
type Report struct {
	Pack     string    `json:"pack"`
	Version  string    `json:"version"`
	Title    string    `json:"title"`
	At       time.Time `json:"at"`
	Findings []Finding `json:"findings"`
	Counts   Counts    `json:"counts"`
	// Complete is true when no required finding is a gap or a doubt.
	Complete bool `json:"complete"`
}

// Find gives the finding with this id, or nil.
func (r *Report) Find(id string) *Finding {
	for i := range r.Findings {
		if r.Findings[i].ID == id {
			return &r.Findings[i]
		}
	}
	return nil
}

// Check answers every requirement of the pack. It is pure: the same pack and facts give the same report. The facts
// are only read.
func Check(pack *Compiled, facts *Facts) Report {
	c := newChecker(pack, facts)
	report := Report{
		Pack: pack.pack.ID, Version: pack.pack.Version, Title: pack.pack.Title, At: facts.Now,
		Findings: make([]Finding, 0, len(pack.items)+8),
	}
	for i := range pack.items {
		it := &pack.items[i]
		c.each(it, func(t turn, applies bool) {
			report.Findings = append(report.Findings, c.finding(it, t, applies))
		})
	}
	report.count()
	return report
}

func (r *Report) count() {
	for i := range r.Findings {
		f := &r.Findings[i]
		switch f.Outcome {
		case Met:
			r.Counts.Met++
		case Gap:
			r.Counts.Gap++
		case Doubt:
			r.Counts.Doubt++
		case Waived:
			r.Counts.Waived++
		case NotNeeded:
			r.Counts.NotNeeded++
		}
		if f.Open() && f.Severity == Required {
			r.Counts.Open++
		}
	}
	r.Complete = r.Counts.Open == 0
}

// checker is one check: the facts, laid out for quick looking up.
type checker struct {
	pack      *Compiled
	facts     *Facts
	bySubject [][]int
	visits    []visit
	replaced  []replaced
	site      *time.Location
	zoneKnown bool
}

// turn is the part or the damage that a requirement is asked about; both nil when it is asked once.
type turn struct {
	part   *replaced
	damage *Damage
}

// replaced is a component of which a part was fitted or replaced, with all entries about it.
type replaced struct {
	component string
	parts     []int
	removed   time.Time // first taken out; zero = not known
	fitted    time.Time // last fitted
}

func newChecker(pack *Compiled, facts *Facts) *checker {
	c := &checker{pack: pack, facts: facts, bySubject: make([][]int, len(pack.subjects))}
	where := make([]int, len(facts.Photos))
	counts := make([]int, len(pack.subjects))
	for i := range facts.Photos {
		s, ok := pack.subjects[facts.Photos[i].Subject]
		if !ok {
			s = -1
		} else {
			counts[s]++
		}
		where[i] = s
	}
	room := make([]int, 0, len(facts.Photos))
	for s, n := range counts {
		c.bySubject[s] = room[len(room) : len(room) : len(room)+n]
		room = room[:len(room)+n]
	}
	for i, s := range where {
		if s >= 0 {
			c.bySubject[s] = append(c.bySubject[s], i)
		}
	}
	c.visits = visitsOf(facts.Events["arrived"], facts.Events["left"])
	c.replaced = replacedParts(facts.Parts)
	return c
}

// replacedParts groups the parts by component, in order of first mention. A part that was only taken out (to
// look behind it, say) is not replaced.
func replacedParts(parts []Part) []replaced {
	var all []replaced
	for i := range parts {
		p := &parts[i]
		k := 0
		for k < len(all) && all[k].component != p.Component {
			k++
		}
		if k == len(all) {
			all = append(all, replaced{component: p.Component})
		}
		r := &all[k]
		r.parts = append(r.parts, i)
		if p.Action != "fitted" && !p.At.IsZero() && (r.removed.IsZero() || p.At.Before(r.removed)) {
			r.removed = p.At
		}
		if p.Action != "removed" && p.At.After(r.fitted) {
			r.fitted = p.At
		}
	}
	kept := all[:0]
	for _, r := range all {
		for _, i := range r.parts {
			if parts[i].Action != "removed" {
				kept = append(kept, r)
				break
			}
		}
	}
	return kept
}

// each calls f for every turn in which the requirement applies, or once to say that it does not.
func (c *checker) each(it *item, f func(t turn, applies bool)) {
	asked := false
	switch it.r.Per {
	case PerReplacedPart:
		for i := range c.replaced {
			if t := (turn{part: &c.replaced[i]}); c.holds(it.r.When, t) {
				f(t, true)
				asked = true
			}
		}
	case PerDamage:
		for i := range c.facts.Damages {
			if t := (turn{damage: &c.facts.Damages[i]}); t.damage.Kind != NoDamage && c.holds(it.r.When, t) {
				f(t, true)
				asked = true
			}
		}
	default:
		if c.holds(it.r.When, turn{}) {
			f(turn{}, true)
			asked = true
		}
	}
	if !asked {
		f(turn{}, false)
	}
}

// verdict is what a rule says about the facts, before waivers.
type verdict struct {
	outcome  Outcome
	sentence string
	entries  []string
	due      string
	soon     bool
}

func (c *checker) finding(it *item, t turn, applies bool) Finding {
	r := it.r
	f := Finding{ID: t.id(r.ID), Requirement: r.ID, Stage: r.Stage, Title: r.Title, Severity: r.Severity, Why: r.Why}
	if f.Severity == "" {
		f.Severity = Required
	}
	if t.part != nil {
		f.Title += ": " + noun(components, t.part.component)
	}
	if t.damage != nil {
		f.Title += ": " + clip(t.damage.Area)
	}
	if !applies {
		f.Outcome, f.Sentence = NotNeeded, c.notNeeded(it)
		return f
	}
	v := c.judge(it, t)
	f.Outcome, f.Sentence, f.Entries, f.Due, f.Soon = v.outcome, v.sentence, v.entries, v.due, v.soon
	if !f.Open() {
		return f
	}
	if w := c.waiver(f.ID, r.ID); w != nil && !r.Firm {
		f.Outcome = Waived
		f.Sentence = "Waived by " + clip(w.By) + ": " + w.Why + " (" + f.Sentence + ")"
		f.Entries = append(f.Entries[:len(f.Entries):len(f.Entries)], w.Entry)
		return f
	}
	f.Cure = r.Cure
	return f
}

func (t turn) id(requirement string) string {
	switch {
	case t.part != nil:
		return requirement + ":" + t.part.component
	case t.damage != nil:
		return requirement + ":" + t.damage.Entry
	}
	return requirement
}

func (c *checker) notNeeded(it *item) string {
	switch {
	case it.r.Per == PerReplacedPart && len(c.replaced) == 0:
		return "No part was replaced."
	case it.r.Per == PerDamage && !c.anyDamage(&Condition{}, turn{}):
		return "No damage is on record."
	}
	return it.notNeeded
}

// waiver finds the last waiver of the finding. One without a name or a reason does not count.
func (c *checker) waiver(finding, requirement string) *Waiver {
	for i := len(c.facts.Waivers) - 1; i >= 0; i-- {
		w := &c.facts.Waivers[i]
		if (w.Requirement == finding || w.Requirement == requirement) && w.By != "" && w.Why != "" {
			return w
		}
	}
	return nil
}

func (c *checker) judge(it *item, t turn) verdict {
	switch r := it.r; {
	case r.Photo != nil:
		return c.photo(it, t)
	case r.Reading != nil:
		return c.reading(it, t)
	case r.Field != nil:
		return c.field(it, t)
	case r.Agreement != nil:
		return c.agreement(it)
	case r.Part != nil:
		return c.part(r.Part, t)
	case r.Acknowledgement != nil:
		return c.ack(it)
	case r.Caution != nil:
		return c.caution(it)
	case r.Interval != nil:
		return c.interval(it)
	case r.Order != nil:
		return c.order(it)
	default:
		return c.number(it)
	}
}

// level is how well one piece of evidence satisfies a rule; higher is worse.
type level int

const (
	good level = iota
	doubtful
	bad
)

// flaw is the worst thing found in a piece of evidence, with its sentence.
type flaw struct {
	level level
	text  string
	mute  bool // keep no text
}

// note keeps the first flaw of the worst level.
func (f *flaw) note(l level, text string) {
	if l > f.level {
		f.level, f.text = l, text
	}
}

// lazy is note with a sentence that is only put together when it is kept.
func (f *flaw) lazy(l level, text func() string) {
	if l > f.level {
		f.level = l
		if !f.mute {
			f.text = text()
		}
	}
}

func outcomeOf(l level) Outcome {
	switch l {
	case good:
		return Met
	case doubtful:
		return Doubt
	}
	return Gap
}

func plural(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many(one)
}

// many puts "photo of the rating plate" into the plural by its first word.
func many(one string) string {
	for i := 0; i < len(one); i++ {
		if c := one[i]; c == ' ' || c == ':' || c == ',' {
			return one[:i] + "s" + one[i:]
		}
	}
	return one + "s"
}
