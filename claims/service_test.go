package claims_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
	"kickplate/claims/memstore"
	"kickplate/media/memblobs"
	"kickplate/rules"
	"kickplate/rules/packs"
)

const (
	shop = claims.ShopID("corner-shop")
	job  = claims.JobID("01920000-0000-7000-8000-000000000001")
)

var (
	ctx   = context.Background()
	nine  = time.Date(2026, 3, 4, 14, 0, 0, 0, time.UTC)
	tech  = claims.Actor{Shop: shop, Person: "kim", Role: claims.Technician, Device: "phone-1"}
	owner = claims.Actor{Shop: shop, Person: "lee", Role: claims.Owner, Device: "desk"}
)

// plainExaminer takes every byte for a small grey picture; what real files hold is media's business.
type plainExaminer struct{}

func (plainExaminer) Examine(_ context.Context, r io.ReaderAt, size int64) (claims.PhotoFacts, claims.Derived, error) {
	head := make([]byte, min(size, 8))
	if _, err := r.ReadAt(head, 0); err != nil && err != io.EOF {
		return claims.PhotoFacts{}, claims.Derived{}, err
	}
	if bytes.HasPrefix(head, []byte("<html")) {
		return claims.PhotoFacts{}, claims.Derived{}, claims.Errorf(claims.Unsupported, "This is a web page.")
	}
	return claims.PhotoFacts{Bytes: size, Type: "image/jpeg", Width: 1600, Height: 1200, Sharp: "yes", Dark: "no", Bright: "no",
		Fingerprint: fmt.Sprintf("%016x", 0x0f0f0f0f00000000|uint64(head[0])), Examiner: "test"}, claims.Derived{View: []byte("view"), Thumb: []byte("thumb")}, nil
}

func (plainExaminer) Codes(context.Context, io.ReaderAt, int64) ([]claims.Code, error) {
	return []claims.Code{{Format: "CODE_128", Text: "SN-0042"}}, nil
}

type plainPackager struct{}

func (plainPackager) Pack(_ context.Context, w io.Writer, p claims.Parcel) (claims.Packed, error) {
	out := fmt.Appendf(nil, "bundle v%d of %d entries", p.Version, len(p.Records))
	_, err := w.Write(out)
	return claims.Packed{Name: "claim.zip", Digest: claims.DigestOf(out), Bytes: int64(len(out))}, err
}

type plainNotary struct{}

func (plainNotary) Seal(context.Context, claims.Store, []uint64) (claims.CustodyParcel, error) {
	return claims.CustodyParcel{}, nil
}

type book struct{ *packs.Set }

func (b book) Pack(id string) (*rules.Compiled, bool) {
	p, ok := b.Get(id)
	if !ok {
		return nil, false
	}
	return p.Compiled, true
}

func (b book) Pick(coverage, unit string) (*rules.Compiled, bool) {
	p, ok := b.Set.Pick(unit, coverage)
	if !ok {
		return nil, false
	}
	return p.Compiled, true
}

var readPacks = sync.OnceValues(packs.Default)

func newService(t testing.TB) *claims.Service {
	set, err := readPacks()
	require.NoError(t, err)
	return &claims.Service{Stores: memstore.Open(), Blobs: memblobs.New(), Examiner: plainExaminer{}, Packager: plainPackager{}, Notary: plainNotary{},
		Packs: book{set}, Now: func() time.Time { return nine.Add(time.Hour) }, MakeID: func() string { return uuid.Must(uuid.NewV7()).String() }, Scratch: t.TempDir()}
}

var counter = struct {
	sync.Mutex
	n int
}{}

func raw(t testing.TB, kind claims.Kind, body any, change ...func(*claims.Entry)) json.RawMessage {
	t.Helper()
	counter.Lock()
	counter.n++
	id := claims.EntryID(fmt.Sprintf("01920000-0000-7000-9000-%012x", counter.n))
	counter.Unlock()
	b, err := json.Marshal(body)
	require.NoError(t, err)
	e := claims.Entry{ID: id, Shop: shop, Job: job, Kind: kind, At: nine, By: "kim", Device: "phone-1", Body: b}
	switch kind { // what the owner decides, she enters in her own name
	case claims.KindWaive, claims.KindSend, claims.KindAnswer, claims.KindPayment, claims.KindReply, claims.KindSettle, claims.KindHold, claims.KindRespond,
		claims.KindOffer, claims.KindOfferAnswer, claims.KindRelease, claims.KindPaidOut, claims.KindInsurer, claims.KindDisputeEnd:
		e.By, e.Device = "lee", "desk"
	}
	for _, c := range change {
		c(&e)
	}
	line, err := json.Marshal(e)
	require.NoError(t, err)
	return line
}

