package align

import (
	"math"
	"math/rand/v2"
	"slices"
)

const (
	// coarse is how far a point may be off, in pixels, to count for a first guess: perspective and depth bend a similarity.
	coarse = 12.0
	// fine is how far a point may be off to count in the end.
	fine = 3.0
	// leastPoints is how many different places must agree; leastSpread the share of the picture that they must span.
	leastPoints = 14
	leastSpread = 0.03
	// perspectivePoints is how many places a perspective transform takes: it has twice the freedom of a similarity.
	perspectivePoints = 20
)

// fit is a transform from places of the before picture to places of the after picture, and who agrees with it.
type fit struct {
	m           matrix
	perspective bool
	agree       []pair // within fine, one per place
}

// pair is one place in both pictures.
type pair struct{ p, q point }

func pairsOf(ms []match, a, b []corner) []pair {
	out := make([]pair, len(ms))
	for i, m := range ms {
		out[i] = pair{a[m.a].at, b[m.b].at}
	}
	return out
}

// consensus finds the transform that most pairs agree on. The choices are random with a fixed seed: the same pairs always
// give the same answer.
func consensus(ms []match, a, b []corner, w, h int) fit {
	pairs := pairsOf(ms, a, b)
	if len(pairs) < 4 {
		return fit{m: identity}
	}
	type guess struct {
		m     matrix
		score float64
	}
	var best []guess
	rng := rand.New(rand.NewPCG(1, uint64(len(pairs))))
	for range 3000 {
		i, j := rng.IntN(len(pairs)), rng.IntN(len(pairs))
		m, ok := fromTwo(pairs[i], pairs[j])
		if !ok || !fits(m, ms[i], a, b) || !fits(m, ms[j], a, b) {
			continue
		}
		g := guess{m, score(m, pairs)}
		at := slices.IndexFunc(best, func(o guess) bool { return g.score > o.score })
		switch {
		case at >= 0:
			best = slices.Insert(best, at, g)
		case len(best) < guesses:
			best = append(best, g)
		}
		best = best[:min(len(best), guesses)]
	}
	var out fit
	for _, g := range best {
		if f := refine(g.m, pairs, w, h); len(f.agree) > len(out.agree) {
			out = f
		}
	}
	if len(best) == 0 {
		out.m = identity
	}
	return out
}

// guesses is how many of the best first guesses are worked out.
const guesses = 6

// fromTwo is the similarity that carries two places over exactly.
func fromTwo(i, j pair) (matrix, bool) {
	p, q := j.p.sub(i.p), j.q.sub(i.q)
	n := p.x*p.x + p.y*p.y
	if n < 20*20 || q.len() < 10 {
		return identity, false
	}
	c, s := (p.x*q.x+p.y*q.y)/n, (p.x*q.y-p.y*q.x)/n
	if k := math.Hypot(c, s); k < 1/mostScale || k > mostScale {
		return identity, false
	}
	return matrix{c, -s, i.q.x - c*i.p.x + s*i.p.y, s, c, i.q.y - s*i.p.x - c*i.p.y, 0, 0, 1}, true
}

// mostScale is how much larger one picture may show the scene than the other.
const mostScale = 3

// fits reports whether the turn and the scale of a match's points are about those of the similarity.
func fits(m matrix, k match, a, b []corner) bool {
	scale, turn := math.Hypot(m[0], m[3]), math.Atan2(m[3], m[0])
	d := math.Abs(math.Remainder(b[k.b].turn-a[k.a].turn-turn, 2*math.Pi))
	s := b[k.b].scale / a[k.a].scale / scale
	return d < 0.5 && s > 0.5 && s < 2
}

// score counts the pairs that agree, near ones for more.
func score(m matrix, pairs []pair) float64 {
	var sum float64
	for _, p := range pairs {
		e := m.at(p.p).sub(p.q)
		if d := e.x*e.x + e.y*e.y; d < coarse*coarse {
			sum += 1 - d/(coarse*coarse)
		}
	}
	return sum
}

