package packs

import (
	"reflect"
	"slices"
	"strings"

	"go.yaml.in/yaml/v3"

	"kickplate/rules"
)

// Case is one example: facts, and what the check must say about them.
type Case struct {
	Name string
	File string
	Line int
	// Base is the name of the case it builds on; empty for one that stands alone.
	Base  string
	Facts rules.Facts
	// BaseFacts are the facts of the base case, nil without a base.
	BaseFacts *rules.Facts
	Expect    []Expectation
	// Others are the outcomes allowed for findings that Expect does not name. Nil means: the same as in the base case.
	Others []string
	// AnyOthers leaves the findings that Expect does not name unchecked.
	AnyOthers bool
	// Complete, when set, is what the report must say about completeness.
	Complete *bool
}

// Expectation is what one finding must be.
type Expectation struct {
	Finding string
	Outcome rules.Outcome
	// Says is a piece of the sentence, when the case cares.
	Says string
	Line int
}

// caseHead is the part of a case that is not facts.
type caseHead struct {
	Case     string            `json:"case"`
	Base     string            `json:"base"`
	Expect   map[string]string `json:"expect"`
	Says     map[string]string `json:"says"`
	Others   []string          `json:"others"`
	Complete *bool             `json:"complete"`
}

// caseBody is the compact form of facts: what is not said is as a good phone and a careful technician leave it.
type caseBody struct {
	Day              string              `json:"day"`
	Zone             string              `json:"zone"`
	Now              string              `json:"now"`
	Fields           map[string]string   `json:"fields"`
	Dates            map[string]string   `json:"dates"`
	Numbers          map[string]string   `json:"numbers"`
	Events           map[string][]string `json:"events"`
	Photos           []casePhoto         `json:"photos"`
	Readings         []caseReading       `json:"readings"`
	Parts            []casePart          `json:"parts"`
	Damages          []caseDamage        `json:"damages"`
	Acknowledgements []caseAck           `json:"acknowledgements"`
	Cautions         map[string][]string `json:"cautions"`
	Waivers          []caseWaiver        `json:"waivers"`
}

type casePhoto struct {
	Key        string   `load:"key" json:"-"`
	Subject    string   `json:"subject"`
	Component  string   `json:"component"`
	At         string   `json:"at"`
	TimeBasis  *string  `json:"time-basis"`
	Place      *string  `json:"place"`
	Width      *int     `json:"width"`
	Height     *int     `json:"height"`
	Sharp      *string  `json:"sharp"`
	Dark       *string  `json:"dark"`
	Bright     *string  `json:"bright"`
	UsedBefore string   `json:"used-before"`
	BeforeWork string   `json:"before-work"`
	BeforeBy   string   `json:"before-work-by"`
	PairedWith string   `json:"paired-with"`
	Codes      []string `json:"codes"`
	Document   bool     `json:"document"`
}

type caseReading struct {
	Key       string `load:"key" json:"-"`
	At        string `json:"at"`
	Component string `json:"component"`
	Quantity  string `json:"quantity"`
	Value     string `json:"value"`
	Unit      string `json:"unit"`
	State     string `json:"state"`
	Moment    string `json:"moment"`
	Outcome   string `json:"outcome"`
	Supports  string `json:"supports"`
	Says      string `json:"says"`
	Display   string `json:"display"`
}

type casePart struct {
	Key       string `load:"key" json:"-"`
	At        string `json:"at"`
	Component string `json:"component"`
	Action    string `json:"action"`
	Number    string `json:"number"`
	Serial    string `json:"serial"`
	Invoice   string `json:"invoice"`
	Original  string `json:"original"`
	Held      string `json:"held"`
}

type caseDamage struct {
	Key    string   `load:"key" json:"-"`
	At     string   `json:"at"`
	Area   string   `json:"area"`
	Kind   string   `json:"kind"`
	Seen   string   `json:"seen"`
	Photos []string `json:"photos"`
	Bears  string   `json:"bears"`
}

type caseAck struct {
	Key     string   `load:"key" json:"-"`
	At      string   `json:"at"`
	About   string   `json:"about"`
	Outcome string   `json:"outcome"`
	Shown   []string `json:"shown"`
}

