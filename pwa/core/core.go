// Package main is the core: what the phone computes for itself, behind a tiny JSON interface. A job is folded from its entries
// and checked against its rule pack, a reading is judged as it is typed, a picture's sharpness is measured: by the
// same Go code that the server runs, compiled to WebAssembly.
//
// Start with [Core.Answer]: a question's name and its JSON in, JSON out. The same question gives the same bytes on every
// machine.
//
// It may import claims, rules, rules/readings and media/measure. It must never import a store, the server, files or
// the network.
package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"kickplate/claims"
	"kickplate/rules"
	"kickplate/rules/readings"
)

// Core holds the rule packs that jobs are checked against. It is for one caller at a time.
//
// The question "packs" names them: a list of their heads ({id, units, coverage, abstract}). "pack:ID" hands over the whole of one,
// which is read when the first job needs it: a phone has a dozen and more, and needs one.
type Core struct {
	heads    []rules.Pack
	texts    map[string][]byte
	compiled map[string]*rules.Compiled
	fault    error // why a pack that is here can't be used
}

// Answer answers one question. The answer is {"result": …} or {"error": "a sentence"}; it never panics on bad input.
// Pixels (RGBA, row by row) belong to the question "measure".
func (c *Core) Answer(question string, in []byte, pixels []uint8) []byte {
	result, err := c.answer(question, in, pixels)
	if err == nil {
		var out []byte
		if out, err = json.Marshal(map[string]any{"result": result}); err == nil {
			return out
		}
	}
	out, _ := json.Marshal(map[string]string{"error": sentence(err)}) // a map of strings always marshals
	return out
}

func sentence(err error) string {
	if own, ok := errors.AsType[*claims.Error](err); ok {
		return own.Says
	}
	return err.Error()
}

func (c *Core) answer(question string, in []byte, pixels []uint8) (any, error) {
	if id, ok := strings.CutPrefix(question, "pack:"); ok {
		return c.keep(id, in)
	}
	switch question {
	case "packs":
		return c.take(in)
	case "look":
		return ask(in, c.look)
	case "judge":
		return ask(in, c.judge)
	case "measure":
		return ask(in, func(q measureQuestion) (any, error) { return measurePicture(q, pixels) })
	case "catalogue":
		return readings.List(), nil
	case "words":
		return rules.Words(), nil
	}
	return nil, fmt.Errorf("there is no question %q", question)
}

func ask[Q any](in []byte, f func(Q) (any, error)) (any, error) {
	var q Q
	if err := json.Unmarshal(in, &q); err != nil {
		return nil, fmt.Errorf("read the question: %w", err)
	}
	return f(q)
}

// take replaces the packs by those with these heads.
func (c *Core) take(in []byte) (any, error) {
	var heads []rules.Pack
	if err := json.Unmarshal(in, &heads); err != nil {
		return nil, fmt.Errorf("read the list of rule packs: %w", err)
	}
	c.heads, c.texts, c.compiled = heads, map[string][]byte{}, map[string]*rules.Compiled{}
	return len(heads), nil
}

// keep takes in a pack that take has named.
func (c *Core) keep(id string, in []byte) (any, error) {
	if !slices.ContainsFunc(c.heads, func(p rules.Pack) bool { return p.ID == id }) {
		return nil, fmt.Errorf("the rule pack %q is not on the list", id)
	}
	c.texts[id] = slices.Clone(in)
	delete(c.compiled, id)
	return true, nil
}

// Pack implements claims.PackBook.
func (c *Core) Pack(id string) (*rules.Compiled, bool) {
	if p, ok := c.compiled[id]; ok {
		return p, true
	}
	text, ok := c.texts[id]
	if !ok {
		return nil, false
	}
	var p rules.Pack
	if err := json.Unmarshal(text, &p); err != nil {
		c.fault = fmt.Errorf("the rule pack %s can't be read: %w", id, err)
		return nil, false
	}
	compiled, err := rules.Compile(&p)
	if err != nil {
		c.fault = fmt.Errorf("the rule pack %s can't be used: %w", id, err)
		return nil, false
	}
	c.compiled[id] = compiled
	return compiled, true
}

// Pick implements claims.PackBook: the pack that is most particular about the two kinds, as rules/packs picks it.
func (c *Core) Pick(coverage, unit string) (*rules.Compiled, bool) {
	best, bestScore := "", -1
	for i := range c.heads {
		if score := fit(&c.heads[i], coverage, unit); score > bestScore {
			best, bestScore = c.heads[i].ID, score
		}
	}
	return c.Pack(best)
}

func fit(p *rules.Pack, coverage, unit string) int {
	if p.Abstract {
		return -1
	}
	score := 0
	for _, part := range [2]struct {
		list []string
		kind string
	}{{p.Units, unit}, {p.Coverage, coverage}} {
		switch {
		case len(part.list) == 0:
		case slices.Contains(part.list, part.kind):
			score += 100 - len(part.list)
		default:
			return -1
		}
	}
	return score
}

type lookQuestion struct {
	Now     time.Time `json:"now"`
	Entries []struct {
		Raw      string    `json:"raw"`
		Received time.Time `json:"received"`
		Leaf     uint64    `json:"leaf"`
	} `json:"entries"`
	// Seen are the phone's own examinations of photos that the server has not examined yet.
	Seen map[claims.Digest]claims.PhotoFacts `json:"seen"`
	// Suspect is a component that may have to be replaced: the answer then lists in More what that would ask for.
	Suspect string `json:"suspect"`
}

