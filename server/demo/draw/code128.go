package draw

import "github.com/boombuler/barcode/code128"

// bars is a Code 128 bar code (ISO/IEC 15417) in a box of the plane, quiet zone not included. A text that can't be
// written as Code 128 gives no bars.
func bars(x0, y0, x1, y1 float64, s string) path {
	code, err := code128.Encode(s)
	if err != nil {
		return nil
	}
	n := code.Bounds().Dx()
	module := (x1 - x0) / float64(n)
	var out path
	for i := 0; i < n; {
		if r, _, _, _ := code.At(i, 0).RGBA(); r != 0 {
			i++
			continue
		}
		from := i
		for i < n {
			if r, _, _, _ := code.At(i, 0).RGBA(); r != 0 {
				break
			}
			i++
		}
		out = append(out, rect(x0+float64(from)*module, y0, x0+float64(i)*module, y1)...)
	}
	return out
}
