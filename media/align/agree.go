package align

import "math"

const (
	// blockSide is the side of the blocks that are compared after lining up, in pixels; reach how far one may look for a better place.
	blockSide = 24
	reach     = 3
	// alike is the correlation from which a block counts as showing the same.
	alike = 0.6
	// steep is how much the correlation must fall off in every direction for a block's place to be firm.
	steep = 0.03
	// leastAgreement is the share of the blocks that must look the same, leastBlocks how many, leastOverlap the share of
	// the before picture that must be covered.
	leastAgreement = 0.45
	leastBlocks    = 8
	leastOverlap   = 0.15
)

// block is one block of the before picture and what was found for it in the after picture.
type block struct {
	centre point
	shift  point // where it fits best
	like   float64
	// firm says that it fits nowhere else nearby, so that shift means something: not so along a lone edge.
	firm bool
}

// relief takes the slow changes of light out of a picture: what is left is edges and texture.
func (p plane) relief() plane {
	mean, out := p.box(blockSide/2), newPlane(p.w, p.h)
	for i, v := range p.pix {
		out.pix[i] = v - mean.pix[i]
	}
	return out
}

// compare lines the pictures up by m and compares them block by block. Blocks that have nothing to tell
// apart in either picture, or only a straight edge, are left out. Both are reliefs.
func compare(before, after plane, m matrix) (blocks []block, overlap float64) {
	shown := after.warpNaN(m, before.w, before.h)
	covered := 0
	for _, v := range shown.pix {
		if v == v {
			covered++
		}
	}
	overlap = float64(covered) / float64(len(shown.pix))
	least := max(2, 0.25*before.contrast())
	for y := reach; y+blockSide+reach <= before.h; y += blockSide {
		for x := reach; x+blockSide+reach <= before.w; x += blockSide {
			if b, ok := compareBlock(before, shown, x, y, least); ok {
				blocks = append(blocks, b)
			}
		}
	}
	return blocks, overlap
}

// warpNaN is warp with not-a-number outside.
func (p plane) warpNaN(m matrix, w, h int) plane {
	out := newPlane(w, h)
	nan := float32(math.NaN())
	for y := range h {
		for x := range w {
			q := m.at(point{float64(x) + 0.5, float64(y) + 0.5})
			v, ok := p.at(q.x, q.y)
			if !ok {
				v = nan
			}
			out.pix[y*w+x] = v
		}
	}
	return out
}

func (p plane) contrast() float64 {
	var sum float64
	for _, v := range p.pix {
		sum += float64(v) * float64(v)
	}
	return math.Sqrt(sum / float64(len(p.pix)))
}

// compareBlock climbs from the place itself to where the correlation is highest.
func compareBlock(before, shown plane, x, y int, least float64) (block, bool) {
	var tried [2*reach + 1][2*reach + 1]float64
	like := func(dx, dy int) float64 {
		t := &tried[dy+reach][dx+reach]
		if *t == 0 {
			*t = correlation(before, shown, x, y, dx, dy, least)
		}
		return *t
	}
	best := like(0, 0)
	if math.IsNaN(best) || best == plain || max(before.bend(x, y), shown.bend(x, y)) < leastBend {
		return block{}, false
	}
	cx, cy := 0, 0
	for moved := true; moved; {
		moved = false
		for dy := max(cy-1, -reach); dy <= min(cy+1, reach); dy++ {
			for dx := max(cx-1, -reach); dx <= min(cx+1, reach); dx++ {
				if v := like(dx, dy); v > best {
					best, cx, cy, moved = v, dx, dy, true
				}
			}
		}
	}
	b := block{centre: point{float64(x) + blockSide/2, float64(y) + blockSide/2}, shift: point{float64(cx), float64(cy)}, like: best}
	if cx > -reach && cx < reach && cy > -reach && cy < reach {
		b.firm = true
		for _, d := range [4][2]int{{1, 0}, {0, 1}, {1, 1}, {1, -1}} {
			l, r := like(cx-d[0], cy-d[1]), like(cx+d[0], cy+d[1])
			b.firm = b.firm && best-(l+r)/2 > steep
		}
		b.shift.x += top(like(cx-1, cy), best, like(cx+1, cy))
		b.shift.y += top(like(cx, cy-1), best, like(cx, cy+1))
	}
	return b, true
}

