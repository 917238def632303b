package privacy

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"kickplate/claims"
)

// ExportOrder says whose data is to be copied, by jobs.
type ExportOrder struct {
	Jobs   []claims.JobID `json:"jobs"`
	Reason string         `json:"reason,omitempty"`
}

// exportRoot is the folder that the copy unpacks to.
const exportRoot = "customer-data/"

// copied is one job in a copy.
type copied struct {
	Folder  string     `json:"folder"`
	Job     claims.Job `json:"job"`
	Files   []fileOf   `json:"files"`
	Entries int        `json:"entries"`
	lines   []entryRow
}

// fileOf is one file of a job in a copy.
type fileOf struct {
	Name   string        `json:"name"`
	What   string        `json:"what"`
	SHA256 claims.Digest `json:"sha256"`
	// Missing says that the shop no longer has the bytes.
	Missing bool `json:"missing,omitempty"`
}

// entryRow is one entry as the page shows it.
type entryRow struct {
	At, By, Kind, Body string
}

// Export writes a ZIP file with everything that is held on the jobs: their state as JSON, the exact entries, all originals (photos, documents and
// bundles that were built), and a page to read it all. Memory does not grow with the originals. It is recorded on each job before the first byte.
func (d Desk) Export(ctx context.Context, a claims.Actor, o ExportOrder, w io.Writer) error {
	st, err := d.store(ctx, a, claims.ActExport)
	if err != nil {
		return err
	}
	if len(o.Jobs) == 0 || len(o.Jobs) > claims.MaxErase {
		return claims.Errorf(claims.Invalid, "Name 1 to %d jobs.", claims.MaxErase).At("jobs")
	}
	if len([]rune(o.Reason)) > 500 {
		return claims.Errorf(claims.TooLarge, "The reason may have at most 500 characters.").At("reason")
	}
	blobs, err := d.Service.Blobs.Shop(ctx, a.Shop)
	if err != nil {
		return err
	}
	jobs := make([]copied, 0, len(o.Jobs))
	seen := map[claims.JobID]bool{}
	for _, id := range o.Jobs {
		if seen[id] {
			continue
		}
		seen[id] = true
		c, err := d.gather(ctx, a, st, id, len(jobs)+1)
		if err != nil {
			return err
		}
		jobs = append(jobs, c)
	}
	for _, c := range jobs {
		if err := d.Service.RecordExport(ctx, a, c.Job.ID, claims.Exported{Reason: o.Reason, Jobs: len(jobs), Originals: len(c.Files)}); err != nil {
			return err
		}
	}
	return d.write(ctx, a, st, blobs, jobs, o, w)
}

// gather reads a job and decides the names of its files.
func (d Desk) gather(ctx context.Context, a claims.Actor, st claims.Store, id claims.JobID, n int) (copied, error) {
	recs, _, err := d.Service.Journal(ctx, a, id, 0, 0)
	if err != nil {
		return copied{}, err
	}
	c := copied{Entries: len(recs)}
	kept := make([]claims.Kept, 0, len(recs))
	have := map[claims.Digest]bool{}
	for _, r := range recs {
		k, err := claims.KeptOf(r)
		if err != nil {
			return copied{}, fmt.Errorf("copy job %s: %w", id, err)
		}
		kept = append(kept, k)
		if k.Erased != "" {
			continue
		}
		c.lines = append(c.lines, entryRow{At: k.At.Format("2006-01-02 15:04:05 -07:00"), By: k.By, Kind: string(k.Kind), Body: indented(k.Body)})
		for _, f := range filesOf(k) {
			if !have[f.SHA256] {
				have[f.SHA256] = true
				f.Name = fmt.Sprintf("originals/%04d-%s", len(have), f.Name)
				c.Files = append(c.Files, f)
			}
		}
	}
	c.Job = claims.Fold(kept)
	if c.Job.Stage() == claims.StageErased {
		return copied{}, claims.Errorf(claims.Erased, "The job %s was erased: nothing of its customer is kept.", c.Job.Open.Number).At("jobs")
	}
	c.Folder = fmt.Sprintf("jobs/%02d-%s/", n, safe(c.Job.Open.Number, "job"))
	return c, nil
}

func indented(body json.RawMessage) string {
	var out bytes.Buffer
	if json.Indent(&out, body, "", "  ") != nil {
		return string(body)
	}
	return out.String()
}

