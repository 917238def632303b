package align_test

import (
	"bytes"
	"image"
	"image/draw"
	"image/jpeg"
	"image/png"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/image/webp"

	"kickplate/media/measure"
)

const photosDir = "../../testdata/photos"

// cameraPhotos are the sample photos that show something at 250 px or more: what is real in the measured set.
func cameraPhotos() []string {
	return []string{"evanoberholster/JPEG.jpg", "evanoberholster/a1.jpg", "evanoberholster/a2.jpg", "dsoprea/gps.jpg", "dsoprea/gps-2000-scaled.jpg",
		"ximage/tux.png", "ximage/yellow_rose.lossy.webp"}
}

func readPhoto(t testing.TB, name string) measure.Grey {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(photosDir, name))
	require.NoError(t, err)
	decode := map[string]func(*bytes.Reader) (image.Image, error){
		".jpg":  func(r *bytes.Reader) (image.Image, error) { return jpeg.Decode(r) },
		".png":  func(r *bytes.Reader) (image.Image, error) { return png.Decode(r) },
		".webp": func(r *bytes.Reader) (image.Image, error) { return webp.Decode(r) },
	}[filepath.Ext(name)]
	img, err := decode(bytes.NewReader(data))
	require.NoError(t, err)
	return greyOf(img)
}

func greyOf(img image.Image) measure.Grey {
	b := img.Bounds()
	flat := image.NewNRGBA(image.Rect(0, 0, b.Dx(), b.Dy()))
	draw.Draw(flat, flat.Rect, image.White, image.Point{}, draw.Src)
	draw.Draw(flat, flat.Rect, img, b.Min, draw.Over)
	return measure.FromRGBA(flat.Pix, flat.Stride, b.Dx(), b.Dy())
}

func writePNG(t testing.TB, path string, g measure.Grey) {
	t.Helper()
	f, err := os.Create(path)
	require.NoError(t, err)
	e := png.Encoder{CompressionLevel: png.BestSpeed}
	require.NoError(t, e.Encode(f, &image.Gray{Pix: g.Pix, Stride: g.W, Rect: image.Rect(0, 0, g.W, g.H)}))
	require.NoError(t, f.Close())
}

// canvas is a picture that scenes are drawn on.
type canvas struct {
	pix  []float64
	w, h int
	rng  *rand.Rand
}

// kinds are the scenes that drawScene knows.
var kinds = []string{"label", "door", "compartment", "kitchen front", "tiles and clutter", "stained liner"}

