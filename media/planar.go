package media

import (
	"bytes"
	"fmt"
	"image"
	"image/jpeg"
	"math"

	"kickplate/claims"
	"kickplate/media/measure"
)

// chromaSize is the size of the chroma planes that belong to the picture's size.
func chromaSize(img *image.YCbCr) (w, h int) {
	w, h = img.Rect.Dx(), img.Rect.Dy()
	switch img.SubsampleRatio {
	case image.YCbCrSubsampleRatio420:
		return (w + 1) / 2, (h + 1) / 2
	case image.YCbCrSubsampleRatio422:
		return (w + 1) / 2, h
	case image.YCbCrSubsampleRatio440:
		return w, (h + 1) / 2
	}
	return w, h
}

// plane is one component of a picture, without gaps between the rows.
type plane struct {
	pix  []uint8
	w, h int
}

// fitted is the size of a picture within side x side, as imaging.Fit has it, so that both ways give views of one size.
func fitted(w, h, side int) (int, int) {
	switch {
	case w <= side && h <= side:
		return w, h
	case w > h:
		return side, max(1, int(float64(side)/(float64(w)/float64(h))))
	}
	return max(1, int(float64(side)*(float64(w)/float64(h)))), side
}

// derivePlanar does what derive does for a picture from decodeFast, plane by plane, without going through RGB: w and h are the
// size of the photo, img may be half of it. The chroma planes of the view have half its size, as its JPEG stores them.
func derivePlanar(img *image.YCbCr, w, h, orientation int, f *claims.PhotoFacts) (claims.Derived, error) {
	f.Width, f.Height = upright(w, h, orientation)
	vw, vh := fitted(w, h, viewSide)
	sources := []plane{{img.Y, img.Rect.Dx(), img.Rect.Dy()}}
	strides := []int{img.YStride}
	if img.Cb != nil {
		cw, ch := chromaSize(img)
		sources = append(sources, plane{img.Cb, cw, ch}, plane{img.Cr, cw, ch})
		strides = append(strides, img.CStride, img.CStride)
	}
	var view []plane
	for i, s := range sources {
		dw, dh := vw, vh
		if i > 0 {
			dw, dh = (vw+1)/2, (vh+1)/2
		}
		view = append(view, turnPlane(resizePlane(s.pix, strides[i], s.w, s.h, dw, dh), orientation))
	}
	measureInto(measure.Grey{Pix: view[0].pix, W: view[0].w, H: view[0].h}, f)
	var out claims.Derived
	var err error
	if out.View, err = encodePlanes(view, viewQuality); err != nil {
		return claims.Derived{}, err
	}
	tw, th := fitted(view[0].w, view[0].h, thumbSide)
	var thumb []plane
	for i, v := range view {
		dw, dh := tw, th
		if i > 0 {
			dw, dh = (tw+1)/2, (th+1)/2
		}
		g := measure.Grey{Pix: v.pix, W: v.w, H: v.h}.Reduce(dw, dh)
		thumb = append(thumb, plane{g.Pix, g.W, g.H})
	}
	out.Thumb, err = encodePlanes(thumb, thumbQuality)
	return out, err
}

// encodePlanes writes one grey plane, or luma and half-size chroma, as a JPEG without metadata.
func encodePlanes(p []plane, quality int) ([]byte, error) {
	rect := image.Rect(0, 0, p[0].w, p[0].h)
	var img image.Image = &image.Gray{Pix: p[0].pix, Stride: p[0].w, Rect: rect}
	if len(p) == 3 {
		img = &image.YCbCr{Y: p[0].pix, YStride: p[0].w, Cb: p[1].pix, Cr: p[2].pix, CStride: p[1].w, SubsampleRatio: image.YCbCrSubsampleRatio420, Rect: rect}
	}
	var buf bytes.Buffer
	buf.Grow(len(p[0].pix) / 4)
	if err := jpeg.Encode(&buf, img, &jpeg.Options{Quality: quality}); err != nil {
		return nil, fmt.Errorf("write the view: %w", err)
	}
	return buf.Bytes(), nil
}

