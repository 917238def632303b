package draw

import "math"

// Coil is the evaporator with its cover off: fins and tube, the defrost heater below them, the drain trough at the foot.
type Coil struct {
	// Frost is how iced up it is, 0..1.
	Frost float64
	// New shows the heater bright and without soot.
	New bool
	// Low looks at the trough; Chipped shows a piece broken out of its rim; Iced fills it with ice.
	Low, Chipped, Iced bool
	// Look varies the tone.
	Look int
}

const (
	coilW, coilTop, coilFoot = 29.0, 40.0, 15.0
)

func (s Coil) paint(c *canvas) {
	pos, at := vec{c.rnd(-6, 6), 28, -46}, vec{0, 21, 12}
	if s.Low {
		pos, at = vec{c.rnd(-4, 4), 27, -30}, vec{3, 6, 10}
	}
	m := look(c, pos, at, 64, c.rnd(-2.5, 2.5))
	liner := []rgb{hex(0xdfe4e3), hex(0xe4e1d8), hex(0xd9dfe2)}[s.Look%3]
	c.wash(flat(liner.mul(0.7)))
	const w, d = 35.0, 16.0
	back := m.front(-w, 50, d)
	c.fill(m.polygon(vec{-w, 50, d}, vec{w, 50, d}, vec{w, 0, d}, vec{-w, 0, d}), c.mottled(&back, hex(0xb9bfbf), 6, 0.12))
	for _, x := range []float64{-w, w} {
		p := m.polygon(vec{x, 50, -20}, vec{x, 0, -20}, vec{x, 0, d}, vec{x, 50, d})
		c.fill(p, slope(m.at(vec{x, 20, -20}), liner.mul(1.02), m.at(vec{x, 20, d}), liner.mul(0.7)))
	}
	c.fill(m.polygon(vec{-w, 0, -20}, vec{w, 0, -20}, vec{w, 0, d}, vec{-w, 0, d}), slope(m.at(vec{0, 0, -20}), liner, m.at(vec{0, 0, d}), liner.mul(0.65)))
	c.soft(m.polygon(vec{-w, 3, d}, vec{w, 3, d}, vec{w, 0, d}, vec{-w, 0, d}), 26, hex(0x14191c), 0.5)
	c.soft(back.on(rect(w-coilW-1, 9, w+coilW+2, 37)), 26, hex(0x0d1114), 0.6)
	s.fins(c, &m)
	s.heater(c, &m)
	s.trough(c, &m, liner)
	if s.Frost > 0 {
		p := m.front(-coilW, coilTop, 2.6)
		c.frost(&p, rect(-1.5, -1.5, 2*coilW+1.5, coilTop-coilFoot+4), s.Frost, 2*coilW/83, func(x, y float64) float64 {
			u, v := math.Abs(x-coilW*0.85)/(coilW*1.15), (y-17)/19
			return 0.75 - 1.3*u*u*u - 1.4*v*v
		})
	}
	for i, col := range []rgb{hex(0xc8463d), hex(0xe7e2cf), hex(0x3a6fb5)} { // the harness comes down at the right
		x := 31.0 + float64(i)*0.8
		c.tube3(&m, curve3(10, vec{x, 50, 8}, vec{x + 0.5, 30, 6}, vec{x - 0.6, 20, 5}, vec{27, 13.5 - float64(i)*0.4, 4}), 0.6, col, 0.2)
	}
}

func (s Coil) fins(c *canvas, m *camera) {
	alu := hex(0xc9ced0)
	for _, y := range []float64{37.5, 31.5, 25.5, 19.5} { // tube behind and through the fins
		c.tube3(m, []vec{{-coilW - 1.5, y, 6}, {coilW + 1.5, y, 6}}, 1.3, hex(0xb5babc), 0.4)
	}
	fins := 84
	for i := range fins {
		x := -coilW + 2*coilW*float64(i)/float64(fins-1)
		bend := c.rnd(-0.05, 0.05)
		shade := float32(c.rnd(0.62, 0.95))
		p := m.polygon(vec{x - 0.11, coilTop, 2.5}, vec{x + 0.11, coilTop, 2.5}, vec{x + 0.11 + bend, coilFoot, 2.5}, vec{x - 0.11 + bend, coilFoot, 2.5})
		dark := m.polygon(vec{x + 0.11, coilTop, 2.5}, vec{x + 0.3, coilTop, 7}, vec{x + 0.3, coilFoot, 7}, vec{x + 0.11, coilFoot, 2.5})
		c.color(dark, alu.mul(0.36), 0.85)
		c.color(p, alu.mul(shade), 1)
	}
	for _, y := range []float64{37.5, 31.5, 25.5, 19.5} { // what the fins let through of the tube
		a, b := m.at(vec{-coilW, y, 2.4}), m.at(vec{coilW, y, 2.4})
		c.soft(stroke([]pt{a, b}, m.scale(vec{0, y, 2.4})*0.7), 5, hex(0xf0f3f4), 0.35)
	}
	for i := range 3 { // bends at the ends
		y0 := 37.5 - 6*float64(i)
		x, dir := coilW+1.2, 1.0
		if i%2 == 1 {
			x, dir = -coilW-1.2, -1.0
		}
		var line []vec
		for k := range 13 {
			sn, cs := math.Sincos(math.Pi/2 - math.Pi*float64(k)/12)
			line = append(line, vec{x + dir*2.6*cs, y0 - 3 + 3*sn, 4.5})
		}
		c.tube3(m, line, 1.5, hex(0xc3c8ca), 0.6)
	}
	c.tube3(m, curve3(12, vec{-coilW - 1, 37.5, 4.5}, vec{-coilW - 3, 39, 4.5}, vec{-coilW - 3.4, 44, 4.5}, vec{-coilW - 3, 50, 5}), 1.4, hex(0xb87a4a), 0.6)
}

