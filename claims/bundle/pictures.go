package bundle

import (
	"bytes"
	"context"
	"encoding/gob"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"runtime"
	"slices"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/draw"
	"golang.org/x/sync/errgroup"

	"kickplate/claims"
)

// The budget of the report: the PDF library holds all pictures in memory, several times over, so their sum is bounded.
// Pictures get smaller as they get more; beyond maxPictures the sheets refer to the files.
const (
	maxPictures   = 400
	maxViewPixels = 8 << 20 // of a view that is scaled down
	sheetQuality  = 72
)

func sheetSide(count int) int {
	switch {
	case count <= 80:
		return 800 // half of a view: see scaled
	case count <= 200:
		return 640
	}
	return 400
}

// pictureSet holds the reduced pictures of one report.
type pictureSet struct {
	data  map[claims.Digest][]byte
	used  map[claims.Digest]string
	sizes map[claims.Digest][2]float64
}

// pictures makes the reduced pictures, two at a time. They are kept as derived data: a second build finds them.
func (pl *plan) pictures(ctx context.Context) (*pictureSet, error) {
	var want []*shot
	for _, s := range pl.shots {
		if s.thumb != "" && s.same == 0 {
			want = append(want, s)
		}
	}
	side := sheetSide(len(want))
	want = want[:min(len(want), maxPictures)]
	made := make([][]byte, len(want))
	g, ctx := errgroup.WithContext(ctx)
	g.SetLimit(min(runtime.GOMAXPROCS(0), 4))
	for i, s := range want {
		g.Go(func() (err error) {
			if made[i], err = reduced(ctx, pl.parcel.Blobs, s.Body.Digest, s.cover, side); err != nil {
				return fmt.Errorf("picture of photo %d (%s, %s): %w", s.no, s.Body.Subject, s.Body.Digest, err)
			}
			return nil
		})
	}
	if err := g.Wait(); err != nil {
		return nil, err
	}
	set := &pictureSet{data: map[claims.Digest][]byte{}, used: map[claims.Digest]string{}, sizes: map[claims.Digest][2]float64{}}
	for i, s := range want {
		if made[i] != nil {
			set.data[s.Body.Digest] = made[i]
		}
	}
	return set, nil
}

// Prepare makes the reduced pictures of a job's photos, one after the other, as a report of them will want them.
func (*Packager) Prepare(ctx context.Context, blobs claims.Blobs, photos []claims.Digest) error {
	photos = slices.Clone(photos)
	slices.Sort(photos)
	photos = slices.Compact(photos)
	side := sheetSide(len(photos))
	for _, d := range photos[:min(len(photos), maxPictures)] {
		if err := ctx.Err(); err != nil {
			return err
		}
		if _, err := reduced(ctx, blobs, d, "", side); err != nil {
			return fmt.Errorf("picture of photo %s: %w", d, err)
		}
	}
	return nil
}

// reduced is the view of an original, or its covered view, at most side pixels long, or nil when there is no view.
func reduced(ctx context.Context, blobs claims.Blobs, d claims.Digest, cover string, side int) ([]byte, error) {
	name, from := fmt.Sprintf("sheet-1-%d.jpg", side), claims.DerivedView
	if cover != "" {
		name, from = fmt.Sprintf("%s-sheet-%d.jpg", cover, side), cover+".jpg"
	}
	if have, err := blobs.Derived(ctx, d, name); err == nil {
		if c, err := jpeg.DecodeConfig(bytes.NewReader(have)); err == nil && max(c.Width, c.Height) <= side {
			return have, nil
		}
	} else if !errors.Is(err, claims.ErrAbsent) {
		return nil, err
	}
	view, err := blobs.Derived(ctx, d, from)
	if errors.Is(err, claims.ErrAbsent) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	config, err := jpeg.DecodeConfig(bytes.NewReader(view))
	if err != nil || config.Width*config.Height > maxViewPixels {
		return nil, nil // not a view as media makes it: the report goes without
	}
	img, err := jpeg.Decode(bytes.NewReader(view))
	if err != nil {
		return nil, nil
	}
	var out bytes.Buffer
	if err := jpeg.Encode(&out, scaled(img, side), &jpeg.Options{Quality: sheetQuality}); err != nil {
		return nil, err
	}
	if err := blobs.PutDerived(ctx, d, name, out.Bytes()); err != nil {
		return nil, fmt.Errorf("keep the reduced picture: %w", err)
	}
	return out.Bytes(), nil
}

