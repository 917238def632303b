package draw

import "math"

// Room is an appliance where it stands, seen from a few steps away.
type Room struct {
	// Unit is refrigerator, freezer, dishwasher, washer, dryer or range.
	Unit string
	// Place is kitchen, laundry or garage.
	Place string
	Maker string
	// Look chooses among colours of room and unit, 0..3.
	Look int
	// Low looks down at the floor in front of the unit.
	Low bool
	// Near is a step closer.
	Near bool
	// Wet leaves water on the floor.
	Wet bool
}

type decor struct{ wall, floor, joint, front, cabinet, top rgb }

func (s Room) decor() decor {
	sets := []decor{
		{hex(0xd9d3c3), hex(0xb9a58c), hex(0x8c7f70), hex(0xc4c8ca), hex(0xefece4), hex(0x5b5650)},
		{hex(0xbfcdd0), hex(0xa9743f), hex(0x6d4726), hex(0xf0f0ec), hex(0x6f8a8d), hex(0xb9a98c)},
		{hex(0xe4dcc9), hex(0x8f8f8a), hex(0x6c6c68), hex(0x33373a), hex(0xb98a58), hex(0xd8d5cc)},
		{hex(0xd5d9c8), hex(0xc9c2b2), hex(0x9d9789), hex(0xe8e6df), hex(0xf4f2ec), hex(0x7d6f5d)},
	}
	return sets[s.Look%len(sets)]
}

const wallZ = 330 // the wall behind the appliances

func (s Room) paint(c *canvas) {
	d := s.decor()
	at, pos := vec{0, 90, wallZ}, vec{c.rnd(-38, 38), 146, 38}
	w, h, deep := s.size()
	switch {
	case s.Low:
		pos, at = vec{c.rnd(-30, 30), 150, 90}, vec{0, 4, wallZ - deep}
	case s.Unit != "refrigerator" && s.Unit != "freezer" && !s.Near:
		pos, at = vec{c.rnd(-38, 38), 138, 60}, vec{0, 78, wallZ - deep}
	case s.Near:
		pos, at = vec{c.rnd(-30, 30), h*0.6 + 55, 95}, vec{0, h * 0.52, wallZ - deep}
	}
	m := look(c, pos, at, 66, c.rnd(-1.5, 1.5))
	s.shell(c, &m, d)
	lo, hi := vec{-w / 2, 0, wallZ - deep}, vec{w / 2, h, wallZ}
	s.neighbours(c, &m, d, lo, hi)
	g := m.ground(0)
	c.soft(g.on(rect(lo.x-4, lo.z-16, hi.x+4, lo.z+4)), 26, hex(0x0d0b09), 0.62)
	switch s.Unit {
	case "dishwasher":
		s.dishwasher(c, &m, lo, hi, d)
	case "washer", "dryer":
		s.drum(c, &m, lo, hi, hex(0xeeefee))
	case "range":
		s.rangeFront(c, &m, lo, hi, d)
	default:
		s.fridge(c, &m, lo, hi, d)
	}
	if s.Low {
		s.floorThings(c, &m, lo)
	}
}

func (s Room) size() (w, h, deep float64) {
	switch s.Unit {
	case "dishwasher":
		return 60, 86, 60
	case "washer", "dryer":
		return 69, 98, 70
	case "range":
		return 76, 91, 64
	case "freezer":
		return 71, 165, 72
	}
	return 84, 176, 76
}

func (s Room) shell(c *canvas, m *camera, d decor) {
	wall := m.front(-400, 290, wallZ)
	c.fill(m.polygon(vec{-400, 290, wallZ}, vec{400, 290, wallZ}, vec{400, 0, wallZ}, vec{-400, 0, wallZ}), c.mottled(&wall, d.wall, 1.5, 0.06))
	if s.Place == "garage" {
		c.fill(m.polygon(vec{-400, 290, wallZ}, vec{400, 290, wallZ}, vec{400, 0, wallZ}, vec{-400, 0, wallZ}), c.blocks(&wall, hex(0xb4b2ab)))
	}
	c.color(m.polygon(vec{-400, 290, wallZ}, vec{400, 290, wallZ}, vec{400, 290, -100}, vec{-400, 290, -100}), hex(0xf1efe8), 1)
	g := m.ground(0)
	far := m.polygon(vec{-400, 0, wallZ}, vec{400, 0, wallZ}, vec{400, 0, -60}, vec{-400, 0, -60})
	switch {
	case s.Place == "garage":
		c.fill(far, c.mottled(&g, hex(0x97948c), 2.2, 0.3))
	case s.Look%2 == 1:
		c.fill(far, c.planks(&g, d.floor, 13))
	default:
		c.fill(far, c.tiles(&g, d.floor, d.joint, 31, 0.8))
	}
	// light from a window falls on the floor
	c.soft(g.on(poly(pt{-150, 60}, pt{-60, 40}, pt{20, 190}, pt{-90, 220})), 40, hex(0xfff6df), 0.22)
	c.soft(m.polygon(vec{-400, 0, wallZ}, vec{400, 0, wallZ}, vec{400, 0, wallZ - 14}, vec{-400, 0, wallZ - 14}), 30, hex(0x15110d), 0.5)
	c.color(m.polygon(vec{-400, 9, wallZ}, vec{400, 9, wallZ}, vec{400, 0, wallZ}, vec{-400, 0, wallZ}), hex(0xece8dd), 1)
	c.color(m.polygon(vec{-400, 9.6, wallZ}, vec{400, 9.6, wallZ}, vec{400, 9, wallZ}, vec{-400, 9, wallZ}), hex(0x8f8a7e), 0.6)
}

