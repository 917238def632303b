package bundle

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

func (p *printer) rule(weight float64) {
	p.pdf.SetDrawColor(170, 178, 186)
	p.pdf.SetLineWidth(weight)
	p.pdf.Line(margin, p.y, p.w-margin, p.y)
}

const (
	captionLead  = 3.5
	captionLines = 8
	pictureTall  = 60.0
)

// caption is a picture's caption broken into lines.
type caption struct {
	text string
	tone Tone
	bold bool
}

// sheets prints pictures in two columns; each row is as high as its pictures and captions need: six landscape pictures a page.
func (p *printer) sheets(b Pictures) {
	colW := (p.width() - 6) / 2
	for i := 0; i < len(b.Items); i += 2 {
		row := b.Items[i:min(i+2, len(b.Items))]
		height := p.rowHeight(row)
		p.room(height)
		for k := range row {
			x := margin + float64(k)*(colW+6)
			y := p.y + p.image(&row[k], x, p.y, colW, pictureTall) + 1
			p.font("B", 9)
			p.tone(Plain)
			p.put(x, y, p.wrap(fmt.Sprintf("%d  %s", row[k].No, row[k].Title), colW)[0], 4)
			y += 4.2
			for _, line := range p.caption(&row[k], colW) {
				p.captionFont(line.bold)
				p.tone(line.tone)
				p.put(x, y, line.text, captionLead)
				y += captionLead
			}
		}
		p.y += height + 4
	}
}

// rowHeight is the height of one row of a sheet with its captions.
func (p *printer) rowHeight(row []Picture) float64 {
	colW, height := (p.width()-6)/2, 0.0
	for k := range row {
		height = max(height, p.imageHeight(&row[k], colW, pictureTall)+1+4.2+float64(len(p.caption(&row[k], colW)))*captionLead)
	}
	return height
}

func (p *printer) captionFont(bold bool) {
	style := ""
	if bold {
		style = "B"
	}
	p.font(style, 7.5)
}

func (p *printer) caption(it *Picture, w float64) []caption {
	var out []caption
	for _, l := range it.Lines {
		bold := l.Tone == Warn || l.Tone == Bad
		p.captionFont(bold)
		text := l.Value
		if l.Label != "" {
			text = l.Label + ": " + text
		}
		for _, line := range p.wrap(text, w) {
			if len(out) == captionLines {
				out[captionLines-1] = caption{"… more in index.html", Quiet, false}
				return out
			}
			out = append(out, caption{line, l.Tone, bold})
		}
	}
	return out
}

// imageHeight is the height that image will take.
func (p *printer) imageHeight(it *Picture, w, h float64) float64 {
	name, pw, ph := p.pics.register(p.pdf, it.Digest)
	if name == "" {
		return min(h, 24)
	}
	return ph * min(w/pw, h/ph)
}

// image prints a picture in the box and returns the height it took.
func (p *printer) image(it *Picture, x, y, w, h float64) float64 {
	name, pw, ph := p.pics.register(p.pdf, it.Digest)
	h = p.imageHeight(it, w, h)
	p.pdf.SetDrawColor(190, 198, 206)
	p.pdf.SetLineWidth(0.2)
	if name == "" {
		p.pdf.Rect(x, y, w, h, "D")
		p.font("", 8)
		p.tone(Quiet)
		p.put(x+4, y+h/2-2, "no picture here, see the file", 4)
		return h
	}
	scale := min(w/pw, h/ph)
	iw, ih := pw*scale, ph*scale
	p.pdf.ImageOptions(name, x, y, iw, ih, false, imageJPEG(), 0, "")
	p.pdf.Rect(x, y, iw, ih, "D")
	p.marks(it, x, y, iw, ih)
	return ih
}

func (p *printer) marks(it *Picture, x, y, w, h float64) {
	p.pdf.SetDrawColor(224, 0, 112)
	p.pdf.SetTextColor(224, 0, 112)
	p.pdf.SetLineWidth(0.5)
	for _, m := range it.Marks {
		x1, y1 := x+float64(m.X1)/1000*w, y+float64(m.Y1)/1000*h
		x2, y2 := x+float64(m.X2)/1000*w, y+float64(m.Y2)/1000*h
		switch m.Shape {
		case "arrow":
			p.pdf.Line(x1, y1, x2, y2)
			a := math.Atan2(y1-y2, x1-x2)
			for _, d := range []float64{-0.4, 0.4} {
				p.pdf.Line(x2, y2, x2+2.5*math.Cos(a+d), y2+2.5*math.Sin(a+d))
			}
		case "ring":
			p.pdf.Ellipse(x1, y1, min(6, w/8), min(6, h/8), 0, "D")
		}
		if m.Text != "" {
			p.font("B", 7)
			if line := p.wrap(m.Text, max(x+w-x1, 10))[0]; line != "" {
				p.put(min(x1, x+w-8), min(y1+1, y+h-4), line, 3.5)
			}
		}
	}
}

