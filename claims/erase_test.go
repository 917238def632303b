package claims_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
	"kickplate/claims/boltstore"
	"kickplate/claims/custody"
	"kickplate/media/filestore"
)

const (
	customerName = "Ottoline Quillfeather"
	otherJob     = claims.JobID("01920000-0000-7000-8000-000000000002")
)

func in(job claims.JobID) func(*claims.Entry) {
	return func(e *claims.Entry) { e.Job = job }
}

// fillJob is a job with all kinds of traces of its customer, and some things that are not hers.
func fillJob(t testing.TB, s *claims.Service, job claims.JobID, extra ...json.RawMessage) {
	t.Helper()
	photo := upload(t, s, "picture of the kitchen of Quillfeather, job "+string(job))
	shared := upload(t, s, "picture that two jobs have")
	entries := []json.RawMessage{
		raw(t, claims.KindOpen, claims.Open{Number: "J-1042", Complaint: "Mrs Quillfeather says it hums"}, in(job)),
		raw(t, claims.KindCustomer, claims.Customer{Name: customerName, Phone: "+44 (0)20 7946 0018", Email: "ottoline@quillfeather.example"}, in(job)),
		raw(t, claims.KindSite, claims.Site{Address: "7 Larkspur Mews\nHambledown", Position: &claims.Position{Lat: 51.5, Lon: -0.12}}, in(job)),
		raw(t, claims.KindUnit, claims.Unit{Kind: "dryer", Maker: "Norbrook", Model: "D1", Serial: "QF-7788"}, in(job)),
		raw(t, claims.KindCoverage, claims.Coverage{Kind: "maker-warranty", Payer: "Norbrook Service"}, in(job)),
		raw(t, claims.KindArrive, claims.Step{Position: &claims.Position{Lat: 51.5, Lon: -0.12}}, in(job)),
		raw(t, claims.KindPhoto, photo, in(job)),
		raw(t, claims.KindPhoto, shared, in(job)),
		raw(t, claims.KindReading, claims.Reading{Component: "heater", Quantity: "resistance", Value: "22.5", Unit: "Ohm", Moment: "as-found"}, in(job)),
		raw(t, claims.KindReading, claims.Reading{Component: "heater", Quantity: "resistance", Value: "0.4", Unit: "Ohm", Says: "Quillfeather watched"}, in(job)),
		raw(t, claims.KindPart, claims.Part{Component: "drive-belt", Action: "replaced", Number: "BELT-7"}, in(job)),
		raw(t, claims.KindPart, claims.Part{Component: "heater", Action: "fitted", Number: "H-1", Description: "heater for Quillfeather"}, in(job)),
		raw(t, claims.KindLabour, claims.Labour{Minutes: 45}, in(job)),
		raw(t, claims.KindNote, claims.Note{Text: "key under the pot at Larkspur Mews"}, in(job)),
		raw(t, claims.KindLeave, claims.Leave{}, in(job)),
		raw(t, claims.KindAcknowledge, claims.Acknowledge{About: "work-done", Outcome: "signed", Name: customerName, Strokes: [][]int{{1, 2, 3, 4}}}, in(job)),
	}
	_, err := s.Append(ctx, tech, append(entries, extra...))
	require.NoError(t, err)
}

func order(jobs ...claims.JobID) claims.EraseOrder {
	return claims.EraseOrder{Jobs: jobs, Reason: "the customer asked for it by letter of 3 March", Basis: "asked", Despite: []string{"unfinished", "bundle-out"}}
}