// taps are the weights of one output sample: of the input samples from first on, in 1/16384; they sum to one.
type taps struct {
	first   int
	weights []int32
}

// triangle makes the taps of a linear filter as wide as the reduction (imaging.Linear). All outputs have the same number.
func triangle(src, dst int) []taps {
	scale := math.Max(1, float64(src)/float64(dst))
	n := min(src, int(math.Ceil(2*scale))+1)
	out := make([]taps, dst)
	for i := range out {
		center := (float64(i)+0.5)*float64(src)/float64(dst) - 0.5
		first := min(max(int(math.Ceil(center-scale)), 0), src-n)
		w := make([]float64, n)
		var sum float64
		for k := range w {
			w[k] = math.Max(0, 1-math.Abs(float64(first+k)-center)/scale)
			sum += w[k]
		}
		t := taps{first, make([]int32, n)}
		left, best := int32(1<<14), 0
		for k := range w {
			t.weights[k] = int32(w[k]/sum*(1<<14) + 0.5)
			left -= t.weights[k]
			if t.weights[k] > t.weights[best] {
				best = k
			}
		}
		t.weights[best] += left
		out[i] = t
	}
	return out
}

// resizePlane reduces a plane to dw x dh, rows first.
func resizePlane(pix []uint8, stride, sw, sh, dw, dh int) plane {
	mid := plane{make([]uint8, dw*sh), dw, sh}
	across := triangle(sw, dw)
	for y := range sh {
		from, to := pix[y*stride:][:sw], mid.pix[y*dw:][:dw]
		if sw == dw {
			copy(to, from)
			continue
		}
		if len(across[0].weights) == 4 {
			for x, t := range across {
				p, w := from[t.first:][:4], t.weights[:4]
				to[x] = uint8((int32(p[0])*w[0] + int32(p[1])*w[1] + int32(p[2])*w[2] + int32(p[3])*w[3] + 1<<13) >> 14)
			}
			continue
		}
		for x, t := range across {
			v := int32(1 << 13)
			p := from[t.first:][:len(t.weights)]
			for k, w := range t.weights {
				v += w * int32(p[k])
			}
			to[x] = uint8(v >> 14)
		}
	}
	if sh == dh {
		return mid
	}
	out := plane{make([]uint8, dw*dh), dw, dh}
	acc := make([]int32, dw)
	for y, t := range triangle(sh, dh) {
		for x := range acc {
			acc[x] = 1 << 13
		}
		for k, w := range t.weights {
			if w == 0 {
				continue
			}
			for x, v := range mid.pix[(t.first+k)*dw:][:dw] {
				acc[x] += w * int32(v)
			}
		}
		row := out.pix[y*dw:][:dw]
		for x, v := range acc {
			row[x] = uint8(v >> 14)
		}
	}
	return out
}

// turnPlane applies an EXIF orientation; see turn.
func turnPlane(p plane, orientation int) plane {
	if orientation < 2 || orientation > 8 {
		return p
	}
	out := plane{make([]uint8, len(p.pix)), p.w, p.h}
	if orientation >= 5 {
		out.w, out.h = p.h, p.w
	}
	w, h := p.w, p.h
	// start and step through the source along an output row, and the step from row to row.
	var at, dx, dy int
	switch orientation {
	case 2:
		at, dx, dy = w-1, -1, w
	case 3:
		at, dx, dy = h*w-1, -1, -w
	case 4:
		at, dx, dy = (h-1)*w, 1, -w
	case 5:
		at, dx, dy = 0, w, 1
	case 6:
		at, dx, dy = (h-1)*w, -w, 1
	case 7:
		at, dx, dy = h*w-1, -w, -1
	case 8:
		at, dx, dy = w-1, w, -1
	}
	const tile = 32 // turning by columns: keep to a few rows of the source at a time
	for x0 := 0; x0 < out.w; x0 += tile {
		x1 := min(x0+tile, out.w)
		for y := range out.h {
			s := at + y*dy + x0*dx
			for i := range out.pix[y*out.w+x0 : y*out.w+x1] {
				out.pix[y*out.w+x0+i] = p.pix[s]
				s += dx
			}
		}
	}
	return out
}
