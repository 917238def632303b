package draw

import (
	"image"
	"image/draw"
	"math"
	"math/rand/v2"

	"golang.org/x/image/vector"
)

// rgb is a colour, each part 0..255.
type rgb struct{ r, g, b float32 }

func hex(v uint32) rgb {
	return rgb{float32(v >> 16 & 255), float32(v >> 8 & 255), float32(v & 255)}
}

func (c rgb) mul(k float32) rgb { return rgb{c.r * k, c.g * k, c.b * k} }

func (c rgb) mix(d rgb, t float32) rgb {
	return rgb{c.r + (d.r-c.r)*t, c.g + (d.g-c.g)*t, c.b + (d.b-c.b)*t}
}

// paint gives the colour and the cover (0..1) of a pixel.
type paint func(x, y float64) (rgb, float32)

func flat(c rgb) paint { return func(float64, float64) (rgb, float32) { return c, 1 } }

func glass(c rgb, a float32) paint { return func(float64, float64) (rgb, float32) { return c, a } }

// slope goes from one colour at a to another at b.
func slope(a pt, ca rgb, b pt, cb rgb) paint {
	d := b.sub(a)
	k := 1 / (d.x*d.x + d.y*d.y)
	return func(x, y float64) (rgb, float32) {
		t := ((x-a.x)*d.x + (y-a.y)*d.y) * k
		return ca.mix(cb, float32(clamp(t, 0, 1))), 1
	}
}

// canvas is the picture while it is drawn: opaque pixels, four bytes each.
type canvas struct {
	w, h int
	pix  []uint8
	z    vector.Rasterizer
	mask []uint8
	st   *Studio
	rng  *rand.Rand
}

func (c *canvas) rnd(lo, hi float64) float64 { return lo + (hi-lo)*c.rng.Float64() }

// wash paints the whole picture; the paint must cover.
func (c *canvas) wash(ink paint) {
	for y := range c.h {
		out, fy := c.pix[y*c.w*4:][:c.w*4], float64(y)+0.5
		next, _ := ink(0.5, fy)
		for x := 0; x < c.w; x += 2 { // every second pixel, as in fill
			col := next
			next, _ = ink(float64(x)+2.5, fy)
			p, mid := out[x*4:x*4+7:x*4+7], col.mix(next, 0.5)
			p[0], p[1], p[2] = to8(col.r), to8(col.g), to8(col.b)
			p[4], p[5], p[6] = to8(mid.r), to8(mid.g), to8(mid.b)
		}
	}
}

// fill paints the inside of a path. Inside wide shapes the paint is asked for every second pixel only, and the one
// between takes the mean: no eye sees the difference below the noise, and it halves the time.
func (c *canvas) fill(p path, ink paint) {
	m, r := c.cover(p)
	w := r.Dx()
	for y := r.Min.Y; y < r.Max.Y; y++ {
		row, out := m[(y-r.Min.Y)*w:][:w], c.pix[(y*c.w+r.Min.X)*4:]
		fy := float64(y) + 0.5
		var next rgb
		var nextA float32
		ahead := -1 // the pixel that next is of
		for x := 0; x < w; x++ {
			cov := row[x]
			if cov == 0 {
				continue
			}
			col, a := next, nextA
			if ahead != x {
				col, a = ink(float64(r.Min.X+x)+0.5, fy)
			}
			blend(out[x*4:x*4+3:x*4+3], col, a*float32(cov)*(1.0/255))
			if x+2 >= w || cov != 255 || row[x+1] != 255 || row[x+2] != 255 {
				continue
			}
			next, nextA = ink(float64(r.Min.X+x)+2.5, fy)
			ahead = x + 2
			x++
			if mid := (a + nextA) * 0.5; mid > 0 {
				// Where one of the two covers nothing its colour says nothing.
				t := nextA / (a + nextA)
				blend(out[x*4:x*4+3:x*4+3], col.mix(next, t), mid)
			}
		}
	}
}

// color paints the inside of a path in one colour.
func (c *canvas) color(p path, col rgb, a float32) {
	m, r := c.cover(p)
	w := r.Dx()
	for y := r.Min.Y; y < r.Max.Y; y++ {
		row, out := m[(y-r.Min.Y)*w:][:w], c.pix[(y*c.w+r.Min.X)*4:]
		for x, cov := range row {
			if cov != 0 {
				blend(out[x*4:x*4+3:x*4+3], col, a*float32(cov)*(1.0/255))
			}
		}
	}
}

func blend(out []uint8, c rgb, a float32) {
	if a >= 0.999 {
		out[0], out[1], out[2] = to8(c.r), to8(c.g), to8(c.b)
		return
	}
	out[0] = mix8(out[0], c.r, a)
	out[1] = mix8(out[1], c.g, a)
	out[2] = mix8(out[2], c.b, a)
}

func mix8(old uint8, v, a float32) uint8 {
	o := float32(old)
	return to8(o + (v-o)*a)
}

