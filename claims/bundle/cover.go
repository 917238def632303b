package bundle

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/jpeg"

	"kickplate/claims"
)

// Derivation says how a picture that stands in for an original was made from it: never silently.
type Derivation struct {
	// From is the original.
	From claims.Digest `json:"from"`
	// Steps are sentences, in order.
	Steps []string `json:"steps"`
	// Shapes are filled with black, in thousandths of the upright picture; Covers are the entries that hold them.
	Shapes []claims.Shape   `json:"shapes,omitempty"`
	Covers []claims.EntryID `json:"covers,omitempty"`
}

// The steps of a derivation.
const (
	stepView  = "A view was made: upright, at most 1600 pixels long, JPEG, without any metadata."
	stepCover = "The listed shapes were drawn over the view by hand and filled with black; then it was written as JPEG anew."
)

const (
	coverQuality = 88
	coverThumb   = 320 // pixels of the longer side of a covered thumbnail
)

// deriveCover makes the covered view of an original and the smaller pictures from it, and keeps them as derived data: nothing
// that goes into the bundle is made from the uncovered picture. It returns the prefix of their names; no prefix when there is no view to cover.
func deriveCover(ctx context.Context, blobs claims.Blobs, d claims.Digest, shapes []claims.Shape) (prefix string, err error) {
	raw, err := json.Marshal(shapes)
	if err != nil {
		return "", fmt.Errorf("cover the picture: %w", err)
	}
	prefix = "cover-1-" + hexSum(raw)[:12]
	if _, err := blobs.Derived(ctx, d, prefix+".jpg"); err == nil {
		if _, err := blobs.Derived(ctx, d, prefix+"-thumb.jpg"); err == nil {
			return prefix, nil
		}
	}
	view, err := blobs.Derived(ctx, d, claims.DerivedView)
	if errors.Is(err, claims.ErrAbsent) {
		return "", nil
	}
	if err != nil {
		return "", err
	}
	config, err := jpeg.DecodeConfig(bytes.NewReader(view))
	if err != nil || config.Width*config.Height > maxViewPixels {
		return "", nil // not a view as media makes it
	}
	img, err := jpeg.Decode(bytes.NewReader(view))
	if err != nil {
		return "", nil
	}
	done := burn(img, shapes)
	for name, picture := range map[string]image.Image{prefix + "-thumb.jpg": scaled(done, coverThumb), prefix + ".jpg": done} {
		var out bytes.Buffer
		if err := jpeg.Encode(&out, picture, &jpeg.Options{Quality: coverQuality}); err != nil {
			return "", fmt.Errorf("cover the picture: %w", err)
		}
		if err := blobs.PutDerived(ctx, d, name, out.Bytes()); err != nil {
			return "", fmt.Errorf("keep the covered picture: %w", err)
		}
	}
	return prefix, nil
}

// burn is a copy of a picture with the shapes filled in black. Edges are rounded outward: what a shape touches is covered.
func burn(img image.Image, shapes []claims.Shape) *image.RGBA {
	b := img.Bounds()
	out := image.NewRGBA(image.Rect(0, 0, b.Dx(), b.Dy()))
	draw.Draw(out, out.Rect, img, b.Min, draw.Src)
	for _, s := range shapes {
		box := shapeBox(s, b.Dx(), b.Dy())
		if s.Shape == "rectangle" {
			draw.Draw(out, box, image.NewUniform(color.Black), image.Point{}, draw.Src)
			continue
		}
		for y := box.Min.Y; y < box.Max.Y; y++ {
			for x := box.Min.X; x < box.Max.X; x++ {
				if inEllipse(box, x, y, 1) {
					out.SetRGBA(x, y, color.RGBA{A: 255})
				}
			}
		}
	}
	return out
}

// shapeBox is a shape's box in pixels of a picture w by h.
func shapeBox(s claims.Shape, w, h int) image.Rectangle {
	return image.Rect(s.X1*w/1000, s.Y1*h/1000, (s.X2*w+999)/1000, (s.Y2*h+999)/1000)
}

// inEllipse reports whether a pixel lies within share (0..1) of the ellipse in a box, or touches it.
func inEllipse(box image.Rectangle, x, y int, share float64) bool {
	rx, ry := float64(box.Dx())/2*share, float64(box.Dy())/2*share
	if rx <= 0 || ry <= 0 {
		return false
	}
	// The pixel's corner that is nearest to the middle.
	dx := max(0, abs(float64(x)+0.5-float64(box.Min.X+box.Max.X)/2)-0.5)
	dy := max(0, abs(float64(y)+0.5-float64(box.Min.Y+box.Max.Y)/2)-0.5)
	return dx*dx/(rx*rx)+dy*dy/(ry*ry) <= 1
}

func abs(f float64) float64 { return max(f, -f) }

// covering decides that a picture goes in covered, when that was chosen and shapes are on record for it.
func (pl *plan) covering(ctx context.Context, s *shot) (covered bool, err error) {
	shapes, by := pl.parcel.Job.ShapesOn(s.Body.Digest)
	if !pl.hold.hold.Covered || len(shapes) == 0 {
		return false, nil
	}
	prefix, err := deriveCover(ctx, pl.parcel.Blobs, s.Body.Digest, shapes)
	if err != nil {
		return false, fmt.Errorf("cover of photo %d (%s, %s): %w", s.no, s.Body.Subject, s.Body.Digest, err)
	}
	s.why = coveredWhy
	if prefix == "" { // nothing that could be shown covered
		s.kept, s.file, s.thumb = keptWithheld, "", ""
		return true, nil
	}
	s.kept, s.cover = keptCovered, prefix
	s.file, s.thumb = "data/originals/"+s.stem+"-covered.jpg", "data/thumbnails/"+s.stem+".jpg"
	s.made = &Derivation{From: s.Body.Digest, Steps: []string{stepView, stepCover}, Shapes: shapes, Covers: by}
	return true, nil
}

const coveredWhy = "parts of the picture are covered"

// standIn is the name of the derived picture that stands in for an original, and thumbName that of its thumbnail.
func (s *shot) standIn() string {
	if s.kept == keptCovered {
		return s.cover + ".jpg"
	}
	return claims.DerivedView
}

func (s *shot) thumbName() string {
	if s.kept == keptCovered {
		return s.cover + "-thumb.jpg"
	}
	return claims.DerivedThumb
}

// coveredDigests are the pictures that are covered on record, when covers were chosen.
func coveredDigests(p *claims.Parcel) map[claims.Digest]bool {
	if !p.Hold.Covered {
		return nil
	}
	out := map[claims.Digest]bool{}
	for _, it := range p.Job.Photos {
		if shapes, _ := p.Job.ShapesOn(it.Body.Digest); len(shapes) > 0 {
			out[it.Body.Digest] = true
		}
	}
	return out
}
