package align_test

import (
	"testing"

	"kickplate/media/align"
	"kickplate/media/measure"
)

func BenchmarkAlign(b *testing.B) {
	x, y := secondVisit(drawScene(2, 2000, 1500))
	for b.Loop() {
		if r := align.Align(align.Picture{View: x, Width: 4032, Height: 3024}, align.Picture{View: y, Width: 4032, Height: 3024}); !r.Aligned {
			b.Fatalf("not aligned: %+v", r)
		}
	}
}

// secondVisit cuts two views of 1600 x 1200 pixels out of a scene, the second one from elsewhere.
func secondVisit(g measure.Grey) (a, b measure.Grey) {
	cut := func(x0, y0 int, slant float64) measure.Grey {
		out := measure.Grey{Pix: make([]uint8, 1600*1200), W: 1600, H: 1200}
		for y := range 1200 {
			for x := range 1600 {
				u, v := x0+x+int(slant*float64(y)), y0+y-int(slant*float64(x))
				out.Pix[y*1600+x] = g.Pix[min(max(v, 0), g.H-1)*g.W+min(max(u, 0), g.W-1)]
			}
		}
		return out
	}
	return cut(200, 150, 0), cut(240, 170, 0.03)
}
