package bundle

import (
	"bytes"
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io"
	"io/fs"
	"path"
	"slices"
	"strings"
)

// BagReport is what is right and wrong with a bag.
type BagReport struct {
	// Version of BagIt that the bag declares; it is judged by the rules of 1.0 in any case.
	Version string
	// Problems break the rules: the bag is not valid. Warnings do not, but make trouble somewhere.
	Problems []Flaw
	Warnings []Flaw
	// Info are the tags of bag-info.txt in order.
	Info [][2]string
}

// Flaw is one thing that is wrong, and where.
type Flaw struct {
	File string `json:"file,omitempty"`
	Says string `json:"says"`
}

// Valid reports whether the bag is complete and unchanged.
func (r *BagReport) Valid() bool { return len(r.Problems) == 0 }

// bagFile is one file of a bag, wherever it is kept.
type bagFile struct {
	path string
	size int64
	open func() (io.ReadCloser, error)
}

// maxBagFiles bounds the files of a bag.
const maxBagFiles = 100_000

// VerifyBag checks a bag by RFC 8493 (BagIt 1.0), also one that declares an older version: complete, nothing extra, every
// checksum right, no path that leaves it. It never fetches anything. The error is for a bag that can't be read at all.
func VerifyBag(ctx context.Context, fsys fs.FS) (BagReport, error) {
	var files []bagFile
	var report BagReport
	err := fs.WalkDir(fsys, ".", func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case ctx.Err() != nil:
			return ctx.Err()
		case d.IsDir():
			return nil
		case len(files) >= maxBagFiles:
			return fmt.Errorf("the bag has more than %d files", maxBagFiles)
		case !d.Type().IsRegular():
			report.Problems = append(report.Problems, Flaw{path, "It is not a plain file but a link or a device."})
			return nil
		}
		info, err := d.Info()
		if err != nil {
			return err
		}
		files = append(files, bagFile{path, info.Size(), func() (io.ReadCloser, error) { return fsys.Open(path) }})
		return nil
	})
	if err != nil {
		return report, fmt.Errorf("read the bag: %w", err)
	}
	c := newBagCheck(ctx, files)
	c.report.Problems = report.Problems
	c.run()
	return c.report, ctx.Err()
}

// bagCheck is one check of a bag.
type bagCheck struct {
	ctx     context.Context
	files   map[string]*bagFile
	order   []string
	report  BagReport
	decl    declaration
	want    map[string]map[string]string // path → algorithm → sum
	listed  map[string]map[string]bool   // manifest → path
	named   map[string]bool              // manifest and path as written
	payload []string                     // names of payload manifests
	// keep says how many bytes of a file are wanted in memory; the whole file or nothing.
	keep  func(path string) int64
	data  map[string][]byte
	sums  map[string]string // SHA-256 of every file that could be read
	total int64             // octets under data/
	count int
}

func newBagCheck(ctx context.Context, files []bagFile) *bagCheck {
	c := &bagCheck{ctx: ctx, files: map[string]*bagFile{}, want: map[string]map[string]string{}, listed: map[string]map[string]bool{}, named: map[string]bool{},
		keep: func(string) int64 { return 0 }, data: map[string][]byte{}, sums: map[string]string{}}
	for i := range files {
		c.files[files[i].path] = &files[i]
		c.order = append(c.order, files[i].path)
	}
	slices.Sort(c.order)
	return c
}

func (c *bagCheck) problem(file, format string, args ...any) {
	c.report.Problems = append(c.report.Problems, Flaw{file, fmt.Sprintf(format, args...)})
}

func (c *bagCheck) warn(file, format string, args ...any) {
	c.report.Warnings = append(c.report.Warnings, Flaw{file, fmt.Sprintf(format, args...)})
}

func (c *bagCheck) run() {
	raw, ok := c.tagFile("bagit.txt")
	if !ok {
		return
	}
	var err error
	if c.decl, err = parseDeclaration(raw); err != nil {
		c.problem("bagit.txt", "%s.", upper(err.Error()))
		return
	}
	c.report.Version = c.decl.version
	c.manifests()
	c.fetch()
	c.sizes()
	c.info()
	c.compare()
}

