package bundle

import (
	"archive/zip"
	"bufio"
	"cmp"
	"compress/flate"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"slices"
	"strings"

	"golang.org/x/text/unicode/norm"
)

// Limits on a ZIP that Verify opens. A bundle of ours is far below all of them.
const (
	defaultMaxFiles = 20_000
	defaultMaxBytes = 64 << 30  // unpacked
	maxDirectory    = 16 << 20  // bytes of the ZIP's directory
	maxRatio        = 200       // unpacked to packed, of files over ratioFrom
	ratioFrom       = 256 << 10 // bytes
)

// errTooMuch says that a ZIP is over a limit; nothing of it is unpacked then.
var errTooMuch = errors.New("over a limit")

// unzipped is the inside of a bundle: the files of its one folder.
type unzipped struct {
	root  string
	files []bagFile
	flaws []Flaw
}

// openZip reads the directory of a ZIP and judges it before anything is unpacked. The error says that nothing can be read.
func openZip(r io.ReaderAt, size int64, o *Options) (*unzipped, error) {
	dir, records, err := directorySize(r, size)
	if err != nil {
		return nil, err
	}
	if records > uint64(o.MaxFiles) || dir > maxDirectory {
		return nil, fmt.Errorf("%w: it lists %d files (%d bytes of directory), at most %d are read", errTooMuch, records, dir, o.MaxFiles)
	}
	z, err := zip.NewReader(r, size)
	if err != nil && !errors.Is(err, zip.ErrInsecurePath) {
		return nil, fmt.Errorf("it is not a ZIP that can be read: %w", err)
	}
	z.RegisterDecompressor(zip.Deflate, inflate)
	u := &unzipped{}
	if err := u.sizes(z.File, o); err != nil {
		return nil, err
	}
	if err := u.layout(r, z.File); err != nil {
		return nil, err
	}
	u.names(z.File)
	return u, nil
}

func (u *unzipped) flaw(file, format string, args ...any) {
	u.flaws = append(u.flaws, Flaw{file, fmt.Sprintf(format, args...)})
}

// directorySize finds the end of the ZIP's directory and returns how long the directory says it is.
func directorySize(r io.ReaderAt, size int64) (bytes, records uint64, err error) {
	tail := make([]byte, min(size, 22+65535))
	if _, err := r.ReadAt(tail, size-int64(len(tail))); err != nil && err != io.EOF {
		return 0, 0, fmt.Errorf("read the end of the file: %w", err)
	}
	for i := len(tail) - 22; i >= 0; i-- {
		if binary.LittleEndian.Uint32(tail[i:]) != 0x06054b50 {
			continue
		}
		records, bytes = uint64(binary.LittleEndian.Uint16(tail[i+10:])), uint64(binary.LittleEndian.Uint32(tail[i+12:]))
		if records != 0xffff && bytes != 0xffffffff {
			return bytes, records, nil
		}
		at := size - int64(len(tail)) + int64(i) - 20
		loc := make([]byte, 20)
		if _, err := r.ReadAt(loc, at); err != nil || binary.LittleEndian.Uint32(loc) != 0x07064b50 {
			return bytes, records, nil
		}
		end := make([]byte, 56)
		if _, err := r.ReadAt(end, int64(binary.LittleEndian.Uint64(loc[8:])&(1<<62-1))); err != nil {
			return 0, 0, errors.New("it is not a ZIP that can be read: its directory is cut off")
		}
		return binary.LittleEndian.Uint64(end[40:]), binary.LittleEndian.Uint64(end[32:]), nil
	}
	return 0, 0, errors.New("it is not a ZIP file")
}

// sizes refuses a ZIP that would unpack to too much.
func (u *unzipped) sizes(files []*zip.File, o *Options) error {
	var sum uint64
	for _, f := range files {
		if f.UncompressedSize64 > uint64(o.MaxBytes) || sum+f.UncompressedSize64 > uint64(o.MaxBytes) {
			return fmt.Errorf("%w: it would unpack to more than %d bytes", errTooMuch, o.MaxBytes)
		}
		sum += f.UncompressedSize64
		if f.UncompressedSize64 > ratioFrom && f.UncompressedSize64/max(f.CompressedSize64, 1) > maxRatio {
			return fmt.Errorf("%w: %q would unpack to more than %d times its size", errTooMuch, short(f.Name), maxRatio)
		}
	}
	return nil
}

