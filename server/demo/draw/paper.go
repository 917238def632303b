package draw

import "math"

// Receipt is a till receipt on a kitchen table.
type Receipt struct {
	Store string
	// Head are the lines below the name; Items are left and right of one line; Foot comes last.
	Head  []string
	Items [][2]string
	Foot  []string
	// Number is printed as a bar code.
	Number string
	// Stone lays it on a stone worktop instead of a wooden table.
	Stone bool
}

func (s Receipt) paint(c *canvas) {
	b := onBench(c, 17.5, 0.28)
	if s.Stone {
		b.ground("wall", hex(0x8b8e92))
	} else {
		b.ground("wood", []rgb{hex(0x9a6a3c), hex(0x6f4a2c), hex(0xb08a5c)}[c.rng.IntN(3)])
	}
	half, long := 4.6, float64(len(s.Head))*0.62+float64(len(s.Items))*0.72+float64(len(s.Foot))*0.62+5.6
	top := -long / 2
	var edge []pt
	for i := range 47 { // torn off along a toothed edge
		edge = append(edge, pt{-half + float64(i)*0.2, top + 0.13*float64(i%2)})
	}
	for i := range 47 {
		edge = append(edge, pt{half - float64(i)*0.2, top + long + 0.13*float64(i%2)})
	}
	p := b.lift(0.25)
	low := b.lift(0)
	b.soft(low.on(path{edge}.moved(pt{0.35, 0.4})), 18, hex(0x0c0703), 0.6)
	crease := []float64{top + long*0.34, top + long*0.67}
	b.fill(p.on(path{edge}), func(x, y float64) (rgb, float32) {
		q := p.back(x, y)
		u := math.Abs(q.x / half)
		k := 1 - 0.10*u*u*u + 0.03*wave(q.y*0.143)
		for _, f := range crease {
			d := q.y - f
			if math.Abs(d) > 0.6 {
				continue
			}
			k -= 0.13*math.Exp(-d*d*30)*sign(-d) + 0.05*math.Exp(-d*d*900)
		}
		return hex(0xf6f4ee).mul(float32(k) * (1 + 0.05*(b.st.fine.at(q.x*20, q.y*20)-0.5))), 1
	})
	ink := hex(0x2c2b30)
	put := func(t path) { b.color(p.on(t), ink, 0.86) }
	y := top + 1.5
	put(b.centred(bold, 0.78, 0, y, s.Store))
	for _, l := range s.Head {
		y += 0.62
		put(b.centred(mono, 0.46, 0, y, l))
	}
	y += 0.4
	rule := func() {
		for x := -4.0; x < 4; x += 0.3 {
			put(rect(x, y, x+0.18, y+0.04))
		}
	}
	rule()
	for i, l := range s.Items {
		y += 0.72
		f, size := mono, 0.48
		if i == len(s.Items)-1 {
			f, size = monoBold, 0.62
		}
		put(b.text(f, size, -4.1, y, l[0]))
		put(b.right(f, size, 4.1, y, l[1]))
	}
	y += 0.4
	rule()
	for _, l := range s.Foot {
		y += 0.62
		put(b.centred(mono, 0.46, 0, y, l))
	}
	y += 0.5
	put(bars(-3.2, y, 3.2, y+1.1, s.Number))
	put(b.centred(mono, 0.45, 0, y+1.6, s.Number))
	if s.Stone {
		return
	}
	// the ring of a mug, and a pen
	ring := b.lift(0.01)
	b.soft(ring.on(append(ellipse(7.6, -8, 3.4, 3.4), reverse(ellipse(7.6, -8, 3.15, 3.15))...)), 4, hex(0x2a1405), 0.5)
	b.slab(round(5.9, 3, 6.9, 17, 0.5), 0.8, hex(0x1c2c55), func(w *plane) paint { return slope(w.at(5.9, 5), hex(0x3f6bd0), w.at(6.9, 5), hex(0x1d2f66)) })
}

func sign(v float64) float64 {
	if v < 0 {
		return -1
	}
	return 1
}

// Label is a spare part's box with its label: part number in words and as Code 128.
type Label struct {
	Maker, Number, Title string
	Lines                []string
	// Old is a worn label on the part itself instead of one on a box.
	Old bool
}

func (s Label) paint(c *canvas) {
	b := onBench(c, 21, 0.2)
	if s.Old {
		b.ground("card", hex(0x8d9194))
	} else {
		b.ground("card", hex(0xb98f62))
		w := b.lift(0)
		for x := -40.0; x < 40; x += 0.55 { // the flutes of the board show through
			b.color(w.on(rect(x, -30, x+0.2, 30)), hex(0x6e4d2a), 0.08)
		}
		b.fill(w.on(rect(-40, -9.6, 40, -6.2)), glass(hex(0xe2c79c), 0.55)) // tape
		b.soft(w.on(rect(-40, -9.5, 40, -9.2)), 8, hex(0xffffff), 0.5)
		b.soft(w.on(rect(-40, 8.6, 40, 8.9)), 12, hex(0x241505), 0.6)
		b.color(w.on(b.text(bold, 1.4, -11, 10.8, "THIS SIDE UP  ^^")), hex(0x4a3018), 0.7)
	}
	paper := hex(0xf4f3ee)
	if s.Old {
		paper = hex(0xddd6bd)
	}
	b.slab(round(-8, -5, 8, 5.2, 0.25), 0.04, hex(0xaaa69c), func(w *plane) paint { return b.mottled(w, paper, 12, 0.06) })
	w := b.lift(0.04)
	ink := hex(0x141414)
	put := func(t path) { b.color(w.on(t), ink, 0.93) }
	put(b.text(bold, 1.0, -7.5, -3.7, s.Maker))
	put(b.right(regular, 0.55, 7.5, -3.8, "SERVICE PART"))
	put(rect(-7.5, -3.3, 7.5, -3.2))
	put(b.text(regular, 0.5, -7.5, -2.4, "PART No."))
	put(b.text(monoBold, 1.3, -5, -2.05, s.Number))
	put(b.text(bold, 0.75, -7.5, -0.95, s.Title))
	y := -0.2
	for _, l := range s.Lines {
		put(b.text(regular, 0.5, -7.5, y, l))
		y += 0.62
	}
	put(bars(-6.3, 1.9, 6.3, 4.0, s.Number))
	put(b.centred(mono, 0.6, 0, 4.75, s.Number))
	if s.Old {
		b.soft(w.on(poly(pt{4.6, -5}, pt{8, -5}, pt{8, -3}, pt{6, -4})), 12, hex(0x4b3a1c), 0.5)
		b.soft(w.on(ellipse(-6, 4.6, 2.6, 0.9)), 16, hex(0x5d4726), 0.35)
	}
	b.scuffs(w, -7.5, -4.8, 7.5, 1.5, 4)
}
