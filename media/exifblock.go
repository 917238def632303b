package media

import (
	"bytes"
	"encoding/binary"
	"fmt"
)

// The limits of an EXIF block. A phone writes 60 to 120 tags in some 10 kB.
const (
	mostTags      = 512
	mostBlock     = 1 << 20 // bytes; in a JPEG it cannot exceed 64 kB anyway
	mostNumbers   = 1024    // values in one tag of a numeric type
	blankedTag    = 0xffff  // what a faulty entry becomes in the checked copy
	tagExifIFD    = 0x8769
	tagGPSIFD     = 0x8825
	tagInteropIFD = 0xa005
)

// ifd names one of the directories of an EXIF block.
type ifd int

const (
	ifd0 ifd = iota
	ifd1     // the thumbnail
	ifdExif
	ifdGPS
	ifdInterop
)

func (i ifd) String() string {
	return [...]string{"main", "thumbnail", "Exif", "GPS", "interoperability"}[i]
}

// exifEntry is one tag whose type, count and place have been checked.
type exifEntry struct {
	in    ifd
	id    uint16
	typ   uint16
	count uint32
	val   []byte
	head  uint32 // where the entry is in the block
	at    uint64 // where val is
}

// exifBlock is a TIFF block (TIFF 6.0 §2) that has been walked within its bounds.
type exifBlock struct {
	order   binary.ByteOrder
	entries []exifEntry
	// clean is a copy in which every faulty entry is blanked, so that a reader without limits of its own may have it.
	clean []byte
	// overlaps says that blanking a faulty entry changed the bytes of a good value too: the copy then says other things than
	// the block, and a reader of the copy is no witness.
	overlaps bool
	// faults are plain phrases: what was wrong and left out.
	faults []string
}

// typeSizes are the bytes of one value of TIFF types 1 to 13 (13 = IFD, a LONG that points).
var typeSizes = [...]uint64{0, 1, 1, 2, 4, 8, 1, 1, 2, 4, 8, 4, 8, 4}

type exifWalk struct {
	raw     []byte
	block   *exifBlock
	visited map[uint32]bool
	tags    int
	budget  uint64 // bytes of values still allowed: overlapping values must not multiply the block
}

// walkExif checks an EXIF block: byte order mark, 42, then the main directory, its thumbnail directory and the three
// sub-directories, each at most once, at most mostTags entries in all, each value inside the block. ok is false when there
// is no directory at all. It takes time proportional to the block.
func walkExif(raw []byte) (*exifBlock, bool) {
	if len(raw) < 8 || len(raw) > mostBlock {
		return nil, false
	}
	b := &exifBlock{clean: make([]byte, len(raw), len(raw)+4)}
	copy(b.clean, raw)
	switch string(raw[:4]) {
	case "II*\x00":
		b.order = binary.LittleEndian
	case "MM\x00*":
		b.order = binary.BigEndian
	default:
		return nil, false
	}
	w := &exifWalk{raw: raw, block: b, visited: map[uint32]bool{}, budget: 2*uint64(len(raw)) + 65536}
	next, ok := w.directory(ifd0, b.order.Uint32(raw[4:]))
	if !ok {
		return nil, false
	}
	if next.at != 0 {
		after, ok := w.directory(ifd1, next.at)
		if !ok {
			w.zero(next.field)
		} else if after.at != 0 {
			if w.visited[after.at] {
				w.fault("the thumbnail directory points back to one read before")
			}
			w.zero(after.field)
		}
	}
	for _, e := range b.entries {
		same := bytes.Equal(raw[e.head:e.head+2], b.clean[e.head:e.head+2]) && bytes.Equal(raw[e.head+4:e.head+12], b.clean[e.head+4:e.head+12]) &&
			bytes.Equal(e.val, b.clean[e.at:e.at+uint64(len(e.val))])
		b.overlaps = b.overlaps || !same
	}
	return b, true
}

// link is the offset of a following directory and the place where it is written.
type link struct{ at, field uint32 }

func (w *exifWalk) fault(format string, args ...any) {
	if len(w.block.faults) < 8 {
		w.block.faults = append(w.block.faults, fmt.Sprintf(format, args...))
	}
}

func (w *exifWalk) zero(field uint32) {
	if uint64(field)+4 <= uint64(len(w.block.clean)) {
		copy(w.block.clean[field:], []byte{0, 0, 0, 0})
	}
}