// drawScene draws a scene of a visit: seed picks its kind (see kinds) and everything else about it.
func drawScene(seed uint64, w, h int) measure.Grey {
	c := &canvas{make([]float64, w*h), w, h, rand.New(rand.NewPCG(seed, 23))}
	r := c.rng
	ground, tx, ty := 80+120*r.Float64(), 60*(r.Float64()-0.5), 60*(r.Float64()-0.5)
	for i := range c.pix {
		c.pix[i] = ground + tx*float64(i%w)/float64(w) + ty*float64(i/w)/float64(h)
	}
	switch seed % uint64(len(kinds)) {
	case 0:
		c.box(w/20, h/20, w*19/20, h*19/20, 200+30*r.Float64())
		for y := h / 10; y < h*9/10; y += h / 14 {
			c.letters(w/10, y, w*9/10-r.IntN(w/2), h/30)
		}
		c.bars(w/5, h*3/5, w*4/5, h*7/10)
	case 1:
		c.box(w/6, -1, w*5/6, h, 225)
		c.box(w/5, h/6, w/5+w/50, h*3/5, 90)
		c.box(w/2, h/3, w/2+w/6, h/3+h/10, 245)
		c.letters(w/2+6, h/3+6, w/2+w/6-6, h/28)
		c.scratches(8)
		c.blobs(60, float64(w)/300, 180)
	case 2:
		for range 14 {
			x, y := r.IntN(w), r.IntN(h)
			c.box(x, y, x+w/20+r.IntN(w/6), y+h/20+r.IntN(h/6), 250*r.Float64())
		}
		c.scratches(40)
		c.blobs(120, float64(w)/90, 250*r.Float64())
	case 3:
		for range 9 {
			x, y := r.IntN(w), r.IntN(h)
			c.box(x, y, x+w/8+r.IntN(w/3), y+h/8+r.IntN(h/3), 40+200*r.Float64())
		}
		c.letters(w/4, h/3, w*3/5, h/25)
		c.letters(w/3, h*2/3, w*3/5, h/40)
		c.blobs(40, float64(w)/120, 60)
	case 4:
		n := w / (8 + r.IntN(5))
		for y := 0; y < h; y += n { // a floor that repeats itself, with things on it
			for x := 0; x < w; x += n {
				c.box(x+3, y+3, x+n-3, y+n-3, ground+18*(r.Float64()-0.5))
			}
		}
		c.blobs(50, float64(w)/60, 250*r.Float64())
		c.letters(w/3, h/2, w*2/3, h/20)
	default:
		c.blobs(400, float64(w)/200, ground-40)
		c.blobs(30, float64(w)/25, ground+25)
		c.scratches(12)
	}
	g := measure.Grey{Pix: make([]uint8, w*h), W: w, H: h}
	for i := range g.Pix { // a lens, and a little grain
		x, y := i%w, i/w
		v := c.pix[i]*4 + c.get(x-1, y) + c.get(x+1, y) + c.get(x, y-1) + c.get(x, y+1)
		g.Pix[i] = uint8(min(max(v/8+1.5*r.NormFloat64()+0.5, 0), 255))
	}
	return g
}

func (c *canvas) get(x, y int) float64 {
	return c.pix[min(max(y, 0), c.h-1)*c.w+min(max(x, 0), c.w-1)]
}

func (c *canvas) box(x0, y0, x1, y1 int, v float64) {
	for y := max(0, y0); y < min(c.h, y1); y++ {
		for x := max(0, x0); x < min(c.w, x1); x++ {
			c.pix[y*c.w+x] = v
		}
	}
}

// letters sets a line of bars that look like letters.
func (c *canvas) letters(x0, y0, x1, size int) {
	for x := x0; x+size < x1; x += size {
		if c.rng.IntN(6) == 0 {
			continue
		}
		for range 3 {
			if c.rng.IntN(2) == 0 {
				y := y0 + c.rng.IntN(3)*size*2/5
				c.box(x, y, x+size*3/5, y+max(1, size/7), 30)
			} else {
				u := x + c.rng.IntN(2)*size/2
				c.box(u, y0, u+max(1, size/7), y0+size, 30)
			}
		}
	}
}

func (c *canvas) bars(x0, y0, x1, y1 int) {
	for x := x0; x < x1; {
		n := 2 + c.rng.IntN(6)
		c.box(x, y0, x+n, y1, 25)
		x += n + 2 + c.rng.IntN(6)
	}
}

func (c *canvas) blobs(n int, size, v float64) {
	for range n {
		cx, cy, rad := c.rng.IntN(c.w), c.rng.IntN(c.h), size*(0.4+c.rng.Float64())
		for y := cy - int(rad); y <= cy+int(rad); y++ {
			for x := cx - int(rad); x <= cx+int(rad); x++ {
				if x >= 0 && y >= 0 && x < c.w && y < c.h && math.Hypot(float64(x-cx), float64(y-cy)) <= rad {
					c.pix[y*c.w+x] = v
				}
			}
		}
	}
}

func (c *canvas) scratches(n int) {
	for range n {
		x, y, a := c.rng.Float64()*float64(c.w), c.rng.Float64()*float64(c.h), 2*math.Pi*c.rng.Float64()
		v, bend, thick := 255*c.rng.Float64(), 0.01*(c.rng.Float64()-0.5), 1+c.rng.IntN(c.w/150+1)
		for range c.w / 2 {
			c.box(int(x), int(y), int(x)+thick, int(y)+thick, v)
			x, y, a = x+math.Cos(a), y+math.Sin(a), a+bend
		}
	}
}
