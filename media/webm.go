package media

import (
	"bytes"
	"io"
	"math"
	"slices"

	"kickplate/claims"
)

// Sound that a browser records comes as MP4 or as WebM. WebM is EBML (RFC 8794) with the elements of Matroska (RFC 9559): an id, a size,
// a body. Only sound is taken: films come as MP4 or MOV from every phone's camera.

// The elements that matter, by their ids with the length marker (RFC 9559 §5.1, RFC 8794 §11.2).
const (
	idHeader      = 0x1A45DFA3
	idDocType     = 0x4282
	idSegment     = 0x18538067
	idInfo        = 0x1549A966
	idDuration    = 0x4489
	idTracks      = 0x1654AE6B
	idTrack       = 0xAE
	idTrackType   = 0x83
	idCluster     = 0x1F43B675
	idSimpleBlock = 0xA3
	idBlockGroup  = 0xA0
)

const (
	trackOfSound = 2    // RFC 9559 §5.1.4.1.3
	mostHeader   = 4096 // an EBML header is some forty bytes
	mostTracks   = 64
	// mostElements bounds the walk: an hour of blocks of 20 ms has 180,000.
	mostElements = 250_000
)

// mimeWebM is what a WebM of sound alone is.
const mimeWebM = "audio/webm"

// element is one EBML element: its body lies from at to end. A live writer may leave the size of a segment or a cluster open.
type element struct {
	id      uint32
	at, end int64
	open    bool
}

// ebml reads elements; left is how many more may be read.
type ebml struct {
	r          io.ReaderAt
	left       int
	cut, wrong error
}

// element reads the head of the element at a place; its body must end before end.
func (b *ebml) element(at, end int64) (element, error) {
	if b.left--; b.left < 0 {
		return element{}, claims.Errorf(claims.Invalid, "The recording is made up of too many parts. Record it again, shorter.")
	}
	var head [12]byte // an id has 4 bytes at most, a size 8
	p := head[:min(12, max(0, end-at))]
	if err := readExact(b.r, p, at, b.cut); err != nil {
		return element{}, err
	}
	id, n := vint(p, 4, true)
	if n == 0 {
		return element{}, b.short(p, 4)
	}
	size, m := vint(p[n:], 8, false)
	if m == 0 {
		return element{}, b.short(p[n:], 8)
	}
	e := element{id: uint32(id), at: at + int64(n+m), end: end}
	if size == 1<<(7*m)-1 { // all bits set: not known (RFC 8794 §6.2)
		e.open = true
		return e, nil
	}
	if size > uint64(end-e.at) {
		return element{}, b.cut
	}
	e.end = e.at + int64(size)
	return e, nil
}

// short tells a number that goes past the end from one that can't be.
func (b *ebml) short(p []byte, most int) error {
	if len(p) == 0 || p[0]>>(8-most) != 0 {
		return b.cut
	}
	return b.wrong
}

// vint reads a number of at most most bytes whose first set bit tells its length (RFC 8794 §4); marked keeps that bit, as ids do. The
// length is 0 when there is none.
func vint(p []byte, most int, marked bool) (v uint64, n int) {
	if len(p) == 0 {
		return 0, 0
	}
	for n = 1; n <= most && p[0]&(0x80>>(n-1)) == 0; n++ {
	}
	if n > most || n > len(p) {
		return 0, 0
	}
	v = uint64(p[0])
	if !marked {
		v &= 0x7f >> (n - 1)
	}
	for _, c := range p[1:n] {
		v = v<<8 | uint64(c)
	}
	return v, n
}

// each hands the elements of a body to do, in order.
func (b *ebml) each(in element, do func(element) error) error {
	for at := in.at; at < in.end; {
		e, err := b.element(at, in.end)
		if err != nil {
			return err
		}
		if e.open {
			return b.wrong
		}
		if err := do(e); err != nil {
			return err
		}
		at = e.end
	}
	return nil
}

// bytes reads a small body.
func (b *ebml) bytes(e element, most int64) ([]byte, error) {
	if e.end-e.at > most {
		return nil, b.wrong
	}
	p := make([]byte, e.end-e.at)
	return p, readExact(b.r, p, e.at, b.cut)
}

