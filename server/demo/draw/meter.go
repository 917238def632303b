package draw

import "math"

// Meter is a multimeter with its probes on something.
type Meter struct {
	// Value is what the display shows, such as "OL" or "32.1"; Unit such as "Ω"; Mode such as "AUTO".
	Value, Unit, Mode string
	// On is heater, outlet or pump: what the probes touch.
	On string
	// Look chooses the ground, 0..2.
	Look int
}

func (s Meter) paint(c *canvas) {
	b := onBench(c, 33, 0.32)
	switch {
	case s.On == "outlet":
		if s.Look == 1 { // in the cupboard below a sink
			b.ground("wood", hex(0xa9825a))
		} else {
			b.ground("wall", hex(0xdcd6c8))
		}
		s.outlet(b)
	default:
		b.ground([]string{"towel", "card", "wood"}[s.Look%3], []rgb{hex(0x5f7d9a), hex(0xb59066), hex(0x84603d)}[s.Look%3])
		s.part(b)
	}
	const x, y = -7.5, -0.5
	red, black := hex(0xb3231f), hex(0x202124)
	body := round(x-5, y-9.6, x+5, y+9.6, 1.6)
	b.slab(body, 3.2, hex(0x0f5a57), func(w *plane) paint {
		return slope(w.at(x-5, y-9), hex(0x1f8d87), w.at(x+5, y+9), hex(0x0d5a57))
	})
	w := b.lift(3.2)
	b.fill(w.on(round(x-4.3, y-8.9, x+4.3, y+8.9, 1.1)), slope(w.at(x-4, y-9), hex(0x3c4145), w.at(x+4, y+9), hex(0x1c1f21)))
	s.display(b, w, x, y-5.2)
	s.dial(b, w, x, y+2.2)
	tips := s.tips()
	for i, col := range []rgb{black, red} {
		jx := x - 1.9 + float64(i)*3.8
		b.fill(w.on(ellipse(jx, y+7.2, 0.85, 0.85)), slope(w.at(jx-1, y+6), hex(0x0a0a0a), w.at(jx+1, y+8), hex(0x55595c)))
		b.color(w.on(b.centred(bold, 0.55, jx, y+5.9, []string{"COM", "VΩ"}[i])), hex(0xe6e8e8), 0.9)
		b.cable([]pt{{jx, y + 7.2}, {jx + 0.1, y + 9.3}}, 3.9, 1.15, col)
		end, dir := tips[i], pt{-0.86, 0.5}
		if i == 1 {
			dir = pt{-0.62, -0.78}
		}
		grip := end.add(dir.mul(4.2))
		tail := end.add(dir.mul(9.5))
		mid := pt{lerp(jx, tail.x, 0.5), y + 11.5 - float64(i)*1.2}
		b.cable(curve(14, pt{jx + 0.1, y + 9.3}, pt{jx + 0.4, y + 11}, mid, tail.add(dir.mul(2)), tail), 1.0, 0.62, col)
		b.cable([]pt{end, grip}, 1.0, 0.24, hex(0xd8d8d2))
		b.cable([]pt{grip, tail}, 1.15, 1.15, col)
		b.cable([]pt{grip, grip.add(dir.mul(0.5))}, 1.2, 1.7, col)
	}
}

// tips are the places that the black and the red probe touch.
func (s Meter) tips() [2]pt {
	switch s.On {
	case "outlet":
		return [2]pt{{9.1, -1.9}, {10.9, -2.1}}
	case "pump":
		return [2]pt{{7.6, 0.6}, {9.2, 2.4}}
	}
	return [2]pt{{5.2, 5.9}, {5.2, 3.4}}
}

func (s Meter) display(b *bench, w *plane, x, y float64) {
	b.color(w.on(round(x-3.9, y-2.6, x+3.9, y+2.3, 0.5)), hex(0x0b0c0c), 1)
	lcd := round(x-3.6, y-2.3, x+3.6, y+2.0, 0.3)
	b.fill(w.on(lcd), slope(w.at(x-3.6, y-2.3), hex(0xb9c4ae), w.at(x+3.6, y+2), hex(0x94a08c)))
	ink := hex(0x161b17)
	high := 2.3
	if len(s.Value) > 4 {
		high = 1.95 // four digits and a point
	}
	on, off := number(x+2.3, y+1.25, high, s.Value)
	b.color(w.on(off), hex(0x7c8878), 0.35)
	b.color(w.on(on.moved(pt{0.07, 0.09})), hex(0x6d786a), 0.45) // the digits' shadow on the glass behind
	b.color(w.on(on), ink, 0.95)
	b.color(w.on(b.right(bold, 0.85, x+3.45, y+1.2, s.Unit)), ink, 0.95)
	b.color(w.on(b.text(bold, 0.6, x-3.3, y-1.55, s.Mode)), ink, 0.9)
	b.color(w.on(b.right(regular, 0.6, x+3.4, y-1.55, "TRUE RMS")), ink, 0.8)
	for i := range 31 {
		h := 0.18
		if i%5 == 0 {
			h = 0.3
		}
		at := x - 3.2 + float64(i)*0.21
		b.color(w.on(rect(at, y+1.5, at+0.05, y+1.5+h)), ink, 0.8)
	}
	b.soft(w.on(poly(pt{x - 3.4, y - 2.2}, pt{x - 0.6, y - 2.2}, pt{x - 2.4, y + 1.9}, pt{x - 3.5, y + 1.9})), 12, hex(0xffffff), 0.2)
}

