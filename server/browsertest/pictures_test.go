package browsertest

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// photo draws a sharp, well-lit picture that is unlike any other of another seed, and writes it as JPEG. noise makes the file
// big: every pixel then differs from its neighbours.
func photo(t *testing.T, dir, name string, w, h int, seed uint64, noise bool) (path string, data []byte) {
	t.Helper()
	r := rand.New(rand.NewPCG(seed, 7))
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	base := color.RGBA{uint8(90 + r.IntN(80)), uint8(100 + r.IntN(70)), uint8(110 + r.IntN(60)), 255}
	for i := 0; i < len(img.Pix); i += 4 {
		d := 0
		if noise {
			d = r.IntN(60) - 30
		}
		img.Pix[i], img.Pix[i+1], img.Pix[i+2], img.Pix[i+3] = uint8(int(base.R)+d), uint8(int(base.G)+d), uint8(int(base.B)+d), 255
	}
	for range 90 {
		x, y, bw, bh := r.IntN(w), r.IntN(h), 10+r.IntN(w/4), 10+r.IntN(h/4)
		c := color.RGBA{uint8(r.IntN(256)), uint8(r.IntN(256)), uint8(r.IntN(256)), 255}
		for yy := y; yy < min(h, y+bh); yy++ {
			for xx := x; xx < min(w, x+bw); xx++ {
				if (xx/6+yy/6)%2 == 0 {
					img.SetRGBA(xx, yy, c)
				}
			}
		}
	}
	var b bytes.Buffer
	require.NoError(t, jpeg.Encode(&b, img, &jpeg.Options{Quality: 88}))
	path = filepath.Join(dir, name)
	require.NoError(t, os.WriteFile(path, b.Bytes(), 0o644))
	return path, b.Bytes()
}

// pale writes a picture of almost one tone, as of a white door on a white wall: a few steps of 6 levels of 255.
func pale(t *testing.T, dir, name string) (path string, data []byte) {
	t.Helper()
	img := image.NewGray(image.Rect(0, 0, 1600, 1200))
	for y := range 1200 {
		for x := range 1600 {
			img.Pix[y*img.Stride+x] = uint8(200 + 6*(x/400) + 6*(y/300))
		}
	}
	var b bytes.Buffer
	require.NoError(t, jpeg.Encode(&b, img, &jpeg.Options{Quality: 92}))
	path = filepath.Join(dir, name)
	require.NoError(t, os.WriteFile(path, b.Bytes(), 0o644))
	return path, b.Bytes()
}
