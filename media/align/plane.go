package align

import (
	"math"

	"kickplate/media/measure"
)

// plane is a grey picture to calculate with.
type plane struct {
	pix  []float32
	w, h int
}

func newPlane(w, h int) plane { return plane{make([]float32, w*h), w, h} }

func planeOf(g measure.Grey) plane {
	p := newPlane(g.W, g.H)
	for i, v := range g.Pix[:g.W*g.H] {
		p.pix[i] = float32(v)
	}
	return p
}

// working reduces a picture to side.
func working(g measure.Grey) measure.Grey {
	long := max(g.W, g.H)
	if long <= side {
		return g
	}
	return g.Reduce(max(1, (g.W*side+long/2)/long), max(1, (g.H*side+long/2)/long))
}

// smooth blurs by a binomial kernel, 1 4 6 4 1: sigma 1.
func (p plane) smooth() plane {
	mid, out := newPlane(p.w, p.h), newPlane(p.w, p.h)
	for y := range p.h {
		row, to := p.pix[y*p.w:][:p.w], mid.pix[y*p.w:][:p.w]
		for x := range to {
			if x >= 2 && x+2 < p.w {
				to[x] = (row[x-2] + row[x+2] + 4*(row[x-1]+row[x+1]) + 6*row[x]) / 16
				continue
			}
			at := func(d int) float32 { return row[min(max(x+d, 0), p.w-1)] }
			to[x] = (at(-2) + at(2) + 4*(at(-1)+at(1)) + 6*at(0)) / 16
		}
	}
	for y := range p.h {
		row := func(d int) []float32 { return mid.pix[min(max(y+d, 0), p.h-1)*p.w:][:p.w] }
		a, b, c, d, e, to := row(-2), row(-1), row(0), row(1), row(2), out.pix[y*p.w:][:p.w]
		for x := range to {
			to[x] = (a[x] + e[x] + 4*(b[x]+d[x]) + 6*c[x]) / 16
		}
	}
	return out
}

// box returns the mean over the square of 2r+1 pixels around each pixel, as far as it lies in the picture.
func (p plane) box(r int) plane {
	mid, out := newPlane(p.w, p.h), newPlane(p.w, p.h)
	sums := make([]float64, max(p.w, p.h)+1)
	for y := range p.h {
		for x, v := range p.pix[y*p.w:][:p.w] {
			sums[x+1] = sums[x] + float64(v)
		}
		for x := range p.w {
			lo, hi := max(x-r, 0), min(x+r+1, p.w)
			mid.pix[y*p.w+x] = float32((sums[hi] - sums[lo]) / float64(hi-lo))
		}
	}
	acc := make([]float64, p.w)
	n := 0
	add := func(y int, sign float64) {
		for x, v := range mid.pix[y*p.w:][:p.w] {
			acc[x] += sign * float64(v)
		}
		n += int(sign)
	}
	for y := range min(r, p.h) {
		add(y, 1)
	}
	for y := range p.h {
		if y+r < p.h {
			add(y+r, 1)
		}
		if y-r-1 >= 0 {
			add(y-r-1, -1)
		}
		for x, v := range acc {
			out.pix[y*p.w+x] = float32(v / float64(n))
		}
	}
	return out
}

// at reads between the pixels; x and y count from the upper left corner, so that the first pixel's centre is at 0.5. ok is
// false outside.
func (p plane) at(x, y float64) (v float32, ok bool) {
	x, y = x-0.5, y-0.5
	if !(x >= 0 && y >= 0 && x <= float64(p.w-1) && y <= float64(p.h-1)) {
		return 0, false
	}
	x0, y0 := min(int(x), p.w-2), min(int(y), p.h-2)
	fx, fy := float32(x-float64(x0)), float32(y-float64(y0))
	a := p.pix[y0*p.w+x0:][:2]
	b := p.pix[(y0+1)*p.w+x0:][:2]
	top, low := a[0]+(a[1]-a[0])*fx, b[0]+(b[1]-b[0])*fx
	return top + (low-top)*fy, true
}

type point struct{ x, y float64 }

func (p point) sub(q point) point { return point{p.x - q.x, p.y - q.y} }
func (p point) len() float64      { return math.Hypot(p.x, p.y) }

// matrix carries places of one picture to places of another, row by row.
type matrix [9]float64

var identity = matrix{1, 0, 0, 0, 1, 0, 0, 0, 1}

// at carries a place. A place behind the horizon comes out as not-a-number, which no comparison accepts.
func (m matrix) at(p point) point {
	w := m[6]*p.x + m[7]*p.y + m[8]
	if w <= 1e-9 {
		return point{math.NaN(), math.NaN()}
	}
	return point{(m[0]*p.x + m[1]*p.y + m[2]) / w, (m[3]*p.x + m[4]*p.y + m[5]) / w}
}

// times returns m after n.
func (m matrix) times(n matrix) matrix {
	var out matrix
	for i := range 3 {
		for j := range 3 {
			out[3*i+j] = m[3*i]*n[j] + m[3*i+1]*n[3+j] + m[3*i+2]*n[6+j]
		}
	}
	return out
}

// inverse returns the matrix back, with its last number 1; ok is false when there is none.
func (m matrix) inverse() (matrix, bool) {
	c0, c1, c2 := m[4]*m[8]-m[5]*m[7], m[5]*m[6]-m[3]*m[8], m[3]*m[7]-m[4]*m[6]
	out := matrix{
		c0, m[2]*m[7] - m[1]*m[8], m[1]*m[5] - m[2]*m[4],
		c1, m[0]*m[8] - m[2]*m[6], m[2]*m[3] - m[0]*m[5],
		c2, m[1]*m[6] - m[0]*m[7], m[0]*m[4] - m[1]*m[3],
	}
	return out.scaled()
}

// scaled divides so that the last number is 1.
func (m matrix) scaled() (matrix, bool) {
	k := m[8]
	for i := range m {
		m[i] /= k
		if math.IsNaN(m[i]) || math.IsInf(m[i], 0) {
			return identity, false
		}
	}
	return m, true
}

func scaling(x, y float64) matrix { return matrix{x, 0, 0, 0, y, 0, 0, 0, 1} }
