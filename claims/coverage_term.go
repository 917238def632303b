package claims

import (
	"fmt"
	"slices"
	"strings"
	"time"
)

func (a *coverageCase) change(format string, args ...any) {
	s := fmt.Sprintf(format, args...)
	if !slices.Contains(a.answer.Changes, s) {
		a.answer.Changes = append(a.answer.Changes, s)
	}
}

func parseMoment(s string) (time.Time, bool) {
	t, err := time.Parse(time.RFC3339Nano, s)
	return t, err == nil
}

// line answers for one component.
func (a *coverageCase) line(component string) CoverageLine {
	l := CoverageLine{Component: component, Class: ClassOf(component)}
	for _, p := range a.j.Parts {
		if p.Body.Component == component {
			l.Entries = append(l.Entries, p.Entry)
		}
	}
	for _, c := range a.j.Causes {
		if c.Body.Component == component {
			l.Entries = append(l.Entries, c.Entry)
		}
	}
	term, known := a.j.Coverage.months(component)
	l.Parts = a.term(term, known, term.Parts, "parts")
	l.Labour = a.term(term, known, term.Labour, "labour")
	a.repeat(&l)
	for _, e := range a.answer.Exclusions {
		if e.Component != "" && e.Component != component {
			continue
		}
		out := CoverageTerm{Verdict: NotCovered, Says: e.Says}
		if !e.Certain {
			out.Verdict = CannotSay
			a.change("%s", e.Settles)
		}
		for _, t := range []*CoverageTerm{&l.Parts, &l.Labour} {
			if t.Verdict == NotCovered || e.PartsOnly && t == &l.Labour {
				continue
			}
			if t.Verdict == CannotSay && !e.Certain { // one more open question, not instead of the first
				t.Says += " " + out.Says
				continue
			}
			t.Verdict, t.Says, t.Boundary = out.Verdict, out.Says, false
		}
	}
	return l
}

// term holds the days that may decide against the days from which the term may run, by both ways of counting unless the papers
// name one. Only where all agree there is an answer.
func (a *coverageCase) term(term Term, known bool, months int, what string) CoverageTerm {
	t := CoverageTerm{Term: term.For, Months: months}
	switch {
	case a.j.Coverage.Kind == "customer-pays":
		t.Verdict, t.Says = NotCovered, "The customer pays; no papers cover this."
		return t
	case !known:
		t.Verdict, t.Says = CannotSay, "The papers' term is not on record."
		a.change("Enter the papers' terms in months, for the whole unit or by class of components.")
		return t
	case months == 0:
		t.Verdict, t.Says = NotCovered, fmt.Sprintf("The papers grant no %s for %s.", what, spaced(term.For))
		return t
	case len(a.answer.Starts) == 0:
		t.Verdict, t.Says = CannotSay, "The day from which the term runs is not known."
		return t
	case len(a.answer.On) == 0:
		t.Verdict, t.Says = CannotSay, "The day that decides is not known: neither a report of the failure nor a visit is on record."
		a.change("Enter the day on which the failure was reported, or begin the visit.")
		return t
	}
	rules := []string{a.j.Coverage.EndRule}
	if rules[0] == "" {
		rules = []string{StartNotCounted, StartCounts}
	}
	byRule := map[bool][]string{} // by being inside: the ways of counting that say so
	byStart, byDay := map[bool][]string{}, map[bool][]string{}
	early := false
	for _, start := range a.answer.Starts {
		for _, from := range []Day{start.From, start.Till} {
			for _, rule := range rules {
				last := from.LastDay(months, rule)
				t.LastDay = max(t.LastDay, last)
				for _, on := range a.answer.On {
					in := on.Day >= from && on.Day <= last
					early = early || on.Day < from
					note(byRule, in, rule)
					note(byStart, in, start.Event+" "+string(from))
					note(byDay, in, on.What)
				}
			}
		}
	}
	on := a.answer.On[0]
	span := fmt.Sprintf("%d months of %s for %s from %s", months, what, spaced(term.For), a.answer.Starts[0].From)
	switch {
	case len(byRule[false]) == 0:
		t.Verdict, t.Says = Covered, fmt.Sprintf("%s lies within the %s; the last day is %s.", on.Day, span, t.LastDay)
	case len(byRule[true]) == 0 && early:
		t.Verdict, t.Says = NotCovered, fmt.Sprintf("%s lies before the term begins: %s.", on.Day, span)
		a.change("A start of the term on or before %s would bring the job under it: look at the date again.", on.Day)
	case len(byRule[true]) == 0:
		t.Verdict, t.Says = NotCovered, fmt.Sprintf("%s lies after the %s; the last day was %s.", on.Day, span, t.LastDay)
		a.change("A later start of the term would bring the job under it if a paper shows one: it would have to run until %s.", on.Day)
	default:
		t.Verdict = CannotSay
		a.undecided(&t, byRule, byStart, byDay, span)
	}
	return t
}