// directory reads the directory at offset at. ok is false when it is not there or was read before: the caller removes the
// pointer to it from the clean copy.
func (w *exifWalk) directory(in ifd, at uint32) (next link, ok bool) {
	size := uint64(len(w.raw))
	if at < 8 || uint64(at)+2 > size {
		w.fault("the %s directory lies outside the block", in)
		return link{}, false
	}
	if w.visited[at] {
		w.fault("the %s directory points back to one read before", in)
		return link{}, false
	}
	w.visited[at] = true
	order, clean := w.block.order, w.block.clean
	count := uint64(order.Uint16(w.raw[at:]))
	fit := min(count, (size-uint64(at)-2)/12, uint64(mostTags-w.tags))
	if fit < count {
		w.fault("the %s directory claims %d tags, %d can be there", in, count, fit)
		order.PutUint16(clean[at:], uint16(fit))
	}
	w.tags += int(fit)
	for i := range fit {
		w.entry(in, at+2+uint32(12*i))
	}
	field := uint64(at) + 2 + 12*fit
	switch {
	case fit < count:
		// What follows is not a link. The copy gets an empty one where the shortened directory ends.
		w.pad(field)
		return link{}, true
	case field+4 > size:
		w.pad(field)
		return link{}, true
	}
	return link{order.Uint32(w.raw[field:]), uint32(field)}, true
}

// pad makes sure that the clean copy has four zero bytes at field, which lies at most at its end.
func (w *exifWalk) pad(field uint64) {
	for uint64(len(w.block.clean)) < field+4 {
		w.block.clean = append(w.block.clean, 0)
	}
	copy(w.block.clean[field:], []byte{0, 0, 0, 0})
}

// entry checks the 12 bytes at offset at: tag, type, count, value or its offset.
func (w *exifWalk) entry(in ifd, at uint32) {
	order := w.block.order
	e := exifEntry{in: in, head: at, id: order.Uint16(w.raw[at:]), typ: order.Uint16(w.raw[at+2:]), count: order.Uint32(w.raw[at+4:])}
	blank := func(format string, args ...any) {
		w.fault("tag %04x in the %s directory "+format, append([]any{e.id, in}, args...)...)
		w.blank(at)
	}
	if e.typ == 0 || int(e.typ) >= len(typeSizes) {
		blank("has the unknown type %d", e.typ)
		return
	}
	length := typeSizes[e.typ] * uint64(e.count)
	if e.count == 0 { // common and harmless, but goexif gives up at it
		w.blank(at)
		return
	}
	if numeric := e.typ != 1 && e.typ != 2 && e.typ != 6 && e.typ != 7; numeric && e.count > mostNumbers || !numeric && e.typ != 2 && e.typ != 7 && e.count > 16*mostNumbers {
		blank("has %d values", e.count)
		return
	}
	from := uint64(at) + 8
	if length > 4 {
		from = uint64(order.Uint32(w.raw[at+8:]))
	}
	if from+length > uint64(len(w.raw)) {
		blank("claims %d bytes that are not in the block", length)
		return
	}
	if length > w.budget {
		blank("shares its bytes with too many others")
		return
	}
	w.budget -= length
	e.val, e.at = w.raw[from:from+length], from
	if e.typ == 13 {
		e.typ = 4
		order.PutUint16(w.block.clean[at+2:], 4)
	}
	if sub, is := subDirectory(in, e.id); is {
		if e.typ != 4 || e.count != 1 {
			blank("is not a pointer")
			return
		}
		if _, ok := w.directory(sub, order.Uint32(e.val)); !ok {
			blank("points nowhere")
			return
		}
	}
	w.block.entries = append(w.block.entries, e)
}

// blank makes the entry at offset at a single byte of an unknown tag in the clean copy.
func (w *exifWalk) blank(at uint32) {
	w.block.order.PutUint16(w.block.clean[at:], blankedTag)
	w.block.order.PutUint16(w.block.clean[at+2:], 1)
	w.block.order.PutUint32(w.block.clean[at+4:], 1)
}

// subDirectory says which tags of which directory point to a directory that is walked.
func subDirectory(in ifd, id uint16) (ifd, bool) {
	switch {
	case in == ifd0 && id == tagExifIFD:
		return ifdExif, true
	case in == ifd0 && id == tagGPSIFD:
		return ifdGPS, true
	case (in == ifd0 || in == ifdExif) && id == tagInteropIFD:
		return ifdInterop, true
	}
	return 0, false
}
