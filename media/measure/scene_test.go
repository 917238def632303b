package measure_test

import (
	"image"
	"image/draw"
	_ "image/jpeg"
	_ "image/png"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"kickplate/media/measure"
)

// picture is a linear-ish floating point grey picture, so that blur and exposure act before rounding.
type picture struct {
	pix  []float64
	w, h int
}

func newPicture(w, h int) picture { return picture{make([]float64, w*h), w, h} }

// drawn draws a scene of a visit: 0 a rating plate in close-up, 1 a plain white door with a handle and a small label, 2 a
// machine compartment with hoses and wires, 3 a frosted coil, 4 a kitchen front. Every seed gives another one.
func drawn(seed uint64, w, h int) picture {
	r := rand.New(rand.NewPCG(seed, 11))
	p := newPicture(w, h)
	ground := 60 + 150*r.Float64()
	tilt, lean := 50*(r.Float64()-0.5), 50*(r.Float64()-0.5)
	for y := range h {
		for x := range w {
			p.pix[y*w+x] = ground + tilt*float64(x)/float64(w) + lean*float64(y)/float64(h)
		}
	}
	switch seed % 5 {
	case 0:
		x0, y0 := r.IntN(w/4), r.IntN(h/4)
		x1, y1 := w-r.IntN(w/4), h-r.IntN(h/4)
		p.box(x0, y0, x1, y1, 190+40*r.Float64())
		p.letters(r, x0+w/30, y0+h/30, x1-w/30, y1-h/30, 8+r.IntN(8), 30)
	case 1:
		x0 := r.IntN(w / 3)
		x1 := w - r.IntN(w/3)
		p.box(x0, r.IntN(h/3)-h/6, x1, h, 215+25*r.Float64())
		hx, hy := x0+r.IntN(w/6), r.IntN(h/2)
		p.box(hx, hy, hx+w/40, hy+h*2/5, 90)
		lx, ly := w/3+r.IntN(w/3), h/3+r.IntN(h/3)
		p.box(lx, ly, lx+w/6, ly+h/8, 240)
		p.letters(r, lx+4, ly+4, lx+w/6-4, ly+h/8-4, 6, 40)
	case 2:
		for range 25 {
			p.strand(r, 2+r.Float64()*float64(w)/60, 20+200*r.Float64())
		}
		for range 10 {
			x, y := r.IntN(w), r.IntN(h)
			p.box(x, y, x+w/20+r.IntN(w/6), y+h/20+r.IntN(h/6), 255*r.Float64())
		}
	case 3:
		pitch := w/(30+int(seed%7)*10) + 2
		for x := r.IntN(pitch); x < w; x += pitch { // fins, thin and dark, bent here and there
			lean := 6 * (r.Float64() - 0.5)
			for y := range h {
				fx := x + int(lean*float64(y)/float64(h))
				p.box(fx, y, fx+max(1, pitch/4), y+1, ground-50)
			}
		}
		for range 120 {
			p.blob(r.IntN(w), r.IntN(h), float64(w)/200+r.Float64()*float64(w)/50, 200+50*r.Float64())
		}
	default:
		for range 12 {
			x, y := r.IntN(w), r.IntN(h)
			p.box(x, y, x+w/8+r.IntN(w/3), y+h/8+r.IntN(h/3), 30+220*r.Float64())
		}
		for range 8 {
			p.strand(r, 3, 255*r.Float64())
		}
		p.letters(r, w/4, h/3, w/2, h/2, 10, 25)
	}
	return p
}

func (p picture) box(x0, y0, x1, y1 int, v float64) {
	for y := max(0, y0); y < min(p.h, y1); y++ {
		for x := max(0, x0); x < min(p.w, x1); x++ {
			p.pix[y*p.w+x] = v
		}
	}
}

// letters fills lines with little bars that look like type.
func (p picture) letters(r *rand.Rand, x0, y0, x1, y1, size int, v float64) {
	for y := y0; y+size < y1; y += size * 2 {
		for x := x0; x+size < x1-r.IntN(max(1, (x1-x0)/2)); x += size {
			for k := range 5 {
				if r.IntN(2) == 0 {
					p.box(x+k%2*size/3, y+k*size/5, x+size*2/3, y+k*size/5+max(1, size/6), v)
				} else {
					p.box(x+k%3*size/4, y, x+k%3*size/4+max(1, size/6), y+size, v)
				}
			}
		}
	}
}

