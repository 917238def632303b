package media

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"math"

	"kickplate/claims"
	"kickplate/media/align"
)

var _ claims.Aligner = (*Examiner)(nil)

// AlignVersion is that of media/align.
func (e *Examiner) AlignVersion() string { return align.Version }

// Align lines the after photo up with the before photo; see claims.Aligner and the package align. It works on the views, so
// originals need not be decoded again.
func (e *Examiner) Align(ctx context.Context, before, after claims.AlignView) (out claims.Alignment, overlay []byte, err error) {
	ctx, cancel := context.WithTimeout(ctx, e.opt.Time)
	defer cancel()
	defer func() {
		if p := recover(); p != nil {
			out, overlay, err = claims.Alignment{}, nil, panicked(p)
		}
	}()
	if err := e.take(ctx, e.workers, 1); err != nil {
		return claims.Alignment{}, nil, err
	}
	defer e.workers.Release(1)
	var views [2]image.Image
	var pictures [2]align.Picture
	for i, v := range []claims.AlignView{before, after} {
		if views[i], err = decodeView(v.View); err != nil {
			return claims.Alignment{}, nil, err
		}
		pictures[i] = align.Picture{View: greyOf(views[i]), Width: v.Width, Height: v.Height}
	}
	r := align.Align(pictures[0], pictures[1])
	if err := ctx.Err(); err != nil {
		return claims.Alignment{}, nil, e.explain(ctx, err)
	}
	out = claims.Alignment{Aligned: r.Aligned, Why: string(r.Why), Points: r.Points, Says: alignSays(r, before.Width)}
	if !r.Aligned {
		return out, nil, nil
	}
	out.Model, out.Transform = r.Model, r.Transform[:]
	out.Residual, out.Agreement = math.Round(10*r.Residual)/10, math.Round(100*r.Agreement)/100
	for _, c := range r.Changed {
		out.Changed = append(out.Changed, claims.AlignedArea{X: c.X, Y: c.Y, Width: c.W, Height: c.H})
	}
	overlay, err = encode(carried(views, pictures, r.Transform), viewQuality)
	return out, overlay, err
}

// decodeView decodes a picture of our own making.
func decodeView(data []byte) (image.Image, error) {
	c, err := jpeg.DecodeConfig(bytes.NewReader(data))
	if err == nil && max(c.Width, c.Height) > viewSide {
		err = fmt.Errorf("%d × %d pixels", c.Width, c.Height)
	}
	if err != nil {
		return nil, fmt.Errorf("read the view: %w", err)
	}
	img, err := jpeg.Decode(bytes.NewReader(data))
	if err != nil {
		return nil, fmt.Errorf("read the view: %w", err)
	}
	return normalise(img)
}

// carried draws the after view as seen from the before view. What it does not show is a middle grey.
func carried(views [2]image.Image, p [2]align.Picture, toBefore [9]float64) *image.NRGBA {
	w, h := p[0].View.W, p[0].View.H
	src := opaque(views[1])
	out := image.NewNRGBA(image.Rect(0, 0, w, h))
	m := invert(toBefore)
	// From the before view to its photo, to the after photo, to the after view.
	bx, by := photoPixels(p[0])
	ax, ay := photoPixels(p[1])
	for y := range h {
		row := out.Pix[y*out.Stride:][:4*w]
		for x := range w {
			u, v := (float64(x)+0.5)*bx, (float64(y)+0.5)*by
			k := m[6]*u + m[7]*v + m[8]
			sx, sy := (m[0]*u+m[1]*v+m[2])/k/ax, (m[3]*u+m[4]*v+m[5])/k/ay
			blend(row[4*x:][:4], src, sx-0.5, sy-0.5)
		}
	}
	return out
}

// photoPixels is how many pixels of the photo one of its view is, across and down.
func photoPixels(p align.Picture) (x, y float64) {
	if p.Width <= 0 || p.Height <= 0 {
		return 1, 1
	}
	return float64(p.Width) / float64(p.View.W), float64(p.Height) / float64(p.View.H)
}

