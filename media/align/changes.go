package align

import (
	"math"
	"slices"
)

const (
	// mostAreas is how many changed areas are named.
	mostAreas = 24
	// leastChange is the difference that is never light or noise alone (see logarithm; about 12 grey levels of a middle grey),
	// leastArea the pixels that must differ.
	leastChange = 3
	// busy is how much of the pictures' own contrast is taken off a difference.
	busy = 0.25
	// From white up and from black down the camera's scale ends.
	white, black = 249, 6
	leastArea    = 50
	// join is how near two changed areas are one, in pixels.
	join = 5
)

// changes finds where the lined-up pictures differ, both smoothed. What the light does is taken out first: a gain, an offset and
// what changes slowly (in logarithms, where light counts by its ratio). The sharper picture is blurred until both show about the
// same detail. A difference counts only when no pixel within slack has the other's value, so that edges that are off by the
// residual do not.
func changes(before, shown plane, slack int) []rectangle {
	lit, ok := shown.inTheLightOf(before)
	if !ok {
		return nil
	}
	a, lit := before.logarithm(), lit.logarithm()
	rest := newPlane(a.w, a.h)
	for i, v := range lit.pix {
		rest.pix[i] = a.pix[i] - v
	}
	for i, v := range rest.slow().pix {
		lit.pix[i] += v
	}
	for range 4 {
		f := detail(a, lit)
		if f > 1.2 {
			a = a.smooth()
		} else if f < 1/1.2 {
			lit = lit.smooth()
		}
	}
	noise := spreadOf(a, lit) / 0.6745
	lo, hi := lit.near(slack)
	wlo, whi := a.near(slack)
	out := newPlane(a.w, a.h)
	for i, v := range lit.pix {
		if lo.pix[i] != lo.pix[i] {
			continue
		}
		b := a.pix[i]
		darker, brighter := max(0, b-hi.pix[i], wlo.pix[i]-v), max(0, lo.pix[i]-b, v-whi.pix[i])
		// At the end of the scale a picture only says "at least" or "at most".
		if shown.pix[i] >= white || before.pix[i] <= black {
			darker = 0
		}
		if before.pix[i] >= white || shown.pix[i] <= black {
			brighter = 0
		}
		out.pix[i] = max(darker, brighter)
	}
	// Where both pictures are busy, edges that are a little off weigh more.
	out = out.box(2)
	da, db := a.deviation(3), lit.deviation(3)
	for i := range out.pix {
		if d := min(da.pix[i], db.pix[i]); d == d {
			out.pix[i] = max(0, out.pix[i]-busy*d)
		}
	}
	return regions(out, float32(max(leastChange, 4*noise)))
}

// logarithm is 100 for white and 0 for black; 16 grey levels above black count like the noise of a dark picture.
func (p plane) logarithm() plane {
	out := newPlane(p.w, p.h)
	k := 100 / math.Log((255+16)/16.0)
	for i, v := range p.pix {
		out.pix[i] = float32(k * math.Log(max(float64(v), 0)/16+1))
	}
	return out
}

// detail is how much more fine detail a has than b: the median over blocks of the ratio of what one more smoothing takes away.
func detail(a, b plane) float64 {
	sa, sb := a.smooth(), b.smooth()
	var ratios []float64
	for y := 0; y+blockSide <= a.h; y += blockSide {
		for x := 0; x+blockSide <= a.w; x += blockSide {
			var ea, eb float64
			for r := range blockSide {
				for i := (y+r)*a.w + x; i < (y+r)*a.w+x+blockSide; i++ {
					da, db := float64(a.pix[i]-sa.pix[i]), float64(b.pix[i]-sb.pix[i])
					ea, eb = ea+da*da, eb+db*db
				}
			}
			if ea > blockSide*blockSide/4 && eb > blockSide*blockSide/4 {
				ratios = append(ratios, math.Sqrt(ea/eb))
			}
		}
	}
	if len(ratios) < leastBlocks {
		return 1
	}
	slices.Sort(ratios)
	return ratios[len(ratios)/2]
}