func (p picture) strand(r *rand.Rand, width, v float64) {
	x, y, a := r.Float64()*float64(p.w), r.Float64()*float64(p.h), 2*math.Pi*r.Float64()
	for range p.w {
		p.blob(int(x), int(y), width, v)
		x, y, a = x+math.Cos(a), y+math.Sin(a), a+0.03*(r.Float64()-0.5)
	}
}

func (p picture) blob(cx, cy int, radius, v float64) {
	n := int(radius) + 1
	for y := max(0, cy-n); y <= min(p.h-1, cy+n); y++ {
		for x := max(0, cx-n); x <= min(p.w-1, cx+n); x++ {
			if float64((x-cx)*(x-cx)+(y-cy)*(y-cy)) <= radius*radius {
				p.pix[y*p.w+x] = v
			}
		}
	}
}

// gauss blurs by sigma pixels.
func (p picture) gauss(sigma float64) picture {
	if sigma == 0 {
		return p
	}
	n := int(math.Ceil(3.5 * sigma))
	k := make([]float64, 2*n+1)
	var sum float64
	for i := range k {
		k[i] = math.Exp(-float64((i-n)*(i-n)) / (2 * sigma * sigma))
		sum += k[i]
	}
	for i := range k {
		k[i] /= sum
	}
	return p.convolve(k, 1, 0).convolve(k, 0, 1)
}

// motion blurs along a line of length pixels at an angle of 0, 45 or 90 degrees.
func (p picture) motion(length, degrees int) picture {
	k := make([]float64, length|1)
	for i := range k {
		k[i] = 1 / float64(len(k))
	}
	switch degrees {
	case 0:
		return p.convolve(k, 1, 0)
	case 90:
		return p.convolve(k, 0, 1)
	}
	return p.convolve(k, 1, 1)
}

// convolve sums the picture shifted by each step of the kernel, with the border repeated.
func (p picture) convolve(k []float64, dx, dy int) picture {
	out := newPicture(p.w, p.h)
	n := len(k) / 2
	padded := make([]float64, p.w+2*n)
	for y := range p.h {
		to := out.pix[y*p.w:][:p.w]
		for i, f := range k {
			from := p.pix[min(max(y+(i-n)*dy, 0), p.h-1)*p.w:][:p.w]
			if dx != 0 {
				if i == 0 || dy != 0 {
					for j := range n {
						padded[j], padded[n+p.w+j] = from[0], from[p.w-1]
					}
					copy(padded[n:], from)
				}
				from = padded[i:][:p.w]
			}
			for x, v := range from {
				to[x] += f * v
			}
		}
	}
	return out
}

// exposed multiplies the light: 1 = as drawn. The grey levels are taken as gamma 2.2.
func (p picture) exposed(light float64) picture {
	out := newPicture(p.w, p.h)
	f := math.Pow(light, 1/2.2)
	for i, v := range p.pix {
		out.pix[i] = v * f
	}
	return out
}

// grey rounds, with noise of that many grey levels.
func (p picture) grey(noise float64, seed uint64) measure.Grey {
	r := rand.New(rand.NewPCG(seed, 5))
	g := measure.Grey{Pix: make([]uint8, len(p.pix)), W: p.w, H: p.h}
	for i, v := range p.pix {
		if noise > 0 {
			v += noise * r.NormFloat64()
		}
		g.Pix[i] = uint8(math.Max(0, math.Min(255, v+0.5)))
	}
	return g
}

func pictureOf(g measure.Grey) picture {
	p := newPicture(g.W, g.H)
	for i, v := range g.Pix {
		p.pix[i] = float64(v)
	}
	return p
}

// photo reads a sample photo as grey.
func photo(t testing.TB, name string) measure.Grey {
	t.Helper()
	f, err := os.Open(filepath.Join("../../testdata/photos", name))
	require.NoError(t, err)
	defer f.Close()
	img, _, err := image.Decode(f)
	require.NoError(t, err)
	b := img.Bounds()
	rgba := image.NewNRGBA(image.Rect(0, 0, b.Dx(), b.Dy()))
	draw.Draw(rgba, rgba.Rect, img, b.Min, draw.Src)
	return measure.FromRGBA(rgba.Pix, rgba.Stride, b.Dx(), b.Dy())
}

// realPhotos are the sample photos of cameras that are sharp somewhere.
func realPhotos() []string {
	return []string{"evanoberholster/JPEG.jpg", "evanoberholster/a1.jpg", "evanoberholster/a2.jpg", "dsoprea/gps.jpg", "dsoprea/gps-2000-scaled.jpg"}
}
