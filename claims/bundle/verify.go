package bundle

import (
	"bytes"
	"cmp"
	"context"
	"crypto/x509"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"kickplate/claims"
)

// Options are for Verify. The zero value is good.
type Options struct {
	// Trusted are verifier keys (signed-note form) known from elsewhere to be the shop's. Without any, the key in the
	// bundle is taken at its word, which shows that the parts belong together, not whose they are.
	Trusted []string
	// Roots are for the certificates of time-stamp authorities; nil = their chain is not checked, and that is said.
	Roots *x509.CertPool
	// SkipPictures leaves out the comparison of thumbnails with originals, the only slow part.
	SkipPictures bool
	// MaxFiles and MaxBytes bound what is unpacked; 0 = 20,000 files and 64 GiB.
	MaxFiles int
	MaxBytes int64
}

// The results of a check.
const (
	Holds      = "holds"
	Broken     = "broken"
	CannotTell = "cannot tell"
	Remark     = "note"
)

// Check is one promise and whether it holds.
type Check struct {
	// Area is zip, bag, index, originals, entries, custody, time, pictures or held-back.
	Area   string `json:"area"`
	Result string `json:"result"`
	File   string `json:"file,omitempty"`
	Says   string `json:"says"`
}

// Report is what Verify found.
type Report struct {
	Bundle  string `json:"bundle,omitempty"`
	Format  string `json:"format,omitempty"`
	Claim   string `json:"claim,omitempty"`
	Version int    `json:"version,omitempty"`
	SHA256  string `json:"sha256,omitempty"`
	// Holds is true when no promise is broken.
	Holds  bool    `json:"holds"`
	Checks []Check `json:"checks"`
	// Withheld is what was left out on purpose.
	Withheld []Withheld `json:"withheld,omitempty"`
}

func (r *Report) add(area, result, file, format string, args ...any) {
	r.Checks = append(r.Checks, Check{area, result, file, fmt.Sprintf(format, args...)})
}

// broken counts the broken promises of an area.
func (r *Report) broken(area string) int {
	n := 0
	for _, c := range r.Checks {
		if c.Area == area && c.Result == Broken {
			n++
		}
	}
	return n
}

// Verify checks a bundle as a file of size bytes, with nothing else at hand: no store, no server, no network. It
// names every broken promise. The error is only for a file that can't be read from its disk, or an ended context; a
// file that is no bundle is a Report with what is wrong.
func Verify(ctx context.Context, r io.ReaderAt, size int64, o Options) (Report, error) {
	o.MaxFiles, o.MaxBytes = cmp.Or(o.MaxFiles, defaultMaxFiles), cmp.Or(o.MaxBytes, int64(defaultMaxBytes))
	v := &verifier{ctx: ctx, o: &o}
	source := &noting{r: r}
	v.run(source, size)
	v.report.Holds = !slices.ContainsFunc(v.report.Checks, func(c Check) bool { return c.Result == Broken })
	if err := ctx.Err(); err != nil {
		return v.report, fmt.Errorf("verify the bundle: %w", err)
	}
	if source.err != nil {
		return v.report, fmt.Errorf("read the bundle: %w", source.err)
	}
	return v.report, nil
}

// noting remembers when the file itself could not be read, as opposed to its content being wrong.
type noting struct {
	r   io.ReaderAt
	err error
}

func (n *noting) ReadAt(p []byte, at int64) (int, error) {
	if at < 0 {
		return 0, errors.New("an offset before the beginning")
	}
	got, err := n.r.ReadAt(p, at)
	if err != nil && !errors.Is(err, io.EOF) {
		n.err = err
	}
	return got, err
}

// Limits on what is read into memory whole.
const (
	maxIndex = 128 << 20 // evidence.json and entries.txt
	maxSmall = 1 << 20   // the other custody files
)

type verifier struct {
	ctx    context.Context
	o      *Options
	report Report
	bag    *bagCheck
	files  map[string]*bagFile
	index  *Evidence
}

func (v *verifier) run(r io.ReaderAt, size int64) {
	u, err := openZip(r, size, v.o)
	if err != nil {
		v.report.add("zip", Broken, "", "%s.", upper(err.Error()))
		return
	}
	v.report.Bundle = u.root
	for _, f := range u.flaws {
		v.report.add("zip", Broken, f.File, "%s", f.Says)
	}
	if len(u.flaws) == 0 {
		v.report.add("zip", Holds, "", "The ZIP is whole: %s in one folder, no path that leaves it, no name twice.", plural(len(u.files), "file"))
	}
	v.bag = newBagCheck(v.ctx, u.files)
	v.files = v.bag.files
	v.bag.keep = keepWhole
	v.bag.run()
	v.bagResult()
	if v.ctx.Err() != nil || !v.readIndex() {
		return
	}
	v.originals()
	v.extras()
	v.entries()
	v.custody()
	if !v.o.SkipPictures {
		v.pictures()
		v.coveredPictures()
		v.strippedPictures()
	}
	v.withheld()
}

