package draw

import "math"

// handle is a vertical bar in front of a door, with its shadow.
func (c *canvas) handle(w *plane, x, y0, y1 float64, col rgb) {
	k := w.scale(x, y0)
	c.soft(stroke([]pt{w.at(x+1.6, y0+1), w.at(x+1.6, y1+2)}, k*2.2), k*1.4, hex(0x000000), 0.45)
	for _, y := range []float64{y0 + 2, y1 - 2} {
		c.color(w.on(rect(x-1, y-1, x+1.6, y+1)), col.mul(0.5), 1)
	}
	c.tube([]pt{w.at(x, y0), w.at(x, y1)}, k*2.3, col, 0.6)
}

func (s Room) fridge(c *canvas, m *camera, lo, hi vec, d decor) {
	w, h := hi.x-lo.x, hi.y-lo.y
	front := m.front(lo.x, hi.y, lo.z)
	metal := float32(0)
	if s.Look%4 == 0 {
		metal = 1
	}
	c.box(m, lo, hi, c.sheen(&front, d.front, h, metal), d.front.mul(0.55))
	foot := 9.0
	grip := hex(0xb9bcbd)
	if s.Look%4 == 2 {
		grip = hex(0x8d9093)
	}
	gapLine := func(y float64) {
		c.color(front.on(rect(0, y-0.7, w, y+0.7)), hex(0x17181a), 0.95)
		c.color(front.on(rect(0, y+0.7, w, y+1.2)), hex(0xffffff), 0.35)
	}
	if s.Unit == "freezer" {
		c.handle(&front, w-6, 40, 100, grip)
		c.color(front.on(round(8, 7, 26, 11, 0.8)), hex(0x16191b), 0.9)
		c.color(front.on(c.text(bold, 3, 9.5, 10.2, "-18")), hex(0x8fe3ff), 0.9)
	} else if s.Look%2 == 0 { // freezer on top
		gapLine(56)
		c.handle(&front, 6, 16, 52, grip)
		c.handle(&front, 6, 60, 112, grip)
	} else { // freezer below, two doors above
		gapLine(112)
		c.color(front.on(rect(w/2-0.6, 0, w/2+0.6, 112)), hex(0x17181a), 0.95)
		c.handle(&front, w/2-5, 40, 100, grip)
		c.handle(&front, w/2+5, 40, 100, grip)
		c.tube([]pt{front.at(14, 119), front.at(w-14, 119)}, front.scale(10, 119)*2.3, grip, 0.6)
	}
	c.color(front.on(c.centred(bold, 3.4, w*0.72, 8.4, s.Maker)), d.front.mul(0.45), 0.95)
	c.color(front.on(rect(0, h-foot, w, h)), hex(0x1d1e20), 1)
	for i := range 14 {
		x := 4 + float64(i)*(w-8)/14
		c.color(front.on(rect(x, h-foot+3, x+3.4, h-3)), hex(0x050505), 1)
		c.color(front.on(rect(x, h-3, x+3.4, h-2.4)), hex(0x55585b), 0.8)
	}
	// the edges of the doors catch light
	c.color(front.on(rect(0, 0, 0.8, h-foot)), hex(0xffffff), 0.3)
	c.color(front.on(rect(w-0.9, 0, w, h-foot)), hex(0x000000), 0.3)
	if s.Unit == "refrigerator" && s.Look%2 == 0 { // a note under a magnet
		x, y := w*0.62, 74.0
		c.soft(front.on(rect(x+0.5, y+1, x+13, y+16)), 8, hex(0x000000), 0.4)
		c.color(front.on(rect(x, y, x+12, y+15)), hex(0xfff3a8), 1)
		for i := range 5 {
			c.color(front.on(rect(x+1.5, y+4+float64(i)*2.2, x+c.rnd(6, 10.5), y+4.5+float64(i)*2.2)), hex(0x44506b), 0.7)
		}
		c.color(front.on(ellipse(x+6, y+1.3, 1.3, 1.3)), hex(0xb5342c), 1)
	}
}

