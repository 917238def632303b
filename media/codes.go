package media

import (
	"context"
	"image"
	"io"

	"kickplate/claims"
	"kickplate/media/measure"
)

// Codes looks for bar and QR codes (see codereader.go) in a photo of a rating plate or a label, for at most Options.CodeTime;
// what was found until then counts. Where an OCR program is there, printed words with digits follow, as suggestions. Documents and clips have none.
func (e *Examiner) Codes(ctx context.Context, r io.ReaderAt, size int64) (found []claims.Code, err error) {
	ctx, cancel := context.WithTimeout(ctx, e.opt.Time)
	defer cancel()
	defer func() {
		if p := recover(); p != nil {
			found, err = nil, panicked(p)
		}
	}()
	u, err := e.open(ctx, r, size)
	if err != nil {
		return nil, err
	}
	if u.kind.family != photo {
		return nil, claims.Errorf(claims.Unsupported, "Codes are looked for in photos only. Take a photo of the plate.")
	}
	if err := e.take(ctx, e.workers, 1); err != nil {
		return nil, err
	}
	defer e.workers.Release(1)
	var f claims.PhotoFacts
	p, err := e.look(u, &f)
	if err != nil {
		return nil, e.explain(ctx, err)
	}
	img, release, err := e.picture(u, p, &f)
	if err != nil {
		return nil, e.explain(ctx, err)
	}
	if img == nil {
		return nil, nil
	}
	grey := greyOf(img)
	release()
	img = nil
	searching, stop := context.WithTimeout(ctx, e.opt.CodeTime)
	defer stop()
	found = findCodes(searching, grey)
	if err := ctx.Err(); err != nil && len(found) == 0 {
		return nil, e.explain(ctx, err)
	}
	return append(found, e.ocr(ctx, grey, f.Orientation)...), nil
}

// greyOf returns the grey picture at full size.
func greyOf(img image.Image) measure.Grey {
	w, h := img.Bounds().Dx(), img.Bounds().Dy()
	switch src := img.(type) {
	case *image.YCbCr:
		return measure.FromLuma(src.Y, src.YStride, w, h)
	case *image.Gray:
		return measure.FromLuma(src.Pix, src.Stride, w, h)
	case *image.NRGBA:
		return measure.FromRGBA(src.Pix, src.Stride, w, h)
	}
	return measure.Grey{}
}
