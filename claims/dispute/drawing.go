package dispute

import (
	"encoding/xml"
	"fmt"
	"math"
	"strings"
)

// Drawing is a picture made of a few plain shapes, so that HTML (as SVG) and PDF can draw the same one. Lengths are in millimetres.
type Drawing struct {
	Width, Height float64
	// Title names it; Words say all of it for whoever can't see it.
	Title  string
	Words  string
	Shapes []Shape
}

// Shape is one line, box, dot, diamond or text. Ink is one of the inks below; a hollow shape has an outline only.
type Shape struct {
	Kind       string // line, box, dot, diamond, text
	X, Y, W, H float64
	Ink        string
	Hollow     bool
	Dashed     bool
	Text       string
	Size       float64 // of a text, in millimetres
	Anchor     string  // start, middle, end
}

// The inks: name to red, green, blue. They keep a contrast of at least 4.5 to white.
const (
	Ink    = "ink"
	Soft   = "soft"
	Rule   = "rule"
	Early  = "early" // before work
	Late   = "late"  // after work began
	Accent = "accent"
)

// RGB is the colour of an ink.
func RGB(ink string) (r, g, b int) {
	switch ink {
	case Soft:
		return 0x5a, 0x62, 0x6b
	case Rule:
		return 0xc9, 0xce, 0xd4
	case Early:
		return 0x0b, 0x5c, 0x8a
	case Late:
		return 0x8a, 0x4b, 0x08
	case Accent:
		return 0x9b, 0x1c, 0x31
	}
	return 0x1d, 0x23, 0x2a
}

func (d *Drawing) add(s Shape) { d.Shapes = append(d.Shapes, s) }

func (d *Drawing) text(x, y, size float64, ink, anchor, s string) {
	d.add(Shape{Kind: "text", X: x, Y: y, Size: size, Ink: ink, Anchor: anchor, Text: s})
}

// fitting cuts a text to a width. A letter of a plain sans takes about half its size.
func fitting(s string, size, width float64) string {
	most := int(width / (size * 0.5))
	r := []rune(s)
	if len(r) <= most {
		return s
	}
	return strings.TrimRight(string(r[:max(most-1, 0)]), " ,;.") + "…"
}

// SVG writes the drawing as one element that stands alone or within a page: no script, no outside reference. id makes its labels unique.
func (d *Drawing) SVG(id string) string {
	var b strings.Builder
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %s %s" role="img" aria-labelledby="%s-title %s-desc" font-family="system-ui, sans-serif">`, mm(d.Width), mm(d.Height), id, id)
	fmt.Fprintf(&b, `<title id="%s-title">%s</title><desc id="%s-desc">%s</desc>`, id, escape(d.Title), id, escape(d.Words))
	fmt.Fprintf(&b, `<rect width="%s" height="%s" fill="#fff"/>`, mm(d.Width), mm(d.Height))
	for _, s := range d.Shapes {
		r, g, bl := RGB(s.Ink)
		ink := fmt.Sprintf("#%02x%02x%02x", r, g, bl)
		paint := fmt.Sprintf(`fill="%s"`, ink)
		if s.Hollow {
			paint = fmt.Sprintf(`fill="#fff" stroke="%s" stroke-width="0.5"`, ink)
		}
		switch s.Kind {
		case "line":
			dash := ""
			if s.Dashed {
				dash = ` stroke-dasharray="1.2 0.9"`
			}
			fmt.Fprintf(&b, `<path d="M%s %sL%s %s" stroke="%s" stroke-width="0.3" fill="none"%s/>`, mm(s.X), mm(s.Y), mm(s.X+s.W), mm(s.Y+s.H), ink, dash)
		case "box":
			fmt.Fprintf(&b, `<rect x="%s" y="%s" width="%s" height="%s" rx="0.8" %s/>`, mm(s.X), mm(s.Y), mm(s.W), mm(s.H), paint)
		case "dot":
			fmt.Fprintf(&b, `<circle cx="%s" cy="%s" r="%s" %s/>`, mm(s.X), mm(s.Y), mm(s.W), paint)
		case "diamond":
			fmt.Fprintf(&b, `<path d="M%s %sL%s %sL%s %sL%s %sZ" %s/>`, mm(s.X), mm(s.Y-s.W), mm(s.X+s.W), mm(s.Y), mm(s.X), mm(s.Y+s.W), mm(s.X-s.W), mm(s.Y), paint)
		case "text":
			fmt.Fprintf(&b, `<text x="%s" y="%s" font-size="%s" text-anchor="%s" fill="%s">%s</text>`, mm(s.X), mm(s.Y), mm(s.Size), s.Anchor, ink, escape(s.Text))
		}
	}
	b.WriteString("</svg>")
	return b.String()
}

// mm writes a length with two decimals at most.
func mm(x float64) string {
	return strings.TrimSuffix(strings.TrimRight(fmt.Sprintf("%.2f", math.Round(x*100)/100), "0"), ".")
}

// escape makes text safe in XML; characters that XML can't hold become the replacement character.
func escape(s string) string {
	var b strings.Builder
	if xml.EscapeText(&b, []byte(s)) != nil {
		return ""
	}
	return b.String()
}