func (s Room) dishwasher(c *canvas, m *camera, lo, hi vec, d decor) {
	w, h := hi.x-lo.x, hi.y-lo.y
	front := m.front(lo.x, hi.y, lo.z-2)
	c.color(m.polygon(vec{lo.x - 1, hi.y, lo.z}, vec{hi.x + 1, hi.y, lo.z}, vec{hi.x + 1, 0, lo.z}, vec{lo.x - 1, 0, lo.z}), hex(0x0f0f10), 1)
	c.fill(front.on(rect(0, 1, w, h-11)), c.sheen(&front, hex(0xcfd2d3), h, 1))
	c.fill(front.on(rect(0, 1, w, 13)), c.sheen(&front, hex(0x2b2e31), 13, 0))
	c.color(front.on(rect(0, 13, w, 13.6)), hex(0x0a0a0a), 0.9)
	c.color(front.on(c.text(bold, 2.6, 3, 8.2, s.Maker)), hex(0xd5d8da), 0.95)
	c.color(front.on(round(24, 4, 36, 10, 0.6)), hex(0x0a1a14), 1)
	on, _ := number(35, 9, 4, "E22")
	c.color(front.on(on), hex(0x59f0b0), 0.95)
	for i := range 5 {
		x := 40 + float64(i)*3.7
		c.color(front.on(ellipse(x, 7, 1.1, 1.1)), hex(0x8b9094), 1)
		c.color(front.on(ellipse(x, 7, 0.75, 0.75)), hex(0x3a3e42), 1)
	}
	k := front.scale(w/2, 18)
	c.soft(stroke([]pt{front.at(7, 20.5), front.at(w-7, 20.5)}, k*2.5), k*2, hex(0x000000), 0.5)
	c.tube([]pt{front.at(7, 18.5), front.at(w-7, 18.5)}, k*2.4, hex(0xc9cccd), 0.7)
	c.color(front.on(rect(0, h-10, w, h)), hex(0x1b1b1c), 1)
}

func (s Room) drum(c *canvas, m *camera, lo, hi vec, col rgb) {
	w, h := hi.x-lo.x, hi.y-lo.y
	front := m.front(lo.x, hi.y, lo.z)
	c.box(m, lo, hi, c.sheen(&front, col, h, 0), col.mul(0.72))
	c.fill(front.on(rect(0, 2, w, 15)), c.sheen(&front, col.mul(0.9), 15, 0))
	c.color(front.on(rect(0, 15, w, 15.6)), hex(0x777a7a), 0.9)
	c.color(front.on(c.text(bold, 3.1, 4, 10, s.Maker)), hex(0x2f3a44), 0.95)
	kx, ky := w*0.6, 8.6
	c.soft(front.on(ellipse(kx+0.7, ky+1, 4.2, 4.2)), 8, hex(0), 0.5)
	c.fill(front.on(ellipse(kx, ky, 4, 4)), slope(front.at(kx-4, ky-4), hex(0xffffff), front.at(kx+4, ky+4), hex(0x80868a)))
	c.color(front.on(stroke([]pt{{kx, ky}, {kx + 1.8, ky - 2.6}}, 0.6)), hex(0x30363b), 1)
	for i := range 11 {
		sn, cs := math.Sincos(float64(i)*0.5 + 1.9)
		c.color(front.on(ellipse(kx+5.6*cs, ky+5.6*sn, 0.3, 0.3)), hex(0x30363b), 1)
	}
	for i := range 3 {
		c.color(front.on(round(w*0.78+float64(i)*4.2, 7, w*0.78+3.2+float64(i)*4.2, 10, 0.5)), hex(0x9aa3a8), 1)
	}
	cx, cy, r := w/2, 54.0, 25.0
	c.soft(front.on(ellipse(cx+1, cy+2.4, r+1, r+1)), 16, hex(0), 0.5)
	c.fill(front.on(ellipse(cx, cy, r, r)), slope(front.at(cx-r, cy-r), hex(0xfafafa), front.at(cx+r, cy+r), hex(0x8c9297)))
	c.fill(front.on(ellipse(cx, cy, r-4, r-4)), slope(front.at(cx-r, cy-r), hex(0x6d7378), front.at(cx+r, cy+r), hex(0xe3e6e8)))
	if s.Unit == "washer" {
		c.fill(front.on(ellipse(cx, cy, r-6, r-6)), slope(front.at(cx, cy-r), hex(0x3c4a55), front.at(cx, cy+r), hex(0x0c1116)))
		c.soft(front.on(ellipse(cx-7, cy-8, 6, 4)), 22, hex(0xdfefff), 0.5)
	} else {
		c.fill(front.on(ellipse(cx, cy, r-5, r-5)), c.sheen(&front, col.mul(0.96), 70, 0))
	}
	c.color(front.on(round(cx+r-5, cy-5, cx+r-1.5, cy+5, 1.4)), hex(0x50575d), 1)
	c.color(front.on(rect(3, h-13, w-3, h-12.4)), hex(0x8b8e8f), 0.8)
	c.color(front.on(rect(0, h-2, w, h)), hex(0x161616), 1)
}

