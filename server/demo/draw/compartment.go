package draw

import "math"

// Compartment is a look into a refrigerator or freezer with the door open.
type Compartment struct {
	// Freezer has a panel with slots at the back and frozen food; otherwise glass shelves.
	Freezer bool
	// Frost on the panel, 0..1.
	Frost float64
	// Display stands a thermometer in front that shows this, such as "46.2"; Unit is °F or °C.
	Display, Unit string
	// Empty leaves the food out.
	Empty bool
	// Melted shows a melted place in the liner, on the left wall.
	Melted bool
	// Look varies tone and contents.
	Look int
}

// The inside, in centimetres.
const (
	inW, inH, inD = 34.0, 46.0, 44.0 // half width, height, depth
)

func (s Compartment) paint(c *canvas) {
	pos, at := vec{c.rnd(-7, 7), 29, -42}, vec{0, 21, 40}
	if s.Melted {
		pos, at = vec{14, 30, -30}, vec{-12, 17, 32}
	}
	if s.Display != "" {
		pos, at = vec{c.rnd(-4, 4), 26, -26}, vec{c.rnd(-3, 3), 18, 30}
	}
	m := look(c, pos, at, 66, c.rnd(-2, 2))
	liner := []rgb{hex(0xe6eaea), hex(0xdfe2dd), hex(0xe9e6de)}[s.Look%3]
	s.walls(c, &m, liner)
	if s.Freezer {
		s.panel(c, &m, liner)
	} else {
		s.shelves(c, &m, liner)
	}
	if s.Melted {
		p := m.side(-inW+0.05, inH, 0)
		meltPatch(c, &p, 21, 33, 7.5)
	}
	if s.Freezer && !s.Empty {
		s.frozen(c, &m)
	}
	if s.Display != "" {
		s.thermometer(c, &m)
	}
	// the seal of the door's frame at both sides
	for _, x := range []float64{-inW - 3, inW} {
		c.fill(m.polygon(vec{x, -6, 0}, vec{x + 3, -6, 0}, vec{x + 3, inH + 6, 0}, vec{x, inH + 6, 0}), flat(liner.mul(0.86)))
	}
}

func (s Compartment) walls(c *canvas, m *camera, liner rgb) {
	quad := func(a, b, d, e vec, ca, cb rgb) {
		c.fill(m.polygon(a, b, d, e), slope(m.at(a), ca, m.at(e), cb))
	}
	c.wash(flat(liner.mul(0.6)))
	const w, h, d = inW, inH, inD
	quad(vec{-w, h, 0}, vec{w, h, 0}, vec{w, h, d}, vec{-w, h, d}, liner.mul(0.84), liner.mul(0.98))
	quad(vec{-w, 0, 0}, vec{w, 0, 0}, vec{w, 0, d}, vec{-w, 0, d}, liner.mul(0.9), liner.mul(0.72))
	quad(vec{-w, h, 0}, vec{-w, 0, 0}, vec{-w, 0, d}, vec{-w, h, d}, liner.mul(0.97), liner.mul(0.8))
	quad(vec{w, h, 0}, vec{w, 0, 0}, vec{w, 0, d}, vec{w, h, d}, liner.mul(0.9), liner.mul(0.74))
	quad(vec{-w, h, d}, vec{w, h, d}, vec{w, 0, d}, vec{-w, 0, d}, liner.mul(0.95), liner.mul(0.84))
	// light from the lamp in the ceiling, dark in the corners
	c.soft(m.polygon(vec{-9, h, 20}, vec{9, h, 20}, vec{9, h, 32}, vec{-9, h, 32}), 30, hex(0xffffff), 0.95)
	c.color(m.polygon(vec{-7, h - 0.2, 20}, vec{7, h - 0.2, 20}, vec{7, h - 0.2, 30}, vec{-7, h - 0.2, 30}), hex(0xfffef6), 1)
	for _, l := range [][2]vec{{{-w, 0, d}, {-w, h, d}}, {{w, 0, d}, {w, h, d}}, {{-w, 0, d}, {w, 0, d}}, {{-w, h, d}, {w, h, d}}} {
		c.soft(stroke([]pt{m.at(l[0]), m.at(l[1])}, 16), 20, hex(0x39434a), 0.4)
	}
	for _, l := range [][2]vec{{{-w, 0, 1}, {-w, 0, d}}, {{w, 0, 1}, {w, 0, d}}} {
		c.soft(stroke([]pt{m.at(l[0]), m.at(l[1])}, 14), 18, hex(0x39434a), 0.35)
	}
	for _, y := range []float64{12, 24, 36} { // ribs that carry the shelves
		for _, x := range []float64{-w, w} {
			p := m.polygon(vec{x, y, 3}, vec{x, y, d - 3}, vec{x, y - 1, d - 3}, vec{x, y - 1, 3})
			c.color(p, liner.mul(1.04), 1)
			c.soft(m.polygon(vec{x, y - 1, 3}, vec{x, y - 1, d - 3}, vec{x, y - 2, d - 3}, vec{x, y - 2, 3}), 7, hex(0x39434a), 0.4)
		}
	}
}

