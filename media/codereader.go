package media

import (
	"context"
	"math"
	"slices"
	"strings"
	"unicode"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/datamatrix"
	"github.com/makiuchi-d/gozxing/oned"
	"github.com/makiuchi-d/gozxing/qrcode"

	"kickplate/claims"
	"kickplate/media/measure"
)

// How codes are looked for: the picture is reduced to codeSide, turned by each of codeAngles in turn (bars must run across
// the rows, give or take their height), and read row by row for bars, as a whole for square codes. When nothing is found it
// is tried once more at up to codeFullSide, for small codes on large photos.
const (
	codeSide     = 2016
	codeFullSide = 4032
	mostCodes    = 16
	mostCodeText = 500
)

func codeAngles() []int { return []int{0, 90, 15, 105, -15, 75, 30, 120, -30, 60, 45, 135} }

// findCodes returns the codes in g, the most often seen first. It looks until ctx ends; what it has by then it returns.
func findCodes(ctx context.Context, g measure.Grey) []claims.Code {
	votes := &votes{}
	for _, side := range []int{codeSide, codeFullSide} {
		long := max(g.W, g.H)
		if side > codeSide && (long <= codeSide || len(votes.list()) > 0) {
			break
		}
		small := g
		if long > side {
			small = g.Reduce(max(1, g.W*side/long), max(1, g.H*side/long))
		}
		for i, angle := range codeAngles() {
			// Straight and quarter-turned always: a plate may have both. The rest only while nothing was found.
			if i > 1 && len(votes.list()) > 0 {
				break
			}
			if side > codeSide && i > 1 {
				break
			}
			if ctx.Err() != nil {
				return votes.list()
			}
			turned := rotate(small, angle)
			readBars(ctx, turned, votes)
			if i == 0 || (i > 1 && angle < 60) {
				readSquares(ctx, turned, votes, 0)
			}
		}
	}
	return votes.list()
}

// votes counts on how many rows a code was read.
type votes struct {
	codes  []claims.Code
	counts []int
}

func (v *votes) add(format, text string, n int) {
	text = strings.TrimSpace(text)
	if text == "" || len(text) > mostCodeText || strings.ContainsFunc(text, func(r rune) bool { return !unicode.IsPrint(r) && r != '\n' && r != '\r' && r != 0x1d }) {
		return
	}
	c := claims.Code{Format: format, Text: text}
	if i := slices.Index(v.codes, c); i >= 0 {
		v.counts[i] += n
		return
	}
	if len(v.codes) < 8*mostCodes {
		v.codes, v.counts = append(v.codes, c), append(v.counts, n)
	}
}

// enough is how many rows must agree before a code counts. Code 39 has no check character, so a grille can look like a short
// one; the others have one check character of 10 or 103.
func enough(c claims.Code) int {
	switch c.Format {
	case FormatCode39:
		if len(c.Text) < 4 {
			return 6
		}
		return 3
	case FormatCode128, FormatEAN13, FormatUPCA:
		return 2
	case FormatEAN8:
		return 4
	}
	return 1
}

func (v *votes) list() []claims.Code {
	var at []int
	for i, c := range v.codes {
		if v.counts[i] >= enough(c) {
			at = append(at, i)
		}
	}
	slices.SortStableFunc(at, func(a, b int) int { return v.counts[b] - v.counts[a] })
	var out []claims.Code
	for _, i := range at[:min(len(at), mostCodes)] {
		out = append(out, v.codes[i])
	}
	return out
}

// The names of the formats that are read.
const (
	FormatCode128    = "Code 128"
	FormatCode39     = "Code 39"
	FormatEAN13      = "EAN-13"
	FormatEAN8       = "EAN-8"
	FormatUPCA       = "UPC-A"
	FormatQR         = "QR"
	FormatDataMatrix = "Data Matrix"
)