func note(m map[bool][]string, in bool, s string) {
	if !slices.Contains(m[in], s) {
		m[in] = append(m[in], s)
	}
}

// undecided says on what the answer hangs: the way of counting alone is the boundary case.
func (a *coverageCase) undecided(t *CoverageTerm, byRule, byStart, byDay map[bool][]string, span string) {
	apart := func(m map[bool][]string) bool { // each says one thing only
		return !slices.ContainsFunc(m[true], func(s string) bool { return slices.Contains(m[false], s) })
	}
	switch {
	case apart(byRule) && len(byRule[true]) == 1:
		t.Boundary = true
		t.Says = fmt.Sprintf("boundary: check terms. %s is the last of the %s when the day of the start is not counted, and one day late when it is.", t.LastDay, span)
		a.change("The papers' word on whether the day of the start counts settles it.")
	case apart(byDay):
		t.Says = fmt.Sprintf("The %s ended on %s, between the day the failure was %s and the day it was %s.", span, t.LastDay, listed(byDay[true]), listed(byDay[false]))
		a.change("The papers' word on which day decides, that of the report or that of the visit, settles it.")
	case apart(byStart):
		t.Says = fmt.Sprintf("It hangs on the start: covered from %s, not from %s.", listed(byStart[true]), listed(byStart[false]))
		a.change("A paper that proves the start settles it.")
	default:
		t.Boundary = len(byRule[true]) != len(byRule[false])
		t.Says = fmt.Sprintf("It hangs on the start, on the day that decides, or on the way of counting: %s.", span)
		a.change("The papers' word on the start of the term and on the day that decides settles it.")
	}
}

// conclude sums the lines up.
func (a *coverageCase) conclude() {
	seen := map[string]bool{}
	var reasons []string
	for _, l := range a.answer.Lines {
		for n, t := range []CoverageTerm{l.Parts, l.Labour} {
			seen[t.Verdict] = true
			a.answer.Boundary = a.answer.Boundary || t.Boundary
			if t.Verdict != Covered || len(a.answer.Lines) == 1 && n == 0 {
				reasons = append(reasons, upper(spaced(l.Component))+", "+[]string{"parts", "labour"}[n]+": "+t.Says)
			}
		}
		a.leans(l.Entries...)
	}
	switch {
	case seen[CannotSay]:
		a.answer.Verdict = CannotSay
	case seen[Covered] && seen[NotCovered]:
		a.answer.Verdict = Partly
	case seen[Covered]:
		a.answer.Verdict = Covered
	default:
		a.answer.Verdict = NotCovered
	}
	if len(reasons) == 0 {
		reasons = []string{"Every part of the repair lies within its term."}
	}
	slices.Sort(reasons)
	reasons = slices.Compact(reasons)
	if len(reasons) > 4 {
		reasons = append(reasons[:4], fmt.Sprintf("And %d more; see the lines.", len(reasons)-4))
	}
	a.answer.Says = strings.Join(reasons, " ")
	a.answer.Rule = map[string]string{
		StartNotCounted: "calendar months; the day of the start is not counted, so the last day bears its number (exclusive)",
		StartCounts:     "calendar months; the day of the start counts as the first, so the last day is the one before its number (inclusive)",
		"":              "calendar months; the papers don't say whether the day of the start counts, so both ways are tried",
	}[a.j.Coverage.EndRule] + "; a month without such a day ends on its last"
	for _, s := range a.answer.Starts {
		a.leans(s.Entry)
		a.leans(s.Proof...)
	}
	for _, d := range a.answer.On {
		a.leans(d.Entry)
	}
	for _, e := range a.answer.Exclusions {
		a.leans(e.Entries...)
	}
	for _, f := range []string{"coverage.terms", "coverage.termmonths", "coverage.partmonths", "coverage.endrule", "coverage.decides", "unit.serial", "unit.usage"} {
		a.leans(a.j.Said[f])
	}
}

func (a *coverageCase) leans(ids ...EntryID) {
	for _, id := range ids {
		if id != "" && !slices.Contains(a.answer.Leans, id) {
			a.answer.Leans = append(a.answer.Leans, id)
		}
	}
}

func spaced(word string) string { return strings.ReplaceAll(word, "-", " ") }

func upper(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
