package draw

import "math"

// Tub is the inside of a dishwasher, seen from above its open door, with water standing in it.
type Tub struct{ Water bool }

func (s Tub) paint(c *canvas) {
	m := look(c, vec{c.rnd(-6, 6), 66, -26}, vec{0, 4, 24}, 64, c.rnd(-2, 2))
	steel := hex(0xb9bec1)
	c.wash(flat(hex(0x6f767a)))
	wall := func(a, b, d, e vec, k0, k1 float32) {
		c.fill(m.polygon(a, b, d, e), slope(m.at(a), steel.mul(k0), m.at(e), steel.mul(k1)))
	}
	const w, d = 27.0, 52.0
	wall(vec{-w, 60, d}, vec{w, 60, d}, vec{w, 0, d}, vec{-w, 0, d}, 1.1, 0.6)
	wall(vec{-w, 60, 0}, vec{-w, 60, d}, vec{-w, 0, d}, vec{-w, 0, 0}, 1.05, 0.62)
	wall(vec{w, 60, 0}, vec{w, 60, d}, vec{w, 0, d}, vec{w, 0, 0}, 0.9, 0.55)
	wall(vec{-w, 0, 0}, vec{w, 0, 0}, vec{w, 0, d}, vec{-w, 0, d}, 0.92, 0.66)
	back := m.front(-w, 60, d)
	for i := range 5 {
		c.soft(back.on(rect(4+float64(i)*10, 0, 6+float64(i)*10, 60)), 16, hex(0xffffff), 0.25)
	}
	for _, x := range []float64{-w, w} {
		c.soft(stroke([]pt{m.at(vec{x, 0, 2}), m.at(vec{x, 0, d})}, 22), 22, hex(0x14181a), 0.5)
	}
	c.soft(stroke([]pt{m.at(vec{-w, 0, d}), m.at(vec{w, 0, d})}, 22), 22, hex(0x14181a), 0.5)
	g := m.ground(0.1)
	ring := func(r float64, col rgb) { c.color(g.on(ellipse(6, 22, r, r)), col, 1) }
	ring(9.5, hex(0x7f868a))
	ring(8.8, hex(0x50575b))
	ring(7.9, hex(0x8d9598))
	for i := range 60 { // the sieve
		a := float64(i) * 2.399963
		r := 6.9 * math.Sqrt(float64(i)/60)
		c.color(g.on(ellipse(6+r*math.Cos(a), 22+r*math.Sin(a), 0.34, 0.34)), hex(0x202527), 0.9)
	}
	arm := m.ground(4)
	c.soft(g.on(rect(-21, 20, 23, 27)), 20, hex(0), 0.5)
	c.color(arm.on(rotated(round(-22, -2.2, 22, 2.2, 2), 0.22, pt{0, 24})), hex(0xc7ccce), 1)
	c.color(arm.on(rotated(round(-21.6, 0.4, 21.6, 2, 0.8), 0.22, pt{0, 24})), hex(0xeef1f2), 0.8)
	c.color(arm.on(ellipse(0, 24, 3, 3)), hex(0x9aa1a4), 1)
	c.color(arm.on(ellipse(0, 24.4, 1.8, 1.8)), hex(0xdfe3e4), 1)
	for _, u := range []float64{-18, -12, -7, 8, 13, 19} {
		q := rotated(ellipse(u, -0.6, 0.55, 0.4), 0.22, pt{0, 24})
		c.color(arm.on(q), hex(0x3b4144), 0.9)
	}
	if s.Water {
		s.water(c, &m, w, d)
	}
	s.rackAndDoor(c, &m, w, d)
}