type caseWaiver struct {
	Key         string `load:"key" json:"-"`
	At          string `json:"at"`
	Requirement string `json:"requirement"`
	By          string `json:"by"`
	Why         string `json:"why"`
}

// The example cases build on each other, so their number and size are bounded as a whole.
const (
	maxCases     = 300
	maxCaseNodes = 5000 // values in one case with its bases
)

// caseReader reads the cases of one pack.
type caseReader struct {
	l      *loader
	m      *merged
	r      *raw
	bodies map[*yaml.Node]*yaml.Node // a case's node → its facts with every base merged in
	heads  map[*yaml.Node]*splitCase
}

// splitCase is a case taken apart.
type splitCase struct {
	head caseHead
	body *yaml.Node
	ok   bool
}

func (l *loader) cases(m *merged, r *raw, p *Pack) []Case {
	if len(r.cases) > maxCases {
		l.add(r.name, r.cases[0].Line, "has %d cases; the most is %d", len(r.cases), maxCases)
		return nil
	}
	cr := &caseReader{l: l, m: m, r: r, bodies: map[*yaml.Node]*yaml.Node{}, heads: map[*yaml.Node]*splitCase{}}
	var out []Case
	seen := map[string]bool{}
	for _, n := range r.cases {
		c, ok := cr.read(n)
		if !ok {
			continue
		}
		if seen[c.Name] {
			l.add(r.name, n.Line, "the case %q is here twice; give each its own name", clip(c.Name))
		}
		seen[c.Name] = true
		out = append(out, c)
	}
	return out
}

func (cr *caseReader) read(n *yaml.Node) (Case, bool) {
	head, own, ok := cr.split(n, true)
	if !ok {
		return Case{}, false
	}
	c := Case{Name: head.Case, File: cr.r.name, Line: n.Line, Base: head.Base, Complete: head.Complete}
	body := own
	if head.Base != "" {
		base, ok := cr.base(cr.r, n, head.Base, 0)
		if !ok {
			return Case{}, false
		}
		if size(base) > maxCaseNodes {
			return Case{}, false // named where it stands
		}
		facts, ok := cr.facts(base)
		if !ok {
			return Case{}, false
		}
		c.BaseFacts = &facts
		body = overlay(base, own)
	}
	if size(body) > maxCaseNodes {
		cr.l.add(cr.r.name, n.Line, "the case has more than %d values with what it builds on; make it smaller", maxCaseNodes)
		return Case{}, false
	}
	if c.Facts, ok = cr.facts(body); !ok {
		return Case{}, false
	}
	return c, cr.expectations(&c, n, head)
}

// split takes a case apart into its head and the mapping of its facts.
func (cr *caseReader) split(n *yaml.Node, report bool) (caseHead, *yaml.Node, bool) {
	var head caseHead
	headNode := &yaml.Node{Kind: yaml.MappingNode, Tag: "!!map", Line: n.Line}
	body := &yaml.Node{Kind: yaml.MappingNode, Tag: "!!map", Line: n.Line}
	if n.Kind != yaml.MappingNode {
		if report {
			cr.l.add(cr.r.name, n.Line, "a case is a list of keys with values; start it with “- case: NAME”")
		}
		return head, nil, false
	}
	headKeys := keys(reflect.TypeFor[caseHead]())
	for i := 0; i+1 < len(n.Content); i += 2 {
		to := body
		if _, ok := headKeys[n.Content[i].Value]; ok {
			to = headNode
		}
		to.Content = append(to.Content, n.Content[i], n.Content[i+1])
	}
	d := &decoder{walker: walker{file: cr.r.name}}
	d.into(headNode, reflect.ValueOf(&head).Elem(), "")
	if report {
		cr.l.problems = append(cr.l.problems, d.problems...)
		if head.Case == "" {
			cr.l.add(cr.r.name, n.Line, "the case has no name; add case: NAME")
			return head, nil, false
		}
	}
	return head, body, len(d.problems) == 0
}