// blocks is a wall of concrete blocks in running bond.
func (c *canvas) blocks(w *plane, col rgb) paint {
	t := c.st.fine
	return func(x, y float64) (rgb, float32) {
		p := w.back(x, y)
		j := math.Floor(p.y / 20)
		px := p.x + 40*frac(j/2)
		i := math.Floor(px / 40)
		edge := math.Min(math.Min(px-i*40, i*40+40-px), math.Min(p.y-j*20, j*20+20-p.y))
		k := 0.72 + 0.28*float32(smooth(0.3, 1.1, edge))
		return col.mul(k * (1 + 0.2*(t.at(p.x*9, p.y*9)-0.5))), 1
	}
}

func (s Room) neighbours(c *canvas, m *camera, d decor, lo, hi vec) {
	switch s.Place {
	case "laundry":
		s.laundry(c, m, lo, hi)
		return
	case "garage":
		s.shelves(c, m, hi.x+24)
		return
	}
	splash := m.front(-300, 142, wallZ-0.2)
	c.fill(m.polygon(vec{-300, 142, wallZ - 0.2}, vec{300, 142, wallZ - 0.2}, vec{300, 92, wallZ - 0.2}, vec{-300, 92, wallZ - 0.2}),
		c.tiles(&splash, d.wall.mix(hex(0xffffff), 0.55), d.wall.mul(0.8), 10, 0.3))
	base := func(x0, x1 float64) {
		front := m.front(x0, 87, wallZ-60)
		c.box(m, vec{x0, 10, wallZ - 60}, vec{x1, 87, wallZ}, c.sheen(&front, d.cabinet, 77, 0), d.cabinet.mul(0.75))
		c.color(m.polygon(vec{x0, 10, wallZ - 55}, vec{x1, 10, wallZ - 55}, vec{x1, 0, wallZ - 55}, vec{x0, 0, wallZ - 55}), hex(0x2a2724), 1)
		c.doors(&front, x1-x0, 77, 45, d.cabinet)
		top := m.front(x0, 91, wallZ-63)
		c.box(m, vec{x0, 87, wallZ - 63}, vec{x1, 91, wallZ}, c.mottled(&top, d.top, 8, 0.3), d.top.mul(0.95))
	}
	upper := func(x0, x1, bottom float64) {
		front := m.front(x0, 222, wallZ-34)
		c.soft(m.polygon(vec{x0, bottom, wallZ}, vec{x1, bottom, wallZ}, vec{x1, bottom - 24, wallZ}, vec{x0, bottom - 24, wallZ}), 30, hex(0x1a1610), 0.4)
		c.box(m, vec{x0, bottom, wallZ - 34}, vec{x1, 222, wallZ}, c.sheen(&front, d.cabinet, 80, 0), d.cabinet.mul(0.7))
		c.doors(&front, x1-x0, 222-bottom, 40, d.cabinet)
	}
	upper(-240, lo.x-3, 142)
	upper(hi.x+3, 240, 142)
	base(-240, lo.x-1.2)
	base(hi.x+1.2, 240)
	if hi.y > 120 {
		upper(lo.x-2, hi.x+2, 186)
	} else {
		upper(lo.x-2, hi.x+2, 142)
		if s.Unit == "dishwasher" {
			top := m.front(lo.x-2, 91, wallZ-63)
			c.box(m, vec{lo.x - 2, 87, wallZ - 63}, vec{hi.x + 2, 91, wallZ}, c.mottled(&top, d.top, 8, 0.3), d.top.mul(0.95))
		}
	}
	s.counterThings(c, m, hi.x+40)
}

// doors draws the joints, panels and handles of a cupboard front.
func (c *canvas) doors(w *plane, width, height, each float64, col rgb) {
	n := max(1, int(width/each+0.5))
	step := width / float64(n)
	for i := range n {
		x0, x1 := float64(i)*step+0.4, float64(i+1)*step-0.4
		c.color(w.on(rect(x1, 0, x1+0.8, height)), hex(0x201c18), 0.6)
		panel := rect(x0+5, 5, x1-5, height-5)
		c.color(w.on(append(rect(x0+4, 4, x1-4, height-4), reverse(panel)...)), col.mul(0.84), 0.8)
		c.color(w.on(append(rect(x0+4.4, 4.6, x1-4, height-4), reverse(rect(x0+5, 5, x1-4, height-4))...)), col.mul(0.6), 0.8)
		hx := x0 + 2.2
		if i%2 == 0 {
			hx = x1 - 2.2
		}
		hy := 12.0
		if height > 78 {
			hy = height - 12
		}
		c.tube([]pt{w.at(hx, hy-6), w.at(hx, hy+6)}, w.scale(hx, hy)*1.3, hex(0xa7a9a8), 0.5)
	}
}
