package packs

import (
	"embed"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"reflect"
	"slices"
	"strconv"
	"strings"
	_ "time/tzdata" // example cases and deadlines need time zones, also on machines without zone files

	"go.yaml.in/yaml/v3"

	"kickplate/rules"
)

//go:embed data/*.yaml
var data embed.FS

//go:embed pack.schema.json
var schema []byte

// Schema is the JSON Schema (2020-12) of a pack file.
func Schema() []byte { return slices.Clone(schema) }

// Pack is a loaded pack: compiled, with its example cases.
type Pack struct {
	*rules.Compiled
	File string
	// Own are the ids of the requirements that the file itself states, in its order.
	Own []string
	// Cases are the file's example cases.
	Cases []Case
}

// Set is a collection of packs, by id. It never changes.
type Set struct {
	packs []*Pack
}

// Default gives the packs that ship with the program.
func Default() (*Set, error) {
	own, err := fs.Sub(data, "data")
	if err != nil {
		return nil, fmt.Errorf("open embedded packs: %w", err)
	}
	return Load(own)
}

// WithShop gives the packs that ship with the program under those of a shop's folder.
func WithShop(shop fs.FS) (*Set, error) {
	own, err := fs.Sub(data, "data")
	if err != nil {
		return nil, fmt.Errorf("open embedded packs: %w", err)
	}
	return Load(own, shop)
}

// Load reads all *.yaml and *.yml files at the top of each folder. A pack of a later folder takes the place of one
// with the same id in an earlier folder, and may extend it. The error is Problems when a pack is at fault; then no set is given.
func Load(folders ...fs.FS) (*Set, error) {
	l := &loader{byID: map[string][]*raw{}, merged: map[*raw]*merged{}}
	for layer, folder := range folders {
		if err := l.readFolder(folder, layer); err != nil {
			return nil, err
		}
	}
	set := &Set{}
	for _, id := range l.ids {
		stack := l.byID[id]
		if p := l.finish(stack[len(stack)-1]); p != nil {
			set.packs = append(set.packs, p)
		}
	}
	if len(l.problems) > 0 {
		return nil, l.problems.tidy()
	}
	slices.SortFunc(set.packs, func(a, b *Pack) int { return strings.Compare(a.Pack().ID, b.Pack().ID) })
	return set, nil
}

// All lists the packs by id.
func (s *Set) All() []*Pack { return slices.Clone(s.packs) }

// Get finds a pack by id.
func (s *Set) Get(id string) (*Pack, bool) {
	i, ok := slices.BinarySearchFunc(s.packs, id, func(p *Pack, id string) int { return strings.Compare(p.Pack().ID, id) })
	if !ok {
		return nil, false
	}
	return s.packs[i], true
}

// Pick chooses the pack for a job: the one whose kinds of unit and coverage fit, the narrower before the wider, then by id.
func (s *Set) Pick(unitKind, coverageKind string) (*Pack, bool) {
	var best *Pack
	bestScore := -1
	for _, p := range s.packs {
		if score := fit(p.Pack(), unitKind, coverageKind); score > bestScore {
			best, bestScore = p, score
		}
	}
	return best, best != nil
}

// PickFor chooses by the facts: the pack that the coverage names if there is one, else by kinds.
func (s *Set) PickFor(f *rules.Facts) (*Pack, bool) {
	if p, ok := s.Get(f.Fields["coverage.pack"]); ok && !p.Pack().Abstract {
		return p, true
	}
	return s.Pick(f.Fields["unit.kind"], f.Fields["coverage.kind"])
}