func keepWhole(path string) int64 {
	switch {
	case path == "data/evidence.json", path == entriesPath, path == proofsPath:
		return maxIndex
	case path == checkpointPath, path == keyPath, path == "data/evidence.schema.json", strings.HasPrefix(path, stampPrefix):
		return maxSmall
	}
	return 0
}

func (v *verifier) bagResult() {
	b := &v.bag.report
	for _, f := range b.Problems {
		v.report.add("bag", Broken, f.File, "%s", f.Says)
	}
	for _, f := range b.Warnings { // a bundle as it was built has none
		v.report.add("bag", Broken, f.File, "%s", f.Says)
	}
	if b.Version != "" && b.Version != "1.0" {
		v.report.add("bag", Broken, "bagit.txt", "The bag says version %s; a bundle is a bag of version 1.0.", b.Version)
	}
	for _, need := range []string{"bag-info.txt", "manifest-sha256.txt", "tagmanifest-sha256.txt"} {
		if v.files[need] == nil {
			v.report.add("bag", Broken, need, "It is missing.")
		}
	}
	for _, path := range v.bag.order {
		if !strings.Contains(path, "/") && !slices.Contains([]string{"bagit.txt", "bag-info.txt", "manifest-sha256.txt", "tagmanifest-sha256.txt"}, path) {
			v.report.add("bag", Broken, path, "A bundle has no such file.")
		}
	}
	if m := v.bag.listed["tagmanifest-sha256.txt"]; m != nil {
		for _, need := range []string{"bagit.txt", "bag-info.txt"} {
			if !m[need] {
				v.report.add("bag", Broken, "tagmanifest-sha256.txt", "It does not list %s.", need)
			}
		}
	}
	if !slices.ContainsFunc(b.Info, func(t [2]string) bool { return t[0] == "Payload-Oxum" }) {
		v.report.add("bag", Broken, "bag-info.txt", "It has no Payload-Oxum.")
	}
	if v.report.broken("bag") == 0 {
		v.report.add("bag", Holds, "", "Complete and unchanged since it was built: every file is listed, and every SHA-256 is the one listed (%s, %s).", plural(v.bag.count, "file"), byteSize(v.bag.total))
	}
}

// readIndex reads evidence.json strictly.
func (v *verifier) readIndex() bool {
	const path = "data/evidence.json"
	raw, ok := v.bag.data[path]
	if !ok {
		v.report.add("index", Broken, path, "It is missing, damaged or too large; the originals and entries can't be held against it.")
		return false
	}
	var first struct {
		Format string `json:"format"`
	}
	if json.Unmarshal(raw, &first) == nil && first.Format != "" && !slices.Contains(formats(), first.Format) {
		v.report.add("index", CannotTell, path, "Its format is %q; this program knows %s. The bag itself was checked.", short(first.Format), strings.Join(formats(), ", "))
		return false
	}
	var e Evidence
	if err := strictJSON(raw, &e); err != nil {
		v.report.add("index", Broken, path, "It can't be read: %s.", err)
		return false
	}
	if !slices.Contains(formats(), e.Format) { // also one that names two formats
		v.report.add("index", Broken, path, "It does not name its format.")
		return false
	}
	v.index = &e
	v.report.Format, v.report.Claim, v.report.Version = e.Format, e.Claim, e.Version
	if e.Bag != v.report.Bundle {
		v.report.add("index", Broken, path, "It is for the folder %q, this is %q.", short(e.Bag), short(v.report.Bundle))
	}
	for _, t := range v.bag.report.Info {
		if t[0] == "External-Identifier" && t[1] != oneLine(e.Claim) {
			v.report.add("index", Broken, "bag-info.txt", "It is for claim %q, evidence.json for %q.", short(t[1]), short(e.Claim))
		}
	}
	if own, ok := v.bag.data["data/evidence.schema.json"]; ok && e.Format == Format && !bytes.Equal(own, schema) {
		v.report.add("index", Remark, "data/evidence.schema.json", "It is not the schema that this program has for the format %s.", Format)
	}
	return true
}