func TestErase(t *testing.T) {
	s := newService(t)
	fillJob(t, s, job)
	fillJob(t, s, otherJob)
	built, err := s.Build(ctx, owner, job, claims.Hold{})
	require.NoError(t, err)
	st, err := s.Stores.Shop(ctx, shop)
	require.NoError(t, err)
	size, err := st.LogSize(ctx)
	require.NoError(t, err)
	before := rootOf(t, st, size)

	t.Run("NobodyButTheOwner", func(t *testing.T) {
		for _, a := range []claims.Actor{tech, {Shop: shop, Person: "o", Role: claims.Office, Device: "desk"}, {}} {
			_, err := s.EraseWould(ctx, a, []claims.JobID{job})
			require.Error(t, err)
			_, err = s.Erase(ctx, a, order(job), nil)
			assert.Contains(t, []claims.ErrorCode{claims.Forbidden, claims.SignIn}, claims.CodeOf(err))
		}
	})
	t.Run("ThePreviewSaysWhatGoes", func(t *testing.T) {
		would, err := s.EraseWould(ctx, owner, []claims.JobID{job})
		require.NoError(t, err)
		e := would[0]
		assert.Equal(t, 1, e.Goes[claims.KindCustomer])
		assert.Equal(t, 1, e.Goes[claims.KindReading], "the one whose words name her")
		assert.Equal(t, 1, e.Stays[claims.KindReading])
		assert.Equal(t, 1, e.Stays[claims.KindPart])
		assert.Equal(t, 1, e.Goes[claims.KindPart])
		assert.Equal(t, 1, e.Goes[claims.KindArrive], "it holds a position")
		assert.Equal(t, 1, e.Stays[claims.KindLeave])
		assert.Equal(t, 1, e.Stays[claims.KindLabour])
		assert.Equal(t, 2, e.Originals, "the photo and the bundle")
		assert.Equal(t, 1, e.Shared)
		assert.Equal(t, []string{"unfinished"}, e.Warnings)
	})
	t.Run("WarningsMustBeSeen", func(t *testing.T) {
		o := order(job)
		o.Despite = nil
		_, err := s.Erase(ctx, owner, o, nil)
		assert.Equal(t, claims.Conflict, claims.CodeOf(err), "%v", err)
	})
	t.Run("TheReasonMustNotNameHer", func(t *testing.T) {
		for _, reason := range []string{"Ottoline asked", "letter of Mrs QUILLFEATHER", "the house in 7 larkspur mews", "called from 020 7946 0018"} {
			o := order(job)
			o.Reason = reason
			_, err := s.Erase(ctx, owner, o, nil)
			require.Equal(t, claims.Invalid, claims.CodeOf(err), "%q: %v", reason, err)
		}
		o := order(job)
		o.Reason = ""
		_, err := s.Erase(ctx, owner, o, nil)
		assert.Equal(t, claims.Invalid, claims.CodeOf(err))
	})

	var dropped []claims.Digest
	done, err := s.Erase(ctx, owner, order(job), func(_ context.Context, gone []claims.Digest) error {
		dropped = append(dropped, gone...)
		return nil
	})
	require.NoError(t, err)
	require.Len(t, done, 1)
	assert.Len(t, dropped, 2)
	assert.Equal(t, before, rootOf(t, st, size), "the log up to here has the root it had")

	j, err := s.Job(ctx, owner, job)
	require.NoError(t, err)
	assert.Equal(t, claims.StageErased, j.Stage())
	require.Len(t, j.Erased, 1)
	assert.Equal(t, "lee", j.Erased[0].By)
	assert.Equal(t, "J-1042", j.Open.Number, "the shop's own number stays for the books")
	assert.Len(t, j.Readings, 1)
	assert.Len(t, j.Labour, 1)
	assert.Empty(t, j.Photos)
	all, err := json.Marshal(j)
	require.NoError(t, err)
	for _, trace := range []string{"Quillfeather", "Ottoline", "7946", "Larkspur", "QF-7788", "51.5"} {
		assert.NotContains(t, string(all), trace)
	}

	blobs, err := s.Blobs.Shop(ctx, shop)
	require.NoError(t, err)
	_, err = blobs.Has(ctx, built.Digest)
	assert.ErrorIs(t, err, claims.ErrAbsent)
	_, err = blobs.Has(ctx, claims.DigestOf([]byte("picture that two jobs have")))
	assert.NoError(t, err, "the other job has it too")
	other, err := s.Job(ctx, owner, otherJob)
	require.NoError(t, err)
	assert.Len(t, other.Photos, 2)

	for _, q := range []claims.CardQuery{{Words: []string{"quillfeather"}}, {Key: "serial", Value: "qf7788"}, {Key: "customer", Value: "name:ottolinequillfeather"}} {
		page, err := s.Jobs(ctx, owner, q)
		require.NoError(t, err)
		require.Len(t, page.Cards, 1, "%+v", q)
		assert.Equal(t, otherJob, page.Cards[0].Job)
	}

	t.Run("NothingIsAddedAnyMore", func(t *testing.T) {
		_, err := s.Append(ctx, tech, []json.RawMessage{raw(t, claims.KindNote, claims.Note{Text: "late"})})
		assert.Equal(t, claims.Erased, claims.CodeOf(err), "%v", err)
		_, err = s.Build(ctx, owner, job, claims.Hold{})
		assert.Equal(t, claims.Erased, claims.CodeOf(err), "%v", err)
		_, err = s.Check(ctx, owner, job)
		assert.Equal(t, claims.Erased, claims.CodeOf(err), "%v", err)
		_, err = s.Erase(ctx, owner, order(job), nil)
		assert.Equal(t, claims.Erased, claims.CodeOf(err), "%v", err)
	})
	t.Run("APhoneThatSendsLateLeavesNothing", func(t *testing.T) {
		p := upload(t, s, "a late photo")
		_, err := s.Append(ctx, tech, []json.RawMessage{raw(t, claims.KindPhoto, p)})
		require.Equal(t, claims.Erased, claims.CodeOf(err), "%v", err)
		assert.Contains(t, err.Error(), "entries[0]")
		_, err = blobs.Has(ctx, p.Digest)
		assert.ErrorIs(t, err, claims.ErrAbsent)
		again := upload(t, s, "picture that two jobs have")
		_, err = s.Append(ctx, tech, []json.RawMessage{raw(t, claims.KindPhoto, again)})
		require.Equal(t, claims.Erased, claims.CodeOf(err))
		_, err = blobs.Has(ctx, again.Digest)
		assert.NoError(t, err, "the other job still has it")
	})
}

