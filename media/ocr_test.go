package media

import (
	"bytes"
	"image"
	"image/color"
	"image/draw"
	"image/jpeg"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/disintegration/imaging"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gomono"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"

	"kickplate/claims"
)

// printed draws a plate with printed words in the Go Mono face.
func printed(t *testing.T, lines ...string) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, 1600, 900))
	draw.Draw(img, img.Rect, image.NewUniform(color.Gray{225}), image.Point{}, draw.Src)
	f, err := opentype.Parse(gomono.TTF)
	require.NoError(t, err)
	face, err := opentype.NewFace(f, &opentype.FaceOptions{Size: 64, DPI: 72})
	require.NoError(t, err)
	for i, l := range lines {
		d := font.Drawer{Dst: img, Src: image.Black, Face: face, Dot: fixed.P(120, 220+130*i)}
		d.DrawString(l)
	}
	return img
}

func jpegOf(t *testing.T, img image.Image) []byte {
	var b bytes.Buffer
	require.NoError(t, jpeg.Encode(&b, img, &jpeg.Options{Quality: 90}))
	return b.Bytes()
}

// The reader is the tesseract program itself; what was drawn is the judge.
func TestPrintedText(t *testing.T) {
	path := FindTesseract()
	require.NotEmpty(t, path, "install it: apt-get install tesseract-ocr")
	data := jpegOf(t, imaging.Rotate(printed(t, "MODEL NV-418", "SERIAL AB7734519", "120 V"), 1, color.Gray{200}))
	e := New(Options{Tesseract: path})
	codes, err := e.Codes(t.Context(), bytes.NewReader(data), int64(len(data)))
	require.NoError(t, err)
	assert.Contains(t, codes, claims.Code{Format: TextFormat, Text: "AB7734519"})
	assert.Contains(t, codes, claims.Code{Format: TextFormat, Text: "NV-418"})

	without, err := New(Options{}).Codes(t.Context(), bytes.NewReader(data), int64(len(data)))
	require.NoError(t, err)
	assert.Empty(t, without, "without the program nothing is read, and nothing fails")
}

// A program that fails, hangs or floods is no reason to fail.
func TestPrintedTextFromABadProgram(t *testing.T) {
	data := jpegOf(t, printed(t, "SERIAL AB7734519"))
	for name, script := range map[string]string{
		"Fails": "#!/bin/sh\necho AB7734519\nexit 3\n",
		"Deaf":  "#!/bin/sh\nexec <&-\necho oops >&2\nexit 1\n",
		"Gone":  "",
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "ocr")
			if script != "" {
				require.NoError(t, os.WriteFile(path, []byte(script), 0o755))
			}
			codes, err := New(Options{Tesseract: path}).Codes(t.Context(), bytes.NewReader(data), int64(len(data)))
			require.NoError(t, err)
			assert.Empty(t, codes)
		})
	}
	t.Run("Floods", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "ocr")
		require.NoError(t, os.WriteFile(path, []byte("#!/bin/sh\nyes AB7734519 | head -c 5000000\n"), 0o755))
		from := time.Now()
		codes, err := New(Options{Tesseract: path}).Codes(t.Context(), bytes.NewReader(data), int64(len(data)))
		require.NoError(t, err)
		assert.Equal(t, []claims.Code{{Format: TextFormat, Text: "AB7734519"}}, codes)
		assert.Less(t, time.Since(from), time.Minute)
	})
}
