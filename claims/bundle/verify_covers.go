package bundle

import (
	"fmt"
	"image"
	"io"
	"reflect"

	"kickplate/claims"
)

// blackest is how bright, 0..255, a covered place may be after JPEG has been over it; seams is how many pixels at a shape's edge JPEG may have
// blended with what is beside it: two of its blocks of sixteen.
const (
	blackest = 40
	seams    = 16
	// maxCoverShapes bounds what is looked at in one picture.
	maxCoverShapes = 5000
)

// coveredPhoto holds what the index says about a covered picture against itself.
func (v *verifier) coveredPhoto(p *EvidencePhoto, left map[claims.Digest]bool, sum string, ok bool) string {
	d := p.Derived
	switch {
	case !ok || sum != p.FileSHA256:
		return "the covered picture that stands in for its original is missing or was changed."
	case !left[p.SHA256]:
		return "its original is replaced by a covered picture, but not listed as held back."
	case d == nil || d.From != p.SHA256 || len(d.Shapes) == 0 || len(d.Shapes) > maxCoverShapes || len(d.Steps) == 0:
		return "it is said to be covered, but not how."
	}
	for _, s := range d.Shapes {
		if s.X1 < 0 || s.Y1 < 0 || s.X2 > 1000 || s.Y2 > 1000 || s.X1 >= s.X2 || s.Y1 >= s.Y2 || s.Shape != "rectangle" && s.Shape != "ellipse" {
			return "a shape of its cover lies outside the picture or is none."
		}
	}
	return ""
}

// covers compares the shapes of covered pictures with the entries that hold them, as far as those are shown.
func (v *verifier) covers(job *claims.Job) {
	for i := range v.index.Photos {
		p := &v.index.Photos[i]
		if p.Kept != keptCovered || p.Derived == nil {
			continue
		}
		shapes, by := job.ShapesOn(p.SHA256)
		if len(by) == len(p.Derived.Covers) && !reflect.DeepEqual(shapes, p.Derived.Shapes) {
			v.report.add("entries", Broken, "data/evidence.json", "Photo %d: the shapes that cover it are not those of the entries.", p.No)
		}
	}
}

// coveredPictures looks whether the places that are said to be covered are black in the picture.
func (v *verifier) coveredPictures() {
	dark := 0
	for i := range v.index.Photos {
		p := &v.index.Photos[i]
		if p.Kept != keptCovered || p.SameAs != 0 || p.Derived == nil || v.files[p.File] == nil || v.ctx.Err() != nil {
			continue
		}
		img, err := v.pictureOf(p.File)
		if err != nil {
			v.report.add("pictures", Broken, p.File, "Photo %d: its covered picture can't be read: %v.", p.No, err)
			continue
		}
		if n := uncovered(img, p.Derived.Shapes); n > 0 {
			v.report.add("pictures", Broken, p.File, "Photo %d: shape %d of its cover is not black in the picture: it is not covered.", p.No, n)
			continue
		}
		dark++
	}
	if dark > 0 {
		v.report.add("pictures", Holds, "", "%s covered by hand as the index says; the originals are held back by their SHA-256.", map[bool]string{true: "1 photo is", false: fmt.Sprintf("%d photos are", dark)}[dark == 1])
	}
}

// uncovered is the number, from 1, of the first shape that is not black inside; 0 = all are.
func uncovered(img image.Image, shapes []claims.Shape) int {
	b := img.Bounds()
	const samples = 24
	for i, s := range shapes {
		box := shapeBox(s, b.Dx(), b.Dy())
		inner := box.Inset(min(seams, max(0, (min(box.Dx(), box.Dy())-2)/2)))
		if inner.Empty() || min(box.Dx(), box.Dy()) < seams {
			continue // too small for a JPEG to show it apart from what is beside it
		}
		for sy := range samples {
			for sx := range samples {
				x, y := inner.Min.X+sx*inner.Dx()/samples, inner.Min.Y+sy*inner.Dy()/samples
				if s.Shape == "ellipse" && !inEllipse(inner, x, y, 1) {
					continue
				}
				r, g, bb, _ := img.At(b.Min.X+x, b.Min.Y+y).RGBA()
				if (299*r+587*g+114*bb)/1000/257 > blackest {
					return i + 1
				}
			}
		}
	}
	return 0
}

// pictureOf decodes a picture of the bag; a decoder that gives up in a panic counts as unreadable.
func (v *verifier) pictureOf(path string) (img image.Image, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("the picture is damaged")
		}
	}()
	data, err := v.bytesOf(path)
	if err != nil {
		return nil, err
	}
	return decode(data)
}

// bytesOf reads a picture of the bag.
func (v *verifier) bytesOf(path string) ([]byte, error) {
	f := v.files[path]
	if f.size > maxPicture {
		return nil, fmt.Errorf("it has more than %d bytes", maxPicture)
	}
	rc, err := f.open()
	if err != nil {
		return nil, err
	}
	defer rc.Close()
	return io.ReadAll(io.LimitReader(rc, f.size))
}
