package packs

import (
	"bytes"
	"errors"
	"io"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"
)

// Limits of a pack file. They are far above any real pack and keep a hostile one cheap.
const (
	maxBytes = 1 << 20
	maxNodes = 100_000
	maxDepth = 24
	maxFiles = 200
)

// parse reads one YAML document into a tree. Anchors, aliases, merges and tags of one's own are refused: a pack reads
// the same from top to bottom, and nothing can be made to grow.
func parse(file string, data []byte) (*yaml.Node, Problems) {
	if len(data) > maxBytes {
		return nil, Problems{{file, 0, "is larger than 1 MiB; split it into packs that extend one another"}}
	}
	dec := yaml.NewDecoder(bytes.NewReader(data))
	var doc, more yaml.Node
	if err := dec.Decode(&doc); err != nil {
		if errors.Is(err, io.EOF) {
			return nil, Problems{{file, 0, "is empty; a pack starts with id:, version: and title:"}}
		}
		return nil, Problems{syntaxProblem(file, err)}
	}
	if err := dec.Decode(&more); !errors.Is(err, io.EOF) {
		if err != nil {
			return nil, Problems{syntaxProblem(file, err)}
		}
		return nil, Problems{{file, more.Line, "a second document starts here; put one pack in a file"}}
	}
	if doc.Kind != yaml.DocumentNode || len(doc.Content) != 1 {
		return nil, Problems{{file, 0, "is empty; a pack starts with id:, version: and title:"}}
	}
	w := walker{file: file}
	w.walk(doc.Content[0], 0)
	return doc.Content[0], w.problems
}

// syntaxProblem moves the line number of a YAML error to where an editor finds it.
func syntaxProblem(file string, err error) Problem {
	text := strings.TrimPrefix(err.Error(), "yaml: ")
	if rest, ok := strings.CutPrefix(text, "line "); ok {
		if number, message, ok := strings.Cut(rest, ": "); ok {
			if n, err := strconv.Atoi(number); err == nil {
				return Problem{file, n, "is not YAML here: " + message}
			}
		}
	}
	return Problem{file, 0, "is not YAML: " + text}
}

type walker struct {
	file     string
	nodes    int
	problems Problems
}

func (w *walker) walk(n *yaml.Node, depth int) {
	w.nodes++
	if len(w.problems) > 20 {
		return
	}
	switch {
	case w.nodes > maxNodes:
		w.problems = append(w.problems[:0], Problem{w.file, n.Line, "has more than 100000 values"})
		for len(w.problems) <= 20 { // stop the walk
			w.problems = append(w.problems, w.problems[0])
		}
		return
	case depth > maxDepth:
		w.add(n, "is nested deeper than %d levels; write it flatter", maxDepth)
		return
	case n.Kind == yaml.AliasNode:
		w.add(n, "refers to *%s; write the text out, aliases are not allowed", n.Value)
		return
	case n.Anchor != "":
		w.add(n, "has the anchor &%s; leave it out, anchors are not allowed", n.Anchor)
	}
	switch tag := n.ShortTag(); tag {
	case "!!str", "!!int", "!!float", "!!bool", "!!null", "!!timestamp", "!!map", "!!seq":
	default:
		w.add(n, "has the tag %s; leave it out", tag)
	}
	if n.Kind == yaml.MappingNode {
		seen := map[string]int{}
		for i := 0; i+1 < len(n.Content); i += 2 {
			k := n.Content[i]
			if k.Kind != yaml.ScalarNode {
				w.add(k, "a key must be a plain word")
				return
			}
			if first, again := seen[k.Value]; again {
				w.add(k, "the key %q is here twice (first in line %d); keep one", k.Value, first)
			}
			seen[k.Value] = k.Line
		}
	}
	for _, child := range n.Content {
		w.walk(child, depth+1)
	}
}
