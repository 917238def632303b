package align_test

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/media/align"
	"kickplate/media/measure"
)

func flat(w, h int, v uint8) measure.Grey {
	return measure.Grey{Pix: slices.Repeat([]uint8{v}, w*h), W: w, H: h}
}

// changed applies f to every pixel.
func changed(g measure.Grey, f func(v float64) float64) measure.Grey {
	out := measure.Grey{Pix: make([]uint8, len(g.Pix)), W: g.W, H: g.H}
	for i, v := range g.Pix {
		out.Pix[i] = uint8(min(max(f(float64(v)), 0), 255))
	}
	return out
}

// A picture over itself stays where it is, whatever the photo's size in pixels is.
func TestSamePicture(t *testing.T) {
	g := drawScene(3, 800, 600)
	r := align.Align(align.Picture{View: g, Width: 4000, Height: 3000}, align.Picture{View: g, Width: 2000, Height: 1500})
	require.True(t, r.Aligned)
	for _, p := range [][2]float64{{0, 0}, {2000, 0}, {1000, 750}, {0, 1500}} {
		x, y := carry(r.Transform, p[0], p[1])
		assert.InDelta(t, 2*p[0], x, 4)
		assert.InDelta(t, 2*p[1], y, 4)
	}
	assert.Empty(t, r.Changed)
	assert.Greater(t, r.Agreement, 0.95)
	assert.InDelta(t, 1, r.Overlap, 0.03)
	for i, want := range [4]align.Place{{}, {X: 1000}, {X: 1000, Y: 1000}, {Y: 1000}} {
		assert.InDelta(t, want.X, r.Outline[i].X, 3)
		assert.InDelta(t, want.Y, r.Outline[i].Y, 3)
	}
}

func TestSameAnswerEveryTime(t *testing.T) {
	a, b := secondVisit(drawScene(2, 2000, 1500))
	first := align.Align(align.Picture{View: a}, align.Picture{View: b})
	require.True(t, first.Aligned)
	require.Equal(t, first, align.Align(align.Picture{View: a}, align.Picture{View: b}))
}

func TestWhyNot(t *testing.T) {
	good := drawScene(2, 800, 600)
	other := drawScene(3, 800, 600)
	blur := good
	for range 60 {
		blur = blur.Reduce(400, 300).Reduce(800, 600)
		for i := 1; i < len(blur.Pix)-1; i++ {
			blur.Pix[i] = uint8((int(blur.Pix[i-1]) + 2*int(blur.Pix[i]) + int(blur.Pix[i+1])) / 4)
		}
		blur = turned(blur)
	}
	for _, c := range []struct {
		name          string
		before, after measure.Grey
		why           align.Why
		which         string
	}{
		{"no pixels", measure.Grey{}, good, align.TooSmall, "before"},
		{"fewer pixels than it says", measure.Grey{Pix: make([]uint8, 10), W: 100, H: 100}, good, align.TooSmall, "before"},
		{"tiny", good, flat(40, 30, 9), align.TooSmall, "after"},
		{"a line", good.Reduce(640, 3), good, align.TooSmall, "before"},
		{"another scene", good, other, align.FewPoints, ""},
		{"a plain wall", flat(640, 480, 128), good, align.TooPlain, "before"},
		{"in the dark", good, changed(good, func(v float64) float64 { return v / 40 }), align.TooDark, "after"},
		{"out of focus", good, blur, align.Blurred, "after"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := align.Align(align.Picture{View: c.before}, align.Picture{View: c.after})
			assert.False(t, r.Aligned)
			assert.Equal(t, c.why, r.Why)
			assert.Equal(t, c.which, r.Which)
			assert.Empty(t, r.Changed)
			assert.Zero(t, r.Transform)
		})
	}
}

// turned exchanges rows and columns.
func turned(g measure.Grey) measure.Grey {
	out := measure.Grey{Pix: make([]uint8, len(g.Pix)), W: g.H, H: g.W}
	for i, v := range g.Pix {
		out.Pix[i%g.W*g.H+i/g.W] = v
	}
	return out
}

// One thing in two different surroundings, like the same plate on two machines, is no reason to lay one photo over the other.
func TestOneThingInTwoPlaces(t *testing.T) {
	thing := drawScene(6, 170, 130)
	a, b := drawScene(11, 800, 600), drawScene(8, 800, 600)
	for y := range thing.H {
		copy(a.Pix[(200+y)*a.W+300:], thing.Pix[y*thing.W:][:thing.W])
		copy(b.Pix[(260+y)*b.W+220:], thing.Pix[y*thing.W:][:thing.W])
	}
	r := align.Align(align.Picture{View: a}, align.Picture{View: b})
	assert.False(t, r.Aligned, "%+v", r)
}

// Any pixels of any size give an answer, and one that holds what it says.
func FuzzAlign(f *testing.F) {
	f.Add([]byte("seed"), uint16(64), uint16(64), uint16(200), uint16(60), uint8(0))
	f.Add([]byte{0, 255, 3, 9, 200}, uint16(150), uint16(90), uint16(150), uint16(90), uint8(1))
	f.Add([]byte{}, uint16(0), uint16(7), uint16(60), uint16(1), uint8(2))
	f.Add([]byte{1}, uint16(90), uint16(200), uint16(200), uint16(90), uint8(7))
	scene := drawScene(3, 220, 220)
	f.Fuzz(func(t *testing.T, data []byte, w1, h1, w2, h2 uint16, how uint8) {
		picture := func(w, h uint16, from int) measure.Grey {
			g := measure.Grey{W: int(w % 220), H: int(h % 220)}
			g.Pix = make([]uint8, g.W*g.H)
			for i := range g.Pix {
				if how&1 != 0 {
					g.Pix[i] = scene.Pix[i/max(g.W, 1)*scene.W+i%max(g.W, 1)]
				}
				if len(data) > 0 {
					g.Pix[i] += data[(i*from)%len(data)]
				}
			}
			if how&2 != 0 && len(g.Pix) > 0 {
				g.Pix = g.Pix[1:]
			}
			return g
		}
		r := align.Align(align.Picture{View: picture(w1, h1, 1), Width: int(w2)}, align.Picture{View: picture(w2, h2, 7), Width: 4032, Height: int(h1)})
		require.Equal(t, r.Aligned, r.Why == "")
		if !r.Aligned {
			require.Empty(t, r.Changed)
			return
		}
		for _, v := range append(r.Transform[:], r.Residual, r.Agreement, r.Overlap) {
			require.False(t, math.IsNaN(v) || math.IsInf(v, 0), "%+v", r)
		}
		require.LessOrEqual(t, len(r.Changed), 24)
		for _, a := range r.Changed {
			require.True(t, a.X >= 0 && a.Y >= 0 && a.W > 0 && a.H > 0 && a.X+a.W <= 1000 && a.Y+a.H <= 1000, "%+v", a)
		}
	})
}