func (s Room) rangeFront(c *canvas, m *camera, lo, hi vec, d decor) {
	w, h := hi.x-lo.x, hi.y-lo.y
	back := m.front(lo.x, hi.y+16, hi.z-6)
	c.box(m, vec{lo.x, hi.y, hi.z - 6}, vec{hi.x, hi.y + 16, hi.z}, c.sheen(&back, hex(0xcacdce), 16, 1), hex(0x777777))
	c.color(back.on(round(w/2-12, 4, w/2+12, 12, 1)), hex(0x0b0d0e), 1)
	on, _ := number(w/2+8, 11, 5.5, "350")
	c.color(back.on(on), hex(0x6fd5ff), 0.95)
	for _, x := range []float64{8, 18, w - 18, w - 8} {
		c.fill(back.on(ellipse(x, 8, 3, 3)), slope(back.at(x-3, 5), hex(0xf2f2f2), back.at(x+3, 11), hex(0x3b3e40)))
	}
	front := m.front(lo.x, hi.y, lo.z)
	c.box(m, lo, hi, c.sheen(&front, hex(0xc6c9ca), h, 1), hex(0x2a2c2d))
	top := m.ground(hi.y + 0.2)
	for _, p := range []pt{{-19, lo.z + 18}, {19, lo.z + 18}, {-19, lo.z + 46}, {19, lo.z + 46}} {
		for r := 9.0; r > 1.5; r -= 1.9 {
			c.color(top.on(append(ellipse(p.x, p.y, r, r), reverse(ellipse(p.x, p.y, r-1.2, r-1.2))...)), hex(0x0d0d0e), 0.95)
		}
	}
	c.color(front.on(rect(0, 11, w, 11.8)), hex(0x101010), 0.9)
	c.color(front.on(rect(0, 70, w, 70.8)), hex(0x101010), 0.9)
	win := round(10, 24, w-10, 58, 2)
	c.fill(front.on(win), slope(front.at(10, 24), hex(0x3a3d40), front.at(w-10, 58), hex(0x08090a)))
	c.soft(front.on(poly(pt{20, 26}, pt{30, 26}, pt{22, 56}, pt{12, 56})), 20, hex(0xffffff), 0.16)
	k := front.scale(w/2, 17)
	c.soft(stroke([]pt{front.at(7, 19.5), front.at(w-7, 19.5)}, k*2.5), k*2, hex(0), 0.5)
	c.tube([]pt{front.at(7, 17), front.at(w-7, 17)}, k*2.4, hex(0xd0d3d4), 0.7)
	c.color(front.on(c.centred(bold, 2.8, w/2, 8, s.Maker)), hex(0x33383c), 0.95)
	c.tube([]pt{front.at(20, 76), front.at(w-20, 76)}, k*2, hex(0xd0d3d4), 0.7)
}
