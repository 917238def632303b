package media

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"

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
// be a movie header and media data. It is kept whole and not decoded. What it is may be said more closely by its tracks: recorders
// give a sound alone the brands of a film.
func checkClip(u *upload) (mime string, err error) {
	cut := claims.Errorf(claims.Invalid, "The clip is cut off: its end is missing after %s. Send it again, or record it again.", inMB(u.size))
	w := boxWalk{r: u.section(), left: mostBoxes, cut: cut}
	var movie, data, fragments bool
	tracks := map[string]int{}
	for at := int64(0); at < u.size; {
		b, err := w.box(at, u.size)
		if err != nil {
			return "", err
		}
		movie, data, fragments = movie || b.name == "moov", data || b.name == "mdat", fragments || b.name == "moof"
		if b.name == "moov" {
			w.tracks(b, tracks)
		}
		at = b.end
	}
	if !movie || !data && !fragments {
		return "", cut
	}
	if u.kind.mime == mimeMP4 && tracks["soun"] > 0 && len(tracks) == 1 {
		return mimeM4A, nil
	}
	return u.kind.mime, nil
}

// mostBoxes bounds the walk; a fragmented clip of some minutes has some hundred.
const mostBoxes = 20_000

// isoBox is one box: its body lies from at to end.
type isoBox struct {
	name    string
	at, end int64
}

// boxWalk reads boxes; left is how many more may be read.
type boxWalk struct {
	r    io.ReaderAt
	left int
	cut  error
}

// box reads the head of the box at a place; it must end before end.
func (w *boxWalk) box(at, end int64) (isoBox, error) {
	if w.left--; w.left < 0 {
		return isoBox{}, claims.Errorf(claims.Invalid, "The clip is made up of too many parts. Record it again.")
	}
	var buf [16]byte
	head := buf[:min(16, end-at)]
	if err := readExact(w.r, head, at, w.cut); err != nil {
		return isoBox{}, err
	}
	if len(head) < 8 {
		return isoBox{}, w.cut
	}
	size, name, body := int64(binary.BigEndian.Uint32(head)), string(head[4:8]), int64(8)
	switch {
	case size == 0: // to the end
		size = end - at
	case size == 1:
		if len(head) < 16 || binary.BigEndian.Uint64(head[8:]) > 1<<62 {
			return isoBox{}, w.cut
		}
		size, body = int64(binary.BigEndian.Uint64(head[8:])), 16
	}
	if size < body || size > end-at {
		return isoBox{}, w.cut
	}
	return isoBox{name, at + body, at + size}, nil
}

// tracks counts a movie's tracks by what they are: "vide", "soun" (moov/trak/mdia/hdlr, §8.4.3). Nothing is refused for what is wrong in
// there; the kind is then what the file's brand says.
func (w *boxWalk) tracks(in isoBox, kinds map[string]int) {
	for at := in.at; at < in.end; {
		b, err := w.box(at, in.end)
		if err != nil {
			kinds["unreadable"]++
			return
		}
		switch b.name {
		case "trak", "mdia":
			w.tracks(b, kinds)
		case "hdlr":
			var body [12]byte // version and flags, pre_defined, handler_type
			if b.end-b.at < 12 || readExact(w.r, body[:], b.at, w.cut) != nil {
				kinds["unreadable"]++
				return
			}
			if in.name == "mdia" {
				kinds[string(body[8:])]++
			}
		}
		at = b.end
	}
}