// A legal hold forbids erasing until it is lifted, and both are on record.
func TestEraseUnderHold(t *testing.T) {
	s := newService(t)
	fillJob(t, s, job)
	put := func(state string) error {
		_, err := s.Append(ctx, owner, []json.RawMessage{raw(t, claims.KindHold, claims.LegalHold{State: state, Reason: "the insurer's counsel asks for it"}, func(e *claims.Entry) {
			e.At = nine.Add(time.Duration(len(state)) * time.Minute)
		})})
		return err
	}
	_, err := s.Append(ctx, tech, []json.RawMessage{raw(t, claims.KindHold, claims.LegalHold{State: "on", Reason: "x"})})
	assert.Equal(t, claims.Forbidden, claims.CodeOf(err), "a technician may not")
	require.NoError(t, put("on"))
	would, err := s.EraseWould(ctx, owner, []claims.JobID{job})
	require.NoError(t, err)
	assert.Equal(t, "the insurer's counsel asks for it", would[0].Hold)
	_, err = s.Erase(ctx, owner, order(job), nil)
	require.Equal(t, claims.Conflict, claims.CodeOf(err), "%v", err)
	require.NoError(t, put("lifted"))
	_, err = s.Erase(ctx, owner, order(job), nil)
	require.NoError(t, err)
}

// What was struck does not come back to life because its strike named somebody.
func TestEraseTakesStruckAndCorrected(t *testing.T) {
	s := newService(t)
	struck := raw(t, claims.KindReading, claims.Reading{Component: "heater", Quantity: "resistance", Value: "99", Unit: "Ohm"})
	wrong := raw(t, claims.KindReading, claims.Reading{Component: "heater", Quantity: "resistance", Value: "98", Unit: "Ohm"})
	id := func(r json.RawMessage) claims.EntryID {
		e, err := claims.ParseEntry(r)
		require.NoError(t, err)
		return e.ID
	}
	fillJob(t, s, job, struck, wrong, raw(t, claims.KindStrike, claims.Strike{Entry: id(struck), Reason: "measured on the wrong unit"}),
		raw(t, claims.KindReading, claims.Reading{Component: "heater", Quantity: "resistance", Value: "97", Unit: "Ohm"}, func(e *claims.Entry) { e.Supersedes, e.Why = id(wrong), "misread" }))
	_, err := s.Erase(ctx, owner, order(job), nil)
	require.NoError(t, err)
	j, err := s.Job(ctx, owner, job)
	require.NoError(t, err)
	require.Len(t, j.Readings, 1)
	assert.Equal(t, "22.5", j.Readings[0].Body.Value)
	assert.Empty(t, j.Problems)
	assert.Empty(t, j.Struck)
}

func rootOf(t testing.TB, st claims.Store, size uint64) [32]byte {
	t.Helper()
	// RFC 6962, 2.1, straight from its definition over the leaves' hashes: slow, and independent of the stored tree.
	var leaves [][32]byte
	require.NoError(t, st.Leaves(ctx, 0, func(r claims.Record) bool {
		leaves = append(leaves, claims.LeafHash(r.Line))
		return uint64(len(leaves)) < size
	}))
	return treeHash(leaves)
}

func treeHash(l [][32]byte) [32]byte {
	if len(l) == 1 {
		return l[0]
	}
	k := 1
	for k*2 < len(l) {
		k *= 2
	}
	a, b := treeHash(l[:k]), treeHash(l[k:])
	return sha256.Sum256(append(append([]byte{1}, a[:]...), b[:]...))
}