func upload(t testing.TB, s *claims.Service, content string) claims.Photo {
	t.Helper()
	d := claims.DigestOf([]byte(content))
	_, err := s.Receive(ctx, tech, claims.Upload{Digest: d, Size: int64(len(content)), Bytes: strings.NewReader(content)})
	require.NoError(t, err)
	return claims.Photo{Digest: d, Bytes: int64(len(content)), Subject: "rating-plate"}
}

func TestAppend(t *testing.T) {
	t.Run("TwiceIsHarmless", func(t *testing.T) {
		s := newService(t)
		e := raw(t, claims.KindNote, claims.Note{Text: "hello"})
		first, err := s.Append(ctx, tech, []json.RawMessage{e, e})
		require.NoError(t, err)
		assert.Equal(t, "kept", first[0].Status)
		again, err := s.Append(ctx, tech, []json.RawMessage{e})
		require.NoError(t, err)
		assert.Equal(t, "already", again[0].Status)
		assert.Equal(t, first[0].Leaf, again[0].Leaf)
		j, err := s.Job(ctx, tech, job)
		require.NoError(t, err)
		assert.Len(t, j.Notes, 1)
	})
	t.Run("SameIDOtherContentIsRefused", func(t *testing.T) {
		s := newService(t)
		e := raw(t, claims.KindNote, claims.Note{Text: "hello"})
		_, err := s.Append(ctx, tech, []json.RawMessage{e})
		require.NoError(t, err)
		other := bytes.Replace(e, []byte("hello"), []byte("howdy"), 1)
		_, err = s.Append(ctx, tech, []json.RawMessage{raw(t, claims.KindNote, claims.Note{Text: "new"}), other})
		require.Equal(t, claims.Conflict, claims.CodeOf(err))
		assert.ErrorContains(t, err, "entries[1]")
		j, err := s.Job(ctx, tech, job)
		require.NoError(t, err)
		require.Len(t, j.Notes, 1)
		assert.Equal(t, "hello", j.Notes[0].Body.Text)
	})
	t.Run("OneBadEntryKeepsAllOut", func(t *testing.T) {
		s := newService(t)
		_, err := s.Append(ctx, tech, []json.RawMessage{raw(t, claims.KindNote, claims.Note{Text: "fine"}), raw(t, claims.KindNote, claims.Note{})})
		require.Equal(t, claims.Invalid, claims.CodeOf(err))
		assert.ErrorContains(t, err, "entries[1].body.text")
		_, err = s.Job(ctx, tech, job)
		assert.Equal(t, claims.NotFound, claims.CodeOf(err))
	})
	t.Run("PhotoWithoutBytes", func(t *testing.T) {
		s := newService(t)
		p := claims.Photo{Digest: claims.DigestOf([]byte("x")), Bytes: 1, Subject: "floor"}
		_, err := s.Append(ctx, tech, []json.RawMessage{raw(t, claims.KindPhoto, p)})
		require.Equal(t, claims.Missing, claims.CodeOf(err))
	})
	t.Run("PhotoWithWrongSize", func(t *testing.T) {
		s := newService(t)
		p := upload(t, s, "picture")
		p.Bytes++
		_, err := s.Append(ctx, tech, []json.RawMessage{raw(t, claims.KindPhoto, p)})
		require.Equal(t, claims.Invalid, claims.CodeOf(err))
	})
	t.Run("OtherShop", func(t *testing.T) {
		s := newService(t)
		_, err := s.Append(ctx, tech, []json.RawMessage{raw(t, claims.KindNote, claims.Note{Text: "x"}, func(e *claims.Entry) { e.Shop = "other-shop" })})
		require.Equal(t, claims.Forbidden, claims.CodeOf(err))
	})
	t.Run("ServersOwnKinds", func(t *testing.T) {
		s := newService(t)
		_, err := s.Append(ctx, owner, []json.RawMessage{raw(t, claims.KindExamined, claims.PhotoFacts{})})
		require.Equal(t, claims.Forbidden, claims.CodeOf(err))
	})
	t.Run("TechnicianMayNotWaive", func(t *testing.T) {
		s := newService(t)
		w := raw(t, claims.KindWaive, claims.Waive{Requirement: "x", Reason: "y"})
		_, err := s.Append(ctx, tech, []json.RawMessage{w})
		require.Equal(t, claims.Forbidden, claims.CodeOf(err))
		_, err = s.Append(ctx, owner, []json.RawMessage{w})
		require.NoError(t, err)
	})
	t.Run("NobodyMayNothing", func(t *testing.T) {
		s := newService(t)
		_, err := s.Append(ctx, claims.Actor{}, []json.RawMessage{raw(t, claims.KindNote, claims.Note{Text: "x"})})
		require.Equal(t, claims.SignIn, claims.CodeOf(err))
	})
}

