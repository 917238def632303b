package measure_test

import (
	"fmt"
	"image"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"kickplate/media/measure"
)

func made(w, h int, at func(x, y int) uint8) measure.Grey {
	g := measure.Grey{Pix: make([]uint8, w*h), W: w, H: h}
	for y := range h {
		for x := range w {
			g.Pix[y*w+x] = at(x, y)
		}
	}
	return g
}

// Values of OpenCV 4.6.0, Laplacian(grey, CV_64F), ksize 1, border reflect-101, population variance (computed with it).
func TestLaplacianVarianceOfOpenCV(t *testing.T) {
	for _, c := range []struct {
		name string
		g    measure.Grey
		want float64
	}{
		{"8x8 checkerboard", made(8, 8, func(x, y int) uint8 { return uint8((x + y) % 2 * 255) }), 1040400},
		{"constant", made(9, 5, func(x, y int) uint8 { return 128 }), 0},
		{"9x9 with a white middle", made(9, 9, func(x, y int) uint8 {
			if x == 4 && y == 4 {
				return 255
			}
			return 0
		}), 16055.5556},
		{"16x16 ramp", made(16, 16, func(x, y int) uint8 { return uint8(10 * x) }), 50},
		{"16x16 step", made(16, 16, func(x, y int) uint8 { return uint8(x / 8 * 200) }), 5000},
		{"video-001.png", photo(t, "ximage/video-001.png"), 4078.4431},
		{"blue-purple-pink.png", photo(t, "ximage/blue-purple-pink.png"), 1778.0679},
		{"tux.png, transparency dropped", photo(t, "ximage/tux.png"), 856.9874},
	} {
		t.Run(c.name, func(t *testing.T) { require.InDelta(t, c.want, measure.LaplacianVariance(c.g), 1e-4+c.want*5e-5) })
	}
}

// OpenCV (Debian python3-opencv) on exactly the same grey pixels: the numbers agree to rounding.
func TestAgainstOpenCV(t *testing.T) {
	dir := t.TempDir()
	var paths []string
	var pictures []measure.Grey
	add := func(name string, g measure.Grey) {
		path := filepath.Join(dir, fmt.Sprintf("%02d-%s.png", len(paths), name))
		f, err := os.Create(path)
		require.NoError(t, err)
		require.NoError(t, png.Encode(f, &image.Gray{Pix: g.Pix, Stride: g.W, Rect: image.Rect(0, 0, g.W, g.H)}))
		require.NoError(t, f.Close())
		paths, pictures = append(paths, path), append(pictures, g)
	}
	for seed := range uint64(5) {
		add("scene", drawn(seed, 320, 240).gauss(float64(seed)/2).grey(3, seed))
	}
	for _, name := range realPhotos() {
		add("photo", photo(t, name))
	}
	add("line", made(40, 1, func(x, y int) uint8 { return uint8(x * x) }))
	add("column", made(1, 40, func(x, y int) uint8 { return uint8(y * y) }))
	add("pair", made(2, 2, func(x, y int) uint8 { return uint8(100 * x) }))
	script := `import sys, cv2
for p in sys.argv[1:]:
    g = cv2.imread(p, cv2.IMREAD_UNCHANGED)
    print(repr(cv2.Laplacian(g, cv2.CV_64F).var()), repr(g.mean()))`
	out, err := exec.Command("/usr/bin/python3", append([]string{"-c", script}, paths...)...).Output()
	require.NoError(t, err, "OpenCV for Python is needed for this test: apt-get install python3-opencv")
	lines := strings.Split(strings.TrimSpace(string(out)), "\n")
	require.Len(t, lines, len(pictures))
	for i, g := range pictures {
		var variance, mean float64
		_, err := fmt.Sscan(lines[i], &variance, &mean)
		require.NoError(t, err)
		require.InDelta(t, variance, measure.LaplacianVariance(g), 1e-6*(1+variance), paths[i])
		_, _, m := measure.Exposure(g)
		require.InDelta(t, mean, m, 1e-9*(1+mean), paths[i])
	}
}

// ITU-R BT.601: 0.299 R + 0.587 G + 0.114 B, rounded.
func TestGrey(t *testing.T) {
	for _, c := range []struct{ r, g, b, want uint8 }{
		{0, 0, 0, 0}, {255, 255, 255, 255}, {255, 0, 0, 76}, {0, 255, 0, 150}, {0, 0, 255, 29}, {10, 20, 30, 18}, {1, 1, 1, 1}, {128, 128, 128, 128},
	} {
		g := measure.FromRGBA([]uint8{c.r, c.g, c.b, 7}, 4, 1, 1)
		require.Equal(t, []uint8{c.want}, g.Pix)
	}
	require.True(t, measure.FromRGBA(make([]uint8, 10), 4, 2, 2).Empty())
	require.True(t, measure.FromRGBA(nil, 0, 0, 0).Empty())
	require.True(t, measure.FromLuma(make([]uint8, 3), 2, 2, 2).Empty())
	require.True(t, measure.Grey{Pix: make([]uint8, 3), W: 2, H: 2}.Empty())
	require.Equal(t, []uint8{1, 2, 4, 5}, measure.FromLuma([]uint8{1, 2, 3, 4, 5, 6}, 3, 2, 2).Pix)
}

