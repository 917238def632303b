package media

import (
	"encoding/binary"
	"image"
)

// zigzag maps the order in the file to the natural order, row by row (ITU-T T.81 figure A.6).
var zigzag = [64]uint8{
	0, 1, 8, 16, 9, 2, 3, 10, 17, 24, 32, 25, 18, 11, 4, 5,
	12, 19, 26, 33, 40, 48, 41, 34, 27, 20, 13, 6, 7, 14, 21, 28,
	35, 42, 49, 56, 57, 50, 43, 36, 29, 22, 15, 23, 30, 37, 44, 51,
	58, 59, 52, 45, 38, 31, 39, 46, 53, 60, 61, 54, 47, 55, 62, 63,
}

// allocate makes the planes, whole MCUs wide and high, and returns the number of MCUs.
func (d *fastJPEG) allocate() (mcusX, mcusY int) {
	h, v := 8*d.parts[0].h, 8*d.parts[0].v
	mcusX, mcusY = (d.width+h-1)/h, (d.height+v-1)/v
	for i := range d.parts {
		p := &d.parts[i]
		p.stride = mcusX * p.h * d.n
		p.plane = make([]uint8, p.stride*mcusY*p.v*d.n)
	}
	return mcusX, mcusY
}

// image wraps the planes.
func (d *fastJPEG) image() *image.YCbCr {
	w, h := (d.width*d.n+7)/8, (d.height*d.n+7)/8
	y := d.parts[0]
	img := &image.YCbCr{Y: y.plane, YStride: y.stride, Rect: image.Rect(0, 0, w, h)}
	switch {
	case len(d.parts) == 1:
		img.SubsampleRatio = image.YCbCrSubsampleRatio444 // Cb and Cr stay nil: grey
		return img
	case y.h == 2 && y.v == 2:
		img.SubsampleRatio = image.YCbCrSubsampleRatio420
	case y.h == 2:
		img.SubsampleRatio = image.YCbCrSubsampleRatio422
	case y.v == 2:
		img.SubsampleRatio = image.YCbCrSubsampleRatio440
	default:
		img.SubsampleRatio = image.YCbCrSubsampleRatio444
	}
	img.Cb, img.Cr, img.CStride = d.parts[1].plane, d.parts[2].plane, d.parts[1].stride
	return img
}

// scan decodes the picture from offset at and returns the offset of the marker behind it.
func (d *fastJPEG) scan(at, mcusX, mcusY int) (int, error) {
	d.bits = bitReader{data: d.data, pos: at}
	left, next := d.restart, byte(0xd0)
	for my := range mcusY {
		for mx := range mcusX {
			if d.restart > 0 && left == 0 {
				if !d.bits.atMarker() || d.bits.pos+1 >= len(d.data) || d.data[d.bits.pos+1] != next {
					return 0, errNotFast
				}
				d.bits = bitReader{data: d.data, pos: d.bits.pos + 2}
				for i := range d.parts {
					d.parts[i].pred = 0
				}
				left = d.restart
				next = 0xd0 + (next-0xd0+1)%8
			}
			left--
			for i := range d.parts {
				p := &d.parts[i]
				for v := range p.v {
					for h := range p.h {
						if !d.block(p) {
							return 0, errNotFast
						}
						out := p.plane[(my*p.v+v)*d.n*p.stride+(mx*p.h+h)*d.n:]
						if d.n == 8 {
							idct8(&d.coef, d.top, out, p.stride)
						} else {
							idct4(&d.coef, d.top, out, p.stride)
						}
					}
				}
			}
			if d.bits.short() {
				return 0, errNotFast
			}
		}
	}
	if !d.bits.atMarker() {
		return 0, errNotFast
	}
	return d.bits.pos, nil
}

// block reads the coefficients of one block into d.coef, dequantized, in natural order.
func (d *fastJPEG) block(p *fastPart) bool {
	d.coef = [64]int32{}
	b, q := &d.bits, &d.quant[p.quant]
	b.refill()
	dc := d.huff[0][p.dc]
	size, ok := dc.symbol(b)
	if !ok || size > 11 {
		return false
	}
	p.pred += b.extend(uint(size))
	d.coef[0] = p.pred * q[0]
	d.top = 0
	ac := d.huff[1][p.ac]
	for k := 1; k < 64; {
		b.refill()
		if e := ac.fast[b.peek(fastBits)]; e != 0 {
			b.n -= uint(e & 0xff)
			k += int(e >> 8 & 0xff)
			v := e >> 16
			if v == 0 { // the rest is zero, or sixteen are
				if k >= blockEnd {
					break
				}
				if k > 64 {
					return false
				}
				continue
			}
			if k > 63 {
				return false
			}
			z := zigzag[k]
			d.coef[z] = v * q[z]
			d.top = k
			k++
			continue
		}
		s, ok := ac.symbol(b)
		if !ok {
			return false
		}
		run, size := int(s>>4), uint(s&15)
		if size == 0 {
			if run == 0 {
				break
			}
			if run != 15 {
				return false
			}
			if k += 16; k > 64 {
				return false
			}
			continue
		}
		k += run
		if k > 63 || size > 10 {
			return false
		}
		z := zigzag[k]
		d.coef[z] = b.extend(size) * q[z]
		d.top = k
		k++
	}
	return true
}

