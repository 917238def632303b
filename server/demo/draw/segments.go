package draw

import "strings"

// lit are the segments of each sign: a top, b upper right, c lower right, d bottom, e lower left, f upper left, g middle.
const signs = "0=abcdef 1=bc 2=abdeg 3=abcdg 4=bcfg 5=acdfg 6=acdefg 7=abc 8=abcdefg 9=abcdfg O=abcdef L=def -=g E=adefg F=aefg C=adef"

func lit(r rune) string {
	for s := range strings.FieldsSeq(signs) {
		if rune(s[0]) == r {
			return s[2:]
		}
	}
	return ""
}

// digit is one sign of a seven-segment display, h high, its lower left corner at x, y (y down); on is what is lit,
// off the ghost of the rest.
func digit(x, y, h float64, r rune) (on, off path) {
	w, t := h*0.52, h*0.105
	lean := func(p pt) pt { return pt{x + p.x - (p.y-0)*0.09, y + p.y} } // y is negative upward
	bar := func(a, b pt) []pt {
		d := b.sub(a)
		u := d.mul(1 / d.len())
		n := pt{-u.y, u.x}
		a, b = a.add(u.mul(t*0.12)), b.sub(u.mul(t*0.12))
		k := t / 2
		raw := []pt{a, a.add(u.mul(k)).sub(n.mul(k)), b.sub(u.mul(k)).sub(n.mul(k)), b, b.sub(u.mul(k)).add(n.mul(k)), a.add(u.mul(k)).add(n.mul(k))}
		for i := range raw {
			raw[i] = lean(raw[i])
		}
		return raw
	}
	m, hh := t/2, h/2
	corners := map[byte][2]pt{
		'a': {{m, -h + m}, {w - m, -h + m}}, 'b': {{w - m, -h + m}, {w - m, -hh}}, 'c': {{w - m, -hh}, {w - m, -m}},
		'd': {{m, -m}, {w - m, -m}}, 'e': {{m, -hh}, {m, -m}}, 'f': {{m, -h + m}, {m, -hh}}, 'g': {{m, -hh}, {w - m, -hh}},
	}
	shine := lit(r)
	for _, s := range []byte("abcdefg") {
		b := bar(corners[s][0], corners[s][1])
		if strings.IndexByte(shine, s) >= 0 {
			on = append(on, b)
		} else {
			off = append(off, b)
		}
	}
	return on, off
}

// number is a line of seven-segment signs that ends at x; a point takes no place of its own.
func number(x, y, h float64, s string) (on, off path) {
	step := h * 0.72
	n := 0
	for _, r := range s {
		if r != '.' {
			n++
		}
	}
	at := x - float64(n)*step
	for _, r := range s {
		if r == '.' {
			px := at - h*0.10
			on = append(on, rect(px-h*0.045, y-h*0.09, px+h*0.045, y)...)
			continue
		}
		a, b := digit(at, y, h, r)
		on, off = append(on, a...), append(off, b...)
		at += step
	}
	return on, off
}
