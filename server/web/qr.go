package web

import (
	"fmt"
	"strings"

	"rsc.io/qr"
)

// quietZone is the white margin that ISO/IEC 18004 asks for, in modules.
const quietZone = 4

// QR draws text as a QR code, as an SVG picture that any size of screen shows sharply.
func QR(text string) (string, error) {
	code, err := qr.Encode(text, qr.M)
	if err != nil {
		return "", fmt.Errorf("draw a QR code of %d characters: %w", len(text), err)
	}
	size := code.Size + 2*quietZone
	var b strings.Builder
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" shape-rendering="crispEdges" role="img" aria-label="QR code">`, size, size)
	fmt.Fprintf(&b, `<rect width="%d" height="%d" fill="#fff"/><path fill="#000" d="`, size, size)
	for y := range code.Size {
		for x := 0; x < code.Size; {
			run := 0
			for x+run < code.Size && code.Black(x+run, y) {
				run++
			}
			if run > 0 {
				fmt.Fprintf(&b, "M%d %dh%dv1h-%dz", x+quietZone, y+quietZone, run, run)
			}
			x += run + 1
		}
	}
	b.WriteString(`"/></svg>`)
	return b.String(), nil
}