// rotate turns g clockwise by degrees about its middle, into a picture that holds all of it; the corners are grey.
func rotate(g measure.Grey, degrees int) measure.Grey {
	if degrees == 0 || g.Empty() {
		return g
	}
	sin, cos := math.Sincos(float64(degrees) * math.Pi / 180)
	w := int(math.Ceil(math.Abs(float64(g.W)*cos) + math.Abs(float64(g.H)*sin) - 1e-6))
	h := int(math.Ceil(math.Abs(float64(g.W)*sin) + math.Abs(float64(g.H)*cos) - 1e-6))
	out := measure.Grey{Pix: make([]uint8, w*h), W: w, H: h}
	// 16.16 fixed point walk through the source.
	const one = 1 << 16
	du, dv := int(math.Round(cos*one)), int(math.Round(-sin*one))
	for y := range h {
		cx, cy := 0.5-float64(w)/2, float64(y)+0.5-float64(h)/2
		u := int(math.Round((cx*cos + cy*sin + float64(g.W)/2 - 0.5) * one))
		v := int(math.Round((-cx*sin + cy*cos + float64(g.H)/2 - 0.5) * one))
		row := out.Pix[y*w:][:w]
		for x := range row {
			iu, iv := u>>16, v>>16
			switch {
			case iu >= 0 && iv >= 0 && iu < g.W-1 && iv < g.H-1:
				fu, fv := u&(one-1)>>8, v&(one-1)>>8
				p := g.Pix[iv*g.W+iu:]
				top := int(p[0])*(256-fu) + int(p[1])*fu
				bottom := int(p[g.W])*(256-fu) + int(p[g.W+1])*fu
				row[x] = uint8((top*(256-fv) + bottom*fv + 1<<15) >> 16)
			case iu >= -1 && iv >= -1 && iu < g.W && iv < g.H:
				row[x] = g.Pix[min(max(iv, 0), g.H-1)*g.W+min(max(iu, 0), g.W-1)]
			default:
				row[x] = 160
			}
			u += du
			v += dv
		}
	}
	return out
}

// barReader reads one kind of bar code from a row of black and white.
type barReader struct {
	format string
	oned.RowDecoder
}

func barReaders() []barReader {
	var out []barReader
	for _, r := range []struct {
		format string
		reader gozxing.Reader
	}{{FormatCode128, oned.NewCode128Reader()}, {FormatCode39, oned.NewCode39Reader()}, {FormatEAN13, oned.NewEAN13Reader()}, {FormatEAN8, oned.NewEAN8Reader()}} {
		if d, ok := r.reader.(oned.RowDecoder); ok {
			out = append(out, barReader{r.format, d})
		}
	}
	return out
}

// readBars reads bar codes on about 300 rows, each the average of three, in both directions, with two widths of the local
// threshold. Where one was found the row is blanked there and read again, for a second code beside it.
func readBars(ctx context.Context, g measure.Grey, v *votes) {
	if g.Empty() || g.W < 40 || g.H < 3 {
		return
	}
	readers := barReaders()
	step := max(1, g.H/300)
	row := newBarRow(g.W)
	for y := 1; y < g.H-1; y += step {
		if ctx.Err() != nil {
			return
		}
		if !row.load(g, y) {
			continue
		}
		for pass, reach := range []int{16, 48, 16} {
			if pass == 2 {
				row.sharpen()
			}
			row.threshold(reach)
			for _, r := range readers {
				row.read(r, v)
			}
		}
	}
}

// barRow is one row at twice the resolution.
type barRow struct {
	grey []int32
	sum  []int32
	bits *gozxing.BitArray
	back *gozxing.BitArray
}

func newBarRow(w int) *barRow {
	return &barRow{grey: make([]int32, 2*w), sum: make([]int32, 2*w+1), bits: gozxing.NewBitArray(2 * w), back: gozxing.NewBitArray(2 * w)}
}