// docType is the kind of EBML file that its header names, and where the header ends.
func (b *ebml) docType(size int64) (string, int64, error) {
	head, err := b.element(0, size)
	if err != nil {
		return "", 0, err
	}
	if head.id != idHeader || head.open || head.end > mostHeader {
		return "", 0, b.wrong
	}
	name := ""
	err = b.each(head, func(e element) error {
		if e.id != idDocType {
			return nil
		}
		p, err := b.bytes(e, 32)
		name = string(bytes.TrimRight(p, "\x00"))
		return err
	})
	return name, head.end, err
}

// isWebM looks at the start of a file for the header of a WebM.
func isWebM(head []byte) bool {
	b := ebml{r: bytes.NewReader(head), left: 100, cut: io.ErrUnexpectedEOF, wrong: io.ErrUnexpectedEOF}
	name, _, err := b.docType(int64(len(head)))
	return err == nil && name == "webm"
}

// checkWebM walks a WebM file: there must be tracks, all of them sound, and blocks of it, and the elements must fill the file. It is kept
// whole and not decoded. timed tells whether the file says how long it is: a browser that writes while it records can't know that yet.
func checkWebM(u *upload) (timed bool, err error) {
	b := ebml{
		r: u.section(), left: mostElements,
		cut:   claims.Errorf(claims.Invalid, "The recording is cut off: its end is missing after %s. Send it again, or record it again.", inMB(u.size)),
		wrong: claims.Errorf(claims.Invalid, "The recording is damaged: its parts make no sense. Send it again, or record it again."),
	}
	name, at, err := b.docType(u.size)
	if err != nil {
		return false, err
	}
	if name != "webm" {
		return false, refuse("a Matroska clip")
	}
	segment, err := b.element(at, u.size)
	if err != nil {
		return false, err
	}
	if segment.id != idSegment || segment.end != u.size {
		return false, b.wrong
	}
	var tracks, blocks int
	within := segment // the present cluster, else the segment: nothing may go past its end
	for at = segment.at; at < segment.end; {
		if at == within.end {
			within = segment
		}
		e, err := b.element(at, within.end)
		if err != nil {
			return false, err
		}
		if e.id == idCluster {
			if within.id == idCluster && !within.open {
				return false, b.wrong
			}
			within, at = e, e.at // its blocks come next
			continue
		}
		if e.open {
			return false, b.wrong
		}
		switch e.id {
		case idInfo:
			timed, err = b.timed(e)
		case idTracks:
			var n int
			n, err = b.tracks(e)
			tracks += n
		case idSimpleBlock, idBlockGroup:
			blocks++
		}
		if err != nil {
			return false, err
		}
		at = e.end
	}
	if tracks == 0 || blocks == 0 {
		return false, b.cut
	}
	return timed, nil
}

// timed tells whether the segment's information has a length that can be one.
func (b *ebml) timed(info element) (is bool, err error) {
	err = b.each(info, func(e element) error {
		if e.id != idDuration {
			return nil
		}
		p, err := b.bytes(e, 8)
		if err != nil {
			return err
		}
		v := 0.0
		switch bits, size := number(p), len(p); size {
		case 0:
		case 4:
			v = float64(math.Float32frombits(uint32(bits)))
		case 8:
			v = math.Float64frombits(bits)
		default:
			return b.wrong
		}
		is = v > 0 && !math.IsInf(v, 0)
		return nil
	})
	return is, err
}

// tracks counts the tracks; one that is not sound refuses the file.
func (b *ebml) tracks(list element) (n int, err error) {
	err = b.each(list, func(track element) error {
		if track.id != idTrack {
			return nil
		}
		var kinds []uint64
		err := b.each(track, func(e element) error {
			if e.id != idTrackType {
				return nil
			}
			p, err := b.bytes(e, 8)
			kinds = append(kinds, number(p))
			return err
		})
		switch n++; {
		case err != nil:
			return err
		case len(kinds) != 1 || n > mostTracks:
			return b.wrong
		case !slices.Contains(kinds, trackOfSound):
			return refuse("a WebM film")
		}
		return nil
	})
	return n, err
}

// number is a big-endian number of at most 8 bytes.
func number(p []byte) (v uint64) {
	for _, c := range p {
		v = v<<8 | uint64(c)
	}
	return v
}
