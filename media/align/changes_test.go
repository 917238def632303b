package align_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/media/align"
	"kickplate/media/measure"
)

// spotted makes the second photo of a scene: turned and shifted, darker, noisier, and with a spot of the size (share of the width)
// and the contrast, in grey levels. It returns where the middle of the spot lies in the first photo, in thousandths.
func spotted(g measure.Grey, size, contrast float64, seed uint64) (measure.Grey, align.Place) {
	r := rand.New(rand.NewPCG(seed, 3))
	cx, cy := (0.25+0.5*r.Float64())*float64(g.W), (0.25+0.5*r.Float64())*float64(g.H)
	rad := size * float64(g.W) / 2
	s, c := math.Sincos(0.03)
	out := measure.Grey{Pix: make([]uint8, len(g.Pix)), W: g.W, H: g.H}
	for y := range g.H {
		for x := range g.W {
			u, v := c*float64(x)-s*float64(y)+14, s*float64(x)+c*float64(y)-6
			w := float64(g.Pix[min(max(int(v), 0), g.H-1)*g.W+min(max(int(u), 0), g.W-1)])
			if d := math.Hypot(u-cx, v-cy); d < rad {
				w += contrast
			}
			out.Pix[y*g.W+x] = uint8(min(max(0.85*w+5+2*r.NormFloat64(), 0), 255))
		}
	}
	return out, align.Place{X: int(1000 * cx / float64(g.W)), Y: int(1000 * cy / float64(g.H))}
}

func covers(a align.Area, p align.Place) bool {
	return p.X >= a.X && p.X < a.X+a.W && p.Y >= a.Y && p.Y < a.Y+a.H
}

// spots counts, over the drawn scenes, how many spots are found and how many areas are named elsewhere.
func spots(t *testing.T, size, contrast float64, n uint64) (tried, found, elsewhere int) {
	for i := range n {
		g := drawScene(200+i, 1000, 750)
		second, at := spotted(g, size, contrast, i)
		r := align.Align(align.Picture{View: g}, align.Picture{View: second})
		require.True(t, r.Aligned, "%+v", r)
		tried++
		hit := false
		for _, a := range r.Changed {
			if covers(a, at) {
				hit = true
			} else {
				elsewhere++
			}
		}
		if hit {
			found++
		}
	}
	return tried, found, elsewhere
}

func changesTable(t *testing.T, doc *strings.Builder) {
	doc.WriteString(changesHead)
	for _, size := range []float64{0.02, 0.04, 0.1} {
		for _, contrast := range []float64{0, -20, -40, -80} {
			tried, found, elsewhere := spots(t, size, contrast, 18)
			what := fmt.Sprint(contrast)
			if contrast == 0 {
				what = "0 (no spot)"
				if size != 0.02 {
					continue
				}
			}
			fmt.Fprintf(doc, "| %.0f | %s | %d | %d | %d |\n", 100*size, what, tried, found, elsewhere)
			switch {
			case contrast == 0:
				assert.Zero(t, found)
			case size >= 0.04 && contrast <= -40:
				assert.GreaterOrEqual(t, float64(found), 0.9*float64(tried))
			}
		}
	}
}

func TestASpotIsMarked(t *testing.T) {
	tried, found, elsewhere := spots(t, 0.08, -60, 6)
	assert.Equal(t, tried, found)
	assert.LessOrEqual(t, elsewhere, 2)
}

// The same photo with more light, or lit from one side, has not changed.
func TestLightIsNoChange(t *testing.T) {
	g := drawScene(205, 800, 600)
	for name, f := range map[string]func(x, y int, v float64) float64{
		"darker":        func(x, y int, v float64) float64 { return 0.6*v + 10 },
		"from the side": func(x, y int, v float64) float64 { return v * (0.7 + 0.25*float64(x)/800) },
	} {
		t.Run(name, func(t *testing.T) {
			out := measure.Grey{Pix: make([]uint8, len(g.Pix)), W: g.W, H: g.H}
			for i, v := range g.Pix {
				out.Pix[i] = uint8(min(f(i%g.W, i/g.W, float64(v)), 255))
			}
			r := align.Align(align.Picture{View: g}, align.Picture{View: out})
			require.True(t, r.Aligned)
			assert.Empty(t, r.Changed)
		})
	}
}
