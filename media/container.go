package media

import (
	"bytes"
	"encoding/binary"
	"fmt"

	"kickplate/claims"
)

// checkPDF looks at both ends of a PDF (ISO 32000-1 §7.5: "%PDF-" first, "%%EOF" last). It is kept whole and not rendered.
func checkPDF(u *upload) error {
	n := min(u.size, 2048)
	tail := make([]byte, n)
	if got, err := u.section().ReadAt(tail, u.size-n); int64(got) < n {
		return fmt.Errorf("read the upload: %w", err)
	}
	if !bytes.Contains(tail, []byte("%%EOF")) {
		return claims.Errorf(claims.Invalid, "The PDF is cut off: its end is missing after %s. Send it again.", inMB(u.size))
	}
	return nil
}

// checkClip walks the top-level boxes of an MP4 or MOV file (ISO/IEC 14496-12): they must fill the file, and there must
// be a movie header and media data. It is kept whole and not decoded.
func checkClip(u *upload) error {
	cut := claims.Errorf(claims.Invalid, "The clip is cut off: its end is missing after %s. Send it again, or record it again.", inMB(u.size))
	var movie, data, fragments bool
	r := u.section()
	for at, n := int64(0), 0; at < u.size; n++ {
		if n == mostBoxes {
			return claims.Errorf(claims.Invalid, "The clip is made up of too many parts. Record it again.")
		}
		var head [16]byte
		got, err := r.ReadAt(head[:min(16, u.size-at)], at)
		if err != nil && int64(got) < min(16, u.size-at) {
			return fmt.Errorf("read the upload: %w", err)
		}
		if got < 8 {
			return cut
		}
		size, name := int64(binary.BigEndian.Uint32(head[:4])), string(head[4:8])
		switch {
		case size == 0: // to the end of the file
			size = u.size - at
		case size == 1:
			if got < 16 || binary.BigEndian.Uint64(head[8:]) > 1<<62 {
				return cut
			}
			size = int64(binary.BigEndian.Uint64(head[8:]))
			if size < 16 {
				return cut
			}
		case size < 8:
			return cut
		}
		if size > u.size-at {
			return cut
		}
		movie, data, fragments = movie || name == "moov", data || name == "mdat", fragments || name == "moof"
		at += size
	}
	if !movie || !data && !fragments {
		return cut
	}
	return nil
}

// mostBoxes bounds the walk; a fragmented clip of some minutes has some hundred.
const mostBoxes = 20_000