// water stands some centimetres deep, cloudy, with scum and the window in it.
func (s Tub) water(c *canvas, m *camera, w, d float64) {
	g := m.ground(5.5)
	t, f := c.st.lumps, c.st.fine
	c.fill(m.polygon(vec{-w, 5.5, 0}, vec{w, 5.5, 0}, vec{w, 5.5, d}, vec{-w, 5.5, d}), func(x, y float64) (rgb, float32) {
		q := g.back(x, y)
		v := t.at(q.x*7, q.y*5)
		rip := f.at(q.x*5+40*float64(v), q.y*9)
		col := hex(0x6c6a55).mix(hex(0x93947f), v)
		col = col.mul(0.85 + 0.35*rip)
		a := float32(0.74)
		if rip > 0.78 {
			return hex(0xdde4dd), 0.75
		}
		return col, a
	})
	c.soft(g.on(poly(pt{-20, 30}, pt{-6, 28}, pt{-3, 44}, pt{-18, 47})), 24, hex(0xf4fbff), 0.5)
	c.soft(g.on(poly(pt{-12, 27}, pt{-11, 27}, pt{-8.4, 46}, pt{-9.4, 46})), 6, hex(0x565a50), 0.5)
	for range 70 {
		x, z := c.rnd(-w+1, w-1), c.rnd(4, d-2)
		if c.rng.IntN(3) == 0 {
			r := c.rnd(0.15, 0.7)
			c.color(g.on(append(ellipse(x, z, r, r), reverse(ellipse(x, z, r*0.8, r*0.8))...)), hex(0xf2f4ee), 0.7)
		} else {
			c.color(g.on(poly(pt{x, z}, pt{x + c.rnd(0.2, 0.9), z + 0.2}, pt{x + 0.3, z + c.rnd(0.2, 0.7)})), hex(0x4e3d20), 0.8)
		}
	}
	edge := []pt{m.at(vec{-w, 5.5, 0}), m.at(vec{-w, 5.5, d}), m.at(vec{w, 5.5, d}), m.at(vec{w, 5.5, 0})}
	c.color(stroke(edge, 4), hex(0xd5d8cd), 0.5)
}

func (s Tub) rackAndDoor(c *canvas, m *camera, w, d float64) {
	for _, x := range []float64{-w + 0.6, w - 0.6} {
		c.tube3(m, []vec{{x, 24, 2}, {x, 24, d}}, 1.6, hex(0xd4d8da), 0.5)
	}
	seal := []vec{{-w - 0.4, -1, 0}, {-w - 0.4, 44, 0}}
	c.tube3(m, seal, 2.2, hex(0x2a2c2d), 0.1)
	c.tube3(m, []vec{{w + 0.4, -1, 0}, {w + 0.4, 44, 0}}, 2.2, hex(0x2a2c2d), 0.1)
	c.tube3(m, []vec{{-w, -0.5, 0}, {w, -0.5, 0}}, 2.2, hex(0x2a2c2d), 0.1)
	c.fill(m.polygon(vec{-w, -1, -1}, vec{w, -1, -1}, vec{w, -1, -22}, vec{-w, -1, -22}), slope(m.at(vec{0, -1, -1}), hex(0xa5abae), m.at(vec{0, -1, -18}), hex(0xd8dcde)))
}

func rotated(p path, a float64, to pt) path {
	s, k := math.Sincos(a)
	out := make(path, len(p))
	for i, sub := range p {
		out[i] = make([]pt, len(sub))
		for j, v := range sub {
			out[i][j] = pt{to.x + v.x*k - v.y*s, to.y + v.x*s + v.y*k}
		}
	}
	return out
}

// Vent is a dryer's exhaust duct, seen into its end. Lint is how choked it is, 0..1.
type Vent struct{ Lint float64 }