// filesOf are the originals that an entry names, with the end of a name for each.
func filesOf(k claims.Kept) []fileOf {
	body, err := claims.DecodeBody(k.Kind, k.Body)
	if err != nil {
		return nil
	}
	switch b := body.(type) {
	case *claims.Photo:
		return []fileOf{{Name: safe(b.Subject, "photo") + ending(b.Name), What: "photo, clip or document: " + b.Subject, SHA256: b.Digest}}
	case *claims.LinkStatement:
		var list []fileOf
		for _, p := range b.Pictures {
			list = append(list, fileOf{Name: "over-a-link", What: "picture that came in over a link", SHA256: p.Digest})
		}
		return list
	case *claims.Built:
		return []fileOf{{Name: fmt.Sprintf("bundle-v%d.zip", b.Version), What: fmt.Sprintf("claim bundle, version %d", b.Version), SHA256: b.Digest}}
	}
	return nil
}

// ending is the ending of a file's name on the device, when it is a plain one: the copy is for people who open files by it.
func ending(name string) string {
	i := strings.LastIndexByte(name, '.')
	if i < 0 || len(name)-i > 6 {
		return ""
	}
	if e := safe(name[i+1:], ""); e != "" {
		return "." + e
	}
	return ""
}

// typed gives a file without an ending the one of its bytes, as far as the examination told.
func (c *copied) typed() {
	for i := range c.Files {
		f := &c.Files[i]
		if strings.Contains(f.Name[len("originals/"):], ".") {
			continue
		}
		if facts, ok := c.Job.Facts[f.SHA256]; ok && facts.Extension() != claims.NoExtension {
			f.Name += facts.Extension()
		}
	}
}

func safe(s, otherwise string) string {
	s = strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9', r == '-':
			return r
		case r >= 'A' && r <= 'Z':
			return r + 'a' - 'A'
		}
		return '-'
	}, s)
	if s = strings.Trim(s, "-"); s == "" {
		return otherwise
	}
	return s[:min(len(s), 40)]
}

// write puts the copy together: the originals first, since whether they are there decides what the page says.
func (d Desk) write(ctx context.Context, a claims.Actor, st claims.Store, blobs claims.Blobs, jobs []copied, o ExportOrder, w io.Writer) error {
	z := zip.NewWriter(w)
	made := d.Service.Now().UTC().Truncate(time.Second)
	create := func(name string, method uint16) (io.Writer, error) {
		return z.CreateHeader(&zip.FileHeader{Name: exportRoot + name, Method: method, Modified: made})
	}
	for i := range jobs {
		c := &jobs[i]
		c.typed()
		for n := range c.Files {
			if err := copyFile(ctx, create, blobs, c.Folder, &c.Files[n]); err != nil {
				return err
			}
		}
		out, err := create(c.Folder+"entries.ndjson", zip.Deflate)
		if err != nil {
			return err
		}
		recs, _, err := st.Records(ctx, c.Job.ID, 0, c.Entries)
		if err != nil {
			return err
		}
		for _, r := range recs {
			if _, err := out.Write(append(r.Line, '\n')); err != nil {
				return err
			}
		}
	}
	shop, err := d.Service.Shop(ctx, a)
	if err != nil {
		return err
	}
	data, err := json.MarshalIndent(map[string]any{"shop": shop, "made": made, "by": a.Person, "reason": o.Reason, "jobs": jobs}, "", "  ")
	if err != nil {
		return fmt.Errorf("write data.json: %w", err)
	}
	page, err := renderPage(shop, a.Person, made, jobs)
	if err != nil {
		return err
	}
	for _, f := range []struct {
		name string
		text []byte
	}{{"README.txt", []byte(exportReadme)}, {"data.json", data}, {"index.html", page}} {
		out, err := create(f.name, zip.Deflate)
		if err != nil {
			return err
		}
		if _, err := out.Write(f.text); err != nil {
			return err
		}
	}
	return z.Close()
}

func copyFile(ctx context.Context, create func(string, uint16) (io.Writer, error), blobs claims.Blobs, folder string, f *fileOf) error {
	blob, err := blobs.Open(ctx, f.SHA256)
	if errors.Is(err, claims.ErrAbsent) {
		f.Missing = true
		return nil
	}
	if err != nil {
		return err
	}
	defer blob.Close()
	out, err := create(folder+f.Name, zip.Store)
	if err != nil {
		return err
	}
	if _, err := io.Copy(out, reader{ctx, blob}); err != nil {
		return fmt.Errorf("copy original %s: %w", f.SHA256, err)
	}
	return nil
}

// reader ends a copy when its context ends.
type reader struct {
	ctx context.Context
	io.Reader
}

func (r reader) Read(p []byte) (int, error) {
	if err := r.ctx.Err(); err != nil {
		return 0, err
	}
	return r.Reader.Read(p)
}

const exportReadme = `This is a copy of everything the shop holds on the jobs of one customer.

index.html             to read, with any browser; no network is needed
data.json              the same for programs: what the entries of each job come to
jobs/.../entries.ndjson   the entries themselves, one a line, exactly as they were taken in
jobs/.../originals/    photos, documents, clips and claim bundles, byte for byte

Names of the shop's own people stand beside what they wrote down.
`
