package media

import (
	"fmt"
	"image"
	"image/color"
)

// normalise brings what a decoder returned to one of three types: YCbCr, Gray, or NRGBA on white. Only these may reach
// imaging, and only with their corner at 0,0.
func normalise(img image.Image) (image.Image, error) {
	b := img.Bounds()
	if b.Empty() {
		return nil, fmt.Errorf("the picture has no pixels")
	}
	if b.Min == (image.Point{}) {
		switch src := img.(type) {
		case *image.YCbCr:
			return src, nil
		case *image.Gray:
			return src, nil
		}
	}
	out := image.NewNRGBA(image.Rect(0, 0, b.Dx(), b.Dy()))
	for y := range b.Dy() {
		row := out.Pix[y*out.Stride:][:4*b.Dx()]
		switch src := img.(type) {
		case *image.Paletted:
			palettedRow(row, src, b.Min.Y+y)
		case *image.NRGBA:
			from := src.Pix[src.PixOffset(b.Min.X, b.Min.Y+y):][:len(row)]
			for i := 0; i < len(row); i += 4 {
				onWhite(row[i:i+4], from[i], from[i+1], from[i+2], from[i+3])
			}
		case *image.RGBA:
			from := src.Pix[src.PixOffset(b.Min.X, b.Min.Y+y):][:len(row)]
			for i := 0; i < len(row); i += 4 {
				pad := 255 - from[i+3] // premultiplied: what is missing is white
				row[i], row[i+1], row[i+2], row[i+3] = addSat(from[i], pad), addSat(from[i+1], pad), addSat(from[i+2], pad), 255
			}
		case *image.CMYK:
			from := src.Pix[src.PixOffset(b.Min.X, b.Min.Y+y):][:len(row)]
			for i := 0; i < len(row); i += 4 {
				row[i], row[i+1], row[i+2] = color.CMYKToRGB(from[i], from[i+1], from[i+2], from[i+3])
				row[i+3] = 255
			}
		default: // 16 bit, alpha planes: rare, by way of the colour model
			for x := range b.Dx() {
				c := color.NRGBAModel.Convert(img.At(b.Min.X+x, b.Min.Y+y)).(color.NRGBA)
				onWhite(row[4*x:4*x+4], c.R, c.G, c.B, c.A)
			}
		}
	}
	return out, nil
}

// palettedRow looks the colours up; an index outside the palette is black, as PNG decoders show it.
func palettedRow(row []uint8, src *image.Paletted, y int) {
	var table [256][4]uint8
	for i := range table {
		table[i] = [4]uint8{0, 0, 0, 255}
		if i < len(src.Palette) {
			c := color.NRGBAModel.Convert(src.Palette[i]).(color.NRGBA)
			onWhite(table[i][:], c.R, c.G, c.B, c.A)
		}
	}
	from := src.Pix[src.PixOffset(src.Rect.Min.X, y):][:src.Rect.Dx()]
	for x, i := range from {
		copy(row[4*x:], table[i][:])
	}
}

// onWhite writes a colour as it looks on white paper.
func onWhite(p []uint8, r, g, b, a uint8) {
	if a != 255 {
		mix := func(v uint8) uint8 { return uint8((uint32(v)*uint32(a) + 255*(255-uint32(a)) + 127) / 255) }
		r, g, b = mix(r), mix(g), mix(b)
	}
	p[0], p[1], p[2], p[3] = r, g, b, 255
}

func addSat(a, b uint8) uint8 {
	if s := uint16(a) + uint16(b); s < 256 {
		return uint8(s)
	}
	return 255
}
