package readings

import (
	"math"
	"strconv"
	"strings"
)

// The picture is drawn for a phone held upright: 360 by 230, text of 13 and more.
const (
	plotWidth  = 360.0
	plotHeight = 230.0
	plotLeft   = 52.0
	plotRight  = 344.0
	plotTop    = 34.0
	plotBottom = 188.0
)

// Plot draws a reading on what its model expects: on the curve of a sensor or a refrigerant,
// or on the band of limits, with a bar for the uncertainty where it is known. The SVG is self-contained (no style sheet, font, script or link),
// says the verdict in its title and description, and is the same bytes for the same input. It
// fails where [Judge] fails.
func Plot(p Profile, v Value, c Conditions, inst *Instrument) (string, error) {
	verdict, err := Judge(p, v, c, inst)
	if err != nil {
		return "", err
	}
	p, err = p.Resolve()
	if err != nil {
		return "", err
	}
	d := &drawing{}
	name := p.Title
	if name == "" {
		name = inWords(p.Component)
	}
	if name == "" {
		m, _ := p.Model.def()
		name = m.title
	}
	switch {
	case p.Model == NTCThermistor:
		d.sensorCurve(p, v, c, verdict)
	case p.Model == Saturation:
		err = d.saturationCurve(p, v, c, verdict)
	case p.Model == Thermostat:
		err = d.thermostatZones(p, v, c, verdict)
	case verdict.Low != "" || verdict.High != "":
		d.bandBar(v, verdict)
	default:
		d.contactBar(v, verdict)
	}
	if err != nil {
		return "", err
	}
	return d.svg(name, verdict), nil
}

// drawing collects the shapes.
type drawing struct{ b strings.Builder }

func (d *drawing) svg(name string, v Verdict) string {
	title := escape(name + ": " + outcomeTitle(v.Outcome))
	var s strings.Builder
	s.WriteString(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 360 230" role="img" aria-label="` + title + `" font-family="sans-serif" font-size="13" fill="#1c2430">`)
	s.WriteString("<title>" + title + "</title><desc>" + escape(v.Says) + "</desc>")
	s.WriteString(`<rect x="0" y="0" width="360" height="230" rx="6" fill="#ffffff"/>`)
	s.WriteString(d.b.String())
	s.WriteString(`<text x="16" y="20" font-size="14" font-weight="bold">` + escape(fit(name, 42)) + `</text>`)
	s.WriteString(`<text x="16" y="222" font-weight="bold" fill="` + colour(v.Outcome) + `">` + escape(outcomeTitle(v.Outcome)) + `</text></svg>`)
	return s.String()
}

func outcomeTitle(o Outcome) string {
	switch o {
	case InTolerance:
		return "in tolerance"
	case OutOfTolerance:
		return "out of tolerance"
	case CannotDecide:
		return "cannot decide"
	}
	return "not plausible"
}

func colour(o Outcome) string {
	switch o {
	case InTolerance:
		return "#1a6b3a"
	case OutOfTolerance:
		return "#b01e1e"
	}
	return "#7a5600"
}

func escape(s string) string {
	return strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&quot;").Replace(clean(s))
}

// clean drops what XML 1.0 cannot hold.
func clean(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0xFFFE || r == 0xFFFF || r >= 0xD800 && r <= 0xDFFF {
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, ""))
}

// fit shortens text to so many characters.
func fit(s string, n int) string {
	r := []rune(s)
	if len(r) > n {
		return string(r[:n-1]) + "…"
	}
	return s
}

func px(x float64) string { return figure(math.Max(-1000, math.Min(x, 1000)), 1) }

func (d *drawing) line(x1, y1, x2, y2 float64, stroke, width string) {
	d.b.WriteString(`<line x1="` + px(x1) + `" y1="` + px(y1) + `" x2="` + px(x2) + `" y2="` + px(y2) + `" stroke="` + stroke + `" stroke-width="` + width + `"/>`)
}

func (d *drawing) rect(x1, x2, y1, y2 float64, fill string) {
	d.b.WriteString(`<rect x="` + px(x1) + `" y="` + px(y1) + `" width="` + px(math.Max(x2-x1, 1)) + `" height="` + px(math.Max(y2-y1, 1)) + `" fill="` + fill + `"/>`)
}