// panel is the evaporator's cover with its slots, and the frost on it.
func (s Compartment) panel(c *canvas, m *camera, liner rgb) {
	z := inD - 2.0
	p := m.front(-inW+4, inH-3, z)
	const w, h = 2*inW - 8, inH - 8
	c.soft(p.on(rect(0, 0, w, h)), 14, hex(0x20282e), 0.5)
	c.fill(p.on(round(0, 0, w, h, 2)), slope(p.at(0, 0), liner.mul(0.99), p.at(w, h), liner.mul(0.86)))
	for row := range 2 {
		for i := range 9 {
			x, y := 6+float64(i)*5.6, 5.0+float64(row)*27
			c.color(p.on(round(x, y, x+3.4, y+1.7, 0.8)), hex(0x22272a), 0.95)
			c.color(p.on(round(x, y+1.5, x+3.4, y+1.9, 0.2)), hex(0xffffff), 0.6)
		}
	}
	for _, q := range []pt{{2, 2}, {w - 2, 2}, {2, h - 2}, {w - 2, h - 2}} {
		c.color(p.on(ellipse(q.x, q.y, 0.75, 0.75)), hex(0x8f979a), 1)
		c.color(p.on(stroke([]pt{{q.x - 0.4, q.y}, {q.x + 0.4, q.y}}, 0.18)), hex(0x30363a), 1)
	}
	if s.Frost > 0 {
		c.frost(&p, rect(-1, -1, w+1, h+1), s.Frost, 0, func(x, y float64) float64 {
			d := math.Hypot((x-w*0.42)/(w*0.55), (y-h*0.55)/(h*0.62))
			return 1 - d*d
		})
		f := m.side(-inW, inH, 0)
		c.frost(&f, rect(inD*0.55, 6, inD, inH), s.Frost*0.75, 0, func(x, y float64) float64 { return (x/inD - 0.72) * 2.4 })
	}
}

// frost lays ice over a part of the plane: where says how thick, about 0..1. Below thin ice ridges of the given
// pitch show (0 = none), as the fins of a coil do.
func (c *canvas) frost(w *plane, area path, amount, pitch float64, where func(x, y float64) float64) {
	t, f := c.st.lumps, c.st.fine
	ox, oy := c.rnd(0, tileSize), c.rnd(0, tileSize)
	height := func(x, y float64) float32 { return t.at(x*9+ox, y*9+oy)*0.62 + f.at(x*12+oy, y*12+ox)*0.38 }
	c.fill(w.on(area), func(px, py float64) (rgb, float32) {
		q := w.back(px, py)
		h := height(q.x, q.y)
		thick := float64(h) - 1 + amount + 0.45*where(q.x, q.y)
		a := smooth(0, 0.16, thick)
		if a == 0 {
			return rgb{}, 0
		}
		relief := (height(q.x+0.12, q.y+0.16) - h) * 3.2
		k := 0.93 + relief
		if pitch > 0 {
			ridge := wave(q.x / pitch / 2)
			ridge *= ridge
			k -= 0.13 * float32(ridge*ridge*ridge*smooth(0.75, 0.1, thick))
		}
		k = min(max(k, 0.6), 1.12)
		return rgb{236 * k, 243 * k, 250 * k}, float32(a * 0.97)
	})
}