func (s Coil) heater(c *canvas, m *camera) {
	steel := hex(0x8d857b)
	if s.New {
		steel = hex(0xd2d5d6)
	}
	for _, h := range []struct{ y, z float64 }{{12.6, 5.5}, {10.6, 2.8}} {
		c.tube3(m, []vec{{-coilW + 1, h.y, h.z}, {coilW - 1, h.y, h.z}}, 1.15, steel, 0.6)
		a, b := m.at(vec{-coilW + 2, h.y, h.z - 0.6}), m.at(vec{coilW - 2, h.y, h.z - 0.6})
		n := 90
		for i := range n {
			p := mixPt(a, b, float64(i)/float64(n))
			k := m.scale(vec{0, h.y, h.z})
			c.color(stroke([]pt{{p.x - 0.16*k, p.y - 0.34*k}, {p.x + 0.16*k, p.y + 0.34*k}}, 0.09*k), hex(0x4c4036), 0.5)
		}
	}
	var bow []vec
	for k := range 11 {
		sn, cs := math.Sincos(math.Pi/2 - math.Pi*float64(k)/10)
		bow = append(bow, vec{-coilW + 1 - 1.3*cs, 11.6 + sn, 4.1 + 1.3*sn})
	}
	c.tube3(m, bow, 1.15, steel, 0.6)
	for _, h := range []struct{ y, z float64 }{{12.6, 5.5}, {10.6, 2.8}} {
		c.tube3(m, []vec{{coilW - 2.2, h.y, h.z}, {coilW + 0.6, h.y, h.z}}, 1.9, hex(0x2c2d2f), 0.3)
	}
	for _, x := range []float64{-20, 0, 20} { // clips
		p := m.front(x-0.5, 15.6, 2.2)
		c.fill(p.on(rect(0, 0, 1, 5.6)), slope(p.at(0, 0), hex(0xe4e6e7), p.at(1, 5), hex(0x8d9396)))
	}
}

// trough is the channel below the coil, its outlet in the middle.
func (s Coil) trough(c *canvas, m *camera, liner rgb) {
	const x0, x1, z0, z1 = -30.0, 30.0, -7.0, 9.0
	white := liner.mul(1.03)
	in := func(x, z, y float64) vec { return vec{x, y, z} }
	c.soft(m.polygon(in(x0-2, z0-2, 0), in(x1+2, z0-2, 0), in(x1+2, z1, 0), in(x0-2, z1, 0)), 18, hex(0x10151a), 0.5)
	face := func(a, b, d, e vec, k0, k1 float32) {
		c.fill(m.polygon(a, b, d, e), slope(m.at(a), white.mul(k0), m.at(e), white.mul(k1)))
	}
	face(in(x0, z1, 7), in(x1, z1, 7), in(x1, z1-5, 2), in(x0, z1-5, 2), 0.95, 0.7)
	face(in(x0, z1-5, 2), in(x1, z1-5, 2), in(x1, z0+4, 2), in(x0, z0+4, 2), 0.66, 0.82)
	face(in(x0, z0, 5), in(x1, z0, 5), in(x1, z0+4, 2), in(x0, z0+4, 2), 1.0, 0.8)
	g := m.ground(2.02)
	c.soft(g.on(ellipse(3, 1, 3.4, 2.2)), 10, hex(0x0c0f11), 0.6)
	c.color(g.on(ellipse(3, 1, 2.2, 1.5)), hex(0x0b0d0e), 1)
	face(in(x0, z0, 5), in(x1, z0, 5), in(x1, z0, 0), in(x0, z0, 0), 0.98, 0.78)
	c.color(m.polygon(in(x0, z0, 5), in(x1, z0, 5), in(x1, z0, 4.6), in(x0, z0, 4.6)), hex(0xffffff), 0.8)
	// the mould's mark on the rim, and the maker's caution on the trough's front
	mark := m.front(x0, 5, z0-0.01)
	c.color(mark.on(c.text(bold, 1.3, 2, 4.2, "TR-118  >PP<  4")), white.mul(0.55), 0.9)
	c.color(mark.on(round(14.5, 1.1, 31, 4.4, 0.3)), hex(0xf7d64a), 1)
	c.color(mark.on(c.text(bold, 1.35, 15.2, 2.6, "CAUTION")), hex(0x15150f), 0.95)
	c.color(mark.on(c.text(regular, 0.95, 15.2, 3.9, "Sharp fins. Wear gloves.")), hex(0x15150f), 0.95)
	if s.Iced {
		ice := m.ground(3.4)
		c.fill(m.polygon(in(x0+1, z0+2, 3.4), in(x1-1, z0+2, 3.4), in(x1-1, z1-4, 3.4), in(x0+1, z1-4, 3.4)), glass(hex(0xd5e6ee), 0.7))
		c.frost(&ice, rect(x0+1, z0+2, x1-1, z1-4), 0.62, 0, func(_, _ float64) float64 { return 0.4 })
	}
	if s.Chipped {
		p := m.front(x0, 5, z0-0.02)
		chip(c, &p, 42, 0, 1)
	}
}
