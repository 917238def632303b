package media

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

const photosDir = "../testdata/photos"

// sampleFiles returns the sample files that match, at least least of them.
func sampleFiles(t testing.TB, least int, patterns ...string) []string {
	t.Helper()
	var out []string
	for _, p := range patterns {
		list, err := filepath.Glob(filepath.Join(photosDir, p))
		require.NoError(t, err)
		require.NotEmpty(t, list, "no sample matches %s", p)
		out = append(out, list...)
	}
	require.GreaterOrEqual(t, len(out), least, "samples are missing")
	return out
}

// patient is an examiner whose time does not run out on a busy machine under the race detector.
func patient() *Examiner { return New(Options{Time: 5 * time.Minute, CodeTime: 5 * time.Minute}) }

func readFile(t testing.TB, path string) []byte {
	t.Helper()
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	return data
}

func examine(t testing.TB, e *Examiner, data []byte) (claims.PhotoFacts, claims.Derived, error) {
	t.Helper()
	return e.Examine(t.Context(), bytes.NewReader(data), int64(len(data)))
}

// tool runs a program of a Debian package and fails, with the package's name, when it is not there.
func tool(t testing.TB, pkg, name string, args ...string) []byte {
	t.Helper()
	path, err := exec.LookPath(name)
	require.NoError(t, err, "%s is needed for this test: apt-get install %s", name, pkg)
	cmd := exec.Command(path, args...)
	var out, errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errs
	if err := cmd.Run(); err != nil && out.Len() == 0 {
		require.NoError(t, err, "%s: %s", name, errs.String())
	}
	return out.Bytes()
}

// scene draws something like a kitchen: panels, seams, knobs, a label, some grain. Different seeds give different scenes.
func scene(seed uint64, w, h int) *image.RGBA {
	rng := rand.New(rand.NewPCG(seed, 7))
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	type panel struct {
		x0, y0, x1, y1 int
		c              [3]float64
		tilt           float64
	}
	panels := []panel{{0, 0, w, h, [3]float64{90 + 80*rng.Float64(), 90 + 80*rng.Float64(), 90 + 80*rng.Float64()}, 40}}
	for range 14 {
		x, y := rng.IntN(w), rng.IntN(h)
		panels = append(panels, panel{x, y, x + 8 + rng.IntN(w/2+1), y + 8 + rng.IntN(h/2+1),
			[3]float64{255 * rng.Float64(), 255 * rng.Float64(), 255 * rng.Float64()}, 60*rng.Float64() - 30})
	}
	for range 60 { // letters of a label
		x, y := rng.IntN(w), rng.IntN(h)
		panels = append(panels, panel{x, y, x + 2 + rng.IntN(w/100+2), y + 2 + rng.IntN(h/60+2), [3]float64{20, 20, 25}, 0})
	}
	for y := range h {
		for x := range w {
			p := panels[0]
			for _, q := range panels[1:] {
				if x >= q.x0 && x < q.x1 && y >= q.y0 && y < q.y1 {
					p = q
				}
			}
			v := p.tilt*(float64(x)/float64(w)-float64(y)/float64(h)) + 6*(rng.Float64()-0.5)
			img.SetRGBA(x, y, color.RGBA{level(p.c[0] + v), level(p.c[1] + v), level(p.c[2] + v), 255})
		}
	}
	return img
}

func level(v float64) uint8 { return uint8(math.Max(0, math.Min(255, v+0.5))) }

func encodeJPEG(t testing.TB, img image.Image, quality int) []byte {
	t.Helper()
	var buf bytes.Buffer
	require.NoError(t, jpeg.Encode(&buf, img, &jpeg.Options{Quality: quality}))
	return buf.Bytes()
}

// withSegments puts segments behind the SOI marker of a JPEG.
func withSegments(data []byte, segments ...[]byte) []byte {
	out := append([]byte{}, data[:2]...)
	for _, s := range segments {
		out = append(out, s...)
	}
	return append(out, data[2:]...)
}

func segment(marker byte, body []byte) []byte {
	n := len(body) + 2
	return append([]byte{0xff, marker, byte(n >> 8), byte(n)}, body...)
}

func exifSegment(block []byte) []byte { return segment(0xe1, append([]byte("Exif\x00\x00"), block...)) }

func decodeThumb(t testing.TB, name string) image.Image {
	t.Helper()
	_, made, err := examine(t, New(Options{}), readFile(t, filepath.Join(photosDir, "goexif", name)))
	require.NoError(t, err)
	img, err := jpeg.Decode(bytes.NewReader(made.Thumb))
	require.NoError(t, err)
	return img
}