// scaled fits a picture into a square. A view is mostly twice as long as its place: then the planes of the JPEG are halved as
// they are, without a way through RGB, which is what makes a bundle of many photos quick. Down to a half the fast
// scaler looks at every pixel too; below that it would leave pixels out, so the slower one takes over.
func scaled(img image.Image, side int) image.Image {
	b := img.Bounds()
	w, h := b.Dx(), b.Dy()
	most := max(w, h)
	if ycc, ok := img.(*image.YCbCr); ok && 2*most > 3*side && most <= 2*side && min(w, h) >= 16 {
		return halved(ycc)
	}
	if most > side {
		w, h = max(1, (w*side+most/2)/most), max(1, (h*side+most/2)/most)
	}
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	if b.Dx() <= 2*w {
		draw.ApproxBiLinear.Scale(out, out.Rect, img, b, draw.Src, nil)
	} else {
		draw.BiLinear.Scale(out, out.Rect, img, b, draw.Src, nil)
	}
	return out
}

// halved averages each square of four samples, plane by plane.
func halved(src *image.YCbCr) *image.YCbCr {
	b := src.Bounds()
	out := image.NewYCbCr(image.Rect(0, 0, b.Dx()/2, b.Dy()/2), src.SubsampleRatio)
	halve(out.Y, out.YStride, src.Y[src.YOffset(b.Min.X, b.Min.Y):], src.YStride)
	c := src.COffset(b.Min.X, b.Min.Y)
	halve(out.Cb, out.CStride, src.Cb[c:], src.CStride)
	halve(out.Cr, out.CStride, src.Cr[c:], src.CStride)
	return out
}

func halve(dst []byte, width int, src []byte, stride int) {
	for y := 0; y*width < len(dst); y++ {
		// The last row or column of an odd plane is taken twice.
		upper := src[min(2*y*stride, len(src)-stride):]
		lower := src[min((2*y+1)*stride, len(src)-stride):]
		row := dst[y*width:][:width]
		for x := range row {
			a, b := min(2*x, stride-1), min(2*x+1, stride-1)
			row[x] = byte((int(upper[a]) + int(upper[b]) + int(lower[a]) + int(lower[b]) + 2) / 4)
		}
	}
}

func imageJPEG() fpdf.ImageOptions { return fpdf.ImageOptions{ImageType: "JPG"} }

// register gives the PDF a picture, once, and returns its name and its size in pixels; no name when there is none.
func (s *pictureSet) register(pdf *fpdf.Fpdf, d claims.Digest) (name string, w, h float64) {
	data := s.data[d]
	if data == nil {
		return "", 0, 0
	}
	if name = s.used[d]; name == "" {
		name = string(d)
		info := pdf.RegisterImageOptionsReader(name, imageJPEG(), bytes.NewReader(data))
		if info == nil || info.Width() == 0 || info.Height() == 0 {
			return "", 0, 0
		}
		s.sizes[d] = [2]float64{info.Width(), info.Height()}
		s.used[d] = name
		if err := widen(info, float64(len(s.used))*1e-6); err != nil {
			pdf.SetError(fmt.Errorf("picture %s: %w", name, err))
			return "", 0, 0
		}
		s.data[d] = []byte{} // the library has it now
	}
	return name, s.sizes[d][0], s.sizes[d][1]
}

// widen adds less than a pixel to the width that the library notes for a picture. It sorts pictures by width alone and
// takes them from a map, so two of the same width would come in a random order; it writes the width as a whole number.
// The only way to its fields is its gob form.
func widen(info *fpdf.ImageInfoType, by float64) error {
	form, err := info.GobEncode()
	if err != nil {
		return err
	}
	var (
		data, smask, pal []byte
		n, bpc           int
		w, h, scale, dpi float64
		cs, f, dp        string
		trns             []int
	)
	fields := []any{&data, &smask, &n, &w, &h, &cs, &pal, &bpc, &f, &dp, &trns, &scale, &dpi}
	dec := gob.NewDecoder(bytes.NewReader(form))
	for _, field := range fields {
		if err := dec.Decode(field); err != nil {
			return err
		}
	}
	w += by
	var out bytes.Buffer
	enc := gob.NewEncoder(&out)
	for _, field := range fields {
		if err := enc.Encode(field); err != nil {
			return err
		}
	}
	return info.GobDecode(out.Bytes())
}
