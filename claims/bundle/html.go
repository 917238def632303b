package bundle

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"strings"

	"kickplate/claims"
)

//go:embed page.html
var pageHTML string

// renderHTML makes index.html: one file without script, network or outside style. Pictures and files are relative
// links within the bag, so it works from the unzipped folder.
func renderHTML(d *Document) ([]byte, error) {
	t, err := template.New("page").Funcs(template.FuncMap{
		"kind":  func(b Block) string { return strings.TrimPrefix(fmt.Sprintf("%T", b), "bundle.") },
		"rel":   func(path string) string { return strings.TrimPrefix(path, "data/") },
		"share": func(w float64) string { return fmt.Sprintf("%.1f", w) },
		"path":  strokePath,
		"svg":   trustedSVG,
		"point": func(v int) string { return fmt.Sprintf("%.1f", float64(v)/10) },
	}).Parse(pageHTML)
	if err != nil {
		return nil, fmt.Errorf("read the page's template: %w", err)
	}
	var out bytes.Buffer
	if err := t.Execute(&out, d); err != nil {
		return nil, fmt.Errorf("write index.html: %w", err)
	}
	return out.Bytes(), nil
}

// trustedSVG passes a drawing made by rules/readings or claims/dispute from numbers, fixed words and escaped text.
func trustedSVG(s string) template.HTML { return template.HTML(s) }

// strokePath turns pen strokes into the path of an SVG. Only numbers get in.
func strokePath(strokes [][]int) string {
	var out strings.Builder
	for _, s := range strokes {
		for i := 0; i+1 < len(s); i += 2 {
			op := "L"
			if i == 0 {
				op = "M"
			}
			fmt.Fprintf(&out, "%s%d %d", op, s[i], s[i+1])
		}
		if len(s) == 2 { // a dot
			fmt.Fprintf(&out, "l1 0")
		}
	}
	return out.String()
}

// strokeBox is the smallest box around the strokes, at least 1 unit on each side.
func strokeBox(strokes [][]int) (x, y, w, h int) {
	first := true
	var x2, y2 int
	for _, s := range strokes {
		for i := 0; i+1 < len(s); i += 2 {
			if first {
				x, y, x2, y2, first = s[i], s[i+1], s[i], s[i+1], false
			}
			x, x2, y, y2 = min(x, s[i]), max(x2, s[i]), min(y, s[i+1]), max(y2, s[i+1])
		}
	}
	return x, y, max(x2-x, 1), max(y2-y, 1)
}

// Box is the viewBox of the signature's drawing.
func (s Signature) Box() string {
	x, y, w, h := strokeBox(s.Strokes)
	return fmt.Sprintf("%d %d %d %d", x-10, y-10, w+20, h+20)
}

// Height of the drawing for a width of 320 units, within bounds.
func (s Signature) Height() int {
	_, _, w, h := strokeBox(s.Strokes)
	return min(max(320*(h+20)/(w+20), 40), 240)
}

// Arrows, Rings and Words split the marks by shape.
func (p Picture) Arrows() []claims.Mark { return p.shape("arrow") }

// Rings are the ring marks.
func (p Picture) Rings() []claims.Mark { return p.shape("ring") }

// Words are the marks with words.
func (p Picture) Words() []claims.Mark { return p.shape("words") }

func (p Picture) shape(name string) []claims.Mark {
	var out []claims.Mark
	for _, m := range p.Marks {
		if m.Shape == name {
			out = append(out, m)
		}
	}
	return out
}
