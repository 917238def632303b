package draw

import "math"

// HeaterPart is a defrost heater taken out: a glass tube heater bent to a U, burnt through when Broken.
type HeaterPart struct {
	Broken bool
	// Look chooses the ground, 0..2.
	Look int
}

func (s HeaterPart) paint(c *canvas) {
	b := onBench(c, 27, 0.22)
	b.ground([]string{"towel", "card", "wood"}[s.Look%3], []rgb{hex(0x486a58), hex(0xb59066), hex(0x84603d)}[s.Look%3])
	heaterBody(b, 2, 0, 1.25, s.Broken)
	if s.Broken {
		b.ruler(-9, 8.2, 14, 0.08)
	}
}

// heaterBody draws the heater around x, y: terminals at its left end.
func heaterBody(b *bench, x, y, k float64, broken bool) {
	at := func(u, v float64) pt { return pt{x + u*k, y + v*k} }
	line := []pt{at(-5.5, -3)}
	for i := range 25 {
		a := -math.Pi/2 + math.Pi*float64(i)/24
		line = append(line, at(5+3*math.Cos(a), 3*math.Sin(a)))
	}
	line = append(line, at(-5.5, 3))
	steel := hex(0xa9a49b)
	for i, end := range []pt{line[0], line[len(line)-1]} {
		turn := end.add(pt{-1.5 * k, 0.5 - 0.2*float64(i)})
		wire := curve(12, end.sub(pt{0.6 * k, 0}), turn, mixPt(turn, at(-7.9, 2.2+2*float64(i)), 0.6), at(-7.2, 2.8+2.5*float64(i)))
		b.cable(wire, 0.5, 0.42*k, []rgb{hex(0xd8d3c8), hex(0x9f3b35)}[i])
		tip := wire[len(wire)-1]
		b.cable([]pt{tip, tip.add(pt{-0.1 * k, 0})}, 0.6, 0.75*k, hex(0xcfc6a0))
	}
	var cut int
	if broken {
		cut = 9
		left, right := line[:cut], line[cut+2:]
		b.cable(left, 0.7, 1.0*k, steel)
		b.cable(right, 0.7, 1.0*k, steel)
	} else {
		b.cable(line, 0.7, 1.0*k, steel)
	}
	w := b.lift(0.9)
	for i := range len(line) - 1 { // the coil shows through the wall of the tube
		if broken && i >= cut-1 && i <= cut+1 {
			continue
		}
		n := max(1, int(line[i+1].sub(line[i]).len()/(0.28*k)))
		for j := range n {
			p := mixPt(line[i], line[i+1], float64(j)/float64(n))
			b.color(w.on(stroke([]pt{{p.x - 0.14*k, p.y - 0.28*k}, {p.x + 0.14*k, p.y + 0.28*k}}, 0.07*k)), hex(0x5b4a3c), 0.55)
		}
	}
	for _, end := range []pt{line[0], line[len(line)-1]} {
		b.cable([]pt{end.add(pt{-0.7 * k, 0}), end.add(pt{0.5 * k, 0})}, 0.75, 1.45*k, hex(0x2f2f31))
	}
	if !broken {
		return
	}
	p := mixPt(line[cut-1], line[cut+2], 0.5)
	b.soft(w.on(ellipse(p.x, p.y, 1.5*k, 1.2*k)), 26, hex(0x060403), 0.85) // soot around the break
	for i := range 9 {
		a := float64(i) * 0.7
		q := p.add(pt{math.Cos(a), math.Sin(a)}.mul(b.rnd(0.5, 1.5) * k))
		b.color(b.lift(0.1).on(poly(q, q.add(pt{b.rnd(0.1, 0.5), b.rnd(-0.2, 0.3)}), q.add(pt{b.rnd(-0.2, 0.2), b.rnd(0.1, 0.4)}))), hex(0xe9ece8), 0.8)
	}
	for _, e := range []pt{line[cut-1], line[cut+2]} { // the torn ends of the coil
		d := p.sub(e).mul(0.75)
		b.cable(curve(5, e, e.add(d.mul(0.5)).add(pt{0.3, -0.2}), e.add(d)), 0.9, 0.09*k, hex(0x2a211b))
		b.color(w.on(ellipse(e.x, e.y, 0.5*k, 0.5*k)), hex(0x120d0a), 0.9)
	}
}

// Pump is a dishwasher's drain pump, its impeller wound up in what should not be there.
type Pump struct{ Blocked bool }

func (s Pump) paint(c *canvas) {
	b := onBench(c, 24, 0.25)
	b.ground("towel", hex(0x8a8577))
	s.body(b, 0, 0)
	b.ruler(-7, 8.4, 13, 0.08)
}

func (s Pump) body(b *bench, x, y float64) {
	ring := func(r, h float64, col rgb) {
		b.slab(ellipse(x, y, r, r), h, col.mul(0.6), func(w *plane) paint {
			return slope(w.at(x-r, y-r), col.mul(1.15), w.at(x+r, y+r), col.mul(0.7))
		})
	}
	b.slab(round(x-1.3, y-8, x+1.3, y-2, 0.6), 2.2, hex(0x6f7476), func(w *plane) paint {
		return slope(w.at(x-1.3, y), hex(0xdfe2e2), w.at(x+1.3, y), hex(0x8d9394))
	})
	b.slab(round(x-5.4, y-0.9, x-3, y+2.8, 0.3), 1.6, hex(0x8f8a70), func(w *plane) paint { return flat(hex(0xd9d3b4)) })
	w := b.lift(1.6)
	for _, v := range []float64{0.1, 1.5} {
		b.color(w.on(rect(x-5.2, y+v, x-3.8, y+v+0.5)), hex(0xc7b26a), 1)
	}
	ring(4.1, 1.4, hex(0xc9cdcd))
	ring(3.3, 2.2, hex(0xdde0df))
	in := b.lift(2.2)
	b.fill(in.on(ellipse(x, y, 2.7, 2.7)), slope(in.at(x-2.7, y-2.7), hex(0x2a2d2e), in.at(x+2.7, y+2.7), hex(0x62686a)))
	for i := range 4 {
		sn, cs := math.Sincos(float64(i)*math.Pi/2 + 0.4)
		b.tube([]pt{in.at(x, y), in.at(x+2.3*cs, y+2.3*sn)}, in.scale(x, y)*0.55, hex(0xe8e6dc), 0.2)
	}
	b.fill(in.on(ellipse(x, y, 0.8, 0.8)), slope(in.at(x-0.8, y-0.8), hex(0xf4f2ea), in.at(x+0.8, y+0.8), hex(0x9b988d)))
	if !s.Blocked {
		return
	}
	for i := range 7 {
		a := float64(i) * 0.9
		p := pt{x + 1.7*math.Cos(a), y + 1.7*math.Sin(a)}
		b.tube([]pt{in.at(p.x, p.y), in.at(x+b.rnd(-2.4, 2.4), y+b.rnd(-2.4, 2.4)), in.at(x+2.2*math.Cos(a+1.4), y+2.2*math.Sin(a+1.4))}, 7, hex(0x6d5332), 0.1)
	}
	b.slab(poly(pt{x + 0.6, y - 2}, pt{x + 2.2, y - 1.2}, pt{x + 1.6, y + 0.2}, pt{x + 0.4, y - 0.4}), 2.5, hex(0x9ab0a6), func(*plane) paint { return glass(hex(0xd7ece4), 0.85) })
}
