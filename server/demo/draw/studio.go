package draw

import (
	"bytes"
	"fmt"
	"image"
	"image/jpeg"
	"math/rand/v2"

	"golang.org/x/image/font/sfnt"
)

// Long and Short are the sides of every photograph, in pixels.
const (
	Long  = 2016
	Short = 1512
)

const quality = 87 // of the JPEG, as phones write it

// Studio holds what all photographs share: typefaces and noise. It never changes, so photographs may be made at the
// same time.
type Studio struct {
	faces  [faces]*sfnt.Font
	lumps  tile // soft, wide
	fine   tile // finer
	wood   tile // to be read stretched
	grains []float32
	// The sides of a photograph; the tests make some smaller.
	long, short int
}

// NewStudio prepares a studio. The seed decides the noise, not the scenes.
func NewStudio(seed uint64) (*Studio, error) {
	f, err := loadFaces()
	if err != nil {
		return nil, err
	}
	rng := rand.New(rand.NewPCG(seed, 1))
	return &Studio{
		faces: f, lumps: cloud(rng, 4, 5, 0.5), fine: cloud(rng, 32, 4, 0.6),
		wood: cloud(rng, 8, 5, 0.62), grains: grain(rng), long: Long, short: Short,
	}, nil
}

// Scene is something to photograph: one of the types of this package.
type Scene interface{ paint(c *canvas) }

// Shot says how a scene is photographed.
type Shot struct {
	// Seed decides what differs between two photographs of one scene: the hand, small stains, the noise.
	Seed uint64
	// Portrait holds the phone upright: the stored picture lies on its side and EXIF orientation 6 says so.
	Portrait bool
	// Blur is the radius of a missed focus or a shaken hand, in pixels; 0 = sharp.
	Blur float64
	// Gain is the exposure; 0 = 1, less is darker.
	Gain float64
	// Exif is written into the file; its size and orientation are filled in.
	Exif Exif
}

// Photo draws, develops and encodes one photograph.
func (s *Studio) Photo(scene Scene, shot Shot) ([]byte, error) {
	c := s.draw(scene, shot)
	img := c.develop(shot)
	var buf bytes.Buffer
	buf.Grow(1 << 20)
	if err := jpeg.Encode(&buf, img, &jpeg.Options{Quality: quality}); err != nil {
		return nil, fmt.Errorf("encode photo: %w", err)
	}
	x := shot.Exif
	x.width, x.height, x.orientation = img.Rect.Dx(), img.Rect.Dy(), 1
	if shot.Portrait {
		x.orientation = 6
	}
	return x.insert(buf.Bytes())
}

func (s *Studio) draw(scene Scene, shot Shot) *canvas {
	w, h := s.long, s.short
	if shot.Portrait {
		w, h = h, w
	}
	c := &canvas{w: w, h: h, pix: make([]uint8, w*h*4), st: s, rng: rand.New(rand.NewPCG(shot.Seed, 2))}
	scene.paint(c)
	if shot.Blur > 0 {
		c.defocus(shot.Blur)
	}
	return c
}

// defocus blurs the whole picture.
func (c *canvas) defocus(radius float64) {
	g := make([]float32, c.w*c.h)
	r := max(1, int(radius/1.7+0.5))
	for ch := range 3 {
		for i := range g {
			g[i] = float32(c.pix[i*4+ch]) - 128 // the running mean counts what lies outside as 0: as grey, then
		}
		for range 3 {
			boxBlur(g, c.w, c.h, r)
		}
		for i := range g {
			c.pix[i*4+ch] = uint8(clamp(float64(g[i])+128.5, 0, 255))
		}
	}
}

// develop gives the drawing what a lens and a sensor would: fall-off to the corners, uneven light, noise; and turns
// it the way the sensor sits in the phone.
func (c *canvas) develop(shot Shot) *image.YCbCr {
	w, h := c.w, c.h
	if shot.Portrait {
		w, h = h, w
	}
	img := image.NewYCbCr(image.Rect(0, 0, w, h), image.YCbCrSubsampleRatio420)
	gain := float32(shot.Gain)
	if gain == 0 {
		gain = 1
	}
	d := developer{
		c: c, img: img, portrait: shot.Portrait, gain: gain,
		kx: 2 / float32(c.w), ky: 2 / float32(c.h),
		tiltX: float32(c.rnd(-0.06, 0.06)), tiltY: float32(c.rnd(-0.07, 0.02)),
		warm: rgb{float32(c.rnd(0.99, 1.03)), 1, float32(c.rnd(0.95, 1.0))},
		ox:   c.rng.IntN(tileSize), oy: c.rng.IntN(tileSize),
	}
	const block = 48 // keeps the turned reading in the cache
	for y := 0; y < h; y += block {
		for x := 0; x < w; x += block {
			d.block(x, y, min(x+block, w), min(y+block, h))
		}
	}
	return img
}

type developer struct {
	c                          *canvas
	img                        *image.YCbCr
	portrait                   bool
	gain, kx, ky, tiltX, tiltY float32
	warm                       rgb
	ox, oy                     int
}

func (d *developer) block(x0, y0, x1, y1 int) {
	c, img := d.c, d.img
	for y := y0; y < y1; y += 2 {
		for x := x0; x < x1; x += 2 {
			var cb, cr float32
			for k := range 4 {
				sx, sy := x+k&1, y+k>>1
				u, v := sx, sy
				if d.portrait {
					u, v = c.w-1-sy, sx
				}
				dx, dy := float32(u)*d.kx-1, float32(v)*d.ky-1
				g := d.gain * (1 + d.tiltX*dx + d.tiltY*dy) * (1 - 0.11*(dx*dx+dy*dy))
				p := c.pix[(v*c.w+u)*4:][:3:3]
				r, gr, b := float32(p[0])*g*d.warm.r, float32(p[1])*g, float32(p[2])*g*d.warm.b
				n := c.st.grains[(sy+d.oy)&(tileSize-1)*tileSize+(sx+d.ox)&(tileSize-1)]
				l := 0.299*r + 0.587*gr + 0.114*b
				img.Y[sy*img.YStride+sx] = to8(l + n*(1.3+1.1*(1-l*(1.0/255))))
				cb += b - l
				cr += r - l
			}
			o := y/2*img.CStride + x/2
			img.Cb[o] = to8(128 + cb*(0.564/4))
			img.Cr[o] = to8(128 + cr*(0.713/4))
		}
	}
}

func to8(v float32) uint8 {
	n := int32(v + 0.5)
	if uint32(n) > 255 {
		n = ^n >> 31 & 255 // below 0 to 0, above 255 to 255
	}
	return uint8(n)
}