const (
	// fastBits is how many bits the tables look at in one step.
	fastBits = 10
	// blockEnd is added to k by an end-of-block entry of the fast table: more than any run can.
	blockEnd = 128
)

// huffTable decodes one Huffman code (ITU-T T.81 annex C).
type huffTable struct {
	// code holds, by the next fastBits bits, length<<8 | symbol of a code that is not longer; 0 = longer.
	code [1 << fastBits]uint16
	// fast holds, for AC tables, value<<16 | run<<8 | length of code and value together, when both fit; 0 = not.
	fast [1 << fastBits]int32
	// For the longer codes: the largest code of each length (-1 = none), and where its symbols begin.
	most    [17]int32
	offset  [17]int32
	symbols []byte
}

// newHuffTable builds a table from the counts by length and the symbols; nil when they are impossible. n is how many
// symbols were taken.
func newHuffTable(counts, symbols []byte, ac bool) (t *huffTable, n int) {
	for _, c := range counts {
		n += int(c)
	}
	if n == 0 || n > 256 || len(symbols) < n {
		return nil, 0
	}
	t = &huffTable{symbols: symbols[:n]}
	code, k := int32(0), int32(0)
	for length := 1; length <= 16; length++ {
		c := int32(counts[length-1])
		t.most[length] = -1
		if c > 0 {
			if code+c > 1<<length {
				return nil, 0
			}
			t.offset[length] = k - code
			if length <= fastBits {
				for i := range c {
					from := int(code+i) << (fastBits - length)
					for j := range 1 << (fastBits - length) {
						t.code[from+j] = uint16(length)<<8 | uint16(symbols[k+i])
					}
				}
			}
			code += c
			k += c
			t.most[length] = code - 1
		}
		code <<= 1
	}
	if ac {
		t.addFast()
	}
	return t, n
}

// addFast joins short codes with the value bits that follow them.
func (t *huffTable) addFast() {
	for i := range t.code {
		length, s := int(t.code[i]>>8), t.code[i]&0xff
		if length == 0 {
			continue
		}
		run, size := int32(s>>4), int(s&15)
		switch {
		case s == 0x00:
			t.fast[i] = blockEnd<<8 | int32(length)
		case s == 0xf0:
			t.fast[i] = 16<<8 | int32(length)
		case size > 0 && length+size <= fastBits:
			v := int32(i>>(fastBits-length-size)) & (1<<size - 1)
			if v < 1<<(size-1) {
				v += -1<<size + 1
			}
			t.fast[i] = v<<16 | run<<8 | int32(length+size)
		}
	}
}

// symbol reads one code. The reader has at least 16 bits.
func (t *huffTable) symbol(b *bitReader) (byte, bool) {
	if e := t.code[b.peek(fastBits)]; e != 0 {
		b.n -= uint(e >> 8)
		return byte(e), true
	}
	for length := uint(fastBits + 1); length <= 16; length++ {
		if code := int32(b.peek(length)); code <= t.most[length] {
			b.n -= length
			return t.symbols[code+t.offset[length]], true
		}
	}
	return 0, false
}

// bitReader hands out the bits of a scan, without the zero bytes stuffed behind 0xFF. At a marker, or at the end of the
// data, it hands out zeros and remembers that they were not there.
type bitReader struct {
	data   []byte
	pos    int
	acc    uint64
	n      uint // valid bits at the low end of acc
	pad    uint // how many of all bits handed out or still to be are not in the data
	marker bool
}

// refill makes sure that there are at least 32 bits.
func (b *bitReader) refill() {
	if b.n > 32 {
		return
	}
	if b.pos+4 <= len(b.data) {
		x := binary.BigEndian.Uint32(b.data[b.pos:])
		if y := ^x; (y-0x01010101)&^y&0x80808080 == 0 { // no byte of x is 0xFF
			b.acc = b.acc<<32 | uint64(x)
			b.n += 32
			b.pos += 4
			return
		}
	}
	for b.n <= 32 {
		var v byte
		switch {
		case b.marker || b.pos >= len(b.data):
			b.marker = true
			b.pad += 8
		case b.data[b.pos] != 0xff:
			v = b.data[b.pos]
			b.pos++
		case b.pos+1 < len(b.data) && b.data[b.pos+1] == 0:
			v = 0xff
			b.pos += 2
		default:
			b.marker = true
			b.pad += 8
		}
		b.acc = b.acc<<8 | uint64(v)
		b.n += 8
	}
}

func (b *bitReader) peek(k uint) uint64 { return b.acc >> (b.n - k) & (1<<k - 1) }

// extend reads size bits as a signed value (ITU-T T.81 table F.1).
func (b *bitReader) extend(size uint) int32 {
	if size == 0 {
		return 0
	}
	v := int32(b.peek(size))
	b.n -= size
	if v < 1<<(size-1) {
		v += -1<<size + 1
	}
	return v
}

// short reports whether bits were handed out that the data does not have.
func (b *bitReader) short() bool { return b.n < b.pad }

// atMarker reports whether nothing but the filling of the last byte is left before a marker; pos is then at the marker.
func (b *bitReader) atMarker() bool {
	b.refill()
	return b.marker && b.pos < len(b.data) && b.n >= b.pad && b.n-b.pad < 8
}