// inTheLightOf returns the after picture in the light of the before picture: an offset, and a gain that may fall off to a side and
// to the corners, fitted without what has changed.
func (p plane) inTheLightOf(before plane) (lit plane, ok bool) {
	lit = p
	keep := math.Inf(1)
	kx, ky := 2/float64(p.w), 2/float64(p.h)
	var row [6]float64
	terms := func(i int) []float64 {
		v, x, y := float64(p.pix[i]), kx*float64(i%p.w)-1, ky*float64(i/p.w)-1
		row = [6]float64{v / 128, v / 128 * x, v / 128 * y, v / 128 * (x*x + y*y), 1, float64(before.pix[i])}
		return row[:]
	}
	for range 5 {
		e := newNormal(5)
		n := 0
		for i := 0; i < len(p.pix); i += 3 {
			if v := float64(p.pix[i]); v == v && math.Abs(float64(before.pix[i]-lit.pix[i])) <= keep && v < white && v > black {
				e.add(terms(i), 1)
				n++
			}
		}
		k, ok := e.solve()
		if !ok || n < 300 {
			return lit, false
		}
		lit = newPlane(p.w, p.h)
		for i := range lit.pix {
			t := terms(i)
			lit.pix[i] = float32(t[0]*k[0] + t[1]*k[1] + t[2]*k[2] + t[3]*k[3] + k[4])
		}
		keep = max(3*spreadOf(before, lit)/0.6745, 4)
	}
	return lit, true
}

// deviation is the standard deviation over the square of 2r+1 pixels around each pixel.
func (p plane) deviation(r int) plane {
	mean, square := p.box(r), newPlane(p.w, p.h)
	for i, v := range p.pix {
		square.pix[i] = v * v
	}
	square = square.box(r)
	for i, v := range square.pix {
		square.pix[i] = float32(math.Sqrt(math.Max(0, float64(v-mean.pix[i]*mean.pix[i]))))
	}
	return square
}

// spreadOf is the median of the absolute difference, from every 29th pixel.
func spreadOf(a, b plane) float64 {
	var d []float64
	for i := 0; i < len(a.pix); i += 29 {
		if v := math.Abs(float64(a.pix[i] - b.pix[i])); v == v {
			d = append(d, v)
		}
	}
	if len(d) == 0 {
		return 0
	}
	slices.Sort(d)
	return d[len(d)/2]
}

// slow is what changes slowly in a difference: medians of a coarse grid, each the median of its neighbours, with straight lines
// between. A change smaller than a few cells is not slow.
func (p plane) slow() plane {
	const nx, ny = 8, 6
	var grid, calm [ny][nx]float64
	middle := func(v []float64) float64 {
		v = slices.DeleteFunc(v, func(x float64) bool { return x != x })
		if len(v) == 0 {
			return math.NaN()
		}
		slices.Sort(v)
		return v[len(v)/2]
	}
	for j := range ny {
		for i := range nx {
			var v []float64
			for y := j * p.h / ny; y < (j+1)*p.h/ny; y += 2 {
				for x := i * p.w / nx; x < (i+1)*p.w/nx; x += 2 {
					v = append(v, float64(p.pix[y*p.w+x]))
				}
			}
			grid[j][i] = middle(v)
		}
	}
	for j := range ny {
		for i := range nx {
			var v []float64
			for y := max(j-1, 0); y <= min(j+1, ny-1); y++ {
				for x := max(i-1, 0); x <= min(i+1, nx-1); x++ {
					v = append(v, grid[y][x])
				}
			}
			if calm[j][i] = middle(v); math.IsNaN(calm[j][i]) {
				calm[j][i] = 0
			}
		}
	}
	out := newPlane(p.w, p.h)
	for y := range p.h {
		v := min(max((float64(y)+0.5)*ny/float64(p.h)-0.5, 0), ny-1)
		j := min(int(v), ny-2)
		for x := range p.w {
			u := min(max((float64(x)+0.5)*nx/float64(p.w)-0.5, 0), nx-1)
			i := min(int(u), nx-2)
			fu, fv := u-float64(i), v-float64(j)
			out.pix[y*p.w+x] = float32((calm[j][i]*(1-fu)+calm[j][i+1]*fu)*(1-fv) + (calm[j+1][i]*(1-fu)+calm[j+1][i+1]*fu)*fv)
		}
	}
	return out
}