// Many phones write on one job at once: nothing is lost, and every leaf is there once.
func TestAppendAtOnce(t *testing.T) {
	s := newService(t)
	const phones, each = 8, 15
	var wg sync.WaitGroup
	errs := make(chan error, phones*each)
	for range phones {
		wg.Go(func() {
			for range each {
				e := raw(t, claims.KindNote, claims.Note{Text: "n"})
				_, err := s.Append(ctx, tech, []json.RawMessage{e})
				for claims.CodeOf(err) == claims.Busy {
					_, err = s.Append(ctx, tech, []json.RawMessage{e})
				}
				errs <- err
			}
		})
	}
	wg.Wait()
	close(errs)
	for err := range errs {
		require.NoError(t, err)
	}
	j, err := s.Job(ctx, tech, job)
	require.NoError(t, err)
	assert.Len(t, j.Notes, phones*each)
	leaves := map[uint64]bool{}
	for _, n := range j.Notes {
		leaves[n.Leaf] = true
	}
	assert.Len(t, leaves, phones*each)
}

func TestReceive(t *testing.T) {
	s := newService(t)
	p := upload(t, s, "picture")
	again, err := s.Receive(ctx, tech, claims.Upload{Digest: p.Digest, Size: 7, Bytes: strings.NewReader("picture")})
	require.NoError(t, err)
	assert.Equal(t, p.Digest, again.Digest)
	_, err = s.Receive(ctx, tech, claims.Upload{Digest: claims.DigestOf([]byte("other")), Size: 7, Bytes: strings.NewReader("picturE")})
	assert.Equal(t, claims.Invalid, claims.CodeOf(err), "bytes under the wrong name")
	page := "<html>..."
	_, err = s.Receive(ctx, tech, claims.Upload{Digest: claims.DigestOf([]byte(page)), Size: int64(len(page)), Bytes: strings.NewReader(page)})
	assert.Equal(t, claims.Unsupported, claims.CodeOf(err))
	_, err = s.Held(ctx, tech, claims.DigestOf([]byte(page)))
	assert.Equal(t, claims.NotFound, claims.CodeOf(err), "a refused file leaves nothing behind")
	thumb, err := s.Picture(ctx, tech, p.Digest, claims.DerivedThumb)
	require.NoError(t, err)
	assert.Equal(t, "thumb", string(thumb))
	stranger := claims.Actor{Shop: "other-shop", Person: "x", Role: claims.Owner, Device: "d"}
	_, err = s.Held(ctx, stranger, p.Digest)
	assert.Equal(t, claims.NotFound, claims.CodeOf(err), "another shop learns nothing")
}

// The same or a similar picture on another job is noted; on the same job it is not.
func TestLikeness(t *testing.T) {
	s := newService(t)
	other := claims.JobID("01920000-0000-7000-8000-000000000002")
	elsewhere := func(e *claims.Entry) { e.Job = other }
	first := upload(t, s, "a picture")
	_, err := s.Append(ctx, tech, []json.RawMessage{raw(t, claims.KindPhoto, first), raw(t, claims.KindPhoto, first)})
	require.NoError(t, err)
	j, err := s.Job(ctx, tech, job)
	require.NoError(t, err)
	assert.Empty(t, j.Likenesses, "on one job the same view twice is normal")

	similar := upload(t, s, "another picture") // begins with the same byte: the same fingerprint
	_, err = s.Append(ctx, tech, []json.RawMessage{raw(t, claims.KindPhoto, first, elsewhere), raw(t, claims.KindPhoto, similar, elsewhere)})
	require.NoError(t, err)
	j, err = s.Job(ctx, tech, other)
	require.NoError(t, err)
	require.Len(t, j.Likenesses, 2)
	for _, l := range j.Likenesses {
		assert.Equal(t, job, l.Body.OtherJob)
		assert.Zero(t, l.Body.Bits)
	}
	f := claims.FactsOf(&j, nil, nine)
	used := map[string]string{}
	for _, p := range f.Photos {
		used[p.Digest] = p.UsedBefore
	}
	assert.Equal(t, "same:"+string(job), used[string(first.Digest)])
	assert.Equal(t, "near:"+string(job), used[string(similar.Digest)])
}

