package align

import (
	"math"
	"slices"

	"kickplate/media/measure"
)

// The pyramid: each level is smaller by the square root of two, down to a quarter, and gives its share of points.
var levelPoints = [...]int{320, 220, 150, 90, 60}

// leastSide is the shorter side a picture must have.
const leastSide = 48

// corner is a point that can be found again.
type corner struct {
	at    point   // in the picture
	scale float64 // of its level: 1, 1.41, 2 …
	turn  float64 // the direction of the strongest gradients, in radians
	sign  [dims]uint8
	// summary sums each cell's part of sign.
	summary [cells * cells]int32
}

// level is one size of a picture with its gradients.
type level struct {
	dx, dy         plane
	fade           *fades
	scaleX, scaleY float64 // to the picture
}

// corners finds the points of a picture, level by level, spread over it.
func corners(g measure.Grey) []corner {
	var out []corner
	fade := newFades()
	for i, most := range levelPoints {
		f := math.Pow(0.5, float64(i)/2)
		w, h := int(float64(g.W)*f+0.5), int(float64(g.H)*f+0.5)
		if min(w, h) < leastSide {
			break
		}
		p := planeOf(g.Reduce(w, h)).smooth()
		l := level{fade: fade, scaleX: float64(g.W) / float64(w), scaleY: float64(g.H) / float64(h)}
		l.dx, l.dy = p.gradients()
		for _, c := range pick(strength(l.dx, l.dy), most) {
			l.describe(c, &out)
		}
	}
	return out
}

// gradients are the central differences.
func (p plane) gradients() (dx, dy plane) {
	dx, dy = newPlane(p.w, p.h), newPlane(p.w, p.h)
	for y := 1; y+1 < p.h; y++ {
		for x := 1; x+1 < p.w; x++ {
			i := y*p.w + x
			dx.pix[i] = (p.pix[i+1] - p.pix[i-1]) / 2
			dy.pix[i] = (p.pix[i+p.w] - p.pix[i-p.w]) / 2
		}
	}
	return dx, dy
}

// strength is the smaller eigenvalue of the structure tensor over 5 x 5 pixels (Shi and Tomasi, "Good features to track", 1994).
func strength(dx, dy plane) plane {
	xx, xy, yy := newPlane(dx.w, dx.h), newPlane(dx.w, dx.h), newPlane(dx.w, dx.h)
	for i, a := range dx.pix {
		b := dy.pix[i]
		xx.pix[i], xy.pix[i], yy.pix[i] = a*a, a*b, b*b
	}
	xx, xy, yy = xx.smooth(), xy.smooth(), yy.smooth()
	for i, a := range xx.pix {
		b, c := xy.pix[i], yy.pix[i]
		d := (a - c) / 2
		xx.pix[i] = (a+c)/2 - float32(math.Sqrt(float64(d*d+b*b)))
	}
	return xx
}

// leastStrength is below what noise of two grey levels gives.
const leastStrength = 1.5

// peak is a local maximum of the strength, between the pixels.
type peak struct {
	x, y float64
	v    float32
}

// margin keeps the window of a description within the picture.
const margin = 10

// pick takes the strongest peaks of each of 8 x 6 cells first, so that one busy corner does not take all, then the strongest left.
func pick(s plane, most int) []peak {
	const across, down = 8, 6
	var cells [across * down][]peak
	for y := margin; y < s.h-margin; y++ {
		for x := margin; x < s.w-margin; x++ {
			i := y*s.w + x
			v := s.pix[i]
			if v < leastStrength || v <= s.pix[i-1] || v < s.pix[i+1] || v <= s.pix[i-s.w] || v < s.pix[i+s.w] ||
				v <= s.pix[i-s.w-1] || v <= s.pix[i-s.w+1] || v < s.pix[i+s.w-1] || v < s.pix[i+s.w+1] {
				continue
			}
			c := &cells[y*down/s.h*across+x*across/s.w]
			*c = append(*c, peak{float64(x) + 0.5 + between(s.pix[i-1], v, s.pix[i+1]), float64(y) + 0.5 + between(s.pix[i-s.w], v, s.pix[i+s.w]), v})
		}
	}
	var out, rest []peak
	each := most * 6 / 10 / len(cells)
	for _, c := range cells {
		slices.SortFunc(c, stronger)
		n := min(each, len(c))
		out, rest = append(out, c[:n]...), append(rest, c[n:]...)
	}
	slices.SortFunc(rest, stronger)
	return append(out, rest[:min(most-len(out), len(rest))]...)
}

func stronger(a, b peak) int {
	switch {
	case a.v != b.v:
		return int(math.Copysign(1, float64(b.v-a.v)))
	case a.y != b.y:
		return int(math.Copysign(1, a.y-b.y))
	}
	return int(math.Copysign(1, a.x-b.x))
}

// between is where the top of the parabola through three neighbours lies, from the middle one.
func between(a, b, c float32) float64 {
	d := a - 2*b + c
	if d >= 0 {
		return 0
	}
	return min(max(float64((a-c)/(2*d)), -0.5), 0.5)
}
