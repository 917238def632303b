package draw

import "math"

// DamageClose is damage seen from a hand's breadth, with a rule beside it. Kind is melted (liner) or chipped (trough).
type DamageClose struct {
	Kind string
	Look int
}

func (s DamageClose) paint(c *canvas) {
	b := onBench(c, 19, 0.2)
	liner := hex(0xe3e7e6)
	p := b.lift(0)
	if s.Kind == "chipped" {
		b.wash(slope(pt{0, 0}, hex(0x596168), pt{0, float64(c.h) * 0.4}, hex(0x9aa2a5)))
		// the wall of the trough from the front, the channel's dark behind its rim
		b.soft(p.on(rect(-40, -12, 40, -3.2)), 30, hex(0x2c3338), 0.7)
		b.fill(p.on(rect(-40, -3.1, 40, 30)), slope(p.at(0, -3), hex(0xf0f2f1), p.at(0, 12), hex(0xaeb4b5)))
		b.color(p.on(rect(-40, -3.1, 40, -2.75)), hex(0xffffff), 0.85)
		b.soft(p.on(rect(-40, 7.4, 40, 9)), 30, hex(0x30383c), 0.4)
		chip(c, p, -0.6, -3.1, 2.1)
		b.ruler(-7.5, 2.6, 13, 0.1)
		return
	}
	b.wash(slope(pt{0, 0}, liner, pt{float64(c.w), float64(c.h)}, liner.mul(0.74)))
	b.soft(p.on(rect(-40, -11.2, 40, -10.2)), 30, hex(0x30383c), 0.35)
	b.soft(p.on(rect(-40, -10.4, 40, -10.1)), 12, hex(0xffffff), 0.7)
	meltPatch(c, p, 0.5, -2.2, 6.2)
	b.ruler(-7, 5.2, 14, 0.1)
}

// meltPatch is plastic that was melted, browned and blistered, with a hole burnt through: r is its size.
func meltPatch(c *canvas, w *plane, x, y, r float64) {
	t, f := c.st.lumps, c.st.fine
	ox, oy := c.rnd(0, tileSize), c.rnd(0, tileSize)
	k := 60 / r
	height := func(u, v float64) float64 {
		return float64(t.at(u*k*1.6+ox, v*k*1.6+oy))*0.7 + float64(f.at(u*k*0.9+oy, v*k*0.9+ox))*0.3
	}
	c.soft(w.on(ellipse(x+r*0.05, y+r*0.08, r*1.05, r*0.8)), 50, hex(0x8a6a3a), 0.4)
	c.fill(w.on(ellipse(x, y, r*1.25, r)), func(px, py float64) (rgb, float32) {
		q := w.back(px, py)
		dx, dy := (q.x-x)/r, (q.y-y)/(r*0.74)
		d := math.Hypot(dx, dy) + (height(q.x*0.7, q.y*0.7)-0.5)*0.75
		if d > 1.12 {
			return rgb{}, 0
		}
		h := height(q.x, q.y)
		relief := float32(height(q.x+r*0.02, q.y+r*0.03)-h) * 7
		col := hex(0x6a3f1c).mix(hex(0xb88a4e), float32(smooth(0.3, 0.62, d)))
		if d >= 0.62 {
			col = hex(0xb88a4e).mix(hex(0xe9e1cd), float32(smooth(0.62, 1, d)))
		}
		shine := float32(smooth(0.62, 0.8, h)) * 0.28
		col = col.mul(1+relief).mix(hex(0xfff6e6), shine)
		if d < 0.3 {
			col = hex(0x120b06).mix(hex(0x4a2a12), float32(smooth(0.16, 0.3, d)))
		}
		return col, float32(smooth(1.12, 0.95, d))
	})
	for i := range 5 { // runs of plastic that dripped and set
		u := x + (float64(i)-2)*r*0.24 + c.rnd(-0.05, 0.05)*r
		l := c.rnd(0.25, 0.6) * r
		y0 := y + r*0.5
		line := curve(6, w.at(u, y0), w.at(u+0.02*r, y0+l*0.5), w.at(u, y0+l))
		n := len(line)
		s := w.scale(u, y0) * r * 0.07
		c.tubeVar(line, func(i int) float64 { return s * (0.6 + 0.8*float64(i)/float64(n)) }, hex(0xb99a66), 0.5)
	}
}

// chip is a piece broken out of a rim that runs along x at y; the foam behind it shows.
func chip(c *canvas, w *plane, x, y, k float64) {
	hole := poly(pt{x - 3.4*k, y - 0.1*k}, pt{x - 2.6*k, y + 0.9*k}, pt{x - 1.7*k, y + 0.8*k}, pt{x - 1.0*k, y + 1.9*k}, pt{x + 0.1*k, y + 1.5*k},
		pt{x + 0.9*k, y + 2.3*k}, pt{x + 1.7*k, y + 1.2*k}, pt{x + 2.7*k, y + 1.0*k}, pt{x + 3.2*k, y - 0.1*k})
	c.soft(w.on(hole), 10, hex(0x1c1a16), 0.6)
	c.fill(w.on(hole), c.mottled(w, hex(0xd9b668), 22/k, 0.5))
	c.soft(w.on(poly(pt{x - 3.3*k, y - 0.2*k}, pt{x - 1.2*k, y + 1.1*k}, pt{x + 0.8*k, y + 1.2*k}, pt{x + 3*k, y - 0.2*k})), 14, hex(0x2e2007), 0.65)
	edge := hole[0]
	c.color(w.on(stroke(edge, 0.16*k)), hex(0xfbfbf7), 0.95)
	c.color(w.on(stroke(edge, 0.05*k)), hex(0x6d6f6c), 0.7)
	for i, e := range []pt{{-1.0, 1.9}, {0.9, 2.3}, {2.7, 1.0}} { // cracks run on from the corners
		a := pt{x + e.x*k, y + e.y*k}
		d := pt{(float64(i) - 0.8) * 0.7 * k, (1.5 - 0.3*float64(i)) * k}
		c.color(w.on(stroke(curve(5, a, a.add(d.mul(0.5)).add(pt{0.15 * k, 0}), a.add(d)), 0.07*k)), hex(0x4b4d4c), 0.9)
	}
}
