package rules

import (
	"fmt"
	"strings"
)

// Problem is one thing wrong with a pack. Path leads to it by ids: "requirements/plate-photo/photo/subject".
type Problem struct {
	Path    string
	Message string
}

func (p Problem) String() string { return p.Path + ": " + p.Message }

// InvalidPack is the error of Compile: every problem found, in the order of the pack.
type InvalidPack struct {
	Pack     string
	Problems []Problem
}

func (e *InvalidPack) Error() string {
	var b strings.Builder
	fmt.Fprintf(&b, "pack %s can't be used:", e.Pack)
	for _, p := range e.Problems {
		b.WriteString("\n  " + p.String())
	}
	return b.String()
}

// Limits of a pack, so that a check is always short.
const (
	MaxRequirements = 500
	MaxDepth        = 8  // of nested conditions
	MaxList         = 64 // members of one list in a rule
)

// Validate finds what is wrong with a pack: unknown words (with the nearest known one), missing members, references to
// nothing, impossible limits. A pack that extends others must be merged first; an empty answer means Compile accepts it.
func Validate(p *Pack) []Problem {
	v := &validator{cautions: map[string]bool{}, plans: map[string]bool{}, known: Words(), events: events}
	v.pack(p)
	return v.problems
}

type validator struct {
	problems []Problem
	cautions map[string]bool
	plans    map[string]bool
	known    Vocabulary
	events   []Term
}

func (v *validator) add(path, format string, args ...any) {
	if len(v.problems) < 100 {
		v.problems = append(v.problems, Problem{path, fmt.Sprintf(format, args...)})
	}
}

func (v *validator) pack(p *Pack) {
	v.id("id", p.ID)
	v.text("version", p.Version)
	v.text("title", p.Title)
	v.words("coverage", "coverage kind", v.known.CoverageKinds, p.Coverage)
	v.words("units", "unit kind", v.known.UnitKinds, p.Units)
	for i, s := range p.Sources {
		path := fmt.Sprintf("sources/%d", i)
		v.word(path+"/mark", "mark", marks, s.Mark)
		v.text(path+"/text", s.Text)
	}
	for i := range p.Cautions {
		v.caution(&p.Cautions[i])
	}
	for i := range p.Readings {
		v.plan(&p.Readings[i])
	}
	if len(p.Requirements) > MaxRequirements {
		v.add("requirements", "%d requirements are too many; the most is %d", len(p.Requirements), MaxRequirements)
		return
	}
	seen := map[string]bool{}
	for i := range p.Requirements {
		r := &p.Requirements[i]
		path := "requirements/" + r.ID
		if seen[r.ID] {
			v.add(path+"/id", "the id %q is used twice; give each requirement its own", r.ID)
		}
		seen[r.ID] = true
		v.requirement(path, r)
	}
}

func (v *validator) caution(c *Caution) {
	path := "cautions/" + c.ID
	v.id(path+"/id", c.ID)
	if v.cautions[c.ID] {
		v.add(path+"/id", "the id %q is used twice; give each caution its own", c.ID)
	}
	v.cautions[c.ID] = true
	v.text(path+"/title", c.Title)
	v.text(path+"/text", c.Text)
	v.word(path+"/before", "stage", v.known.Stages, c.Before)
	v.condition(path+"/when", c.When, 0)
}

func (v *validator) plan(p *ReadingPlan) {
	path := "readings/" + p.ID
	v.id(path+"/id", p.ID)
	if v.plans[p.ID] {
		v.add(path+"/id", "the id %q is used twice; give each reading its own", p.ID)
	}
	v.plans[p.ID] = true
	v.text(path+"/title", p.Title)
	v.word(path+"/component", "component", v.known.Components, p.Component)
	v.word(path+"/quantity", "quantity", v.known.Quantities, p.Quantity)
	for _, id := range p.Cautions {
		v.reference(path+"/cautions", "caution", v.cautions, id)
	}
}

func (v *validator) requirement(path string, r *Requirement) {
	v.id(path+"/id", r.ID)
	v.word(path+"/stage", "stage", v.known.Stages, r.Stage)
	v.text(path+"/title", r.Title)
	v.text(path+"/why", r.Why)
	v.text(path+"/cure", r.Cure)
	if r.Severity != "" && r.Severity != Required && r.Severity != Advised {
		v.add(path+"/severity", "%q is no severity; write %s or %s", clip(r.Severity), Required, Advised)
	}
	if r.Per != "" && r.Per != PerReplacedPart && r.Per != PerDamage {
		v.add(path+"/per", "%q can't be asked one by one; write %s or %s", clip(r.Per), PerReplacedPart, PerDamage)
	}
	v.condition(path+"/when", r.When, 0)
	rules := v.rules(path, r)
	switch {
	case len(rules) == 0:
		v.add(path, "says nothing to check; add one of photo, reading, field, agreement, part, acknowledgement, caution, interval, order, number")
	case len(rules) > 1:
		v.add(path+"/"+rules[1], "a requirement checks one thing, this one has %s; make a requirement of each", join(rules, "and"))
	}
}

func (v *validator) rules(path string, r *Requirement) []string {
	var found []string
	check := func(there bool, name string, f func(string)) {
		if there {
			found = append(found, name)
			f(path + "/" + name)
		}
	}
	check(r.Photo != nil, "photo", func(p string) { v.photo(p, r) })
	check(r.Reading != nil, "reading", func(p string) { v.reading(p, r) })
	check(r.Field != nil, "field", func(p string) { v.field(p, r) })
	check(r.Agreement != nil, "agreement", func(p string) { v.agreement(p, r.Agreement) })
	check(r.Part != nil, "part", func(p string) { v.part(p, r) })
	check(r.Acknowledgement != nil, "acknowledgement", func(p string) { v.ack(p, r.Acknowledgement) })
	check(r.Caution != nil, "caution", func(p string) {
		v.reference(p+"/id", "caution", v.cautions, r.Caution.ID)
		v.event(p+"/before", r.Caution.Before)
	})
	check(r.Interval != nil, "interval", func(p string) { v.interval(p, r.Interval) })
	check(r.Order != nil, "order", func(p string) {
		v.moment(p+"/first", r.Order.First)
		v.moment(p+"/then", r.Order.Then)
		v.within(p+"/warn", r.Order.Warn, 0, 3660)
	})
	check(r.Number != nil, "number", func(p string) { v.number(p, r.Number) })
	return found
}