// frozen is a wire shelf with a few packages.
func (s Compartment) frozen(c *canvas, m *camera) {
	cols := []rgb{hex(0x2f6ba3), hex(0xb5483b), hex(0x5a8f4c), hex(0xd8a23a)}
	x := -inW + 3
	for i := range 4 {
		w, h := c.rnd(11, 15), c.rnd(5, 9)
		z := 8 + c.rnd(0, 9)
		col := cols[(i+s.Look)%4]
		c.soft(m.polygon(vec{x, 0, z - 2}, vec{x + w + 2, 0, z - 2}, vec{x + w + 2, 0, z + 14}, vec{x, 0, z + 14}), 14, hex(0x1b2328), 0.5)
		p := m.front(x, h, z)
		c.box(m, vec{x, 0, z}, vec{x + w, h, z + 13}, c.sheen(&p, col, h, 0), col.mul(0.75))
		c.color(p.on(round(w*0.12, h*0.25, w*0.88, h*0.75, 0.5)), hex(0xf4f3ec), 0.92)
		c.color(p.on(c.centred(bold, h*0.28, w/2, h*0.6, []string{"PEAS", "SOUP", "CORN", "FISH"}[(i+s.Look)%4])), col.mul(0.7), 0.95)
		c.frost(&p, rect(0, 0, w, h), 0.34, 0, func(_, y float64) float64 { return 0.5 - y/h })
		x += w + c.rnd(2, 4)
	}
}

func (s Compartment) shelves(c *canvas, m *camera, liner rgb) {
	for k, y := range []float64{12, 24.5} {
		g := m.polygon(vec{-inW, y, 4}, vec{inW, y, 4}, vec{inW, y, inD - 2}, vec{-inW, y, inD - 2})
		if !s.Empty {
			s.jars(c, m, y, k)
		}
		c.fill(g, glass(hex(0xcfe3e0), 0.3))
		c.color(m.polygon(vec{-inW, y + 0.5, 4}, vec{inW, y + 0.5, 4}, vec{inW, y - 0.5, 4}, vec{-inW, y - 0.5, 4}), hex(0x9fc4bd), 0.95)
		c.color(m.polygon(vec{-inW, y + 0.5, 4}, vec{inW, y + 0.5, 4}, vec{inW, y + 0.35, 4}, vec{-inW, y + 0.35, 4}), hex(0xffffff), 0.8)
	}
	drawer := m.front(-inW+1, 10.5, 9)
	for i := range 2 {
		x := float64(i) * (inW - 1)
		c.fill(drawer.on(round(x+0.4, 0, x+inW-1.6, 10.5, 1)), glass(hex(0xbfd0d2), 0.72))
		c.color(drawer.on(round(x+9, 1.4, x+inW-10, 2.8, 0.6)), hex(0x71878b), 0.9)
		c.soft(drawer.on(ellipse(x+inW/2, 6.5, 9, 3)), 24, []rgb{hex(0x5f8f3c), hex(0xb8552f)}[i], 0.5)
	}
}