func (s Vent) paint(c *canvas) {
	b := onBench(c, 26, 0.12)
	b.ground("wall", hex(0xcfd2cc))
	p := b.lift(0)
	b.soft(p.on(rect(-40, 9, 40, 30)), 50, hex(0x2d2e2c), 0.4)
	const r = 6.4
	b.soft(p.on(ellipse(0.9, 1.1, r+1.8, r+1.8)), 26, hex(0x0c0d0d), 0.6)
	b.fill(p.on(ellipse(0, 0, r+1.9, r+1.9)), slope(p.at(-8, -8), hex(0xf4f5f5), p.at(8, 8), hex(0x7d8486)))
	for i := range 4 {
		sn, cs := math.Sincos(float64(i)*math.Pi/2 + 0.7)
		b.fill(p.on(ellipse((r+1.2)*cs, (r+1.2)*sn, 0.42, 0.42)), flat(hex(0x6b7173)))
		b.color(p.on(rect((r+1.2)*cs-0.3, (r+1.2)*sn-0.06, (r+1.2)*cs+0.3, (r+1.2)*sn+0.06)), hex(0x25282a), 1)
	}
	n := 26
	for i := range n { // the ribbed duct runs away into the dark
		t := float64(i) / float64(n)
		w := b.m.front(0, 0, t*40)
		k := float32((1 - t) * (0.45 + 0.55*float64(i%2)))
		b.color(w.on(ellipse(0, 0, r, r)), hex(0xc3c8ca).mul(k), 1)
	}
	if s.Lint == 0 {
		return
	}
	t, f := b.st.lumps, b.st.fine
	ox := b.rnd(0, tileSize)
	for layer := range 3 {
		z := 9 - float64(layer)*4.4
		w := b.m.front(0, 0, z)
		b.fill(w.on(ellipse(0, 0, r*0.995, r*0.995)), func(x, y float64) (rgb, float32) {
			q := w.back(x, y)
			d := math.Hypot(q.x, q.y) / r
			h := t.at(q.x*17+ox+float64(layer)*90, q.y*17)*0.6 + f.at(q.x*14, q.y*14+ox)*0.4
			low := 0.25 * (q.y / r) // it lies thicker at the foot
			thick := d + low + float64(h)*0.55 - (1.28 - 0.5*s.Lint) - 0.05*float64(2-layer)
			a := smooth(0, 0.12, thick)
			if a == 0 {
				return rgb{}, 0
			}
			rel := (t.at((q.x+0.1)*17+ox+float64(layer)*90, (q.y+0.14)*17) - t.at(q.x*17+ox+float64(layer)*90, q.y*17)) * 3
			k := (0.62 + 0.14*float32(layer) + rel) * (0.9 + 0.25*f.at(q.x*60, q.y*30))
			return hex(0xa6a3a8).mix(hex(0x8f97ad), h).mul(k), float32(a)
		})
	}
	for range 130 { // fibres
		a, l := b.rnd(0, 2*math.Pi), b.rnd(0.4, 1.6)
		d := r * b.rnd(0.62, 0.98)
		q := pt{d * math.Cos(a), d * math.Sin(a)}
		e := q.add(pt{b.rnd(-l, l), b.rnd(-l, l)})
		b.color(p.on(stroke(curve(4, q, mixPt(q, e, 0.5).add(pt{b.rnd(-0.3, 0.3), b.rnd(-0.3, 0.3)}), e), 0.045)), hex(0xd9d7dc), 0.6)
	}
}

// Oven is the inside of an oven with its bake element, burnt through when Broken.
type Oven struct{ Broken bool }

