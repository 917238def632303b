package align

import "math"

// A description is histograms of gradient directions: 8 directions in each of 4 x 4 cells around the point, turned to the
// strongest direction, after D. Lowe, "Distinctive image features from scale-invariant keypoints" (2004), sections 5 and 6,
// on the corners of a pyramid.
const (
	cells      = 4
	directions = 8
	dims       = cells * cells * directions
	cellSide   = 5.0 // pixels of the level
	// bins is how finely the direction of a point is sought.
	bins = 36
)

// Weights that fall off from the point, by the squared distance: in pixels for the direction, in steps of a cell for the description.
const (
	turnRadius = 9
	fadeSteps  = 8
)

type fades struct {
	turn [turnRadius*turnRadius + 1]float64
	sign [fadeSteps*(cells+1)*(cells+1)/2 + 1]float64
}

func newFades() *fades {
	f := &fades{}
	for i := range f.turn {
		f.turn[i] = math.Exp(-float64(i) * 2 / (turnRadius * turnRadius))
	}
	for i := range f.sign {
		f.sign[i] = math.Exp(-(float64(i) + 0.5) / fadeSteps / (cells * cells / 2))
	}
	return f
}

// describe appends the point with its description, once for each direction that is nearly as strong as the strongest, at most two.
func (l level) describe(p peak, out *[]corner) {
	for _, turn := range l.turns(p) {
		c := corner{at: point{p.x * l.scaleX, p.y * l.scaleY}, scale: (l.scaleX + l.scaleY) / 2, turn: turn}
		if l.sign(p, turn, &c.sign) {
			c.summary = summed(&c.sign)
			*out = append(*out, c)
		}
	}
}

// turns are the strongest directions of gradients around a point.
func (l level) turns(p peak) []float64 {
	const radius = turnRadius
	var h [bins]float64
	cx, cy := int(p.x), int(p.y)
	for y := max(cy-radius, 1); y <= min(cy+radius, l.dx.h-2); y++ {
		for x := max(cx-radius, 1); x <= min(cx+radius, l.dx.w-2); x++ {
			i := y*l.dx.w + x
			gx, gy := float64(l.dx.pix[i]), float64(l.dy.pix[i])
			m := gx*gx + gy*gy
			dx, dy := float64(x)+0.5-p.x, float64(y)+0.5-p.y
			d := dx*dx + dy*dy
			if m == 0 || d > radius*radius {
				continue
			}
			b := angle(gy, gx) * (bins / (2 * math.Pi))
			k := int(b)
			f := b - float64(k)
			m = math.Sqrt(m) * l.fade.turn[int(d)]
			h[k%bins] += m * (1 - f)
			h[(k+1)%bins] += m * f
		}
	}
	for range 2 { // smooth the circle
		old := h
		for i := range h {
			h[i] = (old[(i+bins-1)%bins] + 2*old[i] + old[(i+1)%bins]) / 4
		}
	}
	best, second := -1, -1
	for i, v := range h {
		if v <= h[(i+bins-1)%bins] || v < h[(i+1)%bins] {
			continue
		}
		switch {
		case best < 0 || v > h[best]:
			best, second = i, best
		case second < 0 || v > h[second]:
			second = i
		}
	}
	var out []float64
	for _, i := range []int{best, second} {
		if i >= 0 && h[i] >= 0.8*h[best] {
			f := between(float32(h[(i+bins-1)%bins]), float32(h[i]), float32(h[(i+1)%bins]))
			out = append(out, (float64(i)+f)*(2*math.Pi/bins))
		}
	}
	return out
}

// angle is the direction in 0 ≤ angle < 2π, to about a thousandth of a radian: quicker than math.Atan2, and enough for bins of ten degrees.
func angle(y, x float64) float64 {
	ax, ay := math.Abs(x), math.Abs(y)
	r := min(ax, ay) / max(ax, ay)
	a := r * (math.Pi/4 + 0.273*(1-r)) // within 0.004
	if ay > ax {
		a = math.Pi/2 - a
	}
	if x < 0 {
		a = math.Pi - a
	}
	if y < 0 {
		a = 2*math.Pi - a
	}
	if a >= 2*math.Pi {
		a = 0
	}
	return a
}

// sign fills in the description; false when there is nothing to describe.
func (l level) sign(p peak, turn float64, out *[dims]uint8) bool {
	var h [cells + 2][cells + 2][directions]float64
	s, c := math.Sincos(turn)
	const reach = cellSide * (cells + 1) / 2 * math.Sqrt2
	for y := max(int(p.y-reach), 1); y <= min(int(p.y+reach), l.dx.h-2); y++ {
		for x := max(int(p.x-reach), 1); x <= min(int(p.x+reach), l.dx.w-2); x++ {
			dx, dy := float64(x)+0.5-p.x, float64(y)+0.5-p.y
			u, v := (c*dx+s*dy)/cellSide, (c*dy-s*dx)/cellSide // in cells
			bu, bv := u+(cells+1)/2.0, v+(cells+1)/2.0         // the first cell's centre is at 1
			if bu <= 0 || bv <= 0 || bu >= cells+1 || bv >= cells+1 {
				continue
			}
			i := y*l.dx.w + x
			gx, gy := float64(l.dx.pix[i]), float64(l.dy.pix[i])
			m := gx*gx + gy*gy
			if m == 0 {
				continue
			}
			m = math.Sqrt(m) * l.fade.sign[int((u*u+v*v)*fadeSteps)]
			a := angle(gy, gx) - turn
			if a < 0 {
				a += 2 * math.Pi
			}
			a *= directions / (2 * math.Pi)
			ku, kv, ka := int(bu), int(bv), int(a)
			fu, fv, fa := bu-float64(ku), bv-float64(kv), a-float64(ka)
			a0, a1 := ka%directions, (ka+1)%directions
			for j, mv := range [2]float64{m * (1 - fv), m * fv} {
				for i, mu := range [2]float64{mv * (1 - fu), mv * fu} {
					cell := &h[kv+j][ku+i]
					cell[a0] += mu * (1 - fa)
					cell[a1] += mu * fa
				}
			}
		}
	}
	var flat [dims]float64
	n := 0
	for v := 1; v <= cells; v++ {
		for u := 1; u <= cells; u++ {
			n += copy(flat[n:], h[v][u][:])
		}
	}
	if !normalise(&flat) {
		return false
	}
	for i, v := range flat { // one strong edge must not outweigh the rest
		flat[i] = min(v, 0.2)
	}
	normalise(&flat)
	for i, v := range flat {
		out[i] = uint8(min(v*512+0.5, 255))
	}
	return true
}

func normalise(v *[dims]float64) bool {
	var sum float64
	for _, x := range v {
		sum += x * x
	}
	if sum < 1e-9 {
		return false
	}
	k := 1 / math.Sqrt(sum)
	for i := range v {
		v[i] *= k
	}
	return true
}