// originals holds each photo of the index against its file.
func (v *verifier) originals() {
	left := map[claims.Digest]bool{}
	for _, w := range v.index.Withheld {
		left[w.Digest] = true
	}
	whole := 0
	for i := range v.index.Photos {
		p := &v.index.Photos[i]
		wrong := func(format string, args ...any) {
			v.report.add("originals", Broken, p.File, "Photo %d: "+format, append([]any{p.No}, args...)...)
		}
		if p.No != i+1 {
			wrong("it stands in place %d of the index.", i+1)
		}
		if p.SHA256 != p.Body.Digest {
			wrong("the index names two different sums for its original.")
		}
		if p.File != "" && !strings.HasPrefix(p.File, "data/originals/") {
			wrong("its file is not among the originals.")
			continue
		}
		if p.Thumbnail != "" && v.files[p.Thumbnail] == nil {
			wrong("its thumbnail %q is missing.", short(p.Thumbnail))
		}
		sum, ok := v.bag.sums[p.File]
		switch p.Kept {
		case keptWhole:
			switch {
			case !ok:
				wrong("its original is missing or can't be read.")
			case sum != string(p.SHA256):
				wrong("its file is not the original that was received: the SHA-256 differs.")
			case v.files[p.File].size != p.Body.Bytes:
				wrong("the entry says %d bytes, the original has %d.", p.Body.Bytes, v.files[p.File].size)
			default:
				whole++
			}
		case keptView, keptStripped:
			switch {
			case !ok || sum != p.FileSHA256:
				wrong("the picture that stands in for its original is missing or was changed.")
			case !left[p.SHA256]:
				wrong("its original is replaced, but not listed as held back.")
			}
		case keptCovered:
			if says := v.coveredPhoto(p, left, sum, ok); says != "" {
				wrong("%s", says)
			}
		case keptWithheld:
			if p.File != "" || !left[p.SHA256] {
				wrong("it is held back, but not listed so.")
			}
		default:
			wrong("%q is not a way to keep an original.", short(p.Kept))
		}
	}
	if v.report.broken("originals") == 0 {
		v.report.add("originals", Holds, "", "%s are in the bundle byte for byte as the index names them, of %s on record.", plural(whole, "original"), plural(len(v.index.Photos), "photo"))
	}
}

// extras finds files that the index does not speak of.
func (v *verifier) extras() {
	known := map[string]bool{}
	for _, p := range []string{"data/README.txt", "data/report.pdf", "data/index.html", "data/evidence.csv", "data/evidence.json", "data/evidence.schema.json", entriesPath} {
		known[p] = true
		if v.files[p] == nil {
			v.report.add("index", Broken, p, "It is missing.")
		}
	}
	if v.index.Custody.Sealed {
		for _, p := range []string{checkpointPath, keyPath, proofsPath} {
			known[p] = true
			if v.files[p] == nil {
				v.report.add("custody", Broken, p, "It is missing.")
			}
		}
	}
	for i := range v.index.Custody.Stamps {
		if i > 1000 {
			break
		}
		p := fmt.Sprintf("%s%d%s", stampPrefix, i+1, stampSuffix)
		known[p] = true
		if v.files[p] == nil {
			v.report.add("custody", Broken, p, "It is missing.")
		}
	}
	for _, p := range v.index.Photos {
		known[p.File], known[p.Thumbnail] = true, true
	}
	for _, path := range v.bag.order {
		if strings.HasPrefix(path, "data/") && !known[path] {
			v.report.add("index", Broken, path, "It is in the bundle, but evidence.json does not speak of it.")
		}
	}
	if v.report.broken("index") == 0 {
		v.report.add("index", Holds, "", "evidence.json speaks of every file, and every file it speaks of is there.")
	}
}

func (v *verifier) withheld() {
	v.report.Withheld = v.index.Withheld
	if d := v.index.Dispute; d != nil {
		v.report.add("held-back", Remark, "", "A dispute file holds what concerns its allegations; the rest of the job's journal is left out and listed (%s%s). It can be asked for and compared.", plural(len(v.index.Withheld), "item"), ifNot("; also held back: ", strings.Join(v.index.HeldBack, ", ")))
		return
	}
	if len(v.index.HeldBack) == 0 {
		if len(v.index.Withheld) > 0 {
			v.report.add("held-back", Broken, "data/evidence.json", "It lists things held back without saying that anything is.")
		}
		return
	}
	v.report.add("held-back", Remark, "", "Held back on purpose: %s (%s). What is held back can be asked for and compared by its SHA-256.", strings.Join(v.index.HeldBack, ", "), plural(len(v.index.Withheld), "item"))
}