// onDisk is a service over the real stores, whose calls can be made to fail.
type onDisk struct {
	*claims.Service
	dir    string
	stores *boltstore.Stores
}

func openDisk(t testing.TB, dir string) *onDisk {
	t.Helper()
	s := newService(t)
	stores, err := boltstore.Open(filepath.Join(dir, "journal.db"), boltstore.Options{})
	require.NoError(t, err)
	blobs, err := filestore.Open(dir)
	require.NoError(t, err)
	s.Stores, s.Blobs, s.Scratch = stores, blobs, filepath.Join(dir, "tmp")
	return &onDisk{s, dir, stores}
}

// traces are what would tell of the customer. The serial number and the bytes of her picture are among them.
func traces() []string {
	return []string{"quillfeather", "Quillfeather", "Ottoline", "ottoline", "20 7946", "Larkspur", "larkspur", "QF-7788", "qf7788", "key under the pot"}
}

// found greps every file of the data folder, as somebody with the disk could.
func (d *onDisk) found(t testing.TB) map[string][]string {
	t.Helper()
	out := map[string][]string{}
	require.NoError(t, filepath.WalkDir(d.dir, func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		data, err := os.ReadFile(path)
		for _, trace := range traces() {
			if bytes.Contains(data, []byte(trace)) || strings.Contains(path, trace) {
				out[filepath.Base(path)] = append(out[filepath.Base(path)], trace)
			}
		}
		return err
	}))
	return out
}

// After erasing, no file of the data folder holds a byte of the customer's: not the journal's free pages either.
func TestErasedBytesAreGoneFromDisk(t *testing.T) {
	d := openDisk(t, t.TempDir())
	fillJob(t, d.Service, job)
	for range 30 { // many generations of pages with her name in the card and the indexes
		_, err := d.Append(ctx, tech, []json.RawMessage{raw(t, claims.KindNote, claims.Note{Text: "Quillfeather again " + strings.Repeat("x", 3000)})})
		require.NoError(t, err)
	}
	_, err := d.Build(ctx, owner, job, claims.Hold{})
	require.NoError(t, err)
	before := d.found(t)
	require.NotEmpty(t, before["journal.db"], "the test can find what it looks for")
	require.GreaterOrEqual(t, len(before), 2, "the journal and the picture: %v", before)
	_, err = d.Erase(ctx, owner, order(job), nil)
	require.NoError(t, err)
	assert.Empty(t, d.found(t))
	// The file is as good as before: it takes entries, and opens again.
	fillOther := raw(t, claims.KindNote, claims.Note{Text: "hello"}, in(otherJob))
	_, err = d.Append(ctx, tech, []json.RawMessage{fillOther})
	require.NoError(t, err)
	require.NoError(t, d.stores.Close())
	d = openDisk(t, d.dir)
	defer d.stores.Close()
	j, err := d.Job(ctx, owner, job)
	require.NoError(t, err)
	assert.Equal(t, claims.StageErased, j.Stage())
	assert.Empty(t, d.found(t))
}

var errBoom = errors.New("boom")

// failing makes the n-th of all calls that erasing makes fail, and all after it, as if the process had died there.
type failing struct {
	claims.Stores
	claims.BlobStores
	left *int
}

func (f failing) boom() error {
	if *f.left--; *f.left < 0 {
		return errBoom
	}
	return nil
}

type failingStores struct{ failing }

func (f failingStores) Shop(ctx context.Context, id claims.ShopID) (claims.Store, error) {
	st, err := f.Stores.Shop(ctx, id)
	return failingStore{st, f.failing}, err
}

type failingStore struct {
	claims.Store
	failing
}

func (f failingStore) Close() error { return nil }
func (f failingStore) Shop(context.Context, claims.ShopID) (claims.Store, error) {
	return nil, errBoom
}

func (f failingStore) Commit(ctx context.Context, b claims.Batch) (claims.Head, error) {
	if err := f.boom(); err != nil {
		return 0, err
	}
	return f.Store.Commit(ctx, b)
}

func (f failingStore) Erase(ctx context.Context, e claims.Erasure) error {
	if err := f.boom(); err != nil {
		return err
	}
	return f.Store.Erase(ctx, e)
}

func (f failingStore) Scrub(ctx context.Context) error {
	if err := f.boom(); err != nil {
		return err
	}
	return f.Store.Scrub(ctx)
}

func (f failingStore) PutNote(ctx context.Context, name string, value []byte) error {
	if err := f.boom(); err != nil {
		return err
	}
	return f.Store.PutNote(ctx, name, value)
}

type failingBlobs struct{ failing }

