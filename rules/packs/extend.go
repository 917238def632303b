package packs

import (
	"errors"
	"slices"
	"strings"

	"kickplate/rules"
)

// merged is a pack with everything it extends, and where each item came from.
type merged struct {
	pack rules.Pack
	// from leads from "requirements/ID" and the like to the file that states it.
	from map[string]*raw
	// chain is the file itself and, behind it, every file it extends: where a case may find its base.
	chain  []*raw
	broken bool // a problem is already reported
}

// finish merges, compiles and reads the cases of a pack. It gives nil when there is a problem.
func (l *loader) finish(r *raw) *Pack {
	m := l.merge(r, nil)
	if m.broken {
		return nil
	}
	compiled, err := rules.Compile(&m.pack)
	var invalid *rules.InvalidPack
	if errors.As(err, &invalid) {
		for _, p := range invalid.Problems {
			l.place(m, r, p)
		}
		return nil
	}
	p := &Pack{Compiled: compiled, File: r.name}
	for i := range r.pack.Requirements {
		p.Own = append(p.Own, r.pack.Requirements[i].ID)
	}
	p.Cases = l.cases(m, r, p)
	return p
}

// place finds file and line of a problem by walking its path upwards until a line is known.
func (l *loader) place(m *merged, r *raw, p rules.Problem) {
	source := r
	if parts := strings.SplitN(p.Path, "/", 3); len(parts) >= 2 {
		if from, ok := m.from[parts[0]+"/"+parts[1]]; ok {
			source = from
		}
	}
	line := 0
	for path := p.Path; path != "" && line == 0; path = path[:max(strings.LastIndexByte(path, '/'), 0)] {
		line = source.lines[path]
	}
	l.add(source.name, max(line, 1), "%s: %s", strings.ReplaceAll(p.Path, "/", " › "), p.Message)
}

// merge builds the whole pack. path holds the packs on the way down, to notice a loop.
func (l *loader) merge(r *raw, path []*raw) *merged {
	if m, ok := l.merged[r]; ok {
		return m
	}
	m := &merged{from: map[string]*raw{}, chain: []*raw{r}}
	if slices.Contains(path, r) || len(path) > 16 {
		names := make([]string, 0, len(path)+1)
		for _, p := range append(path, r) {
			names = append(names, p.pack.ID)
		}
		l.add(r.name, r.lines["extends"], "the packs extend each other in a circle: %s; break it", strings.Join(names, " → "))
		m.broken = true
		return m
	}
	for _, id := range r.pack.Extends {
		parent := l.parent(r, id)
		if parent == nil {
			m.broken = true
			continue
		}
		pm := l.merge(parent, append(path[:len(path):len(path)], r))
		m.broken = m.broken || pm.broken
		m.inherit(pm)
	}
	m.drop(l, r)
	m.own(r)
	l.merged[r] = m
	return m
}

// parent finds the pack that r extends. Its own id means the pack of that id in a folder below.
func (l *loader) parent(r *raw, id string) *raw {
	stack := l.byID[id]
	if id == r.pack.ID {
		for i := len(stack) - 1; i >= 0; i-- {
			if stack[i].layer < r.layer {
				return stack[i]
			}
		}
		l.add(r.name, r.lines["extends"], "the pack extends itself; name another pack, or leave extends out")
		return nil
	}
	if len(stack) > 0 {
		return stack[len(stack)-1]
	}
	if near := rules.Nearest(id, l.ids); near != "" {
		l.add(r.name, r.lines["extends"], "there is no pack %q to extend; did you mean %s?", clip(id), near)
	} else {
		l.add(r.name, r.lines["extends"], "there is no pack %q to extend; the packs are %s", clip(id), strings.Join(l.ids, ", "))
	}
	return nil
}

// put replaces the item of the same id in its place, or appends it.
func put[T any](list []T, item T, id func(*T) string) []T {
	for i := range list {
		if id(&list[i]) == id(&item) {
			list[i] = item
			return list
		}
	}
	return append(list, item)
}

