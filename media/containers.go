package media

import (
	"encoding/binary"
	"fmt"
	"io"

	"kickplate/claims"
)

// pictureHead is what the containers other than JPEG say about their picture.
type pictureHead struct {
	width, height int
	perPixel      int64 // bytes the decoder takes for one pixel
	exif          []byte
}

func (h pictureHead) cost() int64 { return h.perPixel * int64(h.width) * int64(h.height) }

// mostChunks bounds the walks over chunks: a PNG writer cuts its data into pieces of 8 kB at the least.
const mostChunks = 50_000

// readExact fills p from offset at; the file's end before that is atEnd.
func readExact(r io.ReaderAt, p []byte, at int64, atEnd error) error {
	if n, err := r.ReadAt(p, at); n < len(p) {
		return readFault(err, atEnd)
	}
	return nil
}

// walkPNG reads the chunks of a PNG (PNG specification 3rd edition §5.3: length, type, data, CRC): the header, an eXIf
// chunk, and that there is an end.
func walkPNG(u *upload) (pictureHead, error) {
	var h pictureHead
	r := u.section()
	cut := claims.Errorf(claims.Invalid, "The photo is cut off: %s have arrived, and the rest of the picture is missing. Send it again, or take it again.", inMB(u.size))
	bad := claims.Errorf(claims.Invalid, "The photo is damaged: its picture header makes no sense. Send it again, or take it again.")
	at := int64(8)
	for range mostChunks {
		var head [8]byte
		if err := readExact(r, head[:], at, cut); err != nil {
			return h, err
		}
		length, name := int64(binary.BigEndian.Uint32(head[:4])), string(head[4:])
		if at == 8 {
			var ihdr [13]byte
			if name != "IHDR" || length != 13 {
				return h, bad
			}
			if err := readExact(r, ihdr[:], at+8, cut); err != nil {
				return h, err
			}
			w, ht := binary.BigEndian.Uint32(ihdr[:4]), binary.BigEndian.Uint32(ihdr[4:8])
			if w == 0 || ht == 0 || w > 1<<31-1 || ht > 1<<31-1 {
				return h, bad
			}
			h.width, h.height = int(w), int(ht)
			h.perPixel = 9 // 8 bit: up to 4 bytes, an interlaced pass, the copy on white
			if ihdr[8] == 16 {
				h.perPixel = 16
			}
		}
		if at+12+length > u.size {
			return h, cut
		}
		if name == "eXIf" && h.exif == nil && length <= mostBlock {
			h.exif = make([]byte, length)
			if err := readExact(r, h.exif, at+8, cut); err != nil {
				return h, err
			}
		}
		if name == "IEND" {
			return h, nil
		}
		at += 12 + length
	}
	return h, claims.Errorf(claims.Invalid, "The photo is made up of too many parts. Take it again.")
}

// walkWebP reads the chunks of a WebP (RFC 9649 §2). The size comes from the picture's own header (VP8: RFC 6386 §9.1, VP8L:
// RFC 9649 §3.4): that is what the decoder allocates for, whatever the canvas says.
func walkWebP(u *upload) (pictureHead, error) {
	h := pictureHead{perPixel: 12}
	r := u.section()
	cut := claims.Errorf(claims.Invalid, "The photo is cut off: %s have arrived, and the rest of the picture is missing. Send it again, or take it again.", inMB(u.size))
	bad := claims.Errorf(claims.Invalid, "The photo is damaged: its picture header makes no sense. Send it again, or take it again.")
	var head [12]byte
	if err := readExact(r, head[:], 0, cut); err != nil {
		return h, err
	}
	end := 8 + int64(binary.LittleEndian.Uint32(head[4:]))
	if end > u.size {
		return h, cut
	}
	pictures := 0
	for at, n := int64(12), 0; at+8 <= end; n++ {
		if n == mostChunks {
			return h, claims.Errorf(claims.Invalid, "The photo is made up of too many parts. Take it again.")
		}
		var c [18]byte
		if err := readExact(r, c[:8], at, cut); err != nil {
			return h, err
		}
		length, name := int64(binary.LittleEndian.Uint32(c[4:])), string(c[:4])
		if at+8+length > end {
			return h, cut
		}
		body := c[8:][:min(length, 10)]
		if err := readExact(r, body, at+8, cut); err != nil {
			return h, err
		}
		switch name {
		case "VP8 ":
			if len(body) < 10 || body[3] != 0x9d || body[4] != 0x01 || body[5] != 0x2a {
				return h, bad
			}
			h.width, h.height = int(body[6])|int(body[7]&0x3f)<<8, int(body[8])|int(body[9]&0x3f)<<8
			pictures++
		case "VP8L":
			if len(body) < 5 || body[0] != 0x2f {
				return h, bad
			}
			bits := binary.LittleEndian.Uint32(body[1:])
			h.width, h.height = int(bits&0x3fff)+1, int(bits>>14&0x3fff)+1
			pictures++
		case "ANIM", "ANMF":
			return h, claims.Errorf(claims.Unsupported, "This is an animated WebP picture. Send a photo, or a clip as MP4 or MOV.")
		case "EXIF":
			if h.exif == nil && length <= mostBlock {
				h.exif = make([]byte, length)
				if err := readExact(r, h.exif, at+8, cut); err != nil {
					return h, err
				}
				h.exif = afterExifMark(h.exif)
			}
		}
		at += 8 + length + length&1
	}
	if pictures != 1 || h.width == 0 || h.height == 0 {
		return h, bad
	}
	return h, nil
}

// afterExifMark drops the "Exif" mark of JPEG segments that some writers leave before the TIFF block.
func afterExifMark(b []byte) []byte {
	if len(b) >= 6 && string(b[:4]) == "Exif" && b[4] == 0 {
		return b[6:]
	}
	return b
}

// errBoxes is what a damaged box structure gives.
func errBoxes(u *upload, what string) error {
	return &claims.Error{Code: claims.Invalid, Err: fmt.Errorf("heif: %s", what),
		Says: fmt.Sprintf("The HEIC photo is damaged or cut off after %s. Send it again, or let the phone send JPEG.", inMB(u.size))}
}
