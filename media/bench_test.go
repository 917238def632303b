package media

import (
	"bytes"
	"image/jpeg"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

// bigPhoto draws a 12-megapixel photo and encodes it as a phone would, with EXIF: about 3 MB, orientation 6.
func bigPhoto(b testing.TB) []byte {
	b.Helper()
	data := encodeJPEG(b, scene(42, 4032, 3024), 88)
	block := newBlock(60).dir(8, 0, [4]uint32{0x0112, 3, 1, 6})
	return withSegments(data, exifSegment(block))
}

// BenchmarkIntake12MP is one whole examination: hash, EXIF, view, thumbnail, measures and fingerprint, on one thread of
// the caller. The second figure is what image/jpeg takes for decoding the same bytes only, measured in turns with it; the
// third the ratio of the two.
func BenchmarkIntake12MP(b *testing.B) {
	data := bigPhoto(b)
	e := New(Options{})
	var intake, decode time.Duration
	n := 0
	for b.Loop() {
		start := time.Now()
		_, made, err := e.Examine(b.Context(), bytes.NewReader(data), int64(len(data)))
		intake += time.Since(start)
		require.NoError(b, err)
		require.NotEmpty(b, made.View)
		b.StopTimer()
		start = time.Now()
		_, err = jpeg.Decode(bytes.NewReader(data))
		decode += time.Since(start)
		require.NoError(b, err)
		n++
		b.StartTimer()
	}
	b.SetBytes(int64(len(data)))
	b.ReportMetric(decode.Seconds()*1e3/float64(n), "decode-ms/op")
	b.ReportMetric(intake.Seconds()/decode.Seconds(), "x-of-decode")
}

// BenchmarkEvidence12MP is the share of the measures (EXIF, sharpness, exposure, fingerprint) in an intake.
func BenchmarkEvidence12MP(b *testing.B) {
	data := bigPhoto(b)
	e := New(Options{})
	_, made, err := e.Examine(b.Context(), bytes.NewReader(data), int64(len(data)))
	require.NoError(b, err)
	img, err := jpeg.Decode(bytes.NewReader(made.View))
	require.NoError(b, err)
	view := greyOf(img)
	for b.Loop() {
		var f claims.PhotoFacts
		photoFactsOf(b, data, &f)
		measureInto(view, &f)
	}
}

func photoFactsOf(b testing.TB, data []byte, f *claims.PhotoFacts) {
	u := &upload{ctx: b.Context(), src: bytes.NewReader(data), size: int64(len(data))}
	h, err := walkJPEG(u)
	require.NoError(b, err)
	cameraFacts(h.exif, u.section(), f)
}
