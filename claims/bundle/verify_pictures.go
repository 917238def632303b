package bundle

import (
	"bytes"
	"fmt"
	"image"
	"image/jpeg"
	"image/png"
	"io"
	"runtime"
	"sync"

	"golang.org/x/image/webp"
)

const (
	maxPicture = 64 << 20   // bytes of an original that is decoded
	maxPixels  = 60_000_000 // of an original that is decoded
	// tooFar is the mean difference of grey cells, 0..255, from which a thumbnail does not show its original. Thumbnails of three
	// scalers, turned, at JPEG quality 40, stay below 1; other pictures of the same style begin at 15 (TestThumbnailDistance).
	tooFar = 8.0
	cells  = 24
)

// pictures decodes originals and thumbnails and compares them loosely: a thumbnail must show its original.
func (v *verifier) pictures() {
	type job struct{ no, file, thumb string }
	var jobs []job
	for _, p := range v.index.Photos {
		if p.File != "" && p.Thumbnail != "" && p.SameAs == 0 && v.files[p.File] != nil && v.files[p.Thumbnail] != nil {
			jobs = append(jobs, job{fmt.Sprint(p.No), p.File, p.Thumbnail})
		}
	}
	results := make([]Check, len(jobs))
	next := make(chan int)
	var wg sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), 2) { // memory: one decoded original each
		wg.Go(func() {
			for i := range next {
				results[i] = v.picture(jobs[i].no, jobs[i].file, jobs[i].thumb)
			}
		})
	}
	for i := range jobs {
		if v.ctx.Err() != nil {
			break
		}
		next <- i
	}
	close(next)
	wg.Wait()
	same := 0
	for _, r := range results {
		switch r.Result {
		case "":
		case Holds:
			same++
		default:
			v.report.Checks = append(v.report.Checks, r)
		}
	}
	if same > 0 {
		v.report.add("pictures", Holds, "", "%s were compared with their originals and show the same.", plural(same, "thumbnail"))
	}
}

func (v *verifier) picture(no, file, thumb string) Check {
	small, err := v.grey(thumb)
	if err != nil {
		return Check{"pictures", Broken, thumb, fmt.Sprintf("Photo %s: its thumbnail can't be read: %v.", no, err)}
	}
	large, err := v.grey(file)
	if err != nil {
		return Check{"pictures", CannotTell, file, fmt.Sprintf("Photo %s: its original was not compared with its thumbnail: %v.", no, err)}
	}
	if d := distance(&large, &small); d > tooFar {
		return Check{"pictures", Broken, thumb, fmt.Sprintf("Photo %s: its thumbnail does not show its original (difference %.0f of 255).", no, d)}
	}
	return Check{Area: "pictures", Result: Holds}
}

type grid [cells * cells]float64

// grey reads a picture and reduces it to a grid of grey cells. The picture came from outside: its size is looked at
// first, and a decoder that gives up in a panic counts as unreadable.
func (v *verifier) grey(path string) (g grid, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("the picture is damaged")
		}
	}()
	f := v.files[path]
	if f.size > maxPicture {
		return g, fmt.Errorf("it has more than %d bytes", maxPicture)
	}
	rc, err := f.open()
	if err != nil {
		return g, err
	}
	defer rc.Close()
	data, err := io.ReadAll(io.LimitReader(rc, f.size))
	if err != nil {
		return g, err
	}
	img, err := decode(data)
	if err != nil {
		return g, err
	}
	return reduce(img), nil
}

func decode(data []byte) (image.Image, error) {
	type kind struct {
		config func(io.Reader) (image.Config, error)
		decode func(io.Reader) (image.Image, error)
	}
	var k kind
	switch {
	case bytes.HasPrefix(data, []byte("\xff\xd8\xff")):
		k = kind{jpeg.DecodeConfig, jpeg.Decode}
	case bytes.HasPrefix(data, []byte("\x89PNG\r\n\x1a\n")):
		k = kind{png.DecodeConfig, png.Decode}
	case len(data) > 12 && string(data[:4]) == "RIFF" && string(data[8:12]) == "WEBP":
		k = kind{webp.DecodeConfig, webp.Decode}
	default:
		return nil, fmt.Errorf("it is not a JPEG, PNG or WebP picture")
	}
	c, err := k.config(bytes.NewReader(data))
	if err != nil {
		return nil, err
	}
	if c.Width <= 0 || c.Height <= 0 || int64(c.Width)*int64(c.Height) > maxPixels {
		return nil, fmt.Errorf("it has %d × %d pixels, which is not decoded here", c.Width, c.Height)
	}
	return k.decode(bytes.NewReader(data))
}

// reduce averages a sample of each cell.
func reduce(img image.Image) (g grid) {
	const samples = 12
	b := img.Bounds()
	ycc, _ := img.(*image.YCbCr)
	for cy := range cells {
		for cx := range cells {
			sum := 0.0
			for sy := range samples {
				for sx := range samples {
					x := b.Min.X + (cx*samples+sx)*b.Dx()/(cells*samples)
					y := b.Min.Y + (cy*samples+sy)*b.Dy()/(cells*samples)
					if ycc != nil {
						sum += float64(ycc.Y[ycc.YOffset(x, y)])
						continue
					}
					// What is transparent is white, as in the views that thumbnails are made from.
					r, gg, bb, a := img.At(x, y).RGBA()
					sum += (0.299*float64(r) + 0.587*float64(gg) + 0.114*float64(bb) + float64(0xffff-a)) / 257
				}
			}
			g[cy*cells+cx] = sum / (samples * samples)
		}
	}
	return g
}

// distance is the mean difference in the best of the eight ways to lay one grid on the other: a thumbnail is upright, an
// original lies as the camera wrote it.
func distance(a, b *grid) float64 {
	best := 256.0
	for turn := range 8 {
		sum := 0.0
		for y := range cells {
			for x := range cells {
				u, w := x, y
				if turn&1 != 0 {
					u = cells - 1 - u
				}
				if turn&2 != 0 {
					w = cells - 1 - w
				}
				if turn&4 != 0 {
					u, w = w, u
				}
				d := a[y*cells+x] - b[w*cells+u]
				sum += max(d, -d)
			}
		}
		best = min(best, sum/(cells*cells))
	}
	return best
}
