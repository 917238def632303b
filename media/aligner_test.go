package media

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"testing"
	"time"

	"github.com/disintegration/imaging"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

// viewOf examines a photo and returns what an Aligner gets of it.
func viewOf(t testing.TB, e *Examiner, data []byte) claims.AlignView {
	t.Helper()
	f, made, err := examine(t, e, data)
	require.NoError(t, err)
	return claims.AlignView{View: made.View, Width: f.Width, Height: f.Height}
}

// The overlay shows the later photo where the earlier one has the same things, also when the later one was taken upside down.
func TestOverlay(t *testing.T) {
	e := patient()
	whole := scene(5, 1400, 1100)
	first := imaging.Crop(whole, whole.Rect.Inset(100))
	second := imaging.Crop(imaging.Rotate180(whole), whole.Rect.Inset(100).Add(image.Pt(40, -25)))
	a, overlay, err := e.Align(t.Context(), viewOf(t, e, encodeJPEG(t, first, 92)), viewOf(t, e, encodeJPEG(t, second, 80)))
	require.NoError(t, err)
	require.True(t, a.Aligned, a.Says)
	assert.Contains(t, a.Says, "Lined up at")
	require.Len(t, a.Transform, 9)
	assert.InDelta(t, -1, a.Transform[0], 0.01, "turned by half a turn")
	img, err := jpeg.Decode(bytes.NewReader(overlay))
	require.NoError(t, err)
	require.Equal(t, first.Rect.Size(), img.Bounds().Size())
	// Away from the rim, which only one of them shows, both are the same picture.
	var sum, n float64
	for y := 80; y < 820; y += 3 {
		for x := 80; x < 1120; x += 3 {
			r, g, b, _ := img.At(x, y).RGBA()
			p := first.Pix[first.PixOffset(x, y):]
			for i, v := range []uint32{r, g, b} {
				d := float64(v>>8) - float64(p[i])
				sum += d * d
				n++
			}
		}
	}
	assert.Less(t, sum/n, 15.0*15, "mean square of the difference")
}

func TestAlignSaysWhyNot(t *testing.T) {
	e := patient()
	one, other := viewOf(t, e, encodeJPEG(t, scene(1, 900, 700), 85)), viewOf(t, e, encodeJPEG(t, scene(2, 900, 700), 85))
	a, overlay, err := e.Align(t.Context(), one, other)
	require.NoError(t, err)
	assert.False(t, a.Aligned)
	assert.Nil(t, overlay)
	assert.Contains(t, a.Says, "can't be lined up")
	_, _, err = e.Align(t.Context(), one, claims.AlignView{View: []byte("no picture")})
	require.ErrorContains(t, err, "read the view")
	_, _, err = e.Align(t.Context(), one, claims.AlignView{View: encodeJPEG(t, scene(2, viewSide+1, 20), 85)})
	require.ErrorContains(t, err, "pixels", "not a view of ours")
}

// BenchmarkAlign12MP lines two 12-megapixel photos of one scene up: their examination (as when they arrive), and lining them up
// with the overlay. Beside it runs image/jpeg on both files: x-of-decode is the ratio of all of it to that.
func BenchmarkAlign12MP(b *testing.B) {
	first := bigPhoto(b)
	img, err := jpeg.Decode(bytes.NewReader(first))
	require.NoError(b, err)
	second := encodeJPEG(b, imaging.Rotate(img, 1.5, color.Gray{128}), 85)
	e := New(Options{})
	var whole, alone, decode time.Duration
	n := 0
	for b.Loop() {
		start := time.Now()
		one, two := viewOf(b, e, first), viewOf(b, e, second)
		ready := time.Now()
		a, _, err := e.Align(b.Context(), one, two)
		whole, alone = whole+time.Since(start), alone+time.Since(ready)
		b.StopTimer()
		require.NoError(b, err)
		require.True(b, a.Aligned, a.Says)
		start = time.Now()
		for _, data := range [][]byte{first, second} {
			_, err := jpeg.Decode(bytes.NewReader(data))
			require.NoError(b, err)
		}
		decode += time.Since(start)
		n++
		b.StartTimer()
	}
	b.ReportMetric(alone.Seconds()*1e3/float64(n), "align-ms/op")
	b.ReportMetric(decode.Seconds()*1e3/float64(n), "decode-ms/op")
	b.ReportMetric(whole.Seconds()/decode.Seconds(), "x-of-decode")
}