// base finds the facts of the named case, in the file itself or in one it extends, with its own bases merged in.
func (cr *caseReader) base(from *raw, at *yaml.Node, name string, depth int) (*yaml.Node, bool) {
	if depth > 8 {
		cr.l.add(cr.r.name, at.Line, "the base cases go deeper than 8, or in a circle; break it at %q", clip(name))
		return nil, false
	}
	start := max(slices.Index(cr.m.chain, from), 0)
	for _, r := range cr.m.chain[start:] {
		for _, n := range r.cases {
			if n == at {
				continue
			}
			known := cr.heads[n]
			if known == nil {
				known = &splitCase{}
				known.head, known.body, known.ok = cr.split(n, false)
				cr.heads[n] = known
			}
			head, body := known.head, known.body
			if !known.ok || head.Case != name {
				continue
			}
			if whole, ok := cr.bodies[n]; ok {
				return whole, true
			}
			if head.Base != "" {
				base, ok := cr.base(r, n, head.Base, depth+1)
				if !ok {
					return nil, false
				}
				body = overlay(base, body)
			}
			cr.bodies[n] = body
			return body, true
		}
	}
	cr.l.add(cr.r.name, at.Line, "there is no case %q to build on; name one of this pack or of a pack it extends", clip(name))
	return nil, false
}

// expectations reads what the case expects; every finding named must be one that the pack can give.
func (cr *caseReader) expectations(c *Case, n *yaml.Node, head caseHead) bool {
	ok := true
	fail := func(line int, format string, args ...any) {
		cr.l.add(cr.r.name, line, format, args...)
		ok = false
	}
	outcomes := []string{"met", "gap", "doubt", "waived", "not-needed"}
	var known []string
	for i := range cr.m.pack.Requirements {
		known = append(known, cr.m.pack.Requirements[i].ID)
	}
	ids := make([]string, 0, len(head.Expect))
	for id := range head.Expect {
		ids = append(ids, id)
	}
	for id := range head.Says {
		if _, there := head.Expect[id]; !there {
			fail(n.Line, "says names %q, which expect does not; add it there", clip(id))
		}
	}
	slices.Sort(ids)
	for _, id := range ids {
		line := lineOf(n, "expect", id)
		requirement, _, _ := strings.Cut(id, ":")
		if !slices.Contains(known, requirement) {
			if near := rules.Nearest(requirement, known); near != "" {
				fail(line, "the pack has no requirement %q; did you mean %s?", clip(requirement), near)
			} else {
				fail(line, "the pack has no requirement %q; expect one of its own", clip(requirement))
			}
		}
		if !slices.Contains(outcomes, head.Expect[id]) {
			fail(line, "%q is no outcome; write one of %s", clip(head.Expect[id]), strings.Join(outcomes, ", "))
		}
		c.Expect = append(c.Expect, Expectation{Finding: id, Outcome: rules.Outcome(head.Expect[id]), Says: head.Says[id], Line: line})
	}
	switch {
	case len(head.Others) == 1 && head.Others[0] == "same":
		if c.BaseFacts == nil {
			fail(n.Line, "others: same needs a base to be the same as; add base: NAME")
		}
	case len(head.Others) == 1 && head.Others[0] == "any":
		c.AnyOthers = true
	case len(head.Others) == 0:
		c.AnyOthers = c.BaseFacts == nil
	default:
		for _, o := range head.Others {
			if !slices.Contains(outcomes, o) {
				fail(n.Line, "others: %q is no outcome; write same, any, or some of %s", clip(o), strings.Join(outcomes, ", "))
			}
		}
		c.Others = head.Others
	}
	return ok
}

// lineOf finds the line of a key inside a mapping inside a case.
func lineOf(n *yaml.Node, path ...string) int {
	line := n.Line
	for _, key := range path {
		var next *yaml.Node
		for i := 0; i+1 < len(n.Content); i += 2 {
			if n.Content[i].Value == key {
				line, next = n.Content[i].Line, n.Content[i+1]
			}
		}
		if next == nil {
			return line
		}
		n = next
	}
	return line
}