func requirementID(r *rules.Requirement) string { return r.ID }
func cautionID(c *rules.Caution) string         { return c.ID }
func planID(p *rules.ReadingPlan) string        { return p.ID }

// inherit lays a parent over what is there. What both have from the same ancestor stays as the earlier parent left it, so
// that a pack with two parents keeps what the first one changed or dropped.
func (m *merged) inherit(from *merged) {
	shared := slices.Clone(m.chain)
	m.take(&from.pack, func(key string) *raw {
		if source := from.from[key]; !slices.Contains(shared, source) {
			return source
		}
		return nil
	})
	if len(from.pack.Coverage) > 0 {
		m.pack.Coverage = from.pack.Coverage
	}
	if len(from.pack.Units) > 0 {
		m.pack.Units = from.pack.Units
	}
	for _, r := range from.chain {
		if !slices.Contains(m.chain, r) {
			m.chain = append(m.chain, r)
		}
	}
}

// take adds the items of p; from says which file states one, nil to leave it out.
func (m *merged) take(p *rules.Pack, from func(key string) *raw) {
	for _, s := range p.Sources {
		if !slices.Contains(m.pack.Sources, s) {
			m.pack.Sources = append(m.pack.Sources, s)
		}
	}
	for _, c := range p.Cautions {
		if source := from("cautions/" + c.ID); source != nil {
			m.pack.Cautions = put(m.pack.Cautions, c, cautionID)
			m.from["cautions/"+c.ID] = source
		}
	}
	for _, p := range p.Readings {
		if source := from("readings/" + p.ID); source != nil {
			m.pack.Readings = put(m.pack.Readings, p, planID)
			m.from["readings/"+p.ID] = source
		}
	}
	for _, r := range p.Requirements {
		if source := from("requirements/" + r.ID); source != nil {
			m.pack.Requirements = put(m.pack.Requirements, r, requirementID)
			m.from["requirements/"+r.ID] = source
		}
	}
}

func (m *merged) drop(l *loader, r *raw) {
	for _, d := range r.pack.Drop {
		line := r.lines["drop/"+d.ID]
		if strings.TrimSpace(d.Why) == "" {
			l.add(r.name, line, "drop %q: say why it does not apply here (why: …)", clip(d.ID))
			m.broken = true
		}
		p := &m.pack
		before := len(p.Requirements) + len(p.Cautions) + len(p.Readings)
		p.Requirements = slices.DeleteFunc(p.Requirements, func(x rules.Requirement) bool { return x.ID == d.ID })
		p.Cautions = slices.DeleteFunc(p.Cautions, func(x rules.Caution) bool { return x.ID == d.ID })
		p.Readings = slices.DeleteFunc(p.Readings, func(x rules.ReadingPlan) bool { return x.ID == d.ID })
		if before != len(p.Requirements)+len(p.Cautions)+len(p.Readings) {
			continue
		}
		m.broken = true
		var ids []string
		for i := range p.Requirements {
			ids = append(ids, p.Requirements[i].ID)
		}
		if near := rules.Nearest(d.ID, ids); near != "" {
			l.add(r.name, line, "there is no inherited %q to drop; did you mean %s?", clip(d.ID), near)
		} else {
			l.add(r.name, line, "there is no inherited %q to drop; leave the line out", clip(d.ID))
		}
	}
}

func (m *merged) own(r *raw) {
	m.take(&r.pack, func(string) *raw { return r })
	p, own := &m.pack, &r.pack
	p.ID, p.Version, p.Title, p.Note, p.Abstract = own.ID, own.Version, own.Title, own.Note, own.Abstract
	p.Extends, p.Drop = own.Extends, own.Drop
	if len(own.Coverage) > 0 {
		p.Coverage = own.Coverage
	}
	if len(own.Units) > 0 {
		p.Units = own.Units
	}
}