func TestReduce(t *testing.T) {
	g := made(4, 2, func(x, y int) uint8 { return []uint8{0, 10, 20, 30, 40, 50, 60, 71}[4*y+x] })
	require.Equal(t, []uint8{25, 45}, g.Reduce(2, 1).Pix) // (0+10+40+50)/4, (20+30+60+71)/4 = 45.25
	require.Equal(t, []uint8{35}, g.Reduce(1, 1).Pix)     // 281/8 = 35.1
	require.Equal(t, g, g.Reduce(4, 2))
	// 3 to 2: each covers one and a half: (2*0+1*10)/3 = 3.3, (10+2*20)/3 = 16.7
	require.Equal(t, []uint8{3, 17}, made(3, 1, func(x, y int) uint8 { return uint8(10 * x) }).Reduce(2, 1).Pix)
	require.Equal(t, []uint8{0, 0, 9, 9}, made(2, 1, func(x, y int) uint8 { return uint8(9 * x) }).Reduce(4, 1).Pix)
	require.Equal(t, 800, drawn(1, 1601, 1203).grey(0, 0).Working().W)
	require.Equal(t, 601, drawn(1, 1601, 1203).grey(0, 0).Working().H)
	require.True(t, measure.Grey{}.Reduce(3, 3).Empty())
	flat := made(997, 601, func(x, y int) uint8 { return 255 }).Reduce(13, 7)
	for _, v := range flat.Pix {
		require.EqualValues(t, 255, v)
	}
}

func TestExposure(t *testing.T) {
	dark, bright, mean := measure.Exposure(made(10, 10, func(x, y int) uint8 { return []uint8{0, 10, 11, 249, 250, 255, 100, 100, 100, 100}[x] }))
	require.InDelta(t, 0.2, dark, 1e-12)
	require.InDelta(t, 0.2, bright, 1e-12)
	require.InDelta(t, 117.5, mean, 1e-12)
}

// Nothing and next to nothing: no panic, no verdict.
func TestDegenerate(t *testing.T) {
	for _, g := range []measure.Grey{{}, {W: 5, H: 5}, {Pix: []uint8{1}, W: 1, H: 1}, {Pix: []uint8{1, 200}, W: 2, H: 1}, made(1, 900, func(x, y int) uint8 { return uint8(y) })} {
		m := measure.Measure(g)
		sharp, _, _ := m.Judge()
		require.Equal(t, measure.Doubt, sharp)
		_, _ = measure.Print(g)
	}
	_, ok := measure.Print(made(64, 64, func(x, y int) uint8 { return 200 }))
	require.False(t, ok, "a white wall has no fingerprint")
}

// EdgeWidth of a step under a Gaussian blur of sigma is sqrt(2 pi) sigma, the rise over the steepest slope of the normal
// distribution (sampled in whole pixels), whatever the contrast.
func TestEdgeWidth(t *testing.T) {
	for _, contrast := range []float64{60, 120, 240} {
		for _, sigma := range []float64{0.5, 1, 2, 4} {
			p := newPicture(400, 300)
			for y := range p.h {
				for x := range p.w {
					if x/40%2 == 0 != (y/40%2 == 0) {
						p.pix[y*p.w+x] = contrast
					}
				}
			}
			w, ok := measure.EdgeWidth(p.gauss(sigma).grey(0, 0))
			require.True(t, ok)
			require.InDelta(t, 2.5066*sigma, w, 0.2*sigma+0.35, "contrast %v, sigma %v", contrast, sigma)
		}
	}
	w, ok := measure.EdgeWidth(made(400, 300, func(x, y int) uint8 { return uint8(x / 20 % 2 * 200) }))
	require.InDelta(t, 1, w, 0.1)
	require.False(t, ok, "edges in one direction only")
	_, ok = measure.EdgeWidth(made(400, 300, func(x, y int) uint8 { return 90 }))
	require.False(t, ok)
}

func TestPrintTurns(t *testing.T) {
	names := append(realPhotos(), "0", "1", "2", "3", "4", "5", "6", "7")
	for _, name := range names {
		var g measure.Grey
		if n, err := strconv.ParseUint(name, 10, 64); err == nil {
			g = drawn(n, 333, 251).grey(2, n)
		} else {
			g = photo(t, name)
		}
		print, ok := measure.Print(g)
		require.True(t, ok)
		turned := g
		for i, want := range measure.Turns(print) {
			got, _ := measure.Print(turned)
			require.LessOrEqual(t, measure.Distance(want, got), 1, "%s turned %d times", name, i)
			require.LessOrEqual(t, measure.Nearest(print, got), 1)
			turned = quarter(turned)
		}
		require.Equal(t, print, measure.Turn(measure.Turns(print)[3]), "four turns are none")
	}
}

// quarter turns a picture clockwise.
func quarter(g measure.Grey) measure.Grey {
	return made(g.H, g.W, func(x, y int) uint8 { return g.Pix[(g.H-1-x)*g.W+y] })
}

func BenchmarkMeasure(b *testing.B) {
	g := drawn(2, 800, 600).grey(2, 1)
	for b.Loop() {
		measure.Measure(g)
	}
}

func BenchmarkWorkingFrom1600(b *testing.B) {
	g := drawn(2, 1600, 1200).grey(2, 1)
	for b.Loop() {
		g.Working()
	}
}
