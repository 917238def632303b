package draw

import "math"

// path is a set of closed polygons; curves are flattened when they are made.
type path [][]pt

func poly(ps ...pt) path { return path{ps} }

func rect(x0, y0, x1, y1 float64) path {
	return poly(pt{x0, y0}, pt{x1, y0}, pt{x1, y1}, pt{x0, y1})
}

func ellipse(cx, cy, rx, ry float64) path { return arcPath(cx, cy, rx, ry, 0, 2*math.Pi, 64) }

func arcPath(cx, cy, rx, ry, from, to float64, n int) path {
	return path{arc(cx, cy, rx, ry, from, to, n)}
}

func arc(cx, cy, rx, ry, from, to float64, n int) []pt {
	out := make([]pt, n+1)
	for i := range out {
		s, c := math.Sincos(from + (to-from)*float64(i)/float64(n))
		out[i] = pt{cx + rx*c, cy + ry*s}
	}
	return out
}

// round is a rectangle with round corners.
func round(x0, y0, x1, y1, r float64) path {
	var out []pt
	for i, c := range []pt{{x1 - r, y0 + r}, {x1 - r, y1 - r}, {x0 + r, y1 - r}, {x0 + r, y0 + r}} {
		a := (float64(i) - 1) * math.Pi / 2
		out = append(out, arc(c.x, c.y, r, r, a, a+math.Pi/2, 8)...)
	}
	return path{out}
}

// curve is a smooth line through the points (Catmull-Rom), n steps between two.
func curve(n int, ps ...pt) []pt {
	var out []pt
	at := func(i int) pt { return ps[max(0, min(len(ps)-1, i))] }
	for i := 0; i+1 < len(ps); i++ {
		a, b, c, d := at(i-1), at(i), at(i+1), at(i+2)
		for k := range n {
			t := float64(k) / float64(n)
			f := func(a, b, c, d float64) float64 {
				return 0.5 * (2*b + (c-a)*t + (2*a-5*b+4*c-d)*t*t + (3*b-a-3*c+d)*t*t*t)
			}
			out = append(out, pt{f(a.x, b.x, c.x, d.x), f(a.y, b.y, c.y, d.y)})
		}
	}
	return append(out, ps[len(ps)-1])
}

// curve3 is curve in space.
func curve3(n int, ps ...vec) []vec {
	xy, zz := make([]pt, len(ps)), make([]pt, len(ps))
	for i, p := range ps {
		xy[i], zz[i] = pt{p.x, p.y}, pt{p.z, 0}
	}
	a, b := curve(n, xy...), curve(n, zz...)
	out := make([]vec, len(a))
	for i := range a {
		out[i] = vec{a[i].x, a[i].y, b[i].x}
	}
	return out
}

// stroke is the outline of a line of the given width with round joints.
func stroke(line []pt, width float64) path {
	return strokeVar(line, func(int) float64 { return width })
}

// strokeVar lets the width differ from point to point.
func strokeVar(line []pt, width func(i int) float64) path {
	var out path
	for i, p := range line {
		r := width(i) / 2
		out = append(out, arc(p.x, p.y, r, r, 0, 2*math.Pi, max(8, min(40, int(r))))) // counts as turned one way
		if i+1 == len(line) {
			break
		}
		q, rq := line[i+1], width(i+1)/2
		d := q.sub(p)
		l := d.len()
		if l < 1e-9 {
			continue
		}
		n := pt{-d.y / l, d.x / l}
		out = append(out, []pt{p.sub(n.mul(r)), q.sub(n.mul(rq)), q.add(n.mul(rq)), p.add(n.mul(r))})
	}
	return out
}

func (p path) moved(d pt) path {
	out := make(path, len(p))
	for i, sub := range p {
		out[i] = make([]pt, len(sub))
		for j, v := range sub {
			out[i][j] = v.add(d)
		}
	}
	return out
}

func (p path) bounds() (x0, y0, x1, y1 float64) {
	x0, y0, x1, y1 = math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, sub := range p {
		for _, v := range sub {
			x0, y0, x1, y1 = math.Min(x0, v.x), math.Min(y0, v.y), math.Max(x1, v.x), math.Max(y1, v.y)
		}
	}
	return
}
