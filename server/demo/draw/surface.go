package draw

import "math"

// The planes of upright things. Coordinates are centimetres: to the right and down from the given corner.

func (m *camera) front(x, top, z float64) plane {
	return m.plane(vec{x, top, z}, vec{1, 0, 0}, vec{0, -1, 0})
}

// side runs away from the camera along x.
func (m *camera) side(x, top, z float64) plane {
	return m.plane(vec{x, top, z}, vec{0, 0, 1}, vec{0, -1, 0})
}

// ground lies level at the height y: right, and away from the camera.
func (m *camera) ground(y float64) plane {
	return m.plane(vec{0, y, 0}, vec{1, 0, 0}, vec{0, 0, 1})
}

// box paints the faces of an upright box that the camera sees: front in the given paint, the others in shade.
func (c *canvas) box(m *camera, lo, hi vec, front paint, shade rgb) {
	if m.pos.y > hi.y {
		p := m.polygon(vec{lo.x, hi.y, lo.z}, vec{hi.x, hi.y, lo.z}, vec{hi.x, hi.y, hi.z}, vec{lo.x, hi.y, hi.z})
		c.color(p, shade.mul(1.22), 1)
	}
	for _, x := range []float64{lo.x, hi.x} {
		if (m.pos.x-x)*(x-(lo.x+hi.x)/2) <= 0 {
			continue
		}
		p := m.polygon(vec{x, lo.y, lo.z}, vec{x, lo.y, hi.z}, vec{x, hi.y, hi.z}, vec{x, hi.y, lo.z})
		a, b := m.at(vec{x, hi.y, lo.z}), m.at(vec{x, lo.y, hi.z})
		c.fill(p, slope(a, shade, b, shade.mul(0.7)))
	}
	c.fill(m.polygon(vec{lo.x, lo.y, lo.z}, vec{hi.x, lo.y, lo.z}, vec{hi.x, hi.y, lo.z}, vec{lo.x, hi.y, lo.z}), front)
}

// sheen is a painted or metal front: lighter above, with a soft vertical gleam.
func (c *canvas) sheen(w *plane, col rgb, height float64, metal float32) paint {
	t := c.st.fine
	ox, gleam := c.rnd(0, 400), c.rnd(10, 60)
	return func(x, y float64) (rgb, float32) {
		p := w.back(x, y)
		k := 1.05 - 0.2*p.y/height
		d := (p.x - gleam) / 14
		k += 0.10 / (1 + d*d)
		v := float32(k)
		if metal > 0 {
			v += metal * 0.12 * (t.at(p.x*40+ox, p.y*1.2) - 0.5)
		}
		return col.mul(v), 1
	}
}

// mottled is a surface with lumps of shade: plaster, stone, cloth, card.
func (c *canvas) mottled(w *plane, col rgb, scale float64, strength float32) paint {
	t := c.st.fine
	ox, oy := c.rnd(0, tileSize), c.rnd(0, tileSize)
	return func(x, y float64) (rgb, float32) {
		p := w.back(x, y)
		v := t.at(p.x*scale+ox, p.y*scale+oy) - 0.5
		return col.mul(1 + v*strength), 1
	}
}

// planks is a wooden surface of boards along the plane's first axis.
func (c *canvas) planks(w *plane, col rgb, board float64) paint {
	t := c.st.wood
	ox := c.rnd(0, tileSize)
	gap := 0.012 * board
	return func(x, y float64) (rgb, float32) {
		p := w.back(x, y)
		row := math.Floor(p.y / board)
		shift := 31 * frac(row*1.848)
		v := t.at(p.x*0.9+shift*37+ox, p.y*15+row*13) - 0.5
		tone := float32(frac(row*0.618)*0.2 - 0.1)
		k := 1 + v*0.42 + tone
		if f := p.y - row*board; f < gap || f > board-gap {
			k *= 0.55
		}
		return col.mul(k), 1
	}
}

// tiles is a floor or wall of square tiles with joints.
func (c *canvas) tiles(w *plane, col, joint rgb, size, gap float64) paint {
	t := c.st.lumps
	ox := c.rnd(0, tileSize)
	return func(x, y float64) (rgb, float32) {
		p := w.back(x, y)
		i, j := math.Floor(p.x/size), math.Floor(p.y/size)
		fx, fy := p.x-i*size, p.y-j*size
		v := t.at(p.x*6+ox+i*91, p.y*6+j*53) - 0.5
		tone := float32(frac(i*0.618+j*0.377)*0.09 - 0.045)
		edge := math.Min(math.Min(fx, size-fx), math.Min(fy, size-fy))
		k := float32(smooth(gap*0.5, gap*1.4, edge))
		return joint.mix(col.mul(1+v*0.16+tone), k), 1
	}
}

// tube is a round bar along a line on the picture: wide, with its light side up and to the left.
func (c *canvas) tube(line []pt, width float64, col rgb, gloss float32) {
	c.tubeVar(line, func(int) float64 { return width }, col, gloss)
}

func (c *canvas) tubeVar(line []pt, width func(int) float64, col rgb, gloss float32) {
	const coats = 6
	for k := range coats {
		t := float64(k) / coats
		w := func(i int) float64 { return width(i) * (1 - t*0.92) }
		moved := make([]pt, len(line))
		for i, p := range line {
			d := width(i) * 0.16 * t
			moved[i] = pt{p.x - d*0.7, p.y - d}
		}
		tone := col.mul(0.5 + 0.75*float32(t))
		if k == coats-1 {
			tone = tone.mix(hex(0xffffff), gloss)
		}
		c.color(strokeVar(moved, w), tone, 1)
	}
}

// tube3 is a tube in space, width in centimetres.
func (c *canvas) tube3(m *camera, line []vec, width float64, col rgb, gloss float32) {
	on := make([]pt, len(line))
	for i, v := range line {
		on[i] = m.at(v)
	}
	c.tubeVar(on, func(i int) float64 { return width * m.scale(line[i]) }, col, gloss)
}