// leastBend is what a block with more than one straight edge in it has at least.
const leastBend = 0.5

// bend is the smaller eigenvalue of the structure tensor of a block, per pixel: near 0 on a plain and along a straight edge, which look
// alike in any two pictures. What is almost an edge (a twenty-fifth of the larger one) counts as one.
func (p plane) bend(x, y int) float64 {
	var xx, xy, yy float64
	for r := y + 1; r < y+blockSide-1; r++ {
		for i := r*p.w + x + 1; i < r*p.w+x+blockSide-1; i++ {
			dx, dy := float64(p.pix[i+1]-p.pix[i-1])/2, float64(p.pix[i+p.w]-p.pix[i-p.w])/2
			xx, xy, yy = xx+dx*dx, xy+dx*dy, yy+dy*dy
		}
	}
	const n = (blockSide - 2) * (blockSide - 2)
	mid, d := (xx+yy)/2/n, math.Hypot((xx-yy)/2, xy)/n
	if mid-d < (mid+d)/25 {
		return 0
	}
	return mid - d
}

// top is where the parabola through three correlations has its top, or the middle when one is missing.
func top(a, b, c float64) float64 {
	if math.IsNaN(a) || math.IsNaN(c) || a <= plain || c <= plain {
		return 0
	}
	return between(float32(a), float32(b), float32(c))
}

// plain stands for a block without texture in both pictures.
const plain = -2

// correlation is the normalised one of two blocks, -1..1; plain when neither has texture; NaN where the after picture shows nothing.
func correlation(before, shown plane, x, y, dx, dy int, least float64) float64 {
	var a, b, aa, bb, ab float32
	for r := range blockSide {
		p := before.pix[(y+r)*before.w+x:][:blockSide]
		q := shown.pix[(y+dy+r)*shown.w+x+dx:][:blockSide]
		for i, v := range p {
			w := q[i]
			a += v
			b += w
			aa += v * v
			bb += w * w
			ab += v * w
		}
	}
	const n = blockSide * blockSide
	if b != b {
		return math.NaN()
	}
	va, vb := float64(aa-a*a/n)/n, float64(bb-b*b/n)/n
	if va < least*least && vb < least*least {
		return plain
	}
	return min(max(float64(ab-a*b/n)/n/math.Sqrt(max(va*vb, 1e-6)), -1), 1)
}

// settle moves the transform to where the blocks fit best.
func settle(m matrix, bent bool, blocks []block, w, h int) matrix {
	var pairs, firm []pair
	for _, b := range blocks {
		if b.like < alike {
			continue
		}
		p := pair{b.centre, m.at(point{b.centre.x + b.shift.x, b.centre.y + b.shift.y})}
		pairs = append(pairs, p)
		if b.firm {
			firm = append(firm, p)
		}
	}
	if len(firm) >= 2*perspectivePoints {
		pairs = firm
	}
	for _, tol := range []float64{reach + 1, 2} {
		near := within(m, pairs, tol*scaleOf(m, w, h))
		next, ok := similarity(near)
		if bent {
			if len(near) < perspectivePoints {
				return m
			}
			next, ok = perspective(near)
		}
		if !ok || !sane(next, w, h) {
			return m
		}
		m = next
	}
	return m
}

// scaleOf is how many pixels of the after picture one of the before picture is, in the middle.
func scaleOf(m matrix, w, h int) float64 {
	x, y := float64(w)/2, float64(h)/2
	o, a, b := m.at(point{x, y}), m.at(point{x + 1, y}), m.at(point{x, y + 1})
	a, b = a.sub(o), b.sub(o)
	return math.Sqrt(math.Abs(a.x*b.y - a.y*b.x))
}

// judge sums the blocks up: the share that look the same, and how far the firm ones of these are off.
func judge(blocks []block) (agreement, residual float64) {
	n, firm := 0, 0
	for _, b := range blocks {
		if b.like < alike {
			continue
		}
		n++
		if b.firm {
			firm++
			residual += b.shift.x*b.shift.x + b.shift.y*b.shift.y
		}
	}
	if firm == 0 {
		return 0, 0
	}
	return float64(n) / float64(len(blocks)), math.Sqrt(residual / float64(firm))
}
