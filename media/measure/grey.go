// Package measure judges a picture by numbers: how sharp, how dark, how bright, and a fingerprint to recognise it again.
//
// Everything works on one grey picture, so that the phone before it sends and the server afterwards come to the same
// result from the same pixels. It is pure: no clock, no files, no decoding. It must import the standard library only,
// so that it also compiles for GOOS=js GOARCH=wasm.
//
// The thresholds of Judge come from a measured set; CALIBRATION.md has the tables and says how to make them again.
package measure

// Version names the formulas and thresholds. It changes whenever a number for the same pixels can change.
const Version = "1"

// WorkingSide is the longer side, in pixels, of the grey picture that Judge measures: sharpness depends on the size of
// the picture, so it only compares at one size. Smaller pictures are measured as they are, never enlarged.
const WorkingSide = 800

// Grey is a grey picture: row by row, one byte a pixel, W*H bytes.
type Grey struct {
	Pix  []uint8
	W, H int
}

// FromRGBA makes the grey picture of w*h pixels of 4 bytes (red, green, blue, and one that is ignored), rows stride bytes
// apart: the layout of a canvas and of image.RGBA. The grey is ITU-R BT.601 luma (0.299 R + 0.587 G + 0.114 B), rounded
// to nearest: the formula of OpenCV. (Go's color.GrayModel gives up to one level less or more.)
// It returns an empty picture when pix is too short for the size.
func FromRGBA(pix []uint8, stride, w, h int) Grey {
	if w <= 0 || h <= 0 || stride < 4*w || len(pix) < (h-1)*stride+4*w {
		return Grey{}
	}
	g := Grey{Pix: make([]uint8, w*h), W: w, H: h}
	for y := range h {
		row, out := pix[y*stride:][:4*w], g.Pix[y*w:][:w]
		for x := range out {
			p := row[4*x:][:4]
			out[x] = uint8((299*uint32(p[0]) + 587*uint32(p[1]) + 114*uint32(p[2]) + 500) / 1000)
		}
	}
	return g
}

// FromLuma takes the Y plane of a JPEG, which is BT.601 luma already. It copies.
func FromLuma(y []uint8, stride, w, h int) Grey {
	if w <= 0 || h <= 0 || stride < w || len(y) < (h-1)*stride+w {
		return Grey{}
	}
	g := Grey{Pix: make([]uint8, w*h), W: w, H: h}
	for i := range h {
		copy(g.Pix[i*w:][:w], y[i*stride:][:w])
	}
	return g
}

// Empty reports whether there are no pixels, or not as many as W and H say.
func (g Grey) Empty() bool { return g.W <= 0 || g.H <= 0 || len(g.Pix) < g.W*g.H }

// Working returns the picture reduced to WorkingSide.
func (g Grey) Working() Grey {
	long := max(g.W, g.H)
	if g.Empty() || long <= WorkingSide {
		return g
	}
	return g.Reduce(max(1, (g.W*WorkingSide+long/2)/long), max(1, (g.H*WorkingSide+long/2)/long))
}

// Reduce returns the picture at w*h pixels, each the exact area average of what it covers, rounded to nearest. It works
// in integers, so every machine gives the same bytes. Enlarging repeats pixels.
func (g Grey) Reduce(w, h int) Grey {
	if g.Empty() || w <= 0 || h <= 0 {
		return Grey{}
	}
	if w == g.W && h == g.H {
		return g
	}
	// In units of 1/w of a source pixel, output pixel x covers [x*W, (x+1)*W); likewise down.
	cols := spans(g.W, w)
	acc := make([]uint64, w)
	line := make([]uint64, w)
	out := Grey{Pix: make([]uint8, w*h), W: w, H: h}
	area := uint64(g.W) * uint64(g.H)
	for y := range h {
		clear(acc)
		from, to := y*g.H, (y+1)*g.H
		for sy := from / h; sy*h < to; sy++ {
			part := uint64(min(to, (sy+1)*h) - max(from, sy*h))
			sumSpans(line, g.Pix[sy*g.W:][:g.W], cols)
			for x, v := range line {
				acc[x] += part * v
			}
		}
		row := out.Pix[y*w:][:w]
		for x, v := range acc {
			row[x] = uint8((v + area/2) / area)
		}
	}
	return out
}

// span is the source pixels that one output pixel covers: whole ones from first+1 to last-1, and parts of the ends.
type span struct {
	first, last int
	head, tail  uint64 // weights of first and last; last is not counted when it is first
	whole       uint64
}

func spans(src, dst int) []span {
	out := make([]span, dst)
	for i := range out {
		from, to := i*src, (i+1)*src
		first, last := from/dst, (to-1)/dst
		s := span{first: first, last: last, whole: uint64(dst)}
		if first == last {
			s.head = uint64(src)
		} else {
			s.head = uint64((first+1)*dst - from)
			s.tail = uint64(to - last*dst)
		}
		out[i] = s
	}
	return out
}

func sumSpans(line []uint64, row []uint8, cols []span) {
	for x, s := range cols {
		v := s.head * uint64(row[s.first])
		if s.last > s.first {
			var whole uint64
			for _, p := range row[s.first+1 : s.last] {
				whole += uint64(p)
			}
			v += whole*s.whole + s.tail*uint64(row[s.last])
		}
		line[x] = v
	}
}
