package bundle

import (
	"bytes"
	"cmp"
	"context"
	"crypto/md5"
	"crypto/sha1"
	"crypto/sha256"
	"crypto/sha512"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io"
	"io/fs"
	"path"
	"slices"
	"strings"

	"golang.org/x/text/unicode/norm"
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

// algorithm makes the hash that a manifest's name asks for, or nil.
func algorithm(name string) func() hash.Hash {
	switch name {
	case "md5":
		return md5.New
	case "sha1":
		return sha1.New
	case "sha224":
		return sha256.New224
	case "sha256":
		return sha256.New
	case "sha384":
		return sha512.New384
	case "sha512":
		return sha512.New
	}
	return nil
}

func (c *bagCheck) manifests() {
	found := false
	for _, path := range c.order {
		name, ok := strings.CutSuffix(path, ".txt")
		if !ok || strings.Contains(path, "/") {
			continue
		}
		alg, tags := strings.CutPrefix(name, "tagmanifest-")
		if !tags {
			if alg, ok = strings.CutPrefix(name, "manifest-"); !ok {
				continue
			}
		}
		make := algorithm(strings.ToLower(alg))
		if make == nil {
			c.warn(path, "The checksum %q is not known here; this manifest was not checked.", short(alg))
			continue
		}
		if alg == "md5" || alg == "sha1" {
			c.warn(path, "%s finds accidents, but no longer stops somebody who wants to deceive.", strings.ToUpper(alg))
		}
		found = found || !tags
		if !tags {
			c.payload = append(c.payload, path)
		}
		c.manifest(path, strings.ToLower(alg), make().Size(), tags)
	}
	if !found {
		c.problem("manifest-sha256.txt", "There is no payload manifest that can be checked.")
	}
}

func (c *bagCheck) manifest(path, alg string, size int, tags bool) {
	c.listed[path] = map[string]bool{}
	text, ok := c.tagText(path)
	if !ok {
		return
	}
	lines, err := parseManifest(text, size)
	if err != nil {
		c.problem(path, "It can't be read: %v.", err)
		return
	}
	for _, l := range lines {
		if why := badPath(l.path); why != "" {
			c.problem(path, "It lists the path %q, which must not be followed: %s.", short(l.path), why)
			continue
		}
		if l.star {
			c.warn(path, "The path %q is written with an asterisk, as md5sum does.", short(l.path))
		}
		if l.dots {
			c.warn(path, "The path %q is written with a leading ./.", short(l.path))
		}
		switch inData := strings.HasPrefix(l.path, "data/"); {
		case tags && inData:
			c.problem(path, "A tag manifest lists the payload file %q.", short(l.path))
			continue
		case tags && strings.HasPrefix(l.path, "tagmanifest-"):
			c.problem(path, "A tag manifest lists a tag manifest, %q.", short(l.path))
			continue
		case !tags && !inData:
			c.problem(path, "It lists %q, which is not under data/.", short(l.path))
			continue
		}
		c.entry(path, alg, l)
	}
	if tags {
		for _, other := range c.order {
			if strings.HasPrefix(other, "manifest-") && !strings.Contains(other, "/") && !c.listed[path][other] {
				c.problem(path, "It does not list %s.", other)
			}
		}
	}
}

// entry takes one line of a manifest in.
func (c *bagCheck) entry(manifest, alg string, l manifestLine) {
	if named := manifest + "\x00" + l.path; c.named[named] {
		if c.want[l.path][alg] == l.sum {
			c.problem(manifest, "It lists %q twice.", short(l.path))
		} else {
			c.problem(manifest, "It lists %q twice, with two checksums.", short(l.path))
		}
		return
	} else {
		c.named[named] = true
	}
	c.listed[manifest][l.path] = true
	name := l.path
	if c.files[name] == nil {
		if other := c.alike(name); other != "" {
			c.warn(manifest, "It lists %q; the bag has %q, which differs only in case or in how its letters are composed.", short(name), short(other))
			c.listed[manifest][other] = true
			name = other
		}
	}
	if c.want[name] == nil {
		c.want[name] = map[string]string{}
	}
	if have := c.want[name][alg]; have != "" && have != l.sum {
		c.problem(manifest, "It lists %q with two checksums.", short(name))
	}
	c.want[name][alg] = l.sum
}

// alike finds a file whose name is the same but for case or composition (NFC, NFD).
func (c *bagCheck) alike(path string) string {
	fold := func(s string) string { return strings.ToLower(norm.NFC.String(s)) }
	want := fold(path)
	for _, have := range c.order {
		if fold(have) == want {
			return have
		}
	}
	return ""
}

func (c *bagCheck) fetch() {
	if c.files["fetch.txt"] == nil {
		return
	}
	text, ok := c.tagText("fetch.txt")
	if !ok {
		return
	}
	lines, err := parseFetch(text)
	if err != nil {
		c.problem("fetch.txt", "It can't be read: %v.", err)
		return
	}
	for _, l := range lines {
		switch {
		case badPath(l.path) != "":
			c.problem("fetch.txt", "It names the path %q, which must not be followed: %s.", short(l.path), badPath(l.path))
		case !strings.HasPrefix(l.path, "data/"):
			c.problem("fetch.txt", "It names %q, which is not under data/.", short(l.path))
		case c.want[l.path] == nil:
			c.problem("fetch.txt", "It names %q, which no manifest lists.", short(l.path))
		case c.files[l.path] == nil:
			c.problem(l.path, "It is not in the bag but to be fetched from %q; nothing is fetched here.", short(l.url))
		}
	}
}

// sizes adds up the payload.
func (c *bagCheck) sizes() {
	for _, path := range c.order {
		if strings.HasPrefix(path, "data/") {
			c.total += c.files[path].size
			c.count++
		}
	}
}

func (c *bagCheck) info() {
	if c.files["bag-info.txt"] == nil {
		return // it is optional; where a tag manifest lists it, compare finds it missing
	}
	text, ok := c.tagText("bag-info.txt")
	if !ok {
		return
	}
	tags, err := parseInfo(text, c.decl.old)
	if err != nil {
		c.problem("bag-info.txt", "It can't be read: %s.", err)
		return
	}
	seen := false
	for _, t := range tags {
		c.report.Info = append(c.report.Info, [2]string{t.label, t.value})
		if !strings.EqualFold(t.label, "Payload-Oxum") {
			continue
		}
		if seen {
			c.problem("bag-info.txt", "It has more than one Payload-Oxum.")
		}
		seen = true
		if have := fmt.Sprintf("%d.%d", c.total, c.count); t.value != have {
			c.problem("bag-info.txt", "Payload-Oxum says %s (bytes.files), the bag has %s.", short(t.value), have)
		}
	}
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