// layout checks that the files lie one after the other: data of two entries that overlap is a trick to make a small
// file unpack to a huge one, or to show two readers two contents. Each local header must say what the directory says.
func (u *unzipped) layout(r io.ReaderAt, files []*zip.File) error {
	type span struct {
		f          *zip.File
		start, end int64
	}
	var spans []span
	for _, f := range files {
		data, err := f.DataOffset()
		if err != nil {
			return fmt.Errorf("it is not a ZIP that can be read: %q has no header: %w", short(f.Name), err)
		}
		if f.CompressedSize64 > 1<<62 {
			return fmt.Errorf("it is not a ZIP that can be read: %q has an impossible size", short(f.Name))
		}
		// The extra field of the local header may have another length than that of the directory, so look for the header
		// from the data backwards by what both must have in common.
		spans = append(spans, span{f, data - int64(len(f.Name)) - 30, data + int64(f.CompressedSize64)})
	}
	slices.SortFunc(spans, func(a, b span) int { return cmp.Or(cmp.Compare(a.start, b.start), cmp.Compare(a.end, b.end)) })
	for i := 1; i < len(spans); i++ {
		if spans[i].start < spans[i-1].end {
			return fmt.Errorf("%w: the data of %q and %q overlap", errTooMuch, short(spans[i-1].f.Name), short(spans[i].f.Name))
		}
	}
	at := int64(0)
	for _, s := range spans {
		name := s.f.Name
		if s.start-at > 1<<16+64 {
			u.flaw(name, "There are %d bytes before it that belong to no file.", s.start-at)
		}
		head, local, err := localHeader(r, at, s.start+30+int64(len(name)))
		switch {
		case err != nil:
		case local != name:
			u.flaw(name, "The ZIP calls this file %q in another place.", short(local))
		case !sameFacts(head, s.f):
			u.flaw(name, "The header before it says something else of it (time, size, checksum or way of packing) than the ZIP's directory.")
		}
		at = s.end
	}
	return nil
}

// localHeader reads the local header (APPNOTE.TXT 4.3.7) that lies between from and to: its fixed 30 bytes and the name.
func localHeader(r io.ReaderAt, from, to int64) (head []byte, name string, err error) {
	if to-from < 30 || to-from > 1<<18 {
		return nil, "", errors.New("no header here")
	}
	buf := make([]byte, to-from)
	if _, err := r.ReadAt(buf, from); err != nil {
		return nil, "", err
	}
	i := strings.Index(string(buf), "PK\x03\x04")
	if i < 0 || i+30 > len(buf) {
		return nil, "", errors.New("no header here")
	}
	n := int(binary.LittleEndian.Uint16(buf[i+26:]))
	if i+30+n > len(buf) {
		return nil, "", errors.New("no header here")
	}
	return buf[i : i+30], string(buf[i+30 : i+30+n]), nil
}

// sameFacts compares a local header with the directory's (APPNOTE.TXT 4.4). Who packs a stream does not know checksum and sizes
// yet: bit 3 of the flags says that they come after the data, and the header has 0. A size of all ones stands in the extra field.
// The version that is needed is not compared: some tools raise it in the directory alone.
func sameFacts(head []byte, f *zip.File) bool {
	word := binary.LittleEndian.Uint16
	// The two fields as they stand in the file, not a time made of them.
	day, clock := f.ModifiedDate, f.ModifiedTime
	if word(head[6:]) != f.Flags || word(head[8:]) != f.Method || word(head[10:]) != clock || word(head[12:]) != day {
		return false
	}
	for at, want := range map[int]uint64{14: uint64(f.CRC32), 18: f.CompressedSize64, 22: f.UncompressedSize64} {
		got := uint64(binary.LittleEndian.Uint32(head[at:]))
		later, wide := f.Flags&8 != 0 && got == 0, at > 14 && got == 1<<32-1
		if got != want && !later && !wide {
			return false
		}
	}
	return true
}

// inflate unpacks and checks that the packed data end where the ZIP says: what lies behind would be read by nobody.
func inflate(r io.Reader) io.ReadCloser {
	packed := bufio.NewReader(r) // flate takes single bytes from a reader that has them, and so none too many
	return &inflated{flate.NewReader(packed), packed}
}

type inflated struct {
	io.ReadCloser
	packed *bufio.Reader
}

func (i *inflated) Read(p []byte) (int, error) {
	n, err := i.ReadCloser.Read(p)
	if err == io.EOF {
		if _, more := i.packed.ReadByte(); more != io.EOF {
			return n, errors.New("its packed data go on after their end")
		}
	}
	return n, err
}

// names sorts the files below the one folder and notes every name that is not plain.
func (u *unzipped) names(files []*zip.File) {
	seen, folded := map[string]bool{}, map[string]string{}
	for _, f := range files {
		name := f.Name
		folder := strings.HasSuffix(name, "/")
		if why := badPath(strings.TrimSuffix(name, "/")); why != "" {
			u.flaw(name, "Its path must not be followed: %s.", why)
			continue
		}
		if mode := f.Mode(); mode&fs.ModeType != 0 && !mode.IsDir() {
			u.flaw(name, "It is not a plain file but a link or a device.")
			continue
		}
		if folder {
			continue
		}
		if seen[name] {
			u.flaw(name, "The ZIP holds two files of this name.")
			continue
		}
		seen[name] = true
		fold := strings.ToLower(norm.NFC.String(name))
		if other := folded[fold]; other != "" {
			u.flaw(name, "On some systems it would overwrite %q.", short(other))
		}
		folded[fold] = name
		root, path, ok := strings.Cut(name, "/")
		if !ok {
			u.flaw(name, "It lies outside the bundle's folder.")
			continue
		}
		if u.root == "" {
			u.root = root
		}
		if root != u.root {
			u.flaw(name, "It lies outside the bundle's folder %q.", short(u.root))
			continue
		}
		if f.Method != zip.Store && f.Method != zip.Deflate {
			u.flaw(path, "It is packed with a method (%d) that is not known here.", f.Method)
		}
		if f.Flags&1 != 0 {
			u.flaw(path, "It is encrypted.")
		}
		u.files = append(u.files, bagFile{path, int64(f.UncompressedSize64), f.Open})
	}
}
