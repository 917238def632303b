package pwa_test

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/image/vector"
)

// The app's icons are drawn here, from one list of shapes for the SVG and every PNG: an appliance's front with its kick
// plate, and a tick.

// TestIconsAreCurrent holds the committed icons against the drawing. The pixels are compared, not the bytes: another version of
// the PNG encoder may pack the same picture otherwise.
func TestIconsAreCurrent(t *testing.T) {
	dir := filepath.Join("static", "icons")
	const cure = "run go test ./pwa -run TestIconsAreCurrent -update"
	svg := iconSVG()
	if *update {
		require.NoError(t, os.WriteFile(filepath.Join(dir, "icon.svg"), svg, 0o644))
	}
	got, err := os.ReadFile(filepath.Join(dir, "icon.svg"))
	require.NoError(t, err, cure)
	assert.True(t, bytes.Equal(svg, got), cure)
	require.NoError(t, xml.Unmarshal(got, new(struct{})))
	for name, c := range map[string]struct {
		side     int
		maskable bool
	}{"icon-192.png": {192, false}, "icon-512.png": {512, false}, "mask-512.png": {512, true}, "touch-180.png": {180, true}} {
		t.Run(name, func(t *testing.T) {
			want, err := iconPNG(c.side, c.maskable)
			require.NoError(t, err)
			if *update {
				require.NoError(t, os.WriteFile(filepath.Join(dir, name), want, 0o644))
			}
			f, err := os.ReadFile(filepath.Join(dir, name))
			require.NoError(t, err, cure)
			a, err := png.Decode(bytes.NewReader(want))
			require.NoError(t, err)
			b, err := png.Decode(bytes.NewReader(f))
			require.NoError(t, err)
			require.Equal(t, a.Bounds(), b.Bounds())
			assert.Equal(t, a, b, cure)
		})
	}
}

// shape is a polygon (rounded by its own points) on a square of 100 units.
type shape struct {
	fill   color.RGBA
	points [][2]float32
}

var (
	deep  = color.RGBA{0x10, 0x39, 0x3a, 0xff}
	white = color.RGBA{0xff, 0xff, 0xff, 0xff}
	teal  = color.RGBA{0x0a, 0x5a, 0x56, 0xff}
	amber = color.RGBA{0xf2, 0xb1, 0x34, 0xff}
)

func box(x, y, w, h float32) [][2]float32 {
	return [][2]float32{{x, y}, {x + w, y}, {x + w, y + h}, {x, y + h}}
}

// rounded cuts a box's corners in three steps, which is round enough at 100 units.
func rounded(x, y, w, h, r float32) [][2]float32 {
	const c, s = 0.29289322, 0.07612047 // 1-cos 45°, 1-cos 22.5°
	const d = 0.61731657                // 1-sin 22.5°
	corner := func(cx, cy, sx, sy float32) [][2]float32 {
		return [][2]float32{{cx, cy + sy*r}, {cx + sx*s*r, cy + sy*d*r}, {cx + sx*c*r, cy + sy*c*r}, {cx + sx*d*r, cy + sy*s*r}, {cx + sx*r, cy}}
	}
	flip := func(p [][2]float32) [][2]float32 {
		out := make([][2]float32, len(p))
		for i := range p {
			out[len(p)-1-i] = p[i]
		}
		return out
	}
	all := corner(x, y, 1, 1)
	all = append(all, flip(corner(x+w, y, -1, 1))...)
	all = append(all, corner(x+w, y+h, -1, -1)...)
	return append(all, flip(corner(x, y+h, 1, -1))...)
}

// shapes are drawn in order. Maskable icons fill the whole square and keep to its middle.
func shapes(maskable bool) []shape {
	back, k, o := rounded(0, 0, 100, 100, 22), float32(1), float32(0)
	if maskable {
		back, k, o = box(0, 0, 100, 100), 0.72, 14
	}
	at := func(p [][2]float32) [][2]float32 {
		for i := range p {
			p[i] = [2]float32{o + k*p[i][0], o + k*p[i][1]}
		}
		return p
	}
	all := []shape{
		{deep, back},
		{white, at(rounded(22, 12, 56, 62, 6))},
		{teal, at(box(67, 20, 4, 16))},
		{amber, at(rounded(22, 77, 56, 12, 3))},
	}
	for x := float32(29); x < 72; x += 9 {
		all = append(all, shape{deep, at(box(x, 80, 4, 6))})
	}
	tick := [][2]float32{{32, 46}, {37, 41}, {44, 48}, {58, 32}, {63, 37}, {44, 58}}
	return append(all, shape{teal, at(tick)})
}

// iconSVG is the icon as a drawing.
func iconSVG() []byte {
	var b strings.Builder
	b.WriteString(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100">`)
	for _, s := range shapes(false) {
		fmt.Fprintf(&b, `<path fill="#%02x%02x%02x" d="`, s.fill.R, s.fill.G, s.fill.B)
		for i, p := range s.points {
			fmt.Fprintf(&b, "%c%.4g %.4g", "ML"[min(i, 1)], p[0], p[1])
		}
		b.WriteString(`z"/>`)
	}
	b.WriteString("</svg>\n")
	return []byte(b.String())
}

// iconPNG is the icon with sides of n pixels.
func iconPNG(n int, maskable bool) ([]byte, error) {
	img := image.NewRGBA(image.Rect(0, 0, n, n))
	k := float32(n) / 100
	for _, s := range shapes(maskable) {
		r := vector.NewRasterizer(n, n)
		for i, p := range s.points {
			if i == 0 {
				r.MoveTo(k*p[0], k*p[1])
			} else {
				r.LineTo(k*p[0], k*p[1])
			}
		}
		r.ClosePath()
		r.DrawOp = draw.Over
		r.Draw(img, img.Bounds(), image.NewUniform(s.fill), image.Point{})
	}
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		return nil, fmt.Errorf("write the icon of %d pixels: %w", n, err)
	}
	return b.Bytes(), nil
}