func (d *drawing) text(x, y float64, anchor, s string) {
	d.b.WriteString(`<text x="` + px(x) + `" y="` + px(y) + `" text-anchor="` + anchor + `">` + escape(s) + `</text>`)
}

func (d *drawing) path(points [][2]float64, closed bool, attributes string) {
	d.b.WriteString(`<path d="`)
	for i, p := range points {
		if i == 0 {
			d.b.WriteString("M")
		} else {
			d.b.WriteString("L")
		}
		d.b.WriteString(px(p[0]) + " " + px(p[1]))
	}
	if closed {
		d.b.WriteString("Z")
	}
	d.b.WriteString(`" ` + attributes + `/>`)
}

// mark is the reading: a disc inside, a cross outside, a ring when undecided, so that the
// shape says it without the colour.
func (d *drawing) mark(x, y float64, o Outcome) {
	c := colour(o)
	switch o {
	case InTolerance:
		d.b.WriteString(`<circle cx="` + px(x) + `" cy="` + px(y) + `" r="7" fill="` + c + `"/>`)
	case OutOfTolerance:
		d.line(x-7, y-7, x+7, y+7, c, "4")
		d.line(x-7, y+7, x+7, y-7, c, "4")
	default:
		d.b.WriteString(`<circle cx="` + px(x) + `" cy="` + px(y) + `" r="7" fill="#ffffff" stroke="` + c + `" stroke-width="3"/>`)
	}
}

// scale maps lo…hi to pixels, along a logarithm where log is set; it holds what is outside
// at the edge.
type scale struct {
	lo, hi, from, to float64
	log              bool
}

func (s scale) at(x float64) float64 {
	lo, hi := s.lo, s.hi
	if s.log {
		lo, hi, x = math.Log(lo), math.Log(hi), math.Log(math.Max(x, 1e-12))
	}
	f := (x - lo) / (hi - lo)
	return s.from + math.Max(0, math.Min(f, 1))*(s.to-s.from)
}

// axes draws both axes with round ticks.
func (d *drawing) axes(x, y scale, xUnit, yUnit string) {
	for _, t := range ticks(x, 5) {
		d.line(x.at(t), plotTop, x.at(t), plotBottom, "#e3e6ea", "1")
		d.text(x.at(t), plotBottom+15, "middle", short(t))
	}
	for _, t := range ticks(y, 5) {
		d.line(plotLeft, y.at(t), plotRight, y.at(t), "#e3e6ea", "1")
		d.text(plotLeft-5, y.at(t)+4, "end", thousands(t))
	}
	d.line(plotLeft, plotBottom, plotRight, plotBottom, "#1c2430", "1")
	d.line(plotLeft, plotTop, plotLeft, plotBottom, "#1c2430", "1")
	d.text(plotRight, plotBottom-6, "end", xUnit)
	d.text(plotLeft+5, plotTop+10, "start", yUnit)
}

func thousands(x float64) string {
	if x >= 1000 {
		return short(x/1000) + "k"
	}
	return short(x)
}

// ticks are about n round numbers: powers of ten on a logarithm (with 2 and 5 where there is room), else 1, 2 or 5 times one.
func ticks(s scale, n int) []float64 {
	var out []float64
	if s.log {
		steps := []float64{1}
		if s.hi/s.lo < 200 {
			steps = []float64{1, 2, 5}
		}
		for e := math.Floor(math.Log10(s.lo)); e <= math.Ceil(math.Log10(s.hi)); e++ {
			for _, k := range steps {
				if t := k * math.Pow10(int(e)); t >= s.lo && t <= s.hi {
					out = append(out, t)
				}
			}
		}
		return out
	}
	step := roundStep((s.hi - s.lo) / float64(n))
	for k := math.Ceil(s.lo / step); k*step <= s.hi+step*1e-9 && len(out) < 20; k++ {
		out = append(out, k*step)
	}
	return out
}

func roundStep(x float64) float64 {
	if !(x > 0) {
		return 1
	}
	p := math.Pow10(int(math.Floor(math.Log10(x))))
	switch f := x / p; {
	case f <= 1:
		return p
	case f <= 2:
		return 2 * p
	case f <= 5:
		return 5 * p
	}
	return 10 * p
}

// number reads a decimal of a verdict.
func number(s string) (float64, bool) {
	x, err := strconv.ParseFloat(s, 64)
	return x, err == nil && !math.IsNaN(x) && !math.IsInf(x, 0)
}
