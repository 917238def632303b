package draw

import (
	"fmt"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/gomono"
	"golang.org/x/image/font/gofont/gomonobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// face names a typeface of the studio.
type face int

const (
	regular face = iota
	bold
	mono
	monoBold
	faces
)

type glyphs struct {
	font *sfnt.Font
	buf  sfnt.Buffer
}

func loadFaces() ([faces]*sfnt.Font, error) {
	var out [faces]*sfnt.Font
	for i, ttf := range [faces][]byte{goregular.TTF, gobold.TTF, gomono.TTF, gomonobold.TTF} {
		f, err := sfnt.Parse(ttf)
		if err != nil {
			return out, fmt.Errorf("read typeface %d: %w", i, err)
		}
		out[i] = f
	}
	return out, nil
}

const em = 1000 // units in which glyphs are read

// text is a line of writing as a path: size is the em in units of the plane, x the left edge, y the base line.
func (c *canvas) text(f face, size, x, y float64, s string) path {
	g := glyphs{font: c.st.faces[f]}
	var out path
	k := size / em
	for _, r := range s {
		i, err := g.font.GlyphIndex(&g.buf, r)
		if err != nil {
			continue
		}
		if segs, err := g.font.LoadGlyph(&g.buf, i, fixed.I(em), nil); err == nil {
			out = append(out, outline(segs, k, x, y)...)
		}
		if adv, err := g.font.GlyphAdvance(&g.buf, i, fixed.I(em), font.HintingNone); err == nil {
			x += float64(adv) / 64 * k
		}
	}
	return out
}

// width is the length of a line of writing.
func (c *canvas) width(f face, size float64, s string) float64 {
	g := glyphs{font: c.st.faces[f]}
	var w float64
	for _, r := range s {
		i, _ := g.font.GlyphIndex(&g.buf, r)
		adv, _ := g.font.GlyphAdvance(&g.buf, i, fixed.I(em), font.HintingNone)
		w += float64(adv) / 64 / em * size
	}
	return w
}

// centred is text whose middle is at x; right is text that ends at x.
func (c *canvas) centred(f face, size, x, y float64, s string) path {
	return c.text(f, size, x-c.width(f, size, s)/2, y, s)
}

func (c *canvas) right(f face, size, x, y float64, s string) path {
	return c.text(f, size, x-c.width(f, size, s), y, s)
}

func outline(segs sfnt.Segments, k, x, y float64) path {
	var out path
	var cur []pt
	p := func(v fixed.Point26_6) pt { return pt{x + float64(v.X)/64*k, y + float64(v.Y)/64*k} }
	for _, s := range segs {
		switch s.Op {
		case sfnt.SegmentOpMoveTo:
			if len(cur) > 2 {
				out = append(out, cur)
			}
			cur = []pt{p(s.Args[0])}
		case sfnt.SegmentOpLineTo:
			cur = append(cur, p(s.Args[0]))
		case sfnt.SegmentOpQuadTo:
			a, b, d := cur[len(cur)-1], p(s.Args[0]), p(s.Args[1])
			for i := 1; i <= 5; i++ {
				t := float64(i) / 5
				cur = append(cur, mixPt(mixPt(a, b, t), mixPt(b, d, t), t))
			}
		case sfnt.SegmentOpCubeTo:
			a, b, d, e := cur[len(cur)-1], p(s.Args[0]), p(s.Args[1]), p(s.Args[2])
			for i := 1; i <= 6; i++ {
				t := float64(i) / 6
				ab, bd, de := mixPt(a, b, t), mixPt(b, d, t), mixPt(d, e, t)
				cur = append(cur, mixPt(mixPt(ab, bd, t), mixPt(bd, de, t), t))
			}
		}
	}
	if len(cur) > 2 {
		out = append(out, cur)
	}
	return out
}