// load averages the rows y-1..y+1 and doubles the resolution; false when the row has hardly any edges.
func (b *barRow) load(g measure.Grey, y int) bool {
	up, mid, down := g.Pix[(y-1)*g.W:][:g.W], g.Pix[y*g.W:][:g.W], g.Pix[(y+1)*g.W:][:g.W]
	edges := 0
	var last int32
	for x := range mid {
		v := int32(up[x]) + int32(mid[x]) + int32(down[x])
		b.grey[2*x] = v
		if x > 0 {
			b.grey[2*x-1] = (last + v) / 2
			if d := v - last; d > 36 || d < -36 {
				edges++
			}
		}
		last = v
	}
	b.grey[2*g.W-1] = last
	b.sums()
	return edges >= 20
}

// sharpen lifts the narrow bars of a blurred code: each point gains what it differs from its surroundings.
func (b *barRow) sharpen() {
	const d = 5
	n := len(b.grey)
	out := b.sum[1:] // free until the sums are made anew
	for i, v := range b.grey {
		out[i] = 5*v - 2*b.grey[max(0, i-d)] - 2*b.grey[min(n-1, i+d)]
	}
	copy(b.grey, out)
	b.sums()
}

func (b *barRow) sums() {
	b.sum[0] = 0
	for i, v := range b.grey {
		b.sum[i+1] = b.sum[i] + v
	}
}

// threshold makes black what is darker than the mean of its surroundings, reach source pixels to each side, by a little.
func (b *barRow) threshold(reach int) {
	n := len(b.grey)
	b.bits.Clear()
	for i, v := range b.grey {
		from, to := max(0, i-2*reach), min(n, i+2*reach+1)
		if (v+6)*int32(to-from) < b.sum[to]-b.sum[from] {
			b.bits.Set(i)
		}
	}
}

// read runs one reader over the row, forwards and backwards, again behind what it found.
func (b *barRow) read(r barReader, v *votes) {
	for range 2 {
		*b.back = *gozxing.NewBitArray(b.bits.GetSize())
		for i := b.bits.GetNextSet(0); i < b.bits.GetSize(); i = b.bits.GetNextSet(i + 1) {
			b.back.Set(i)
		}
		for range 4 {
			res := decodeRow(r, b.back)
			if res == nil {
				break
			}
			format, text := r.format, res.GetText()
			if format == FormatEAN13 && strings.HasPrefix(text, "0") {
				format, text = FormatUPCA, text[1:] // printed with 12 digits
			}
			if format != FormatEAN13 && format != FormatUPCA && format != FormatEAN8 || ValidGTIN(text) {
				v.add(format, text, 1)
			}
			p := res.GetResultPoints()
			if len(p) < 2 {
				break
			}
			from, to := int(min(p[0].GetX(), p[1].GetX())), int(max(p[0].GetX(), p[1].GetX()))
			if to <= from {
				break
			}
			for i := max(0, from); i <= min(to, b.back.GetSize()-1); i++ {
				if b.back.Get(i) {
					b.back.Flip(i)
				}
			}
		}
		b.bits.Reverse()
	}
}

// decodeRow runs the decoder; errors and panics are "nothing found".
func decodeRow(r barReader, row *gozxing.BitArray) (res *gozxing.Result) {
	defer func() {
		if recover() != nil {
			res = nil
		}
	}()
	res, err := r.DecodeRow(0, row, nil)
	if err != nil {
		return nil
	}
	return res
}

// readSquares reads QR codes in the whole picture and in quarters of it, and Data Matrix codes around the busiest spots: their
// finder looks at the middle of what it is given only.
func readSquares(ctx context.Context, g measure.Grey, v *votes, depth int) {
	if g.Empty() || g.W < 30 || g.H < 30 || ctx.Err() != nil {
		return
	}
	src, err := gozxing.NewPlanarYUVLuminanceSource(g.Pix, g.W, g.H, 0, 0, g.W, g.H, false)
	if err != nil {
		return
	}
	bitmap, err := gozxing.NewBinaryBitmap(gozxing.NewHybridBinarizer(src))
	if err != nil {
		return
	}
	hints := map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_TRY_HARDER: true}
	if res := decodeSquare(qrcode.NewQRCodeReader(), bitmap, hints); res != nil {
		v.add(FormatQR, res.GetText(), 1)
	}
	if depth == 1 {
		return
	}
	for _, c := range busiest(g) {
		if ctx.Err() != nil {
			return
		}
		readDataMatrix(c, v)
	}
	for _, q := range [][2]int{{0, 0}, {1, 0}, {0, 1}, {1, 1}, {2, 2}} { // quarters that overlap, and the middle
		w, h := g.W*5/8, g.H*5/8
		x, y := q[0]*(g.W-w), q[1]*(g.H-h)
		if q[0] == 2 {
			x, y = (g.W-w)/2, (g.H-h)/2
		}
		readSquares(ctx, crop(g, x, y, w, h), v, depth+1)
	}
}

