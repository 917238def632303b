package draw

import "math"

// counterThings puts a few things of a household on the worktop.
func (s Room) counterThings(c *canvas, m *camera, x float64) {
	y, z := 91.0, float64(wallZ-26)
	g := m.ground(y)
	can := func(x, z, r, h float64, col rgb) {
		c.soft(g.on(ellipse(x+r*0.5, z, r*1.6, r*1.2)), 12, hex(0), 0.5)
		a, b := m.at(vec{x - r, y, z}), m.at(vec{x + r, y + h, z})
		body := rect(a.x, b.y, b.x, a.y)
		rx, ry := (b.x-a.x)/2, (b.x-a.x)/9
		body = append(body, ellipse((a.x+b.x)/2, a.y, rx, ry)...)
		c.fill(body, func(px, _ float64) (rgb, float32) {
			t := (px - a.x) / (b.x - a.x)
			return col.mul(float32(0.55 + 0.7*math.Sin(math.Pi*clamp(t*0.8+0.1, 0, 1)))), 1
		})
		c.color(ellipse((a.x+b.x)/2, b.y, rx, ry), col.mul(1.2), 1)
	}
	can(x, z, 6, 20, hex(0xa8492f))
	can(x+17, z+2, 5, 15, hex(0xd8d3c4))
	can(x+31, z, 4.2, 11, hex(0x4a6b4d))
	can(-x-12, z, 7.5, 17, hex(0x3e4a58))
}

func (s Room) laundry(c *canvas, m *camera, lo, hi vec) {
	// the partner appliance on one side, a shelf above, a pipe box between
	side := 1.0
	if s.Look%2 == 1 {
		side = -1
	}
	x0 := hi.x + 4
	if side < 0 {
		x0 = lo.x - 4 - 68
	}
	other := s
	other.Unit = "washer"
	if s.Unit == "washer" {
		other.Unit = "dryer"
	}
	g := m.ground(0)
	c.soft(g.on(rect(x0-3, lo.z-14, x0+71, lo.z+4)), 26, hex(0), 0.6)
	other.drum(c, m, vec{x0, 0, lo.z}, vec{x0 + 68, 98, wallZ}, hex(0xf2f2ef))
	box := m.front(-8, 138, wallZ-0.3)
	c.color(box.on(rect(0, 0, 22, 20)), hex(0x8f9395), 1)
	c.color(box.on(rect(1.5, 1.5, 20.5, 18.5)), hex(0xd2d4d3), 1)
	for i, col := range []rgb{hex(0xb03a2e), hex(0x2e5fa8)} {
		c.tube([]pt{box.at(6+float64(i)*9, 10), box.at(6+float64(i)*9, 30)}, box.scale(6, 10)*2, hex(0x9a9d9e), 0.4)
		c.color(box.on(round(4+float64(i)*9, 6, 8+float64(i)*9, 10, 1)), col, 1)
	}
	shelf := m.front(-130, 172, wallZ-28)
	c.soft(m.polygon(vec{-130, 168, wallZ}, vec{130, 168, wallZ}, vec{130, 150, wallZ}, vec{-130, 150, wallZ}), 24, hex(0x1b150e), 0.4)
	c.box(m, vec{-130, 168, wallZ - 28}, vec{130, 171, wallZ}, c.planks(&shelf, hex(0xb98d5c), 3), hex(0x8d6a43))
	s.boxes(c, m, -110, 171, wallZ-24, 6)
}

// boxes is a row of cartons and bottles on a board.
func (s Room) boxes(c *canvas, m *camera, x, y, z float64, n int) {
	cols := []rgb{hex(0xd9a441), hex(0x3e7cae), hex(0xe8e3d6), hex(0xa34b3f), hex(0x6f8f5a), hex(0xb08a63)}
	for i := range n {
		w, h := c.rnd(14, 26), c.rnd(14, 30)
		col := cols[(i+s.Look)%len(cols)]
		p := m.front(x, y+h, z)
		c.box(m, vec{x, y, z}, vec{x + w, y + h, z + 18}, c.sheen(&p, col, h, 0), col.mul(0.6))
		c.color(p.on(rect(w*0.15, h*0.3, w*0.85, h*0.55)), hex(0xf5f3ea), 0.85)
		c.color(p.on(rect(w*0.22, h*0.38, w*0.7, h*0.45)), col.mul(0.5), 0.8)
		x += w + c.rnd(3, 12)
	}
}

func (s Room) shelves(c *canvas, m *camera, x float64) {
	post := hex(0x4d5a66)
	for _, y := range []float64{24, 74, 124, 174} {
		p := m.front(x, y+3, wallZ-45)
		c.soft(m.polygon(vec{x, y, wallZ - 1}, vec{x + 120, y, wallZ - 1}, vec{x + 120, y - 20, wallZ - 1}, vec{x, y - 20, wallZ - 1}), 26, hex(0), 0.4)
		c.box(m, vec{x, y, wallZ - 45}, vec{x + 120, y + 3, wallZ - 2}, c.planks(&p, hex(0xa98a5f), 3), hex(0x7d6646))
		s.boxes(c, m, x+5, y+3, wallZ-40, 4)
	}
	for _, px := range []float64{x, x + 118} {
		p := m.front(px, 190, wallZ-46)
		c.fill(p.on(rect(0, 0, 3, 190)), c.sheen(&p, post, 190, 0))
	}
	// a folded ladder leans on the other side
	a := -x - 18
	for _, d := range []float64{0, 34} {
		c.tube3(m, []vec{{a + d, 0, wallZ - 30}, {a + d, 210, wallZ - 4}}, 3.2, hex(0xb9bdbf), 0.4)
	}
	for i := range 7 {
		t := float64(i+1) / 8
		y, z := 210*t, lerp(wallZ-30, wallZ-4, t)
		c.tube3(m, []vec{{a, y, z}, {a + 34, y, z}}, 2.4, hex(0xb9bdbf), 0.4)
	}
}

// floorThings is what lies before the unit: a drop cloth's corner, a few scratches, a torch.
func (s Room) floorThings(c *canvas, m *camera, lo vec) {
	g := m.ground(0)
	if s.Wet {
		c.soft(g.on(ellipse(-26, lo.z-30, 24, 9)), 20, hex(0x30343a), 0.35)
		c.soft(g.on(ellipse(-30, lo.z-32, 9, 3)), 8, hex(0xffffff), 0.4) // water catches the light
	}
	for range 7 {
		a := pt{c.rnd(-50, 50), lo.z - c.rnd(12, 80)}
		c.color(g.on(stroke([]pt{a, a.add(pt{c.rnd(-9, 9), c.rnd(-5, 5)})}, 0.25)), hex(0x2b2119), 0.45)
	}
	z := lo.z - 62
	c.soft(g.on(rect(23, z-3, 45, z+3)), 10, hex(0), 0.6)
	c.tube3(m, []vec{{22, 2, z}, {40, 2, z + 3}}, 4, hex(0x24282c), 0.4)
	c.tube3(m, []vec{{40, 2.2, z + 3}, {45, 2.2, z + 3.8}}, 5.6, hex(0x2d3236), 0.5)
}