func (s Oven) paint(c *canvas) {
	m := look(c, vec{c.rnd(-5, 5), 30, -34}, vec{0, 8, 26}, 64, c.rnd(-2, 2))
	enamel := hex(0x3c4a5a)
	c.wash(flat(hex(0x14181c)))
	const w, h, d = 30.0, 40.0, 46.0
	t := c.st.fine
	wall := func(o, u, v vec, k float32, ps ...vec) {
		p := m.plane(o, u, v)
		c.fill(m.polygon(ps...), func(x, y float64) (rgb, float32) {
			q := p.back(x, y)
			n := t.at(q.x*40, q.y*40)
			col := enamel.mul(k * (1 - 0.006*float32(q.y)))
			if n > 0.74 {
				col = col.mix(hex(0xaab4bd), 0.45) // the flecks of the enamel
			}
			return col, 1
		})
	}
	wall(vec{-w, h, d}, vec{1, 0, 0}, vec{0, -1, 0}, 0.95, vec{-w, h, d}, vec{w, h, d}, vec{w, 0, d}, vec{-w, 0, d})
	wall(vec{-w, h, 0}, vec{0, 0, 1}, vec{0, -1, 0}, 1.2, vec{-w, h, 0}, vec{-w, h, d}, vec{-w, 0, d}, vec{-w, 0, 0})
	wall(vec{w, h, 0}, vec{0, 0, 1}, vec{0, -1, 0}, 0.8, vec{w, h, 0}, vec{w, h, d}, vec{w, 0, d}, vec{w, 0, 0})
	wall(vec{0, 0, 0}, vec{1, 0, 0}, vec{0, 0, 1}, 1.25, vec{-w, 0, -6}, vec{w, 0, -6}, vec{w, 0, d}, vec{-w, 0, d})
	for _, x := range []float64{-w, w} {
		for _, y := range []float64{18, 27} {
			c.tube3(&m, []vec{{x, y, 3}, {x, y, d - 2}}, 0.9, hex(0x8b9196), 0.5)
		}
	}
	line := []vec{{-6, 4, d}, {-6, 4, d - 7}, {-22, 4, d - 9}, {-24, 4, d - 13}}
	line = append(line, vec{-24, 4, 12}, vec{-21, 4, 8}, vec{-10, 4, 8}, vec{-8, 4, 12}, vec{-8, 4, 28}, vec{-5, 4, 31}, vec{5, 4, 31}, vec{8, 4, 28}, vec{8, 4, 12}, vec{10, 4, 8}, vec{21, 4, 8}, vec{24, 4, 12}, vec{24, 4, d - 13}, vec{22, 4, d - 9}, vec{6, 4, d - 7}, vec{6, 4, d})
	smoothed := curve3(8, line...)
	g := m.ground(0.1)
	shadow := make([]pt, len(smoothed))
	for i, v := range smoothed {
		shadow[i] = g.at(v.x+1.2, v.z)
	}
	c.soft(stroke(shadow, 26), 14, hex(0), 0.55)
	rod := hex(0x77706a)
	if !s.Broken {
		c.tube3(&m, smoothed, 1.3, rod, 0.4)
	} else {
		cut := 8*13 + 3 // on the right limb of the loop
		c.tube3(&m, smoothed[:cut-2], 1.3, rod, 0.4)
		c.tube3(&m, smoothed[cut+3:], 1.3, rod, 0.4)
		v := smoothed[cut]
		at := m.at(v)
		k := m.scale(v)
		c.soft(ellipse(at.x, at.y, 3.4*k, 2.2*k), 30, hex(0xe9ecec), 0.28) // the scale that the arc threw about
		for _, e := range []vec{smoothed[cut-3], smoothed[cut+3]} {
			q := m.at(e)
			c.soft(ellipse(q.x, q.y, 1.1*k, 0.9*k), 12, hex(0xfff2d8), 0.7)
			c.color(ellipse(q.x, q.y, 0.75*k, 0.75*k), hex(0x1a1512), 1)
			c.color(ellipse(q.x, q.y, 0.32*k, 0.32*k), hex(0xd9cdb8), 1)
		}
		for range 26 {
			q := at.add(pt{c.rnd(-3, 3) * k, c.rnd(-1.6, 1.9) * k})
			c.color(ellipse(q.x, q.y, c.rnd(0.05, 0.22)*k, c.rnd(0.05, 0.16)*k), hex(0xd6d2c8), 0.8)
		}
	}
	for _, x := range []float64{-6, 6} {
		p := m.front(x-2, 7, d-0.4)
		c.fill(p.on(round(0, 0, 4, 5, 0.6)), slope(p.at(0, 0), hex(0xc7cbcd), p.at(4, 5), hex(0x6d7275)))
	}
	for _, x := range []float64{-17, 17} {
		c.tube3(&m, []vec{{x - 8, 2.6, 22}, {x + 8, 2.6, 22}}, 0.8, hex(0x9da2a5), 0.5)
	}
	c.soft(rect(0, 0, float64(c.w), float64(c.h)*0.16), 120, hex(0x000000), 0.5)
}