func readDataMatrix(g measure.Grey, v *votes) {
	src, err := gozxing.NewPlanarYUVLuminanceSource(g.Pix, g.W, g.H, 0, 0, g.W, g.H, false)
	if err != nil {
		return
	}
	bitmap, err := gozxing.NewBinaryBitmap(gozxing.NewHybridBinarizer(src))
	if err != nil {
		return
	}
	if res := decodeSquare(datamatrix.NewDataMatrixReader(), bitmap, nil); res != nil {
		v.add(FormatDataMatrix, res.GetText(), 1)
	}
}

// busiest cuts out the surroundings of the spots with the most edges in both directions, at most 24.
func busiest(g measure.Grey) []measure.Grey {
	const cell, reach, most = 32, 200, 24
	type spot struct{ x, y, edges int }
	var spots []spot
	for cy := 0; cy+cell < g.H; cy += cell {
		for cx := 0; cx+cell < g.W; cx += cell {
			across, down := 0, 0
			for y := cy; y < cy+cell; y++ {
				for x := cx; x < cx+cell; x++ {
					p := g.Pix[y*g.W+x:]
					if d := int(p[1]) - int(p[0]); d > 24 || d < -24 {
						across++
					}
					if d := int(p[g.W]) - int(p[0]); d > 24 || d < -24 {
						down++
					}
				}
			}
			if n := min(across, down); n > cell*cell/24 {
				spots = append(spots, spot{cx + cell/2, cy + cell/2, n})
			}
		}
	}
	slices.SortStableFunc(spots, func(a, b spot) int { return b.edges - a.edges })
	var out []measure.Grey
	for _, s := range spots[:min(len(spots), most)] {
		x0, y0 := max(0, s.x-reach), max(0, s.y-reach)
		x1, y1 := min(g.W, s.x+reach), min(g.H, s.y+reach)
		// The finder starts in the middle: keep the spot there at the picture's edges too.
		r := min(s.x-x0, x1-s.x, s.y-y0, y1-s.y)
		if r >= 20 {
			out = append(out, crop(g, s.x-r, s.y-r, 2*r, 2*r))
		}
	}
	return out
}

func decodeSquare(r gozxing.Reader, b *gozxing.BinaryBitmap, hints map[gozxing.DecodeHintType]any) (res *gozxing.Result) {
	defer func() {
		if recover() != nil {
			res = nil
		}
	}()
	res, err := r.Decode(b, hints)
	if err != nil {
		return nil
	}
	return res
}

func crop(g measure.Grey, x, y, w, h int) measure.Grey {
	out := measure.Grey{Pix: make([]uint8, w*h), W: w, H: h}
	for i := range h {
		copy(out.Pix[i*w:][:w], g.Pix[(y+i)*g.W+x:])
	}
	return out
}

// ValidGTIN checks a GS1 number of 8, 12, 13 or 14 digits by its check digit: modulo 10 with weights 3 and 1 from the right
// (GS1 General Specifications §7.9).
func ValidGTIN(s string) bool {
	if n := len(s); n != 8 && n != 12 && n != 13 && n != 14 {
		return false
	}
	sum := 0
	for i := range len(s) {
		d := int(s[len(s)-1-i]) - '0'
		if d < 0 || d > 9 {
			return false
		}
		if i%2 == 1 {
			d *= 3
		}
		sum += d
	}
	return sum%10 == 0
}