func fit(p *rules.Pack, unitKind, coverageKind string) int {
	if p.Abstract {
		return -1
	}
	score := 0
	for _, part := range [2]struct {
		list []string
		kind string
		all  int
	}{{p.Units, unitKind, len(rules.UnitKinds())}, {p.Coverage, coverageKind, len(rules.CoverageKinds())}} {
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

// JSON is a pack as the phone gets it: whole, with everything it extends merged in. rules.Compile takes it after decoding.
func JSON(p *Pack) ([]byte, error) {
	out, err := json.Marshal(p.Pack())
	if err != nil {
		return nil, fmt.Errorf("write pack %s as JSON: %w", p.Pack().ID, err)
	}
	return out, nil
}

// raw is one pack file as read.
type raw struct {
	name  string
	layer int
	pack  rules.Pack
	lines map[string]int
	cases []*yaml.Node
}

type loader struct {
	byID     map[string][]*raw // by layer, lowest first
	ids      []string
	merged   map[*raw]*merged
	problems Problems
}

func (l *loader) add(file string, line int, format string, args ...any) {
	if len(l.problems) < 1000 {
		l.problems = append(l.problems, Problem{file, line, fmt.Sprintf(format, args...)})
	}
}

func (l *loader) readFolder(folder fs.FS, layer int) error {
	entries, err := fs.ReadDir(folder, ".")
	if err != nil {
		return fmt.Errorf("read folder of rule packs: %w", err)
	}
	n := 0
	for _, e := range entries {
		if ext := path.Ext(e.Name()); e.IsDir() || ext != ".yaml" && ext != ".yml" || strings.HasPrefix(e.Name(), ".") {
			continue
		}
		if n++; n > maxFiles {
			return fmt.Errorf("read folder of rule packs: more than %d files", maxFiles)
		}
		data, err := readFile(folder, e.Name())
		if err != nil {
			return err
		}
		l.read(e.Name(), data, layer)
	}
	return nil
}

// readFile reads at most one byte more than a pack may have.
func readFile(folder fs.FS, name string) ([]byte, error) {
	f, err := folder.Open(name)
	if err != nil {
		return nil, fmt.Errorf("open rule pack: %w", err)
	}
	data, err := io.ReadAll(io.LimitReader(f, maxBytes+1))
	if err = errors.Join(err, f.Close()); err != nil {
		return nil, fmt.Errorf("read rule pack %s: %w", name, err)
	}
	return data, nil
}

func (l *loader) read(name string, data []byte, layer int) {
	root, problems := parse(name, data)
	l.problems = append(l.problems, problems...)
	if len(problems) > 0 || root == nil {
		return
	}
	r := &raw{name: name, layer: layer, lines: map[string]int{}}
	if root.Kind != yaml.MappingNode {
		l.add(name, root.Line, "a pack is a list of keys with values; start with id:, version: and title:")
		return
	}
	body := &yaml.Node{Kind: yaml.MappingNode, Tag: "!!map", Line: root.Line}
	for i := 0; i+1 < len(root.Content); i += 2 {
		if root.Content[i].Value != "cases" {
			body.Content = append(body.Content, root.Content[i], root.Content[i+1])
			continue
		}
		if root.Content[i+1].Kind != yaml.SequenceNode {
			l.add(name, root.Content[i].Line, "cases must be a list; start each with “- case: NAME”")
			continue
		}
		r.cases = root.Content[i+1].Content
	}
	d := &decoder{walker: walker{file: name}, lines: r.lines}
	d.into(body, reflect.ValueOf(&r.pack).Elem(), "")
	if len(d.problems) > 0 {
		l.problems = append(l.problems, d.problems...)
		return
	}
	l.accept(r)
}

// accept files the pack under its id and gives every item its origin.
func (l *loader) accept(r *raw) {
	p := &r.pack
	origin := func(kind, id string) string {
		return r.name + ":" + strconv.Itoa(r.lines[kind+"/"+id])
	}
	twice := func(kind, id string, seen map[string]bool) {
		if seen[id] {
			l.add(r.name, r.lines[kind+"/"+id], "the id %q is used twice under %s; give each its own", clip(id), kind)
		}
		seen[id] = true
	}
	seen := [3]map[string]bool{{}, {}, {}}
	for i := range p.Requirements {
		p.Requirements[i].Origin = origin("requirements", p.Requirements[i].ID)
		twice("requirements", p.Requirements[i].ID, seen[0])
	}
	for i := range p.Cautions {
		p.Cautions[i].Origin = origin("cautions", p.Cautions[i].ID)
		twice("cautions", p.Cautions[i].ID, seen[1])
	}
	for i := range p.Readings {
		p.Readings[i].Origin = origin("readings", p.Readings[i].ID)
		twice("readings", p.Readings[i].ID, seen[2])
	}
	stack := l.byID[p.ID]
	switch {
	case len(stack) == 0:
		l.ids = append(l.ids, p.ID)
	case stack[len(stack)-1].layer == r.layer:
		l.add(r.name, r.lines["id"], "the id %q is already used by %s; give each pack its own", clip(p.ID), stack[len(stack)-1].name)
		return
	}
	l.byID[p.ID] = append(stack, r)
}