// signature draws the pen's strokes beside what they were given for.
func (p *printer) signature(b Signature) {
	const w, h = 62.0, 24.0
	p.room(h + 8)
	start, top, x := p.pdf.PageNo(), p.y, margin
	if len(b.Strokes) > 0 {
		bx, by, bw, bh := strokeBox(b.Strokes)
		scale := min((w-4)/float64(bw), (h-4)/float64(bh))
		p.pdf.SetDrawColor(190, 198, 206)
		p.pdf.SetLineWidth(0.2)
		p.pdf.Rect(margin, top, w, h, "D")
		p.pdf.SetDrawColor(18, 32, 58)
		p.pdf.SetLineWidth(0.4)
		p.pdf.SetLineCapStyle("round")
		for _, s := range b.Strokes {
			for i := 0; i+1 < len(s); i += 2 {
				from := max(i-2, 0)
				p.pdf.Line(margin+2+float64(s[from]-bx)*scale, top+2+float64(s[from+1]-by)*scale, margin+2+float64(s[i]-bx)*scale, top+2+float64(s[i+1]-by)*scale)
			}
		}
		p.pdf.SetLineCapStyle("butt")
		x += w + 5
	}
	for _, l := range b.Lines {
		p.font("", 8.5)
		p.tone(Quiet)
		p.room(4.2)
		p.put(x, p.y, l.Label, 4.2)
		p.tone(l.Tone)
		p.writeAt(x+22, l.Value, p.w-margin-x-22, 4.2)
	}
	if p.pdf.PageNo() == start && len(b.Strokes) > 0 {
		p.y = max(p.y, top+h)
	}
	p.y += 1.5
	p.rule(0.1)
	p.y += 2
}

// gauge draws a reading on a line: the expected range as a bar, the reading as a stroke, its uncertainty as a whisker. A
// reading that is no number is said in words above the bar.
func (p *printer) gauge(g *Gauge, x, y, w float64) {
	var lo, hi float64
	first := true
	for _, v := range []*float64{g.Low, g.High, g.Expect, g.reading()} {
		if v == nil {
			continue
		}
		if first {
			lo, hi, first = *v, *v, false
		}
		lo, hi = min(lo, *v), max(hi, *v)
	}
	if first {
		return
	}
	pad := (hi - lo) * 0.2
	if pad == 0 {
		pad = max(math.Abs(hi)*0.1, 1)
	}
	lo, hi = lo-pad, hi+pad
	at := func(v float64) float64 { return x + 1 + (w-2)*(min(max(v, lo), hi)-lo)/(hi-lo) }
	line := y + 5
	left, right := x+1, x+w-1
	if g.Low != nil {
		left = at(*g.Low)
	}
	if g.High != nil {
		right = at(*g.High)
	}
	p.pdf.SetFillColor(205, 230, 210)
	p.pdf.Rect(left, line-1.1, max(right-left, 0.4), 2.2, "F")
	p.pdf.SetDrawColor(110, 118, 126)
	p.pdf.SetLineWidth(0.2)
	p.pdf.Line(x+1, line, x+w-1, line)
	p.font("", 6)
	p.tone(Quiet)
	switch read := g.reading(); {
	case read == nil:
		p.put(x+1, y, p.clean("read "+g.Words), 2.4)
	default:
		p.pdf.SetDrawColor(20, 24, 28)
		if g.Spread > 0 {
			p.pdf.Line(at(*read-g.Spread), line, at(*read+g.Spread), line)
		}
		p.pdf.SetLineWidth(0.5)
		p.pdf.Line(at(*read), line-2, at(*read), line+2)
		p.mid(at(*read), y, "read "+figure(*read), x, x+w)
	}
	if g.Low != nil {
		p.mid(left, y+7.5, figure(*g.Low), x, x+w)
	}
	if g.High != nil && (g.Low == nil || right-left > 9) {
		p.mid(right, y+7.5, figure(*g.High)+ifNot(" ", g.Unit), x, x+w)
	}
}

func (g *Gauge) reading() *float64 {
	if g.Words != "" {
		return nil
	}
	return &g.Read
}

func (p *printer) mid(x, y float64, s string, from, to float64) {
	s = p.clean(s)
	w := p.pdf.GetStringWidth(s)
	p.put(max(from, min(x-w/2, to-w)), y, s, 2.4)
}

// figure writes a number with at most four significant digits.
func figure(v float64) string {
	s := strconv.FormatFloat(v, 'g', 4, 64)
	if strings.Contains(s, "e") {
		s = strconv.FormatFloat(v, 'f', 0, 64)
	}
	return s
}