// refine works a first guess out: the tolerance shrinks while the transform gets closer, and a perspective one is taken where enough
// places support it and it explains clearly more.
func refine(m matrix, pairs []pair, w, h int) fit {
	out := fit{m: m}
	for _, tol := range []float64{coarse, coarse, 6, 4, fine, fine} {
		if next, ok := similarity(within(out.m, pairs, tol)); ok {
			out.m = next
		}
	}
	out.agree = places(within(out.m, pairs, fine))
	bent := m
	for _, tol := range []float64{coarse, coarse, coarse, 8, 6, 4, fine, fine} {
		near := places(within(bent, pairs, tol))
		if len(near) < perspectivePoints {
			return out
		}
		next, ok := perspective(near)
		if !ok || !sane(next, w, h) {
			return out
		}
		bent = next
	}
	if near := places(within(bent, pairs, fine)); len(near) >= perspectivePoints && len(near) >= len(out.agree)+4 || len(near) >= perspectivePoints && rms(bent, near) < 0.8*rms(out.m, out.agree) {
		return fit{bent, true, near}
	}
	return out
}

func within(m matrix, pairs []pair, tol float64) []pair {
	var out []pair
	for _, p := range pairs {
		if near(m.at(p.p), p.q, tol) {
			out = append(out, p)
		}
	}
	return out
}

// places drops pairs at a place that another one stands for.
func places(pairs []pair) []pair {
	var out []pair
	for _, p := range pairs {
		if !slices.ContainsFunc(out, func(o pair) bool { return near(o.p, p.p, sameSpot) || near(o.q, p.q, sameSpot) }) {
			out = append(out, p)
		}
	}
	return out
}

func rms(m matrix, pairs []pair) float64 {
	if len(pairs) == 0 {
		return math.Inf(1)
	}
	var sum float64
	for _, p := range pairs {
		e := m.at(p.p).sub(p.q)
		sum += e.x*e.x + e.y*e.y
	}
	return math.Sqrt(sum / float64(len(pairs)))
}

// spread is the share of the picture that the box around the pairs covers, without the outermost tenth of them on each side.
func spread(pairs []pair, w, h int) float64 {
	if len(pairs) == 0 {
		return 0
	}
	var xs, ys []float64
	for _, p := range pairs {
		xs, ys = append(xs, p.p.x), append(ys, p.p.y)
	}
	slices.Sort(xs)
	slices.Sort(ys)
	lo, hi := len(xs)/10, len(xs)-1-len(xs)/10
	return (xs[hi] - xs[lo]) * (ys[hi] - ys[lo]) / float64(w*h)
}

// similarity is the best one in the sense of least squares.
func similarity(pairs []pair) (matrix, bool) {
	if len(pairs) < 2 {
		return identity, false
	}
	var mp, mq point
	for _, p := range pairs {
		mp.x, mp.y, mq.x, mq.y = mp.x+p.p.x, mp.y+p.p.y, mq.x+p.q.x, mq.y+p.q.y
	}
	k := 1 / float64(len(pairs))
	mp, mq = point{mp.x * k, mp.y * k}, point{mq.x * k, mq.y * k}
	var n, c, s float64
	for _, o := range pairs {
		p, q := o.p.sub(mp), o.q.sub(mq)
		n += p.x*p.x + p.y*p.y
		c += p.x*q.x + p.y*q.y
		s += p.x*q.y - p.y*q.x
	}
	if n < 1 {
		return identity, false
	}
	c, s = c/n, s/n
	return matrix{c, -s, mq.x - c*mp.x + s*mp.y, s, c, mq.y - s*mp.x - c*mp.y, 0, 0, 1}, c*c+s*s > 1e-4
}

