package align

import (
	"math"

	"kickplate/media/measure"
)

// Align lines the after photo up with the before photo of the same scene. It takes any pixels and never panics; time and memory
// are bounded by the size of the views.
func Align(before, after Picture) Result {
	second := make(chan *Looked, 1)
	go func() { second <- Look(after) }()
	return Look(before).Align(<-second)
}

// Looked is a picture with its points, to be lined up with several others. It never changes.
type Looked struct {
	picture Picture
	small   measure.Grey // empty = too small
	points  []corner
}

// Look finds the points of a picture.
func Look(p Picture) *Looked {
	l := &Looked{picture: p}
	if p.View.Empty() {
		return l
	}
	if g := working(p.View); min(g.W, g.H) >= leastSide {
		l.small, l.points = g, corners(g)
	}
	return l
}

// Align lines the after photo up with this one; see the function Align.
func (before *Looked) Align(after *Looked) Result {
	a, b := before.small, after.small
	switch {
	case a.Empty():
		return Result{Why: TooSmall, Which: "before"}
	case b.Empty():
		return Result{Why: TooSmall, Which: "after"}
	}
	f := consensus(matches(before.points, after.points), before.points, after.points, a.W, a.H)
	if len(f.agree) < leastPoints || spread(f.agree, a.W, a.H) < leastSpread || !sane(f.m, a.W, a.H) {
		return tooFew(before.picture.View, after.picture.View, len(before.points), len(after.points), len(f.agree))
	}
	return lineUp(before.picture, after.picture, a, b, f)
}

// tooFew says why few points agree.
func tooFew(before, after measure.Grey, na, nb, agree int) Result {
	r := Result{Why: FewPoints, Points: agree}
	for _, s := range []struct {
		name string
		g    measure.Grey
		n    int
	}{{"before", before, na}, {"after", after, nb}} {
		sharp, dark, _ := measure.Measure(s.g.Working()).Judge()
		switch {
		case dark == measure.Yes:
			return Result{Why: TooDark, Which: s.name, Points: agree}
		case sharp == measure.No:
			return Result{Why: Blurred, Which: s.name, Points: agree}
		case s.n < 3*leastPoints:
			return Result{Why: TooPlain, Which: s.name, Points: agree}
		}
	}
	return r
}

// lineUp is the second gate and everything that follows it.
func lineUp(before, after Picture, a, b measure.Grey, f fit) Result {
	pa, pb := planeOf(a).smooth(), planeOf(b).smooth()
	pa, pb = levelled(pa, pb, scaleOf(f.m, a.W, a.H))
	ra, rb := pa.relief(), pb.relief()
	m := f.m
	for range 2 {
		blocks, _ := compare(ra, rb, m)
		m = settle(m, f.perspective, blocks, a.W, a.H)
	}
	blocks, overlap := compare(ra, rb, m)
	agreement, residual := judge(blocks)
	r := Result{Points: len(f.agree), Agreement: agreement, Overlap: overlap, Model: "similarity"}
	if f.perspective {
		r.Model = "perspective"
	}
	back, ok := m.inverse()
	if !ok || !sane(m, a.W, a.H) || overlap < leastOverlap || agreement < leastAgreement || agreement*float64(len(blocks)) < leastBlocks {
		r.Why = Disagree
		return r
	}
	r.Aligned = true
	bw, bh := size(before)
	aw, ah := size(after)
	toBefore := scaling(bw/float64(a.W), bh/float64(a.H))
	toView := scaling(float64(b.W)/aw, float64(b.H)/ah)
	full, _ := toBefore.times(back).times(toView).scaled()
	r.Transform = full
	r.Residual = residual * bw / float64(a.W)
	for i, p := range [4]point{{0, 0}, {aw, 0}, {aw, ah}, {0, ah}} {
		q := full.at(p)
		r.Outline[i] = Place{thousandths(q.x, bw), thousandths(q.y, bh)}
	}
	for _, c := range changes(pa, pb.warpNaN(m, a.W, a.H), 1+int(math.Ceil(residual))) {
		x0, y0 := c.x0*1000/a.W, c.y0*1000/a.H
		r.Changed = append(r.Changed, Area{x0, y0, (c.x1*1000+a.W-1)/a.W - x0, (c.y1*1000+a.H-1)/a.H - y0})
	}
	return r
}

// levelled blurs the picture that shows the scene larger, so that both show the same detail.
func levelled(a, b plane, scale float64) (plane, plane) {
	for s := scale; s > 1.3; s /= math.Sqrt2 {
		b = b.smooth()
	}
	for s := 1 / scale; s > 1.3; s /= math.Sqrt2 {
		a = a.smooth()
	}
	return a, b
}

func size(p Picture) (w, h float64) {
	if p.Width <= 0 || p.Height <= 0 {
		return float64(p.View.W), float64(p.View.H)
	}
	return float64(p.Width), float64(p.Height)
}

// thousandths is a place along a side; far outside the photo it is cut.
func thousandths(v, side float64) int {
	if math.IsNaN(v) {
		return -10_000
	}
	return int(math.Round(min(max(1000*v/side, -10_000), 10_000)))
}