func (f failingBlobs) Shop(ctx context.Context, id claims.ShopID) (claims.Blobs, error) {
	b, err := f.BlobStores.Shop(ctx, id)
	return failingBlob{b, f.failing}, err
}

type failingBlob struct {
	claims.Blobs
	failing
}

func (f failingBlob) Shop(context.Context, claims.ShopID) (claims.Blobs, error) { return nil, errBoom }

func (f failingBlob) Erase(ctx context.Context, d claims.Digest) error {
	if err := f.boom(); err != nil {
		return err
	}
	return f.Blobs.Erase(ctx, d)
}

// Wherever erasing breaks off, a new start finishes it or nothing was ordered; never something in between.
func TestEraseBrokenOffAnywhere(t *testing.T) {
	finished, untouched := 0, 0
	for n := 0; ; n++ {
		d := openDisk(t, t.TempDir())
		fillJob(t, d.Service, job)
		fillJob(t, d.Service, otherJob)
		_, err := d.Build(ctx, owner, job, claims.Hold{})
		require.NoError(t, err)
		left := n
		f := failing{Stores: d.stores, BlobStores: d.Blobs, left: &left}
		d.Stores, d.Blobs = failingStores{f}, failingBlobs{f}
		_, err = d.Erase(ctx, owner, order(job, otherJob), nil)
		if err == nil {
			require.Greater(t, n, 8, "the calls were counted")
			require.NoError(t, d.stores.Close())
			break
		}
		require.ErrorIs(t, err, errBoom)
		require.NoError(t, d.stores.Close())

		d = openDisk(t, d.dir)
		require.NoError(t, d.FinishErasures(ctx, shop, nil))
		require.NoError(t, d.FinishErasures(ctx, shop, nil), "again is harmless")
		st, err := d.stores.Shop(ctx, shop)
		require.NoError(t, err)
		notes := 0
		require.NoError(t, st.Notes(ctx, "privacy/erasing/", func(string, []byte) bool { notes++; return true }))
		require.Zero(t, notes)
		for _, id := range []claims.JobID{job, otherJob} {
			j, err := d.Job(ctx, owner, id)
			require.NoError(t, err)
			if len(j.Erased) == 0 {
				untouched++
				require.Equal(t, customerName, j.Customer.Name)
				require.Len(t, j.Photos, 2)
				blobs, err := d.Blobs.Shop(ctx, shop)
				require.NoError(t, err)
				for _, p := range j.Photos {
					_, err := blobs.Has(ctx, p.Body.Digest)
					require.NoError(t, err, "call %d: an untouched job has its photos", n)
				}
				continue
			}
			finished++
			require.Empty(t, j.Customer.Name)
			require.Greater(t, j.Gone, 8)
		}
		if first, _ := d.Job(ctx, owner, job); len(first.Erased) > 0 {
			if second, _ := d.Job(ctx, owner, otherJob); len(second.Erased) > 0 {
				require.Empty(t, d.found(t), "broken off at call %d", n)
			}
		}
		require.NoError(t, d.stores.Close())
	}
	require.Positive(t, finished)
	require.Positive(t, untouched)
}

// A job of very many entries is erased whole: one erase entry can't name all of its leaves.
func TestEraseLongJob(t *testing.T) {
	s := newService(t)
	const pairs = 2100
	var entries []json.RawMessage
	send := func() {
		_, err := s.Append(ctx, tech, entries)
		require.NoError(t, err)
		entries = nil
	}
	for i := range pairs { // turn about one that goes and one that stays: as many runs as can be
		entries = append(entries, raw(t, claims.KindNote, claims.Note{Text: "a word"}), raw(t, claims.KindLabour, claims.Labour{Minutes: i%60 + 1}))
		if len(entries) == claims.MaxBatch {
			send()
		}
	}
	if len(entries) > 0 {
		send()
	}
	done, err := s.Erase(ctx, owner, order(job), nil)
	require.NoError(t, err)
	require.Len(t, done, 2, "in two entries")
	assert.Equal(t, pairs, done[0].Kinds[claims.KindNote])
	j, err := s.Job(ctx, owner, job)
	require.NoError(t, err)
	assert.Equal(t, pairs, j.Gone)
	assert.Len(t, j.Labour, pairs)
	st, err := s.Stores.Shop(ctx, shop)
	require.NoError(t, err)
	report, err := custody.Checker{Store: st}.Check(ctx)
	require.NoError(t, err)
	assert.True(t, report.OK(), "%v", report.Problems)
	assert.Equal(t, pairs, report.Erased)
}
