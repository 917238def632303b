package packs

import (
	"encoding/json"
	"fmt"
	"reflect"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"

	"kickplate/rules"
)

func (w *walker) add(n *yaml.Node, format string, args ...any) {
	if len(w.problems) < 100 {
		w.problems = append(w.problems, Problem{w.file, n.Line, fmt.Sprintf(format, args...)})
	}
}

// decoder fills Go structs from a YAML tree, strictly: an unknown key, a wrong type or a missing quote is a problem with
// its line. It remembers the line of every value by path, so that what rules.Validate finds later can be placed.
type decoder struct {
	walker
	lines map[string]int
}

// into decodes n into v, a settable value. Keys are the json tags; `load:"-"` is not a key, `load:"keyed"` is a
// list written as a mapping, whose keys go into the member named Key.
func (d *decoder) into(n *yaml.Node, v reflect.Value, path string) {
	if d.lines != nil {
		if _, there := d.lines[path]; !there {
			d.lines[path] = n.Line
		}
	}
	if v.Type() == reflect.TypeFor[json.RawMessage]() {
		v.SetBytes(d.raw(n))
		return
	}
	switch v.Kind() {
	case reflect.Pointer:
		p := reflect.New(v.Type().Elem())
		d.into(n, p.Elem(), path)
		v.Set(p)
	case reflect.Struct:
		d.structure(n, v, path)
	case reflect.Slice:
		d.list(n, v, path)
	case reflect.Map:
		d.mapping(n, v, path)
	case reflect.String:
		switch {
		case n.Kind != yaml.ScalarNode:
			d.add(n, "%s must be a text, not %s", last(path), kindWords(n))
		case n.ShortTag() == "!!bool" || n.ShortTag() == "!!null":
			d.add(n, "%s must be a text; put %q in quotes if that is the text", last(path), n.Value)
		default:
			v.SetString(n.Value)
		}
	case reflect.Int:
		i, err := strconv.Atoi(n.Value)
		if n.Kind != yaml.ScalarNode || n.ShortTag() != "!!int" || err != nil {
			d.add(n, "%s must be a whole number, not %s", last(path), kindWords(n))
			return
		}
		v.SetInt(int64(i))
	case reflect.Bool:
		if n.Kind != yaml.ScalarNode || n.ShortTag() != "!!bool" {
			d.add(n, "%s must be true or false, not %s", last(path), kindWords(n))
			return
		}
		v.SetBool(strings.EqualFold(n.Value, "true"))
	default:
		d.add(n, "%s can't be given here", last(path))
	}
}

func (d *decoder) structure(n *yaml.Node, v reflect.Value, path string) {
	if n.Kind != yaml.MappingNode {
		d.add(n, "%s must be a list of keys with values, not %s", last(path), kindWords(n))
		return
	}
	known := keys(v.Type())
	names := make([]string, 0, len(known))
	for i := range v.NumField() {
		if key := keyOf(v.Type().Field(i)); key != "" {
			names = append(names, key)
		}
	}
	for i := 0; i+1 < len(n.Content); i += 2 {
		k, value := n.Content[i], n.Content[i+1]
		field, ok := known[k.Value]
		if !ok {
			if near := rules.Nearest(k.Value, names); near != "" {
				d.add(k, "unknown key %q in %s; did you mean %s?", clip(k.Value), last(path), near)
			} else {
				d.add(k, "unknown key %q in %s; the keys are %s", clip(k.Value), last(path), strings.Join(names, ", "))
			}
			continue
		}
		d.into(value, v.Field(field), joinPath(path, k.Value))
		if d.lines != nil {
			d.lines[joinPath(path, k.Value)] = k.Line
		}
	}
}

func (d *decoder) list(n *yaml.Node, v reflect.Value, path string) {
	if n.Kind == yaml.MappingNode && v.Type().Elem().Kind() == reflect.Struct && keyField(v.Type().Elem()) >= 0 {
		d.keyed(n, v, path)
		return
	}
	if n.Kind == yaml.ScalarNode && v.Type().Elem().Kind() == reflect.String && n.ShortTag() != "!!null" {
		n = &yaml.Node{Kind: yaml.SequenceNode, Line: n.Line, Content: []*yaml.Node{n}} // one word is a list of one
	}
	if n.Kind != yaml.SequenceNode {
		d.add(n, "%s must be a list, not %s", last(path), kindWords(n))
		return
	}
	out := reflect.MakeSlice(v.Type(), len(n.Content), len(n.Content))
	for i, child := range n.Content {
		childPath := path
		if out.Index(i).Kind() == reflect.Struct {
			childPath = joinPath(path, elementName(child, i))
		}
		d.into(child, out.Index(i), childPath)
	}
	v.Set(out)
}