func TestReadCodes(t *testing.T) {
	s := newService(t)
	p := upload(t, s, "plate")
	_, err := s.Append(ctx, tech, []json.RawMessage{raw(t, claims.KindPhoto, p)})
	require.NoError(t, err)
	require.NoError(t, s.ReadCodes(ctx, shop, job))
	require.NoError(t, s.ReadCodes(ctx, shop, job), "a second time finds nothing to do")
	j, err := s.Job(ctx, tech, job)
	require.NoError(t, err)
	assert.Equal(t, "SN-0042", j.Facts[p.Digest].Codes[0].Text)
	assert.Equal(t, 3, j.Entries, "photo, examined, codes")
}

func TestBuild(t *testing.T) {
	s := newService(t)
	_, err := s.Append(ctx, tech, []json.RawMessage{
		raw(t, claims.KindUnit, claims.Unit{Kind: "refrigerator"}), raw(t, claims.KindCoverage, claims.Coverage{Kind: "maker-warranty"}),
	})
	require.NoError(t, err)
	one, err := s.Build(ctx, tech, job, claims.Hold{})
	require.NoError(t, err)
	assert.Equal(t, 1, one.Version)
	again, err := s.Build(ctx, tech, job, claims.Hold{})
	require.NoError(t, err)
	assert.Equal(t, one, again, "nothing happened in between: the same bundle")

	blob, built, err := s.Bundle(ctx, owner, job, 0, false)
	require.NoError(t, err)
	content, err := io.ReadAll(blob)
	require.NoError(t, err)
	require.NoError(t, blob.Close())
	assert.Equal(t, one.Digest, claims.DigestOf(content))
	assert.Equal(t, one, built)

	held, err := s.Build(ctx, tech, job, claims.Hold{Customer: true})
	require.NoError(t, err)
	assert.Equal(t, 2, held.Version, "other things held back: a new version")

	_, err = s.Append(ctx, tech, []json.RawMessage{raw(t, claims.KindNote, claims.Note{Text: "more"})})
	require.NoError(t, err)
	third, err := s.Build(ctx, tech, job, claims.Hold{Customer: true})
	require.NoError(t, err)
	assert.Equal(t, 3, third.Version)

	j, err := s.Job(ctx, tech, job)
	require.NoError(t, err)
	assert.Len(t, j.Bundles, 3)
	require.Len(t, j.Fetches, 1)
	assert.Equal(t, "lee", j.Fetches[0].By, "who looked is on record")
	_, _, err = s.Bundle(ctx, owner, job, 9, false)
	assert.Equal(t, claims.NotFound, claims.CodeOf(err))
}

func TestCheckSaysWhichPack(t *testing.T) {
	s := newService(t)
	_, err := s.Append(ctx, tech, []json.RawMessage{raw(t, claims.KindUnit, claims.Unit{Kind: "refrigerator"}), raw(t, claims.KindCoverage, claims.Coverage{Kind: "maker-warranty"})})
	require.NoError(t, err)
	c, err := s.Check(ctx, tech, job)
	require.NoError(t, err)
	assert.False(t, c.Report.Complete)
	assert.NotZero(t, c.Report.Counts.Gap)
	cards, err := s.Jobs(ctx, tech, claims.CardQuery{})
	require.NoError(t, err)
	require.Len(t, cards.Cards, 1)
	assert.Equal(t, c.Report.Counts.Gap, cards.Cards[0].Gaps)

	_, err = s.Append(ctx, tech, []json.RawMessage{raw(t, claims.KindCoverage, claims.Coverage{Pack: "no-such-pack"})})
	require.NoError(t, err)
	_, err = s.Check(ctx, tech, job)
	assert.Equal(t, claims.Invalid, claims.CodeOf(err))
	assert.ErrorContains(t, err, "no-such-pack")
}

// The table of who may do what: nothing for nobody, nothing unknown for anybody.
func TestMay(t *testing.T) {
	for _, a := range append(claims.Acts(), "fly") {
		assert.False(t, claims.May("", a), a)
		assert.False(t, claims.May("visitor", a), a)
		assert.Equal(t, a != "fly", claims.May(claims.Owner, a), a)
	}
	assert.False(t, claims.May(claims.Technician, claims.ActPeople))
	assert.False(t, claims.May(claims.Office, claims.ActPeople))
}