type lookAnswer struct {
	Job    *claims.Job   `json:"job"`
	Report *rules.Report `json:"report,omitempty"`
	Wanted []rules.Want  `json:"wanted,omitempty"`
	More   []rules.Want  `json:"more,omitempty"`
	// Cautions are those due at the start of each stage and not yet shown.
	Cautions map[string][]rules.Caution `json:"cautions,omitempty"`
	// Views are what can be said about the moment and place of each photo, by entry.
	Views map[claims.EntryID]claims.PhotoView `json:"views,omitempty"`
	// Conflicts are readings that do not fit together, each with the reading that would decide.
	Conflicts []readings.Conflict `json:"conflicts,omitempty"`
	// Verdicts are those of the readings, by entry.
	Verdicts map[claims.EntryID]verdict `json:"verdicts,omitempty"`
	// Problem says why there is no report.
	Problem string `json:"problem,omitempty"`
}

type verdict struct {
	Outcome  string `json:"outcome,omitempty"`
	Supports string `json:"supports,omitempty"`
	Says     string `json:"says,omitempty"`
}

func (c *Core) look(q lookQuestion) (any, error) {
	kept := make([]claims.Kept, len(q.Entries))
	for i, e := range q.Entries {
		k := claims.Kept{Raw: []byte(e.Raw), Received: e.Received, Leaf: e.Leaf}
		if err := json.Unmarshal(k.Raw, &k.Entry); err != nil {
			return nil, fmt.Errorf("read entry %d: %w", i, err)
		}
		kept[i] = k
	}
	job := claims.Fold(kept)
	for _, p := range job.Photos {
		d := p.Body.Digest
		if facts, ok := q.Seen[d]; ok {
			if job.Facts == nil {
				job.Facts = map[claims.Digest]claims.PhotoFacts{}
			}
			if _, known := job.Facts[d]; !known {
				job.Facts[d] = facts
			}
		}
	}
	out := lookAnswer{Job: &job, Views: map[claims.EntryID]claims.PhotoView{}}
	for i, v := range job.PhotoViews() {
		out.Views[job.Photos[i].Entry] = v
	}
	c.fault = nil
	compiled, err := (&claims.Service{Packs: c}).PackFor(job)
	var pack *rules.Pack
	switch {
	case c.fault != nil:
		out.Problem, compiled = sentence(c.fault), nil
	case err != nil:
		out.Problem = sentence(err)
	default:
		pack = compiled.Pack()
	}
	facts := claims.FactsOf(&job, pack, q.Now)
	out.Conflicts, out.Verdicts = claims.ConflictsOf(&job, pack), map[claims.EntryID]verdict{}
	for _, r := range facts.Readings {
		out.Verdicts[claims.EntryID(r.Entry)] = verdict{Outcome: r.Outcome, Supports: r.Supports, Says: r.Says}
	}
	if compiled == nil {
		return out, nil
	}
	report := rules.Check(compiled, &facts)
	out.Report, out.Wanted, out.Cautions = &report, rules.Wanted(compiled, &facts), map[string][]rules.Caution{}
	if q.Suspect != "" {
		out.More = rules.WantedIf(compiled, &facts, q.Suspect)
	}
	for _, s := range rules.Stages() {
		if due := rules.CautionsAt(compiled, &facts, s.ID); len(due) > 0 {
			out.Cautions[s.ID] = due
		}
	}
	return out, nil
}

type judgeQuestion struct {
	// Text is what was typed; Unit is used when it names none.
	Text    string         `json:"text"`
	Unit    string         `json:"unit"`
	Pack    string         `json:"pack"`
	Reading claims.Reading `json:"reading"`
}

type judgeAnswer struct {
	Value   *readings.Value   `json:"value,omitempty"`
	Shown   string            `json:"shown,omitempty"`
	Verdict *readings.Verdict `json:"verdict,omitempty"`
	Plot    string            `json:"plot,omitempty"`
	// Problem is why what was typed is no reading, or can't be judged.
	Problem string `json:"problem,omitempty"`
}

func (c *Core) judge(q judgeQuestion) (any, error) {
	v, err := readings.Parse(q.Text, readings.Quantity(q.Reading.Quantity), readings.Unit(q.Unit))
	if err != nil {
		return judgeAnswer{Problem: sentence(err)}, nil
	}
	out := judgeAnswer{Value: &v, Shown: v.String()}
	r := q.Reading
	r.Value, r.Unit, r.State = v.Value, string(v.Unit), string(v.State)
	var pack *rules.Pack
	if p, ok := c.Pack(q.Pack); ok {
		pack = p.Pack()
	}
	found, ok, err := claims.CaseOf(r, pack)
	if err == nil && ok {
		var judged readings.Verdict
		if judged, err = readings.Judge(found.Profile, found.Value, found.Conditions, found.Instrument); err == nil {
			out.Verdict = &judged
			out.Plot, err = readings.Plot(found.Profile, found.Value, found.Conditions, found.Instrument)
		}
	}
	if err != nil {
		out.Problem = sentence(err)
	}
	return out, nil
}
