package bundle

import (
	"codeberg.org/go-pdf/fpdf"

	"kickplate/claims/dispute"
)

// Drawing is a picture made of plain shapes: as SVG in HTML, drawn in the PDF. SVG is made from numbers and escaped words.
type Drawing struct {
	dispute.Drawing
	SVG string
}

func (Drawing) block() {}

// newDrawing makes the block; id makes its labels unique on the page.
func newDrawing(d dispute.Drawing, id string) Drawing { return Drawing{Drawing: d, SVG: d.SVG(id)} }

// drawing prints a drawing over the width of the page. One that is higher than a page is made smaller.
func (p *printer) drawing(d Drawing) {
	scale := p.width() / d.Width
	most := p.bottom() - margin
	if d.Height*scale > most {
		scale = most / d.Height
	}
	p.room(d.Height * scale)
	x0, y0 := margin, p.y
	for _, s := range d.Shapes {
		r, g, b := dispute.RGB(s.Ink)
		p.pdf.SetDrawColor(r, g, b)
		p.pdf.SetFillColor(r, g, b)
		style := "F"
		if s.Hollow {
			p.pdf.SetFillColor(255, 255, 255)
			style = "FD"
		}
		x, y, w, h := x0+s.X*scale, y0+s.Y*scale, s.W*scale, s.H*scale
		p.pdf.SetLineWidth(0.3 * scale)
		switch s.Kind {
		case "line":
			p.pdf.SetLineWidth(0.2 * scale)
			if s.Dashed {
				p.pdf.SetDashPattern([]float64{1.2 * scale, 0.9 * scale}, 0)
			}
			p.pdf.Line(x, y, x+w, y+h)
			p.pdf.SetDashPattern([]float64{}, 0)
		case "box":
			p.pdf.Rect(x, y, w, h, style)
		case "dot":
			p.pdf.Circle(x, y, w, style)
		case "diamond":
			p.pdf.Polygon([]fpdf.PointType{{X: x, Y: y - w}, {X: x + w, Y: y}, {X: x, Y: y + w}, {X: x - w, Y: y}}, style)
		case "text":
			p.font("", s.Size*scale/0.3528)
			p.pdf.SetTextColor(r, g, b)
			line := p.clean(s.Text)
			width := p.pdf.GetStringWidth(line)
			switch s.Anchor {
			case "middle":
				x -= width / 2
			case "end":
				x -= width
			}
			p.pdf.Text(x, y, line)
		}
	}
	p.y = y0 + d.Height*scale + 2
}
