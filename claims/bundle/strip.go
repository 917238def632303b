package bundle

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"io"

	"kickplate/claims"
)

// keptStripped is a JPEG whose metadata was taken out; its picture data is as it was received.
const keptStripped = "stripped"

const stepStrip = "All metadata was taken out of the JPEG file, but for its colour profile and, where the picture lies turned, its orientation. The picture's own data is unchanged, byte for byte."

// stripJPEG takes out of a JPEG whatever is not needed to show it (ITU-T T.81, annex B): of the application segments it leaves the JFIF header
// without its thumbnail, the colour profile and Adobe's colour transform; comments, and all that follows the end of the picture, go too. ok is false when
// the file is not one whole JPEG.
func stripJPEG(data []byte, orientation int) (out []byte, ok bool) {
	if len(data) < 4 || data[0] != 0xff || data[1] != 0xd8 {
		return nil, false
	}
	out = append(make([]byte, 0, len(data)), 0xff, 0xd8)
	if orientation > 1 && orientation <= 8 {
		out = append(out, orientationSegment(orientation)...)
	}
	at, scans := 2, 0
	for at+2 <= len(data) {
		if data[at] != 0xff {
			return nil, false
		}
		m := data[at+1]
		switch {
		case m == 0xff: // fill
			at++
			continue
		case m == 0xd9:
			return append(out, 0xff, 0xd9), scans > 0
		case m == 0x00 || m == 0x01 || m >= 0xd0 && m <= 0xd8:
			return nil, false
		}
		if at+4 > len(data) {
			return nil, false
		}
		n := int(binary.BigEndian.Uint16(data[at+2:]))
		if n < 2 || at+2+n > len(data) {
			return nil, false
		}
		segment := data[at : at+2+n]
		if kept := keptSegment(m, segment); kept != nil {
			out = append(out, kept...)
		}
		at += 2 + n
		if m == 0xda {
			scans++
			end := scanEnd(data[at:])
			out = append(out, data[at:at+end]...)
			at += end
		}
	}
	return nil, false
}

// keptSegment is what is left of a segment; nil = nothing.
func keptSegment(m byte, segment []byte) []byte {
	body := segment[4:]
	switch {
	case m == 0xe0 && len(body) >= 14 && bytes.HasPrefix(body, []byte("JFIF\x00")):
		return append(append([]byte{0xff, 0xe0, 0, 16}, body[:12]...), 0, 0)
	case m == 0xe2 && bytes.HasPrefix(body, []byte("ICC_PROFILE\x00")), m == 0xee && bytes.HasPrefix(body, []byte("Adobe")):
		return segment
	case m >= 0xe0 && m <= 0xef, m == 0xfe:
		return nil
	}
	return segment
}

// scanEnd is how many bytes of entropy-coded data stand before the next marker.
func scanEnd(data []byte) int {
	for i := 0; i+1 < len(data); i++ {
		if data[i] == 0xff && data[i+1] != 0 && (data[i+1] < 0xd0 || data[i+1] > 0xd7) {
			return i
		}
	}
	return len(data)
}

// orientationSegment is an Exif segment with the orientation and nothing else (Exif 2.31, 4.6.4: tag 0x0112, one SHORT).
func orientationSegment(o int) []byte {
	return append([]byte("\xff\xe1\x00\x22Exif\x00\x00MM\x00\x2a\x00\x00\x00\x08\x00\x01\x01\x12\x00\x03\x00\x00\x00\x01"), 0, byte(o), 0, 0, 0, 0, 0, 0)
}

// strippable decides whether an original can go in stripped: a JPEG that is read at once.
func (pl *plan) strippable(ctx context.Context, s *shot) (bool, error) {
	if s.facts == nil || s.facts.Type != "image/jpeg" || s.bytes > atOnce {
		return false, nil
	}
	data, err := pl.whole(ctx, s)
	if err != nil {
		return false, err
	}
	_, ok := stripJPEG(data, s.facts.Orientation)
	return ok, nil
}

// stripped reads an original, checks it against its digest and strips it.
func (pl *plan) stripped(ctx context.Context, s *shot) ([]byte, error) {
	data, err := pl.whole(ctx, s)
	if err != nil {
		return nil, err
	}
	if err := match(s, hexSum(data)); err != nil {
		return nil, err
	}
	out, ok := stripJPEG(data, s.facts.Orientation)
	if !ok {
		return nil, fmt.Errorf("strip the original: it is not one whole JPEG any more")
	}
	return out, nil
}

func (pl *plan) whole(ctx context.Context, s *shot) ([]byte, error) {
	blob, err := pl.parcel.Blobs.Open(ctx, s.Body.Digest)
	if err != nil {
		return nil, err
	}
	defer blob.Close()
	data, err := io.ReadAll(io.LimitReader(blob, atOnce+1))
	if err == nil && len(data) > atOnce {
		err = fmt.Errorf("the original is longer than the %d bytes the store says: %w", s.bytes, claims.ErrDigest)
	}
	return data, err
}

// strippedPictures looks whether pictures that are said to be stripped hold nothing that stripping takes out.
func (v *verifier) strippedPictures() {
	clean := 0
	for i := range v.index.Photos {
		p := &v.index.Photos[i]
		if p.Kept != keptStripped || p.SameAs != 0 || v.files[p.File] == nil || v.ctx.Err() != nil {
			continue
		}
		data, err := v.bytesOf(p.File)
		if err != nil {
			v.report.add("pictures", Broken, p.File, "Photo %d: its stripped picture can't be read: %v.", p.No, err)
			continue
		}
		orientation := 0
		if p.Facts != nil {
			orientation = p.Facts.Orientation
		}
		if again, ok := stripJPEG(data, orientation); !ok || !bytes.Equal(again, data) {
			v.report.add("pictures", Broken, p.File, "Photo %d: its picture is said to be stripped of metadata, but holds more than a picture.", p.No)
			continue
		}
		clean++
	}
	if clean > 0 {
		v.report.add("pictures", Holds, "", "%s without metadata as the index says; the originals are held back by their SHA-256.", map[bool]string{true: "1 photo is", false: fmt.Sprintf("%d photos are", clean)}[clean == 1])
	}
}
