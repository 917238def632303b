package media

import (
	"bytes"
	"fmt"
	"image"
	"image/jpeg"

	"github.com/disintegration/imaging"

	"kickplate/claims"
	"kickplate/media/measure"
)

// The two pictures that are made: the longer side in pixels, and the JPEG quality.
const (
	viewSide     = 1600
	thumbSide    = 320
	viewQuality  = 80
	thumbQuality = 75
)

// derive scales a decoded picture to the view, turns it upright, makes the thumbnail and takes the measures from the view.
// Turning after scaling saves turning twelve million pixels.
func derive(img image.Image, orientation int, f *claims.PhotoFacts) (claims.Derived, error) {
	view := turn(imaging.Fit(img, viewSide, viewSide, imaging.Linear), orientation)
	b := img.Bounds()
	f.Width, f.Height = upright(b.Dx(), b.Dy(), orientation)
	measureInto(measure.FromRGBA(view.Pix, view.Stride, view.Rect.Dx(), view.Rect.Dy()), f)
	var out claims.Derived
	var err error
	if out.View, err = encode(view, viewQuality); err != nil {
		return claims.Derived{}, err
	}
	out.Thumb, err = encode(imaging.Fit(view, thumbSide, thumbSide, imaging.Box), thumbQuality)
	return out, err
}

// turn applies an EXIF orientation (Exif 2.31 §4.6.4 A: what the 0th row and column are).
func turn(img *image.NRGBA, orientation int) *image.NRGBA {
	switch orientation {
	case 2:
		return imaging.FlipH(img)
	case 3:
		return imaging.Rotate180(img)
	case 4:
		return imaging.FlipV(img)
	case 5:
		return imaging.Transpose(img)
	case 6:
		return imaging.Rotate270(img)
	case 7:
		return imaging.Transverse(img)
	case 8:
		return imaging.Rotate90(img)
	}
	return img
}

// encode writes a JPEG without any metadata; the same pixels give the same bytes. img is opaque.
func encode(img *image.NRGBA, quality int) ([]byte, error) {
	var buf bytes.Buffer
	// Opaque NRGBA and RGBA are the same bytes, and the encoder is several times faster for RGBA.
	err := jpeg.Encode(&buf, &image.RGBA{Pix: img.Pix, Stride: img.Stride, Rect: img.Rect}, &jpeg.Options{Quality: quality})
	if err != nil {
		return nil, fmt.Errorf("write the view: %w", err)
	}
	return buf.Bytes(), nil
}

// measureInto fills in the measures of the upright grey view.
func measureInto(view measure.Grey, f *claims.PhotoFacts) {
	g := view.Working()
	m := measure.Measure(g)
	f.Sharpness, f.DarkShare, f.BrightShare, f.Mean = m.Sharpness, m.DarkShare, m.BrightShare, m.Mean
	f.Sharp, f.Dark, f.Bright = m.Judge()
	if print, ok := measure.Print(g); ok {
		f.Fingerprint = fmt.Sprintf("%016x", print)
	}
}
