package draw

import "math"

// bench is a scene of things that lie on, or hang on, one flat ground: coordinates in centimetres to the right and
// down, with a height above the ground.
type bench struct {
	*canvas
	m camera
}

func (b *bench) lift(h float64) *plane {
	p := b.m.front(0, 0, -h)
	return &p
}

// onBench looks at the ground from dist centimetres, tilted as a hand holds a phone.
func onBench(c *canvas, dist, tilt float64) *bench {
	pos := vec{c.rnd(-0.06, 0.06) * dist, -dist * math.Sin(tilt), -dist * math.Cos(tilt)}
	return &bench{c, look(c, pos, vec{0, -0.02 * dist, 0}, 62, c.rnd(-5, 5))}
}

func (b *bench) ground(kind string, col rgb) {
	p := b.lift(0)
	switch kind {
	case "wood":
		b.wash(b.planks(p, col, 9))
	case "towel":
		t, ox := b.st.fine, b.rnd(0, tileSize)
		b.wash(func(x, y float64) (rgb, float32) {
			q := p.back(x, y)
			weave := float32(wave(q.x*4.14)*wave(q.y*4.14)) * 0.05
			fold := (b.st.lumps.at(q.x*3+ox, q.y*3) - 0.5) * 0.34
			return col.mul(1 + weave + fold + (t.at(q.x*22, q.y*22)-0.5)*0.16), 1
		})
	case "card":
		b.wash(b.mottled(p, col, 9, 0.12))
	default:
		b.wash(b.mottled(p, col, 5, 0.07))
	}
}

// slab is a flat thing with a thickness: its shadow, its edge, then its face in the given paint.
func (b *bench) slab(outline path, h float64, edge rgb, face func(w *plane) paint) {
	low := b.lift(0)
	blur := 10 + h*low.scale(0, 0)*0.5
	b.soft(low.on(outline.moved(pt{0.15 + h*0.25, 0.2 + h*0.35})), blur, hex(0x0a0a0a), 0.55)
	n := 6
	for i := range n {
		t := float64(i) / float64(n)
		b.color(b.lift(h*t).on(outline), edge.mul(float32(0.6+0.4*t)), 1)
	}
	top := b.lift(h)
	b.fill(top.on(outline), face(top))
}

// cable is a round lead at a height above the ground, with its shadow.
func (b *bench) cable(line []pt, h, width float64, col rgb) {
	on, shadow := make([]pt, len(line)), make([]pt, len(line))
	w, low := b.lift(h), b.lift(0)
	for i, p := range line {
		on[i], shadow[i] = w.at(p.x, p.y), low.at(p.x+h*0.3, p.y+h*0.4)
	}
	k := w.scale(line[0].x, line[0].y)
	b.soft(stroke(shadow, width*k), 6+h*k*0.3, hex(0x080808), 0.5)
	b.tube(on, width*k, col, 0.3)
}

// ruler lies along x from the given place: a steel rule in millimetres, n centimetres long.
func (b *bench) ruler(x, y float64, n int, h float64) {
	l := float64(n)
	b.slab(rect(x-0.5, y, x+l+0.5, y+2.6), h, hex(0x7c7f80), func(w *plane) paint { return b.brushed(w, hex(0xd8d9d4), 0.7) })
	w := b.lift(h)
	ink := hex(0x141414)
	for i := range n*10 + 1 {
		d := 0.45
		if i%10 == 0 {
			d = 0.95
		} else if i%5 == 0 {
			d = 0.7
		}
		at := x + float64(i)/10
		b.color(w.on(rect(at-0.018, y, at+0.018, y+d)), ink, 0.95)
		if i%10 == 0 {
			s := string(rune('0' + i/10%10))
			if i >= 100 {
				s = "1" + s
			}
			b.color(w.on(b.centred(bold, 0.62, at, y+1.6, s)), ink, 0.95)
		}
	}
	b.color(w.on(b.text(regular, 0.55, x+0.2, y+2.35, "mm")), ink, 0.9)
}