// near returns the least and the most of the square of 2r+1 pixels around each pixel; not-a-number wins.
func (p plane) near(r int) (lo, hi plane) {
	lo, hi = newPlane(p.w, p.h), newPlane(p.w, p.h)
	midLo, midHi := newPlane(p.w, p.h), newPlane(p.w, p.h)
	for y := range p.h {
		row := p.pix[y*p.w:][:p.w]
		for x := range p.w {
			a, b := row[x], row[x]
			for _, v := range row[max(x-r, 0):min(x+r+1, p.w)] {
				a, b = min(a, v), max(b, v)
			}
			midLo.pix[y*p.w+x], midHi.pix[y*p.w+x] = a, b
		}
	}
	for y := range p.h {
		toLo, toHi := lo.pix[y*p.w:][:p.w], hi.pix[y*p.w:][:p.w]
		copy(toLo, midLo.pix[y*p.w:])
		copy(toHi, midHi.pix[y*p.w:])
		for k := max(y-r, 0); k < min(y+r+1, p.h); k++ {
			fromLo, fromHi := midLo.pix[k*p.w:][:p.w], midHi.pix[k*p.w:][:p.w]
			for x := range toLo {
				toLo[x], toHi[x] = min(toLo[x], fromLo[x]), max(toHi[x], fromHi[x])
			}
		}
	}
	return lo, hi
}

// rectangle spans pixels from (x0, y0) to before (x1, y1); weight sums the differences in it.
type rectangle struct {
	x0, y0, x1, y1 int
	weight         float64
}

// regions gathers what is above half the threshold around every pixel above it.
func regions(p plane, threshold float32) []rectangle {
	seen := make([]bool, len(p.pix))
	var out []rectangle
	var stack []int
	for start, v := range p.pix {
		if v < threshold || seen[start] {
			continue
		}
		seen[start] = true
		stack = append(stack[:0], start)
		r := rectangle{x0: p.w, y0: p.h}
		n := 0
		for len(stack) > 0 {
			i := stack[len(stack)-1]
			stack = stack[:len(stack)-1]
			x, y := i%p.w, i/p.w
			r.x0, r.y0, r.x1, r.y1 = min(r.x0, x), min(r.y0, y), max(r.x1, x+1), max(r.y1, y+1)
			r.weight += float64(p.pix[i])
			n++
			for _, d := range [4][2]int{{-1, 0}, {1, 0}, {0, -1}, {0, 1}} {
				u, v := x+d[0], y+d[1]
				if k := v*p.w + u; u >= 0 && v >= 0 && u < p.w && v < p.h && !seen[k] && p.pix[k] >= threshold/2 {
					seen[k] = true
					stack = append(stack, k)
				}
			}
		}
		if n >= leastArea {
			out = append(out, r)
		}
	}
	out = joined(out)
	slices.SortFunc(out, func(a, b rectangle) int {
		switch {
		case a.weight != b.weight:
			return int(math.Copysign(1, b.weight-a.weight))
		case a.y0 != b.y0:
			return a.y0 - b.y0
		}
		return a.x0 - b.x0
	})
	return out[:min(len(out), mostAreas)]
}

// joined makes one of rectangles that touch, or nearly.
func joined(list []rectangle) []rectangle {
	for again := true; again; {
		again = false
		for i := 0; i < len(list); i++ {
			for j := i + 1; j < len(list); j++ {
				a, b := list[i], list[j]
				if a.x0-join < b.x1 && b.x0-join < a.x1 && a.y0-join < b.y1 && b.y0-join < a.y1 {
					list[i] = rectangle{min(a.x0, b.x0), min(a.y0, b.y0), max(a.x1, b.x1), max(a.y1, b.y1), a.weight + b.weight}
					list = slices.Delete(list, j, j+1)
					j--
					again = true
				}
			}
		}
	}
	return list
}
