package media

import (
	"bytes"
	"image/jpeg"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

// bigPhoto draws a 12-megapixel photo with the grain of a phone's sensor and encodes it as a phone would, with EXIF and
// orientation 6: about 3 MB.
func bigPhoto(b testing.TB) []byte {
	b.Helper()
	img := scene(42, 4032, 3024)
	rng := rand.New(rand.NewPCG(1, 9))
	for i := 0; i < len(img.Pix); i += 4 {
		grain := int(rng.Uint32()%25) - 12
		for k := range 3 {
			img.Pix[i+k] = uint8(min(max(int(img.Pix[i+k])+grain, 0), 255))
		}
	}
	data := encodeJPEG(b, img, 85)
	block := newBlock(60).dir(8, 0, [4]uint32{0x0112, 3, 1, 6})
	return withSegments(data, exifSegment(block))
}

// BenchmarkIntake12MP is one whole examination: hash, EXIF, view, thumbnail, measures and fingerprint. Beside it, in turns, run
// image/jpeg on the same bytes (decode-ms, and x-of-decode, the ratio of an intake to it) and the evidence part alone: EXIF by
// both readers, sharpness, exposure and fingerprint (evidence-%, its share of the rest of an intake).
func BenchmarkIntake12MP(b *testing.B) {
	data := bigPhoto(b)
	e := New(Options{})
	var intake, decode, evidence time.Duration
	n := 0
	for b.Loop() {
		start := time.Now()
		_, made, err := e.Examine(b.Context(), bytes.NewReader(data), int64(len(data)))
		intake += time.Since(start)
		b.StopTimer()
		require.NoError(b, err)
		start = time.Now()
		_, err = jpeg.Decode(bytes.NewReader(data))
		decode += time.Since(start)
		require.NoError(b, err)
		img, err := jpeg.Decode(bytes.NewReader(made.View))
		require.NoError(b, err)
		view := greyOf(img)
		start = time.Now()
		var f claims.PhotoFacts
		photoFactsOf(b, data, &f)
		measureInto(view, &f)
		evidence += time.Since(start)
		n++
		b.StartTimer()
	}
	b.SetBytes(int64(len(data)))
	b.ReportMetric(decode.Seconds()*1e3/float64(n), "decode-ms/op")
	b.ReportMetric(intake.Seconds()/decode.Seconds(), "x-of-decode")
	b.ReportMetric(100*evidence.Seconds()/(intake-evidence).Seconds(), "evidence-%")
}

func photoFactsOf(b testing.TB, data []byte, f *claims.PhotoFacts) {
	u := &upload{ctx: b.Context(), src: bytes.NewReader(data), size: int64(len(data))}
	h, err := walkJPEG(u)
	require.NoError(b, err)
	cameraFacts(h.exif, u.section(), f)
}