// perspective is the best perspective transform in the sense of least squares, in two rounds: the second weighs each place by
// its distance, so that pixels are what is minimised.
func perspective(pairs []pair) (matrix, bool) {
	if len(pairs) < 4 {
		return identity, false
	}
	tp, tq := centred(pairs, func(p pair) point { return p.p }), centred(pairs, func(p pair) point { return p.q })
	back, ok := tq.inverse()
	if !ok {
		return identity, false
	}
	m := identity
	for range 2 {
		e := newNormal(8)
		for _, o := range pairs {
			p, q := tp.at(o.p), tq.at(o.q)
			k := 1 / (m[6]*p.x + m[7]*p.y + 1)
			e.add([]float64{p.x, p.y, 1, 0, 0, 0, -q.x * p.x, -q.x * p.y, q.x}, k*k)
			e.add([]float64{0, 0, 0, p.x, p.y, 1, -q.y * p.x, -q.y * p.y, q.y}, k*k)
		}
		v, ok := e.solve()
		if !ok {
			return identity, false
		}
		m = matrix{v[0], v[1], v[2], v[3], v[4], v[5], v[6], v[7], 1}
	}
	return back.times(m).times(tp).scaled()
}

// centred moves the mean to 0 and the mean distance to about 1, so that the equations are well conditioned.
func centred(pairs []pair, of func(pair) point) matrix {
	var c point
	for _, p := range pairs {
		v := of(p)
		c.x, c.y = c.x+v.x, c.y+v.y
	}
	n := float64(len(pairs))
	c.x, c.y = c.x/n, c.y/n
	var d float64
	for _, p := range pairs {
		d += of(p).sub(c).len()
	}
	k := n / max(d, 1e-9)
	return matrix{k, 0, -k * c.x, 0, k, -k * c.y, 0, 0, 1}
}

// solve is Gauss's elimination with pivots, of n equations with the right side in the last column. It overwrites rows.
func solve(rows [][]float64) ([]float64, bool) {
	n := len(rows)
	for i := range n {
		top := i
		for j := i + 1; j < n; j++ {
			if math.Abs(rows[j][i]) > math.Abs(rows[top][i]) {
				top = j
			}
		}
		if !(math.Abs(rows[top][i]) > 1e-12) {
			return nil, false
		}
		rows[i], rows[top] = rows[top], rows[i]
		for j := i + 1; j < n; j++ {
			f := rows[j][i] / rows[i][i]
			for k := i; k <= n; k++ {
				rows[j][k] -= f * rows[i][k]
			}
		}
	}
	out := make([]float64, n)
	for i := n - 1; i >= 0; i-- {
		out[i] = rows[i][n]
		for j := i + 1; j < n; j++ {
			out[i] -= rows[i][j] * out[j]
		}
		out[i] /= rows[i][i]
	}
	return out, true
}

// normal gathers the equations of least squares for n unknowns.
type normal struct{ rows [][]float64 }

func newNormal(n int) normal {
	e := normal{make([][]float64, n)}
	for i := range e.rows {
		e.rows[i] = make([]float64, n+1)
	}
	return e
}

// add adds one equation, with its right side last, by its weight.
func (e normal) add(row []float64, weight float64) {
	for i, r := range e.rows {
		w := weight * row[i]
		for j := i; j < len(row); j++ {
			r[j] += w * row[j]
		}
	}
}

func (e normal) solve() ([]float64, bool) {
	for i := range e.rows {
		for j := range i {
			e.rows[i][j] = e.rows[j][i]
		}
	}
	return solve(e.rows)
}

// sane reports whether a transform of a picture of w*h pixels is one that a second photo could give: no mirror, no part behind the
// horizon, no scale beyond mostScale, no corner bent beyond recognition.
func sane(m matrix, w, h int) bool {
	fw, fh := float64(w), float64(h)
	var c [4]point
	for i, p := range [4]point{{0, 0}, {fw, 0}, {fw, fh}, {0, fh}} {
		if c[i] = m.at(p); math.IsNaN(c[i].x) {
			return false
		}
	}
	var area [4]float64
	for i := range c {
		a, b := c[(i+1)%4].sub(c[i]), c[(i+3)%4].sub(c[i])
		area[i] = a.x*b.y - a.y*b.x
	}
	least, most := slices.Min(area[:]), slices.Max(area[:])
	whole := fw * fh
	return least > whole/(mostScale*mostScale) && most < whole*mostScale*mostScale && most < 6*least
}