// cover rasters a path: the cover 0..255 of each pixel of the rectangle it touches.
func (c *canvas) cover(p path) ([]uint8, image.Rectangle) {
	x0, y0, x1, y1 := p.bounds()
	if !(x0 < x1) || !(y0 < y1) {
		return nil, image.Rectangle{}
	}
	big := func(v float64) int { return int(math.Floor(clamp(v, -1e6, 1e6))) }
	r := image.Rect(big(x0), big(y0), big(x1)+1, big(y1)+1).Intersect(image.Rect(0, 0, c.w, c.h))
	if r.Empty() {
		return nil, r
	}
	c.z.Reset(r.Dx(), r.Dy())
	c.z.DrawOp = draw.Src
	ox, oy := float64(r.Min.X), float64(r.Min.Y)
	for _, sub := range p {
		for i, v := range sub {
			// Far outside, the rasterizer's fixed point would overflow.
			x, y := float32(clamp(v.x-ox, -2e4, 2e4)), float32(clamp(v.y-oy, -2e4, 2e4))
			if i == 0 {
				c.z.MoveTo(x, y)
			} else {
				c.z.LineTo(x, y)
			}
		}
		c.z.ClosePath()
	}
	if n := r.Dx() * r.Dy(); cap(c.mask) < n {
		c.mask = make([]uint8, n)
	}
	m := c.mask[:r.Dx()*r.Dy()]
	dst := &image.Alpha{Pix: m, Stride: r.Dx(), Rect: image.Rect(0, 0, r.Dx(), r.Dy())}
	c.z.Draw(dst, dst.Rect, image.Opaque, image.Point{})
	return m, r
}

// soft darkens (or tints) below a path whose edge is blurred over about blur pixels: shadows, glare, stains.
func (c *canvas) soft(p path, blur float64, col rgb, a float32) {
	x0, y0, x1, y1 := p.bounds()
	if !(x0 < x1) || !(y0 < y1) {
		return
	}
	step := max(1, int(blur/4))
	pad := int(blur*2) + step
	r := image.Rect(int(clamp(x0, -1e5, 1e5))-pad, int(clamp(y0, -1e5, 1e5))-pad, int(clamp(x1, -1e5, 1e5))+pad, int(clamp(y1, -1e5, 1e5))+pad).
		Intersect(image.Rect(-pad, -pad, c.w+pad, c.h+pad))
	if r.Empty() {
		return
	}
	w, h := r.Dx()/step+2, r.Dy()/step+2
	small := canvas{w: w, h: h}
	q := make(path, len(p))
	for i, sub := range p {
		q[i] = make([]pt, len(sub))
		for j, v := range sub {
			q[i][j] = pt{(v.x - float64(r.Min.X)) / float64(step), (v.y - float64(r.Min.Y)) / float64(step)}
		}
	}
	m, mr := small.cover(q)
	g := make([]float32, w*h)
	for y := mr.Min.Y; y < mr.Max.Y; y++ {
		for x := mr.Min.X; x < mr.Max.X; x++ {
			g[y*w+x] = float32(m[(y-mr.Min.Y)*mr.Dx()+x-mr.Min.X]) / 255
		}
	}
	radius := max(1, int(blur/float64(step)/1.7+0.5))
	for range 3 {
		boxBlur(g, w, h, radius)
	}
	c.overlay(g, w, h, step, r, col, a)
}

// overlay blends a coarse mask over the picture.
func (c *canvas) overlay(g []float32, w, h, step int, r image.Rectangle, col rgb, a float32) {
	in := r.Intersect(image.Rect(0, 0, c.w, c.h))
	inv := 1 / float32(step)
	for y := in.Min.Y; y < in.Max.Y; y++ {
		fy := float32(y-r.Min.Y) * inv
		iy := min(int(fy), h-2)
		ty := fy - float32(iy)
		top, bot := g[iy*w:][:w], g[(iy+1)*w:][:w]
		out := c.pix[y*c.w*4:]
		for x := in.Min.X; x < in.Max.X; x++ {
			fx := float32(x-r.Min.X) * inv
			ix := min(int(fx), w-2)
			tx := fx - float32(ix)
			u := top[ix] + (top[ix+1]-top[ix])*tx
			v := bot[ix] + (bot[ix+1]-bot[ix])*tx
			if k := (u + (v-u)*ty) * a; k > 0.002 {
				blend(out[x*4:x*4+3:x*4+3], col, k)
			}
		}
	}
}

// boxBlur is one pass of a running mean along rows and columns.
func boxBlur(g []float32, w, h, r int) {
	k := 1 / float32(2*r+1)
	buf := make([]float32, max(w, h))
	line := func(at, stride, n int) {
		var sum float32
		get := func(i int) float32 {
			if i < 0 || i >= n {
				return 0
			}
			return g[at+i*stride]
		}
		for i := -r; i <= r; i++ {
			sum += get(i)
		}
		for i := range n {
			buf[i] = sum * k
			sum += get(i+r+1) - get(i-r)
		}
		for i := range n {
			g[at+i*stride] = buf[i]
		}
	}
	for y := range h {
		line(y*w, 1, w)
	}
	for x := range w {
		line(x, w, h)
	}
}
