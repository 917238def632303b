package media

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"

	"kickplate/claims"
)

// jpegHead is what stands before the first scan of a JPEG (ITU-T T.81 annex B, Exif 2.31 §4.5.4).
type jpegHead struct {
	// exif is the TIFF block of the first Exif APP1 segment, wherever among the APPn it stands; nil = none.
	exif []byte
	// sof is the start-of-frame marker's low byte (0xC0 baseline, 0xC2 progressive …).
	sof                   byte
	width, height         int
	precision, parts      int
	samples, blockH, maxV int // sum of h*v over the components, largest h, largest v
	// scan is the offset of the first start-of-scan marker; 0 = the file ends before one.
	scan int64
}

// mostSegments bounds the walk: a phone's panorama with embedded profiles has some hundred.
const mostSegments = 5000

// walkJPEG reads segment after segment by their lengths, from the start to the first scan. It never searches for markers
// inside payloads. It returns what it found before the fault together with an *claims.Error.
func walkJPEG(u *upload) (jpegHead, error) {
	var h jpegHead
	r := u.section()
	cut := func(at int64) error {
		return claims.Errorf(claims.Invalid, "The photo is cut off: the file ends after %s, before the picture begins. Send it again, or take it again.", inMB(at))
	}
	at := int64(2)
	for range mostSegments {
		// Any number of FF may stand before a marker's second byte.
		var two [2]byte
		if _, err := r.ReadAt(two[:], at); err != nil {
			return h, readFault(err, cut(u.size))
		}
		if two[0] != 0xff {
			return h, claims.Errorf(claims.Invalid, "The photo is damaged at byte %d, before the picture begins. Send it again, or take it again.", at)
		}
		m := two[1]
		switch {
		case m == 0xff:
			at++
			continue
		case m == 0x01 || m >= 0xd0 && m <= 0xd7: // no length
			at += 2
			continue
		case m == 0xd9:
			return h, cut(at + 2)
		case m == 0xda:
			h.scan = at
			return h, nil
		}
		if _, err := r.ReadAt(two[:], at+2); err != nil {
			return h, readFault(err, cut(u.size))
		}
		length := int64(binary.BigEndian.Uint16(two[:]))
		if length < 2 {
			return h, claims.Errorf(claims.Invalid, "The photo is damaged at byte %d, before the picture begins. Send it again, or take it again.", at+2)
		}
		if at+2+length > u.size {
			return h, cut(u.size)
		}
		if isExif := m == 0xe1 && h.exif == nil; isExif || isFrame(m) {
			body := make([]byte, length-2)
			if _, err := r.ReadAt(body, at+4); err != nil {
				return h, readFault(err, cut(u.size))
			}
			if isExif {
				if len(body) > 6 && bytes.HasPrefix(body, []byte("Exif\x00")) {
					h.exif = body[6:]
				}
			} else if err := h.frame(m, body); err != nil {
				return h, err
			}
		}
		at += 2 + length
	}
	return h, claims.Errorf(claims.Invalid, "The photo is made up of too many parts. Take it again.")
}

// readFault keeps a real read error apart from the file's end.
func readFault(err, atEnd error) error {
	if err == io.EOF || err == io.ErrUnexpectedEOF {
		return atEnd
	}
	return fmt.Errorf("read the upload: %w", err)
}

// isFrame reports whether m is a start-of-frame marker: C0 to CF but C4 (tables), C8 (reserved) and CC (tables).
func isFrame(m byte) bool { return m >= 0xc0 && m <= 0xcf && m != 0xc4 && m != 0xc8 && m != 0xcc }

func (h *jpegHead) frame(m byte, b []byte) error {
	bad := claims.Errorf(claims.Invalid, "The photo is damaged: its picture header makes no sense. Send it again, or take it again.")
	if len(b) < 6 || h.sof != 0 {
		return bad
	}
	h.sof, h.precision = m, int(b[0])
	h.height, h.width = int(binary.BigEndian.Uint16(b[1:])), int(binary.BigEndian.Uint16(b[3:]))
	h.parts = int(b[5])
	if len(b) != 6+3*h.parts || h.parts == 0 || h.parts > 4 || h.width == 0 || h.height == 0 {
		return bad
	}
	for i := range h.parts {
		hv := b[7+3*i]
		x, y := int(hv>>4), int(hv&15)
		if x < 1 || x > 4 || y < 1 || y > 4 {
			return bad
		}
		h.samples += x * y
		h.blockH, h.maxV = max(h.blockH, x), max(h.maxV, y)
	}
	if m > 0xc2 || h.precision != 8 {
		return claims.Errorf(claims.Unsupported, "The photo is a rare kind of JPEG (lossless, arithmetic or 12 bit) that browsers cannot show either. Send an ordinary JPEG.")
	}
	return nil
}

// cost is what decoding will take at most, in bytes: one byte a sample, and four more for the coefficients that a
// progressive picture keeps until its last scan.
func (h *jpegHead) cost() int64 {
	bw, bh := 8*h.blockH, 8*h.maxV
	mcus := int64((h.width+bw-1)/bw) * int64((h.height+bh-1)/bh)
	n := mcus * 64 * int64(h.samples)
	if h.sof == 0xc2 {
		n *= 5
	}
	if h.parts == 4 { // converted to 4 bytes a pixel at the end
		n += 8 * int64(h.width) * int64(h.height)
	}
	return n
}
