package bundle

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"

	"kickplate/claims"
)

// Packager writes claim bundles. It keeps no state; all methods may be called at once.
type Packager struct{}

var _ claims.Packager = (*Packager)(nil)

// New returns a Packager.
func New() *Packager { return &Packager{} }

// Pack writes p as one ZIP file to w. Equal parcels give equal bytes. Memory is bounded: originals are copied
// piece by piece and the report takes small pictures within a fixed budget. Each original is hashed while it is copied; if
// one no longer has its digest, Pack stops with an error that names the photo. After an error w holds no bundle,
// only the beginning of one that no unzip accepts: throw it away.
func (*Packager) Pack(ctx context.Context, w io.Writer, p claims.Parcel) (claims.Packed, error) {
	pl, err := newPlan(ctx, &p)
	if err != nil {
		return claims.Packed{}, fmt.Errorf("pack the bundle: %w", err)
	}
	sum := sha256.New()
	count := &counter{w: io.MultiWriter(w, sum)}
	if err := pl.write(ctx, newBagWriter(count, pl.root, pl.built)); err != nil {
		return claims.Packed{}, fmt.Errorf("pack the bundle: %w", err)
	}
	return claims.Packed{
		Name: fmt.Sprintf("%s-v%d.zip", pl.root, p.Version), Digest: claims.Digest(hex.EncodeToString(sum.Sum(nil))), Bytes: count.n,
	}, nil
}

type counter struct {
	w io.Writer
	n int64
}

func (c *counter) Write(p []byte) (int, error) {
	n, err := c.w.Write(p)
	c.n += int64(n)
	return n, err
}

// write fills the bag. The pictures come first, so that the index can say what was written.
func (pl *plan) write(ctx context.Context, b *bagWriter) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	pics, made := (*pictureSet)(nil), make(chan error, 1)
	go func() { // while the originals are copied
		var err error
		pics, err = pl.pictures(ctx)
		made <- err
	}()
	if err := b.text("bagit.txt", []byte("BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n")); err != nil {
		return err
	}
	if err := b.text("data/README.txt", pl.readme()); err != nil {
		return err
	}
	if err := pl.writeOriginals(ctx, b); err != nil {
		return err
	}
	if err := pl.writeThumbnails(ctx, b); err != nil {
		return err
	}
	if err := pl.writeCustody(b); err != nil {
		return err
	}
	evidence, err := pl.evidence()
	if err != nil {
		return err
	}
	if err := b.text("data/evidence.json", evidence); err != nil {
		return err
	}
	if err := b.text("data/evidence.schema.json", Schema()); err != nil {
		return err
	}
	index, err := pl.csv()
	if err != nil {
		return err
	}
	if err := b.text("data/evidence.csv", index); err != nil {
		return err
	}
	doc := pl.document()
	page, err := renderHTML(doc)
	if err != nil {
		return err
	}
	if err := b.text("data/index.html", page); err != nil {
		return err
	}
	if err := <-made; err != nil {
		return err
	}
	report, err := renderPDF(ctx, doc, pics)
	if err != nil {
		return err
	}
	if err := b.text("data/report.pdf", report); err != nil {
		return err
	}
	return b.close(pl.info())
}

// info are the tags of bag-info.txt; the bag writer adds Payload-Oxum and Bag-Size.
func (pl *plan) info() []tag {
	shop := pl.parcel.Shop
	about := "Evidence for claim " + pl.number
	if pl.view != nil {
		about = "Dispute file of job " + pl.number
	}
	return []tag{
		{"Source-Organization", shop.Name},
		{"Organization-Address", shop.Address},
		{"Contact-Name", pl.parcel.BuiltBy},
		{"External-Identifier", pl.number},
		{"External-Description", about + ": " + unitTitle(&pl.job.Unit)},
		{"Internal-Sender-Identifier", string(pl.job.ID)},
		{"Internal-Sender-Description", fmt.Sprintf("Job %s, bundle version %d", pl.job.Open.Number, pl.parcel.Version)},
		{"Bagging-Date", pl.built.Format("2006-01-02")},
		{"Bag-Software-Agent", "Kickplate, " + Format},
		{"Held-Back", pl.leftWords()},
	}
}