// tagFile reads a tag file whole.
func (c *bagCheck) tagFile(path string) ([]byte, bool) {
	f := c.files[path]
	if f == nil {
		c.problem(path, "It is missing.")
		return nil, false
	}
	if f.size > maxTagFile {
		c.problem(path, "It is larger than %d bytes; that is no tag file.", maxTagFile)
		return nil, false
	}
	rc, err := f.open()
	if err != nil {
		c.problem(path, "It can't be read: %v.", err)
		return nil, false
	}
	defer rc.Close()
	raw, err := io.ReadAll(io.LimitReader(rc, maxTagFile+1))
	if err != nil || len(raw) > maxTagFile {
		c.problem(path, "It can't be read: %v.", cmp.Or(err, errors.New("it is longer than it says")))
		return nil, false
	}
	return raw, true
}

func (c *bagCheck) tagText(path string) (string, bool) {
	raw, ok := c.tagFile(path)
	if !ok {
		return "", false
	}
	text, err := decodeTag(raw, c.decl.encoding)
	if err != nil {
		c.problem(path, "It can't be read: %v.", err)
		return "", false
	}
	return text, true
}

// compare reads every file once and holds it against every manifest.
func (c *bagCheck) compare() {
	for _, path := range c.order {
		if c.ctx.Err() != nil {
			return
		}
		if strings.HasPrefix(path, "data/") {
			for _, m := range c.payload {
				if !c.listed[m][path] {
					c.problem(path, "It is in the bag, but %s does not list it.", m)
				}
			}
		}
		if systemFile(path) {
			c.warn(path, "Systems make and drop files of this name by themselves.")
		}
		c.read(path)
	}
	for _, path := range sortedKeys(c.want) {
		if c.files[path] == nil {
			c.problem(path, "It is listed, but missing.")
		}
	}
	slices.SortStableFunc(c.report.Problems, func(a, b Flaw) int { return cmp.Or(cmp.Compare(a.File, b.File), cmp.Compare(a.Says, b.Says)) })
}

// systemFile knows the names that file managers leave behind.
func systemFile(p string) bool {
	name := path.Base(p)
	switch strings.ToLower(name) {
	case ".ds_store", "thumbs.db", "desktop.ini":
		return true
	}
	return strings.HasPrefix(name, "._")
}

func (c *bagCheck) read(path string) {
	f := c.files[path]
	hashes := map[string]hash.Hash{"sha256": sha256.New()}
	for alg := range c.want[path] {
		hashes[alg] = algorithm(alg)()
	}
	var sinks []io.Writer
	for _, alg := range sortedKeys(hashes) {
		sinks = append(sinks, hashes[alg])
	}
	var kept *bytes.Buffer
	if most := c.keep(path); most > 0 && f.size <= most {
		kept = &bytes.Buffer{}
		sinks = append(sinks, kept)
	}
	rc, err := f.open()
	if err != nil {
		c.problem(path, "It can't be read: %v.", err)
		return
	}
	defer rc.Close()
	n, err := io.Copy(io.MultiWriter(sinks...), &stopped{c.ctx, io.LimitReader(rc, f.size+1)})
	if err != nil || n != f.size {
		c.problem(path, "It is damaged: %v.", cmp.Or(err, fmt.Errorf("it has %d bytes, not %d", n, f.size)))
		return
	}
	for _, alg := range sortedKeys(c.want[path]) {
		if sum := hex.EncodeToString(hashes[alg].Sum(nil)); sum != c.want[path][alg] {
			c.problem(path, "It was changed: its %s is not the one in the manifest.", strings.ToUpper(alg))
		}
	}
	c.sums[path] = hex.EncodeToString(hashes["sha256"].Sum(nil))
	if kept != nil {
		c.data[path] = kept.Bytes()
	}
}

// stopped ends a long read when its context ends.
type stopped struct {
	ctx context.Context
	r   io.Reader
}

func (s *stopped) Read(p []byte) (int, error) {
	if err := s.ctx.Err(); err != nil {
		return 0, err
	}
	return s.r.Read(p)
}

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

func upper(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