func (s Meter) dial(b *bench, w *plane, x, y float64) {
	marks := []string{"OFF", "V~", "V=", "Ω", "►|", "µF", "A~", "°C"}
	at := 1
	switch s.Unit {
	case "Ω", "kΩ", "MΩ":
		at = 3
	case "°F", "°C":
		at = 7
	}
	angle := func(i int) float64 { return -math.Pi*1.12 + float64(i)*math.Pi*1.24/7 }
	for i, t := range marks {
		sn, cs := math.Sincos(angle(i))
		col := hex(0xdfe3e3)
		if i == at {
			col = hex(0xffd75e)
		}
		b.color(w.on(b.centred(bold, 0.66, x+3.3*cs, y+3.1*sn+0.22, t)), col, 0.95)
		b.color(w.on(stroke([]pt{{x + 2.35*cs, y + 2.35*sn}, {x + 2.6*cs, y + 2.6*sn}}, 0.09)), col, 0.9)
	}
	k := b.lift(4.1)
	b.soft(w.on(ellipse(x+0.4, y+0.5, 2.25, 2.25)), 14, hex(0), 0.6)
	for i := range 5 {
		p := b.lift(3.2 + 0.9*float64(i)/5)
		b.color(p.on(ellipse(x, y, 2.15, 2.15)), hex(0x101214), 1)
	}
	b.fill(k.on(ellipse(x, y, 2.1, 2.1)), slope(k.at(x-2, y-2), hex(0x565c60), k.at(x+2, y+2), hex(0x1e2123)))
	sn, cs := math.Sincos(angle(at))
	b.color(k.on(stroke([]pt{{x - 1.7*cs, y - 1.7*sn}, {x + 1.7*cs, y + 1.7*sn}}, 0.9)), hex(0x2b2f32), 1)
	b.color(k.on(stroke([]pt{{x + 0.6*cs, y + 0.6*sn}, {x + 1.75*cs, y + 1.75*sn}}, 0.2)), hex(0xf2f4f4), 1)
}

// outlet is a wall outlet of two receptacles.
func (s Meter) outlet(b *bench) {
	const x = 10.0
	b.slab(round(x-3.6, -6, x+3.6, 6, 0.6), 0.5, hex(0xa8a49a), func(w *plane) paint {
		return slope(w.at(x-3.6, -6), hex(0xfaf8f0), w.at(x+3.6, 6), hex(0xd9d5c9))
	})
	w := b.lift(0.5)
	for _, y := range []float64{-2.4, 2.9} {
		b.soft(w.on(round(x-1.75, y-1.85, x+1.85, y+1.95, 1.2)), 6, hex(0x2d2a22), 0.5)
		b.color(w.on(round(x-1.7, y-1.8, x+1.7, y+1.8, 1.2)), hex(0xefece2), 1)
		b.color(w.on(rect(x-0.95, y-0.65, x-0.75, y+0.35)), hex(0x100f0d), 1)
		b.color(w.on(rect(x+0.75, y-0.55, x+0.95, y+0.25)), hex(0x100f0d), 1)
		b.color(w.on(append(ellipse(x, y+1.05, 0.33, 0.3), rect(x-0.33, y+1.05, x+0.33, y+1.3)...)), hex(0x100f0d), 1)
	}
	b.fill(w.on(ellipse(x, 0.25, 0.34, 0.34)), slope(w.at(x-0.3, 0), hex(0xffffff), w.at(x+0.3, 0.5), hex(0x77746c)))
	b.color(w.on(rect(x-0.28, 0.2, x+0.28, 0.3)), hex(0x45433d), 1)
}

// part is what lies beside the meter.
func (s Meter) part(b *bench) {
	if s.On == "pump" {
		Pump{}.body(b, 11.5, 1)
		return
	}
	heaterBody(b, 12.5, 0.6, 1, false)
}