func (d *decoder) keyed(n *yaml.Node, v reflect.Value, path string) {
	key := keyField(v.Type().Elem())
	out := reflect.MakeSlice(v.Type(), len(n.Content)/2, len(n.Content)/2)
	for i := range out.Len() {
		d.into(n.Content[2*i+1], out.Index(i), joinPath(path, n.Content[2*i].Value))
		out.Index(i).Field(key).SetString(n.Content[2*i].Value)
	}
	v.Set(out)
}

func (d *decoder) mapping(n *yaml.Node, v reflect.Value, path string) {
	if n.Kind != yaml.MappingNode {
		d.add(n, "%s must be a list of keys with values, not %s", last(path), kindWords(n))
		return
	}
	out := reflect.MakeMapWithSize(v.Type(), len(n.Content)/2)
	for i := 0; i+1 < len(n.Content); i += 2 {
		value := reflect.New(v.Type().Elem()).Elem()
		d.into(n.Content[i+1], value, joinPath(path, n.Content[i].Value))
		out.SetMapIndex(reflect.ValueOf(n.Content[i].Value), value)
	}
	v.Set(out)
}

// raw turns a tree into JSON and keeps numbers digit by digit.
func (d *decoder) raw(n *yaml.Node) json.RawMessage {
	var b strings.Builder
	d.rawInto(n, &b)
	return json.RawMessage(b.String())
}

func (d *decoder) rawInto(n *yaml.Node, b *strings.Builder) {
	text := func(s string) {
		quoted, _ := json.Marshal(s) // a string always marshals
		b.Write(quoted)
	}
	switch n.Kind {
	case yaml.MappingNode:
		b.WriteByte('{')
		for i := 0; i+1 < len(n.Content); i += 2 {
			if i > 0 {
				b.WriteByte(',')
			}
			text(n.Content[i].Value)
			b.WriteByte(':')
			d.rawInto(n.Content[i+1], b)
		}
		b.WriteByte('}')
	case yaml.SequenceNode:
		b.WriteByte('[')
		for i, child := range n.Content {
			if i > 0 {
				b.WriteByte(',')
			}
			d.rawInto(child, b)
		}
		b.WriteByte(']')
	default:
		switch n.ShortTag() {
		case "!!int", "!!float":
			if !json.Valid([]byte(n.Value)) {
				d.add(n, "write the number %q in plain decimal digits", clip(n.Value))
				b.WriteString("0")
				return
			}
			b.WriteString(n.Value)
		case "!!bool":
			b.WriteString(strings.ToLower(n.Value))
		case "!!null":
			b.WriteString("null")
		default:
			text(n.Value)
		}
	}
}

func keys(t reflect.Type) map[string]int {
	out := make(map[string]int, t.NumField())
	for i := range t.NumField() {
		if key := keyOf(t.Field(i)); key != "" {
			out[key] = i
		}
	}
	return out
}

func keyOf(f reflect.StructField) string {
	if f.Tag.Get("load") == "-" {
		return ""
	}
	name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
	if name == "-" {
		return ""
	}
	return name
}

// keyField finds the member that takes the key of a list written as a mapping, or -1.
func keyField(t reflect.Type) int {
	if f, ok := t.FieldByName("Key"); ok && f.Tag.Get("load") == "key" {
		return f.Index[0]
	}
	return -1
}

// elementName is the id of a list's element, or its number.
func elementName(n *yaml.Node, i int) string {
	if n.Kind == yaml.MappingNode {
		for k := 0; k+1 < len(n.Content); k += 2 {
			if n.Content[k].Value == "id" && n.Content[k+1].Kind == yaml.ScalarNode {
				return n.Content[k+1].Value
			}
		}
	}
	return strconv.Itoa(i)
}

func joinPath(path, key string) string {
	if path == "" {
		return key
	}
	return path + "/" + key
}

// last names a path for people: its last word that is not a number.
func last(path string) string {
	for path != "" {
		i := strings.LastIndexByte(path, '/')
		if _, err := strconv.Atoi(path[i+1:]); err != nil {
			return clip(path[i+1:])
		}
		path = path[:max(i, 0)]
	}
	return "the pack"
}

func kindWords(n *yaml.Node) string {
	switch n.Kind {
	case yaml.MappingNode:
		return "a list of keys with values"
	case yaml.SequenceNode:
		return "a list"
	}
	switch n.ShortTag() {
	case "!!null":
		return "nothing"
	case "!!bool":
		return n.Value
	case "!!int", "!!float":
		return "the number " + clip(n.Value)
	}
	return fmt.Sprintf("the text %q", clip(n.Value))
}

func clip(s string) string {
	if r := []rune(s); len(r) > 60 {
		return string(r[:60]) + "…"
	}
	return s
}
