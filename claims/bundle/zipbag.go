package bundle

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"hash/crc32"
	"io"
	"slices"
	"strings"
	"time"
)

// listed is one file of the bag as its manifest has it.
type listed struct {
	path string // below the bag's folder
	sum  string // SHA-256, hexadecimal
	size int64
}

// bagWriter writes a bag into a ZIP, file by file. Every header is written by us, with its sizes and checksum in
// front of the data (no data descriptors) and one fixed time, so that equal input gives equal bytes and every
// unzip can read the file as a stream.
type bagWriter struct {
	zw      *zip.Writer
	root    string
	at      time.Time
	payload []listed
	tags    []listed
}

func newBagWriter(w io.Writer, root string, at time.Time) *bagWriter {
	return &bagWriter{zw: zip.NewWriter(w), root: root, at: at.UTC()}
}

func (b *bagWriter) header(path string, method uint16, crc uint32, packed, size int64) *zip.FileHeader {
	h := &zip.FileHeader{Name: b.root + "/" + path, Method: method, CRC32: crc, CompressedSize64: uint64(packed), UncompressedSize64: uint64(size), ReaderVersion: 20}
	h.SetMode(0o644)
	at := b.at
	if at.Year() < 1980 { // a ZIP can't say an earlier year
		at = time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	//lint:ignore SA1019 zip.Writer.CreateRaw writes these two fields and not Modified.
	h.ModifiedDate, h.ModifiedTime = uint16((at.Year()-1980)<<9|int(at.Month())<<5|at.Day()), uint16(at.Hour()<<11|at.Minute()<<5|at.Second()/2)
	return h
}

func (b *bagWriter) list(path, sum string, size int64) {
	l := listed{path, sum, size}
	if strings.HasPrefix(path, "data/") {
		b.payload = append(b.payload, l)
	} else {
		b.tags = append(b.tags, l)
	}
}

// text adds a file, deflated.
func (b *bagWriter) text(path string, data []byte) error {
	var packed bytes.Buffer
	fw, err := flate.NewWriter(&packed, flate.DefaultCompression)
	if err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	if _, err := fw.Write(data); err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	if err := fw.Close(); err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	return b.raw(path, b.header(path, zip.Deflate, crc32.ChecksumIEEE(data), int64(packed.Len()), int64(len(data))), packed.Bytes(), hexSum(data))
}

// stored adds a file as it is: pictures don't deflate.
func (b *bagWriter) stored(path string, data []byte, sum string) error {
	size := int64(len(data))
	return b.raw(path, b.header(path, zip.Store, crc32.ChecksumIEEE(data), size, size), data, sum)
}

func (b *bagWriter) raw(path string, h *zip.FileHeader, packed []byte, sum string) error {
	w, err := b.zw.CreateRaw(h)
	if err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	if _, err := w.Write(packed); err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	b.list(path, sum, int64(h.UncompressedSize64))
	return nil
}

// stream adds a large file as it is from a reader that can be read twice: once for the checksum that stands in front of
// the data, once to copy. It returns the SHA-256 of what was copied; the caller compares it.
func (b *bagWriter) stream(path string, open io.ReadSeeker, size int64) (string, error) {
	crc := crc32.NewIEEE()
	if n, err := io.Copy(crc, open); err != nil || n != size {
		return "", fmt.Errorf("read for %s: %d of %d bytes: %w", path, n, size, orEOF(err))
	}
	if _, err := open.Seek(0, io.SeekStart); err != nil {
		return "", fmt.Errorf("read for %s: %w", path, err)
	}
	w, err := b.zw.CreateRaw(b.header(path, zip.Store, crc.Sum32(), size, size))
	if err != nil {
		return "", fmt.Errorf("write %s: %w", path, err)
	}
	sha := sha256.New()
	if n, err := io.Copy(io.MultiWriter(w, sha), open); err != nil || n != size {
		return "", fmt.Errorf("copy to %s: %d of %d bytes: %w", path, n, size, orEOF(err))
	}
	sum := hex.EncodeToString(sha.Sum(nil))
	b.list(path, sum, size)
	return sum, nil
}

func orEOF(err error) error {
	if err == nil {
		return io.ErrUnexpectedEOF
	}
	return err
}

// close writes bag-info.txt, the manifests and the ZIP's directory. info gets the Payload-Oxum and the size.
func (b *bagWriter) close(info []tag) error {
	var octets int64
	for _, p := range b.payload {
		octets += p.size
	}
	info = append(slices.Clone(info), tag{"Payload-Oxum", fmt.Sprintf("%d.%d", octets, len(b.payload))}, tag{"Bag-Size", byteSize(octets)})
	if err := b.text("bag-info.txt", tagFile(info)); err != nil {
		return err
	}
	if err := b.text("manifest-sha256.txt", manifest(b.payload)); err != nil {
		return err
	}
	if err := b.text("tagmanifest-sha256.txt", manifest(b.tags)); err != nil {
		return err
	}
	return b.zw.Close()
}

// manifest lists files in the form of sha256sum, sorted by path.
func manifest(files []listed) []byte {
	files = slices.Clone(files)
	slices.SortFunc(files, func(a, b listed) int { return strings.Compare(a.path, b.path) })
	var out bytes.Buffer
	for _, f := range files {
		fmt.Fprintf(&out, "%s  %s\n", f.sum, f.path)
	}
	return out.Bytes()
}

// tag is one line of a tag file.
type tag struct{ label, value string }

// tagFile writes tags one a line. Values are put on one line: a tag file has no other way to hold a line end.
func tagFile(tags []tag) []byte {
	var out bytes.Buffer
	for _, t := range tags {
		if v := strings.Join(strings.Fields(t.value), " "); v != "" {
			fmt.Fprintf(&out, "%s: %s\n", t.label, v)
		}
	}
	return out.Bytes()
}

func hexSum(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}

// byteSize writes a number of bytes for people, in decimal units.
func byteSize(n int64) string {
	switch {
	case n >= 1e9:
		return fmt.Sprintf("%.1f GB", float64(n)/1e9)
	case n >= 1e6:
		return fmt.Sprintf("%.1f MB", float64(n)/1e6)
	case n >= 1e3:
		return fmt.Sprintf("%.1f kB", float64(n)/1e3)
	}
	return fmt.Sprintf("%d bytes", n)
}
