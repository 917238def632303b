package bundle

import (
	"bytes"
	"encoding/json"
	"image"
	"image/color"
	"image/jpeg"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

// coverParcel is a small job whose second photo has covers, one layer of them corrected.
func coverParcel(t testing.TB, hold claims.Hold) claims.Parcel {
	s := newScene(t)
	s.add(claims.KindOpen, claims.Open{Number: "2026-0420", Complaint: "Dryer stops after two minutes."})
	s.add(claims.KindCustomer, claims.Customer{Name: "Jonas Tiller"})
	s.add(claims.KindUnit, claims.Unit{Kind: "dryer-electric", Maker: "Castlemere", Model: "CD-7", Serial: "CD7-00418"})
	s.photo("rating-plate", "", drawn(160, 120, 1), nil)
	at := s.photo("symptom", "", drawn(320, 240, 5), func(p *claims.Photo, f *claims.PhotoFacts) {
		f.GPS = &claims.Position{Lat: 41.5, Lon: -73.9}
	})
	s.add(claims.KindCodes, claims.CodesRead{Digest: claims.DigestOf(drawn(320, 240, 5)), Codes: []claims.Code{{Format: "QR_CODE", Text: "loyalty card of J. Tiller"}}})
	first := s.add(claims.KindCover, claims.Cover{Photo: at, Shapes: []claims.Shape{{Shape: "rectangle", X1: 0, Y1: 0, X2: 50, Y2: 50}}})
	s.entry(claims.KindCover, claims.Cover{Photo: at, Shapes: []claims.Shape{{Shape: "rectangle", X1: 250, Y1: 250, X2: 500, Y2: 750}}}, first, "it covered the wrong place")
	s.add(claims.KindCover, claims.Cover{Photo: at, Shapes: []claims.Shape{{Shape: "ellipse", X1: 600, Y1: 200, X2: 900, Y2: 700}}})
	p := s.parcel()
	p.Hold = hold
	return p
}

const coveredFile = "data/originals/0002-symptom-covered.jpg"

// uncover puts the uncovered picture into a bundle where the covered one stood, and makes everything that names sums fit again.
func uncover(t testing.TB, data []byte) []byte {
	return repack(true, func(t testing.TB, c *contents) {
		plain := jpegBytes(decoded(t, drawn(320, 240, 5)), 80)
		c.data[coveredFile], c.data["data/thumbnails/0002-symptom.jpg"] = plain, plain
		c.edit(t, func(e map[string]any) { photo(e, 1)["fileSha256"] = hexSum(plain) })
	})(t, data)
}

func decoded(t testing.TB, data []byte) image.Image {
	t.Helper()
	img, err := jpeg.Decode(bytes.NewReader(data))
	require.NoError(t, err)
	return img
}

func grey(c color.Color) uint8 { return color.GrayModel.Convert(c).(color.Gray).Y }

// The area of an ellipse is pi/4 of its box (geometry); edges are rounded outward.
func TestBurn(t *testing.T) {
	white := image.NewGray(image.Rect(0, 0, 400, 300))
	for i := range white.Pix {
		white.Pix[i] = 255
	}
	count := func(img *image.RGBA) (n int) {
		for y := range 300 {
			for x := range 400 {
				if grey(img.At(x, y)) == 0 {
					n++
				}
			}
		}
		return n
	}
	box := burn(white, []claims.Shape{{Shape: "rectangle", X1: 250, Y1: 100, X2: 500, Y2: 600}})
	assert.Equal(t, 100*150, count(box))
	assert.Zero(t, grey(box.At(100, 30)))
	assert.Zero(t, grey(box.At(199, 179)))
	assert.EqualValues(t, 255, grey(box.At(99, 30)))
	assert.EqualValues(t, 255, grey(box.At(200, 30)))
	odd := burn(white, []claims.Shape{{Shape: "rectangle", X1: 1, Y1: 1, X2: 2, Y2: 2}}) // 0.4 to 0.8 of a pixel
	assert.Equal(t, 1, count(odd), "what a shape touches is covered")
	round := burn(white, []claims.Shape{{Shape: "ellipse", X1: 0, Y1: 0, X2: 1000, Y2: 1000}})
	assert.InDelta(t, math.Pi/4*400*300, count(round), 1200, "one pixel around is touched")
	assert.EqualValues(t, 255, grey(round.At(2, 2)), "the corner stays")
	assert.Equal(t, 400*300, count(burn(white, []claims.Shape{{Shape: "rectangle", X1: 0, Y1: 0, X2: 1000, Y2: 1000}})))
}

func TestCoveredBundle(t *testing.T) {
	p := coverParcel(t, claims.Hold{Covered: true})
	data, _ := pack(t, p)
	again, _ := pack(t, p)
	assert.Equal(t, data, again, "the same bytes each time")
	r := verify(t, data)
	require.True(t, r.Holds, r.Text())
	assert.Contains(t, r.Text(), "1 photo is covered by hand as the index says")
	assert.Contains(t, r.Text(), "Held back on purpose: covered")

	c := open(t, data)
	original := drawn(320, 240, 5)
	for name, file := range c.data {
		assert.NotEqual(t, original, file, name)
		assert.NotContains(t, string(file), "loyalty card", name)
	}
	var e Evidence
	require.NoError(t, json.Unmarshal(c.data["data/evidence.json"], &e))
	ph := e.Photos[1]
	assert.Equal(t, keptCovered, ph.Kept)
	assert.Equal(t, claims.DigestOf(original), ph.SHA256, "the original is still bound by its hash")
	require.NotNil(t, ph.Derived)
	assert.Equal(t, claims.DigestOf(original), ph.Derived.From)
	assert.Len(t, ph.Derived.Steps, 2)
	assert.Len(t, ph.Derived.Covers, 2)
	assert.Equal(t, []claims.Shape{{Shape: "rectangle", X1: 250, Y1: 250, X2: 500, Y2: 750}, {Shape: "ellipse", X1: 600, Y1: 200, X2: 900, Y2: 700}}, ph.Derived.Shapes, "as corrected")
	assert.Equal(t, "covered", e.HeldBack[0])
	for file, at := range map[string]image.Rectangle{coveredFile: image.Rect(90, 70, 150, 170), "data/thumbnails/0002-symptom.jpg": image.Rect(90, 70, 150, 170)} {
		img := decoded(t, c.data[file])
		require.Equal(t, image.Rect(0, 0, 320, 240), img.Bounds())
		for y := at.Min.Y; y < at.Max.Y; y++ {
			for x := at.Min.X; x < at.Max.X; x++ {
				require.Less(t, grey(img.At(x, y)), uint8(16), "%s at %d,%d", file, x, y)
			}
		}
		assert.Less(t, grey(img.At(240, 108)), uint8(16), "the middle of the ellipse")
		assert.Greater(t, grey(img.At(20, 200)), uint8(40), "elsewhere it is the picture")
		assert.NotContains(t, string(c.data[file]), "Exif")
	}
	page := string(c.data["data/index.html"])
	assert.Contains(t, page, "0002-symptom-covered.jpg")
	assert.Contains(t, page, "parts of the picture are covered by hand")
	assert.Contains(t, string(c.data["data/README.txt"]), "-covered.jpg")
	assert.Equal(t, keptWhole, e.Photos[0].Kept, "a photo without a cover goes in as it is")

	t.Run("the pictures of the report are covered too", func(t *testing.T) {
		pl, err := newPlan(t.Context(), &p)
		require.NoError(t, err)
		set, err := pl.pictures(t.Context())
		require.NoError(t, err)
		sheet := decoded(t, set.data[claims.DigestOf(original)])
		b := sheet.Bounds()
		assert.Less(t, grey(sheet.At(b.Dx()*3/8, b.Dy()/2)), uint8(24))
	})
	t.Run("not chosen, not covered", func(t *testing.T) {
		data, _ := pack(t, coverParcel(t, claims.Hold{}))
		r := verify(t, data)
		require.True(t, r.Holds, r.Text())
		c := open(t, data)
		assert.Equal(t, original, c.data["data/originals/0002-symptom.jpg"])
		assert.Contains(t, string(c.data["data/evidence.json"]), `"covers"`, "the layer is on record either way")
	})
	t.Run("with positions held back", func(t *testing.T) {
		data, _ := pack(t, coverParcel(t, claims.Hold{Covered: true, Position: true, Customer: true}))
		r := verify(t, data)
		require.True(t, r.Holds, r.Text())
		var e Evidence
		require.NoError(t, json.Unmarshal(open(t, data).data["data/evidence.json"], &e))
		assert.Equal(t, keptCovered, e.Photos[1].Kept)
		assert.Nil(t, e.Photos[1].Facts.GPS)
	})
	t.Run("a picture that stands in says how it was made", func(t *testing.T) {
		data, _ := pack(t, coverParcel(t, claims.Hold{Position: true}))
		var e Evidence
		require.NoError(t, json.Unmarshal(open(t, data).data["data/evidence.json"], &e))
		assert.Equal(t, keptStripped, e.Photos[1].Kept)
		require.NotNil(t, e.Photos[1].Derived)
		assert.Equal(t, []string{stepStrip}, e.Photos[1].Derived.Steps)
	})
}

// Whoever says covered must have covered.
func TestVerifyCovers(t *testing.T) {
	good, _ := pack(t, coverParcel(t, claims.Hold{Covered: true}))
	edit := func(change func(ph map[string]any)) func(testing.TB, []byte) []byte {
		return repack(true, func(t testing.TB, c *contents) {
			c.edit(t, func(e map[string]any) { change(photo(e, 1)) })
		})
	}
	shape := func(ph map[string]any) map[string]any {
		return ph["derived"].(map[string]any)["shapes"].([]any)[0].(map[string]any)
	}
	for _, c := range []struct {
		name  string
		spoil func(testing.TB, []byte) []byte
		area  string
		says  string
	}{
		{"the uncovered picture in its place", uncover, "pictures", "is not black"},
		{"another shape than the entry's", edit(func(ph map[string]any) { shape(ph)["x1"] = 260 }), "entries", "shapes that cover it"},
		{"a shape outside the picture", edit(func(ph map[string]any) { shape(ph)["x1"], shape(ph)["x2"] = 2000, 3000 }), "originals", "outside the picture"},
		{"no shapes", edit(func(ph map[string]any) { ph["derived"].(map[string]any)["shapes"] = []any{} }), "originals", "but not how"},
		{"nothing said of how", edit(func(ph map[string]any) { delete(ph, "derived") }), "originals", "but not how"},
		{"from another original", edit(func(ph map[string]any) { ph["derived"].(map[string]any)["from"] = strings.Repeat("a", 64) }), "originals", "but not how"},
		{"original not listed as held back", repack(true, func(t testing.TB, c *contents) {
			c.edit(t, func(e map[string]any) { delete(e, "withheld") })
		}), "originals", "not listed as held back"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := verify(t, c.spoil(t, good))
			require.False(t, r.Holds, r.Text())
			named := false
			for _, check := range r.Checks {
				named = named || check.Result == Broken && check.Area == c.area && strings.Contains(check.Says, c.says)
			}
			assert.True(t, named, r.Text())
		})
	}
}
