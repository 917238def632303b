package draw

import "math"

// Plate is a rating plate: a silver sticker inside the appliance, with serial and model number as Code 128.
type Plate struct {
	Maker, Kind, Model, Serial string
	// Lines are the ratings, such as "120 V ~ 60 Hz 6.5 A".
	Lines []string
	// Made is the date on the plate.
	Made string
	// Dark puts it on a painted steel frame instead of a white liner.
	Dark bool
	// Aside is a hurried shot: from farther off, the plate in a corner of the picture.
	Aside bool
}

func (s Plate) paint(c *canvas) {
	base, deep := hex(0xe9ebe8), hex(0xb9bfc0)
	if s.Dark {
		base, deep = hex(0x8f9498), hex(0x5c6165)
	}
	c.wash(slope(pt{0, 0}, base, pt{float64(c.w) * 0.7, float64(c.h)}, deep))
	pos, at := vec{c.rnd(-2.2, 2.2), c.rnd(-1.6, 0.2), -17}, vec{0, -0.5, 0}
	if s.Aside {
		pos, at = vec{6, c.rnd(2, 3), -21}, vec{3.2, 2.4, 0}
	}
	m := look(c, pos, at, 64, c.rnd(-4, 4))
	wall := m.plane(vec{0, 0, 0}, vec{1, 0, 0}, vec{0, -1, 0})
	// the ribs of the moulded wall, and the corner to the next wall
	for _, x := range []float64{-11.5, 10.8} {
		c.soft(wall.on(rect(x, -30, x+0.5, 30)), 26, hex(0x4a5054), 0.5)
		c.soft(wall.on(rect(x-0.7, -30, x-0.3, 30)), 14, hex(0xffffff), 0.7)
	}
	c.soft(wall.on(rect(-40, 8.2, 40, 20)), 60, hex(0x394046), 0.45)
	c.soft(wall.on(rect(-40, 7.6, 40, 7.9)), 10, hex(0xffffff), 0.6)
	s.screw(c, &wall, 9.2, -5.2)
	sheet := round(-8, -5, 8, 6.2, 0.35)
	c.soft(wall.on(round(-7.9, -4.75, 8.15, 6.4, 0.4)), 10, hex(0x20262a), 0.55)
	c.fill(wall.on(sheet), c.brushed(&wall, hex(0xd2d6d8), 0.5))
	c.color(wall.on(append(round(-7.7, -4.7, 7.7, 5.9, 0.25), reverse(round(-7.62, -4.62, 7.62, 5.82, 0.22))...)), hex(0x202428), 0.9)
	s.print(c, &wall)
	c.soft(wall.on(poly(pt{3.4, -5}, pt{5.2, -5}, pt{4.6, -3.5}, pt{3.2, -3.6})), 40, hex(0xffffff), 0.55) // the lamp in the foil
	c.scuffs(&wall, -7.5, -4.5, 7.5, 4.5, 5)
}

func (s Plate) print(c *canvas, w *plane) {
	ink := hex(0x16191c)
	put := func(p path) { c.color(w.on(p), ink, 0.93) }
	c.color(w.on(rect(-7.62, -4.62, 7.62, -3.05)), ink, 0.93)
	c.color(w.on(c.text(bold, 0.98, -7.2, -3.42, s.Maker)), hex(0xe4e7e8), 0.95)
	c.color(w.on(c.right(regular, 0.44, 7.2, -3.5, s.Kind)), hex(0xe4e7e8), 0.95)
	row := func(y float64, name, value string) {
		put(c.text(regular, 0.5, -7.2, y, name))
		put(c.text(monoBold, 0.82, -4.1, y, value))
	}
	row(-2.1, "MODEL No.", s.Model)
	row(-1.15, "SERIAL No.", s.Serial)
	y := -0.35
	for _, l := range s.Lines {
		put(c.text(regular, 0.5, -7.2, y, l))
		y += 0.62
	}
	put(c.text(regular, 0.5, 4.3, -2.1, "MFG DATE"))
	put(c.text(monoBold, 0.7, 4.3, -1.3, s.Made))
	put(bars(-6.6, 1.45, 4.6, 2.75, s.Serial))
	put(c.text(mono, 0.5, -6.6, 3.25, s.Serial))
	put(bars(-6.6, 3.75, 4.6, 4.85, s.Model))
	put(c.text(mono, 0.5, -6.6, 5.35, s.Model))
	put(c.right(regular, 0.4, 7.3, 5.5, "HOUSEHOLD USE ONLY"))
	ring := func(x, y, r float64) path {
		return append(ellipse(x, y, r, r), reverse(ellipse(x, y, r*0.86, r*0.86))...)
	}
	put(ring(6.5, 2.4, 0.62))
	put(c.centred(bold, 0.55, 6.5, 2.6, "IP0"))
}

func (s Plate) screw(c *canvas, w *plane, x, y float64) {
	c.soft(w.on(ellipse(x+0.08, y+0.12, 0.55, 0.55)), 8, hex(0x15191c), 0.7)
	a, b := w.at(x-0.5, y-0.5), w.at(x+0.5, y+0.5)
	c.fill(w.on(ellipse(x, y, 0.5, 0.5)), slope(a, hex(0xf2f3f3), b, hex(0x6d7276)))
	for _, t := range []float64{0.5, 0.5 + math.Pi/2} {
		d := pt{math.Cos(t), math.Sin(t)}.mul(0.32)
		c.color(w.on(stroke([]pt{{x - d.x, y - d.y}, {x + d.x, y + d.y}}, 0.13)), hex(0x2b2f33), 0.9)
	}
}

// reverse turns a path's direction, so that it cuts a hole.
func reverse(p path) path {
	out := make(path, len(p))
	for i, sub := range p {
		out[i] = make([]pt, len(sub))
		for j := range sub {
			out[i][j] = sub[len(sub)-1-j]
		}
	}
	return out
}

// brushed is metal with fine lines along the plane's first axis.
func (c *canvas) brushed(w *plane, col rgb, strength float32) paint {
	t := c.st.fine
	ox, oy := c.rnd(0, tileSize), c.rnd(0, tileSize)
	return func(x, y float64) (rgb, float32) {
		p := w.back(x, y)
		v := t.at(p.x*3+ox, p.y*60+oy) - 0.5
		sheen := float32(0.06 * wave(p.x*0.056+p.y*0.032))
		return col.mul(1 + v*0.18*strength + sheen), 1
	}
}

// scuffs are a few fine scratches in a box of the plane.
func (c *canvas) scuffs(w *plane, x0, y0, x1, y1 float64, n int) {
	for range n {
		a := pt{c.rnd(x0, x1), c.rnd(y0, y1)}
		b := a.add(pt{c.rnd(-1, 1), c.rnd(-0.4, 0.4)}.mul((x1 - x0) / 10))
		c.color(w.on(stroke([]pt{a, b}, (x1-x0)*0.0018)), hex(0xffffff), 0.5)
	}
}