func (s Compartment) jars(c *canvas, m *camera, y float64, row int) {
	cols := []rgb{hex(0xa5322a), hex(0xe0c25c), hex(0x6b8f3f), hex(0xf0efe9), hex(0x70412a), hex(0xd37a2d)}
	x := -inW + 6
	for i := 0; x < inW-7; i++ {
		r, h := c.rnd(2.8, 4.2), c.rnd(5, 10)
		z := c.rnd(20, 34)
		col := cols[(i*5+row*2+s.Look)%6]
		a, b := m.at(vec{x - r, y, z}), m.at(vec{x + r, y + h, z})
		c.soft(rect(a.x, a.y-4, b.x+8, a.y+6), 10, hex(0x20282b), 0.5)
		body := append(rect(a.x, b.y, b.x, a.y), ellipse((a.x+b.x)/2, a.y, (b.x-a.x)/2, (b.x-a.x)/8)...)
		c.fill(body, func(px, _ float64) (rgb, float32) {
			t := clamp((px-a.x)/(b.x-a.x), 0, 1)
			return col.mul(float32(0.5 + 0.62*math.Sin(math.Pi*(t*0.8+0.1)))), 1
		})
		c.color(rect(a.x, lerp(a.y, b.y, 0.25), b.x, lerp(a.y, b.y, 0.7)), hex(0xf6f4ea), 0.85)
		c.color(round(a.x-2, b.y-(b.x-a.x)*0.22, b.x+2, b.y, 4), hex(0x9a9d98), 1)
		x += 2*r + c.rnd(1.5, 5)
	}
}

// thermometer is a digital thermometer, its probe on a wire.
func (s Compartment) thermometer(c *canvas, m *camera) {
	const x, y, z = 2.0, 19.5, 6.0
	p := m.front(x-7, y+5, z)
	c.soft(p.on(round(0.8, 1.2, 15, 11.2, 1.6)), 26, hex(0x10171b), 0.6)
	line := curve(14, p.at(14, 8), p.at(17, 9), p.at(19, 13), p.at(16.5, 17))
	c.tube(line, p.scale(7, 5)*0.4, hex(0xe9e9e4), 0.2)
	end := line[len(line)-1]
	c.tube([]pt{end, end.add(p.at(15.5, 19.5).sub(p.at(16.5, 17)))}, p.scale(7, 5)*0.75, hex(0xb9bdbf), 0.7)
	c.fill(p.on(round(0, 0, 14.2, 10.2, 1.7)), slope(p.at(0, 0), hex(0x8e9599), p.at(14, 10), hex(0x474d51)))
	c.fill(p.on(round(0.15, 0.1, 14, 9.9, 1.6)), slope(p.at(0, 0), hex(0xffffff), p.at(14, 10), hex(0xc6cacb)))
	c.color(p.on(round(1.1, 1.3, 12.9, 7.3, 0.5)), hex(0x4b5355), 1)
	c.fill(p.on(round(1.3, 1.5, 12.7, 7.1, 0.4)), slope(p.at(1, 1), hex(0xc4cfba), p.at(12, 7), hex(0x9fab98)))
	on, off := number(10.4, 6.4, 3.7, s.Display)
	c.color(p.on(off), hex(0x7c8878), 0.3)
	c.color(p.on(on.moved(pt{0.09, 0.1})), hex(0x6d786a), 0.45)
	c.color(p.on(on), hex(0x151a16), 0.95)
	c.color(p.on(c.text(bold, 1.4, 10.5, 3.8, s.Unit)), hex(0x151a16), 0.95)
	c.color(p.on(c.text(bold, 0.75, 1.7, 2.6, "PROBE")), hex(0x151a16), 0.85)
	for i, t := range []string{"HOLD", "°C/°F", "I/O"} {
		bx := 1.4 + float64(i)*4
		c.color(p.on(round(bx, 7.9, bx+3.2, 9.3, 0.6)), hex(0x5c6a72), 1)
		c.color(p.on(c.centred(bold, 0.75, bx+1.6, 8.9, t)), hex(0xf4f5f5), 0.95)
	}
	c.soft(p.on(poly(pt{1.6, 1.6}, pt{5, 1.6}, pt{3, 7}, pt{1.6, 7})), 14, hex(0xffffff), 0.25)
}
