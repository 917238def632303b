package packs

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"kickplate/rules"
)

// Failure is one example case that does not come out as it says.
type Failure struct {
	Problem
	Case string
}

// Test runs the pack's example cases and gives what does not come out as expected, in the order of the file.
func Test(p *Pack) []Failure {
	var out []Failure
	for i := range p.Cases {
		c := &p.Cases[i]
		for _, problem := range c.run(p.Compiled) {
			out = append(out, Failure{problem, c.Name})
		}
	}
	return out
}

func (c *Case) run(p *rules.Compiled) []Problem {
	var out []Problem
	fail := func(line int, format string, args ...any) {
		out = append(out, Problem{c.File, line, fmt.Sprintf(format, args...)})
	}
	report := rules.Check(p, &c.Facts)
	named := map[string]bool{}
	for _, e := range c.Expect {
		named[e.Finding] = true
		f := report.Find(e.Finding)
		switch {
		case f == nil:
			fail(e.Line, "case %q expects %s to be %s, but there is no such finding (there is: %s)", c.Name, e.Finding, e.Outcome, strings.Join(alike(&report, e.Finding), ", "))
		case f.Outcome != e.Outcome:
			fail(e.Line, "case %q expects %s to be %s, but it is %s: %s", c.Name, e.Finding, e.Outcome, f.Outcome, f.Sentence)
		case !strings.Contains(f.Sentence, e.Says):
			fail(e.Line, "case %q expects %s to say %q, but it says %q", c.Name, e.Finding, e.Says, f.Sentence)
		}
	}
	c.others(p, &report, named, fail)
	if c.Complete != nil && *c.Complete != report.Complete {
		var open []string
		for i := range report.Findings {
			if f := &report.Findings[i]; f.Open() && f.Severity == rules.Required {
				open = append(open, f.ID+" is "+string(f.Outcome))
			}
		}
		fail(c.Line, "case %q expects complete to be %t, but it is %t (%s)", c.Name, *c.Complete, report.Complete, strings.Join(open, ", "))
	}
	return out
}

func (c *Case) others(p *rules.Compiled, report *rules.Report, named map[string]bool, fail func(int, string, ...any)) {
	if c.AnyOthers {
		return
	}
	var base rules.Report
	if c.Others == nil {
		base = rules.Check(p, c.BaseFacts)
	}
	for i := range report.Findings {
		f := &report.Findings[i]
		if named[f.ID] {
			continue
		}
		if c.Others != nil {
			if !slices.Contains(c.Others, string(f.Outcome)) {
				fail(c.Line, "case %q allows other findings to be %s, but %s is %s: %s", c.Name, strings.Join(c.Others, " or "), f.ID, f.Outcome, f.Sentence)
			}
			continue
		}
		switch was := base.Find(f.ID); {
		case was == nil:
			fail(c.Line, "case %q does not expect %s, which its base does not have; it is %s: %s", c.Name, f.ID, f.Outcome, f.Sentence)
		case was.Outcome != f.Outcome:
			fail(c.Line, "case %q does not expect %s to change, but it was %s and is %s: %s", c.Name, f.ID, was.Outcome, f.Outcome, f.Sentence)
		}
	}
}

// alike lists the findings of the same requirement.
func alike(r *rules.Report, id string) []string {
	requirement, _, _ := strings.Cut(id, ":")
	var out []string
	for i := range r.Findings {
		if r.Findings[i].Requirement == requirement {
			out = append(out, r.Findings[i].ID)
		}
	}
	return out
}

// Unshown lists what the cases of a pack do not show: for each requirement that the file states, met and gap and,
// where the rule can be in doubt, doubt. Each is "requirement: outcome".
func Unshown(p *Pack) []string {
	shown := map[string]bool{}
	for i := range p.Cases {
		report := rules.Check(p.Compiled, &p.Cases[i].Facts)
		for k := range report.Findings {
			shown[report.Findings[k].Requirement+": "+string(report.Findings[k].Outcome)] = true
		}
	}
	var out []string
	all := p.Pack().Requirements
	for i := range all {
		if !slices.Contains(p.Own, all[i].ID) {
			continue
		}
		wanted := []rules.Outcome{rules.Met}
		if all[i].MayGap() {
			wanted = append(wanted, rules.Gap)
		}
		if all[i].MayDoubt() {
			wanted = append(wanted, rules.Doubt)
		}
		for _, o := range wanted {
			if key := all[i].ID + ": " + string(o); !shown[key] {
				out = append(out, key)
			}
		}
	}
	return out
}

// RunCases runs the example cases of all sets and writes what came out: a line for each pack, each case that fails with
// its file and line, and what no case shows. ok is false when a case failed. The error is w's.
func RunCases(w io.Writer, sets ...*Set) (ok bool, err error) {
	var b strings.Builder
	packs, cases, failed := 0, 0, 0
	for _, set := range sets {
		for _, p := range set.packs {
			failures := Test(p)
			packs++
			cases += len(p.Cases)
			bad := map[string]bool{}
			for _, f := range failures {
				bad[f.Case] = true
			}
			failed += len(bad)
			word := "ok"
			if len(bad) > 0 {
				word = "FAIL"
			}
			fmt.Fprintf(&b, "%-4s  %s %s: %d requirements, %d cases", word, p.Pack().ID, p.Pack().Version, len(p.Pack().Requirements), len(p.Cases))
			if len(bad) > 0 {
				fmt.Fprintf(&b, ", %d not as expected", len(bad))
			}
			b.WriteString("\n")
			for _, f := range failures {
				fmt.Fprintf(&b, "      %s\n", f.Problem)
			}
			if unshown := Unshown(p); len(unshown) > 0 {
				fmt.Fprintf(&b, "      no case shows %s\n", strings.Join(unshown, ", "))
			}
		}
	}
	fmt.Fprintf(&b, "%d packs, %d cases, %d not as expected\n", packs, cases, failed)
	_, err = io.WriteString(w, b.String())
	return failed == 0, err
}
