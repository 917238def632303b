package media

import (
	"encoding/binary"
	"errors"
	"image"
)

// The decoder of image/jpeg is general and takes two thirds of an intake. Nearly all photos are baseline JPEGs of one scan, and
// the view needs a fraction of their pixels. fastJPEG decodes just these, at full or at half size (4 x 4 samples from the 16 lowest
// frequencies of each 8 x 8 block). It is strict: at anything unusual or damaged it gives up with errNotFast, and image/jpeg
// decides what the file is worth. So it can only be faster, never more lenient.

// errNotFast says that image/jpeg has to look at the file.
var errNotFast = errors.New("not a plain baseline JPEG")

// fastPart is one component: luma or chroma.
type fastPart struct {
	id     byte
	h, v   int
	quant  int
	dc, ac int
	pred   int32

	plane  []uint8
	stride int
}

type fastJPEG struct {
	data          []byte
	width, height int
	parts         []fastPart
	quant         [4][64]int32 // in natural order
	quantSet      [4]bool
	huff          [2][4]*huffTable // DC, AC
	restart       int
	n             int // samples a block gives along each side: 8 or 4
	bits          bitReader
	coef          [64]int32
	top           int // the highest zigzag index that was set in coef
}

// decodeFast decodes data at full size, or at half size, rounded up, when half is set.
func decodeFast(data []byte, half bool) (*image.YCbCr, error) {
	d := &fastJPEG{data: data, n: 8}
	if half {
		d.n = 4
	}
	at, err := d.headers()
	if err != nil {
		return nil, err
	}
	mcusX, mcusY := d.allocate()
	end, err := d.scan(at, mcusX, mcusY)
	if err != nil {
		return nil, err
	}
	// Only the end marker may follow; fill bytes may stand before it.
	for end+1 < len(data) && data[end] == 0xff && data[end+1] == 0xff {
		end++
	}
	if end+1 >= len(data) || data[end] != 0xff || data[end+1] != 0xd9 {
		return nil, errNotFast
	}
	return d.image(), nil
}

// headers reads all segments before the picture and returns where its data begins.
func (d *fastJPEG) headers() (int, error) {
	b := d.data
	jfif, adobeRGB := false, false
	if len(b) < 4 || b[0] != 0xff || b[1] != 0xd8 {
		return 0, errNotFast
	}
	for at, n := 2, 0; n < mostSegments; n++ {
		if at+4 > len(b) || b[at] != 0xff {
			return 0, errNotFast
		}
		m := b[at+1]
		if m == 0xff {
			at++
			continue
		}
		length := int(binary.BigEndian.Uint16(b[at+2:]))
		if m < 0xc0 || m == 0xd9 || m >= 0xd0 && m <= 0xd8 || length < 2 || at+2+length > len(b) {
			return 0, errNotFast
		}
		body := b[at+4 : at+2+length]
		ok := true
		switch {
		case m == 0xc0 || m == 0xc1:
			ok = d.frame(body)
		case m == 0xc4:
			ok = d.huffman(body)
		case m == 0xdb:
			ok = d.quantization(body)
		case m == 0xdd:
			ok = len(body) == 2
			if ok {
				d.restart = int(binary.BigEndian.Uint16(body))
			}
		case m == 0xda:
			if !d.scanHeader(body) || adobeRGB && !jfif {
				return 0, errNotFast
			}
			return at + 2 + length, nil
		case m == 0xe0:
			jfif = jfif || len(body) >= 5 && string(body[:5]) == "JFIF\x00"
		case m == 0xee:
			adobeRGB = adobeRGB || len(body) >= 12 && string(body[:5]) == "Adobe" && body[11] == 0
		case m >= 0xe1 && m <= 0xef || m == 0xfe:
		default:
			ok = false
		}
		if !ok {
			return 0, errNotFast
		}
		at += 2 + length
	}
	return 0, errNotFast
}

func (d *fastJPEG) frame(b []byte) bool {
	if d.parts != nil || len(b) < 6 || b[0] != 8 || len(b) != 6+3*int(b[5]) || b[5] != 1 && b[5] != 3 {
		return false
	}
	d.height, d.width = int(binary.BigEndian.Uint16(b[1:])), int(binary.BigEndian.Uint16(b[3:]))
	if d.width == 0 || d.height == 0 {
		return false
	}
	if b[5] == 3 && b[6] == 'R' && b[9] == 'G' && b[12] == 'B' {
		return false
	}
	for i := range int(b[5]) {
		c := b[6+3*i:]
		p := fastPart{id: c[0], h: int(c[1] >> 4), v: int(c[1] & 15), quant: int(c[2])}
		if p.quant > 3 {
			return false
		}
		switch {
		case b[5] == 1: // a single part has blocks of one, whatever it says
			p.h, p.v = 1, 1
		case i == 0 && (p.h < 1 || p.h > 2 || p.v < 1 || p.v > 2):
			return false
		case i > 0 && (p.h != 1 || p.v != 1):
			return false
		}
		for _, other := range d.parts {
			if other.id == p.id {
				return false
			}
		}
		d.parts = append(d.parts, p)
	}
	return true
}

func (d *fastJPEG) quantization(b []byte) bool {
	for len(b) > 0 {
		wide, id := b[0]>>4, b[0]&15
		size := 64
		if wide == 1 {
			size = 128
		}
		if wide > 1 || id > 3 || len(b) < 1+size {
			return false
		}
		for i := range 64 {
			v := int32(b[1+i%size])
			if wide == 1 {
				v = int32(binary.BigEndian.Uint16(b[1+2*i:]))
			}
			d.quant[id][zigzag[i]] = v
		}
		d.quantSet[id] = true
		b = b[1+size:]
	}
	return true
}

func (d *fastJPEG) huffman(b []byte) bool {
	for len(b) > 0 {
		class, id := b[0]>>4, b[0]&15
		if class > 1 || id > 3 || len(b) < 17 {
			return false
		}
		t, n := newHuffTable(b[1:17], b[17:], class == 1)
		if t == nil {
			return false
		}
		d.huff[class][id] = t
		b = b[17+n:]
	}
	return true
}

func (d *fastJPEG) scanHeader(b []byte) bool {
	if d.parts == nil || len(b) != 4+2*len(d.parts) || int(b[0]) != len(d.parts) {
		return false
	}
	if tail := b[len(b)-3:]; tail[0] != 0 || tail[1] != 63 || tail[2] != 0 {
		return false
	}
	for i := range d.parts {
		p := &d.parts[i]
		if b[1+2*i] != p.id { // in another order than in the frame: legal, and never seen
			return false
		}
		p.dc, p.ac = int(b[2+2*i]>>4), int(b[2+2*i]&15)
		if p.dc > 3 || p.ac > 3 || d.huff[0][p.dc] == nil || d.huff[1][p.ac] == nil || !d.quantSet[p.quant] {
			return false
		}
	}
	return true
}