// invert is the matrix back, up to a factor.
func invert(m [9]float64) [9]float64 {
	return [9]float64{
		m[4]*m[8] - m[5]*m[7], m[2]*m[7] - m[1]*m[8], m[1]*m[5] - m[2]*m[4],
		m[5]*m[6] - m[3]*m[8], m[0]*m[8] - m[2]*m[6], m[2]*m[3] - m[0]*m[5],
		m[3]*m[7] - m[4]*m[6], m[1]*m[6] - m[0]*m[7], m[0]*m[4] - m[1]*m[3],
	}
}

// blend writes the pixel between those of src, or grey outside.
func blend(to []uint8, src *image.NRGBA, x, y float64) {
	w, h := src.Rect.Dx(), src.Rect.Dy()
	if !(x >= -0.5 && y >= -0.5 && x <= float64(w)-0.5 && y <= float64(h)-0.5) {
		to[0], to[1], to[2], to[3] = 128, 128, 128, 255
		return
	}
	x, y = min(max(x, 0), float64(w-1)), min(max(y, 0), float64(h-1))
	x0, y0 := int(x), int(y)
	x1, y1 := min(x0+1, w-1), min(y0+1, h-1)
	fx, fy := int((x-float64(x0))*256), int((y-float64(y0))*256)
	a, b := src.Pix[y0*src.Stride+4*x0:], src.Pix[y0*src.Stride+4*x1:]
	c, d := src.Pix[y1*src.Stride+4*x0:], src.Pix[y1*src.Stride+4*x1:]
	for i := range 3 {
		top := int(a[i])*(256-fx) + int(b[i])*fx
		low := int(c[i])*(256-fx) + int(d[i])*fx
		to[i] = uint8((top*(256-fy) + low*fy + 1<<15) >> 16)
	}
	to[3] = 255
}

// opaque returns the picture as NRGBA.
func opaque(img image.Image) *image.NRGBA {
	if n, ok := img.(*image.NRGBA); ok {
		return n
	}
	b := img.Bounds()
	out := image.NewNRGBA(image.Rect(0, 0, b.Dx(), b.Dy()))
	for y := range b.Dy() {
		for x := range b.Dx() {
			var r, g, bl uint8
			switch src := img.(type) {
			case *image.YCbCr:
				c := src.YCbCrAt(x, y)
				r, g, bl = color.YCbCrToRGB(c.Y, c.Cb, c.Cr)
			case *image.Gray:
				r = src.Pix[y*src.Stride+x]
				g, bl = r, r
			}
			p := out.Pix[y*out.Stride+4*x:][:4]
			p[0], p[1], p[2], p[3] = r, g, bl, 255
		}
	}
	return out
}

// alignSays is the sentence about a result. width is that of the before photo in pixels.
func alignSays(r align.Result, width int) string {
	which := map[string]string{"before": "the earlier photo", "after": "the later photo"}[r.Which]
	switch r.Why {
	case "":
		s := fmt.Sprintf("Lined up at %d places. What both photos show is off by about %.1f pixels", r.Points, r.Residual)
		if width > 0 {
			s += fmt.Sprintf(" (%.1f ‰ of the width)", 1000*r.Residual/float64(width))
		}
		if r.Model == "similarity" {
			s += "; shifted, turned and scaled, not bent"
		}
		if len(r.Changed) == 0 {
			return s + ". No area differs beyond light and noise. That is a help to look, not a finding."
		}
		return s + fmt.Sprintf(". Areas that differ beyond light and noise: %d. They are a help to look, not a finding.", len(r.Changed))
	case align.TooSmall:
		return "The photos can't be lined up: " + orBoth(which, "a photo has", "has") + " too few pixels."
	case align.TooDark:
		return "The photos can't be lined up: " + orBoth(which, "a photo is", "is") + " too dark for enough points to be found again."
	case align.Blurred:
		return "The photos can't be lined up: " + orBoth(which, "a photo is", "is") + " too blurred for enough points to be found again."
	case align.TooPlain:
		return "The photos can't be lined up: " + orBoth(which, "a photo shows", "shows") + " hardly anything that could be found again."
	case align.Disagree:
		return "The photos can't be lined up: some points fit, but laid over each other the photos agree too little. They may show the same thing from another side, or another thing."
	}
	return fmt.Sprintf("The photos can't be lined up: only %d places were found in both that fit together; it takes 14. Photos from about the same place, of about the same part, can be.", r.Points)
}

func orBoth(which, both, verb string) string {
	if which == "" {
		return both
	}
	return which + " " + verb
}
