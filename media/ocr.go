package media

import (
	"bytes"
	"context"
	"image"
	"image/png"
	"os/exec"
	"strings"
	"time"

	"github.com/disintegration/imaging"

	"kickplate/claims"
	"kickplate/media/measure"
)

// TextFormat is the format of a code that was not a code but printed text, read by OCR. It is a suggestion to compare with, never
// more: OCR takes O for 0.
const TextFormat = "printed-text"

const (
	ocrTime   = 15 * time.Second
	ocrOutput = 64 << 10 // bytes of text that are read
	ocrLong   = 2000     // the long side of the picture that OCR gets
	mostTexts = 60       // lines and tokens that are kept
)

// FindTesseract returns the path of the tesseract program, or "" when this machine has none. It is optional: without it plates
// are compared by their bar codes and by eye.
func FindTesseract() string {
	path, err := exec.LookPath("tesseract")
	if err != nil {
		return ""
	}
	return path
}

// ocr reads printed text. It returns nothing, not an error, when the program fails: text that can't be read is text that was not read.
func (e *Examiner) ocr(ctx context.Context, grey measure.Grey, orientation int) []claims.Code {
	if e.opt.Tesseract == "" || grey.W == 0 {
		return nil
	}
	img := imaging.Fit(&image.Gray{Pix: grey.Pix, Stride: grey.W, Rect: image.Rect(0, 0, grey.W, grey.H)}, ocrLong, ocrLong, imaging.Linear)
	var in bytes.Buffer
	if err := png.Encode(&in, turn(img, orientation)); err != nil {
		return nil
	}
	ctx, cancel := context.WithTimeout(ctx, ocrTime)
	defer cancel()
	// Sparse text (11): a plate is words here and there, not a column.
	cmd := exec.CommandContext(ctx, e.opt.Tesseract, "stdin", "stdout", "--psm", "11")
	cmd.Stdin = &in
	cmd.WaitDelay = time.Second
	out := &limited{most: ocrOutput}
	cmd.Stdout = out
	cmd.Env = []string{"OMP_THREAD_LIMIT=1", "PATH=/usr/bin:/bin"}
	if err := cmd.Run(); err != nil {
		return nil
	}
	return texts(out.String())
}

// texts picks from a page of OCR what a model, serial or part number may be: words with a digit, and lines after a colon.
func texts(page string) []claims.Code {
	var out []claims.Code
	seen := map[string]bool{}
	for _, word := range strings.Fields(page) {
		word = strings.Trim(word, ".,:;|()[]{}'\"“”‘’*_~=<>")
		if len(word) < 4 || len(word) > 40 || !strings.ContainsAny(word, "0123456789") || seen[word] || len(out) >= mostTexts {
			continue
		}
		seen[word] = true
		out = append(out, claims.Code{Format: TextFormat, Text: word})
	}
	return out
}

// limited keeps the first most bytes and takes the rest without keeping it.
type limited struct {
	bytes.Buffer
	most int
}

func (l *limited) Write(p []byte) (int, error) {
	if room := l.most - l.Len(); room > 0 {
		l.Buffer.Write(p[:min(room, len(p))])
	}
	return len(p), nil
}
