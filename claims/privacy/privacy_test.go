package privacy_test

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
	"kickplate/claims/memstore"
	"kickplate/claims/privacy"
	"kickplate/media/memblobs"
	"kickplate/rules"
)

const shop = claims.ShopID("corner-shop")

var (
	ctx   = context.Background()
	owner = claims.Actor{Shop: shop, Person: "lee", Role: claims.Owner, Device: "desk"}
	desk  = claims.Actor{Shop: shop, Person: "ann", Role: claims.Office, Device: "desk"}
	tech  = claims.Actor{Shop: shop, Person: "kim", Role: claims.Technician, Device: "phone-1"}
)

type noPacks struct{}

func (noPacks) Pack(string) (*rules.Compiled, bool)         { return nil, false }
func (noPacks) Pick(string, string) (*rules.Compiled, bool) { return nil, false }

type plainExaminer struct{}

func (plainExaminer) Examine(_ context.Context, _ io.ReaderAt, size int64) (claims.PhotoFacts, claims.Derived, error) {
	return claims.PhotoFacts{Bytes: size, Type: "image/jpeg", Examiner: "test"}, claims.Derived{}, nil
}

func (plainExaminer) Codes(context.Context, io.ReaderAt, int64) ([]claims.Code, error) {
	return nil, nil
}

type world struct {
	privacy.Desk
	t   *testing.T
	now time.Time
}

func newWorld(t *testing.T) *world {
	w := &world{t: t, now: time.Date(2026, 3, 31, 12, 0, 0, 0, time.UTC)}
	w.Service = &claims.Service{Stores: memstore.Open(), Blobs: memblobs.New(), Examiner: plainExaminer{}, Packs: noPacks{},
		Now: func() time.Time { return w.now }, MakeID: func() string { return uuid.Must(uuid.NewV7()).String() }}
	return w
}

// add writes an entry at a moment and returns its id.
func (w *world) add(job claims.JobID, at time.Time, kind claims.Kind, body any) claims.EntryID {
	w.t.Helper()
	raw, err := json.Marshal(body)
	require.NoError(w.t, err)
	e := claims.Entry{ID: claims.EntryID(w.Service.MakeID()), Shop: shop, Job: job, Kind: kind, At: at, By: "lee", Device: "desk-1", Body: raw}
	line, err := json.Marshal(e)
	require.NoError(w.t, err)
	_, err = w.Service.Append(ctx, owner, []json.RawMessage{line})
	require.NoError(w.t, err)
	return e.ID
}

func (w *world) job(number string, at time.Time, c claims.Customer) claims.JobID {
	job := claims.JobID(w.Service.MakeID())
	w.add(job, at, claims.KindOpen, claims.Open{Number: number, Complaint: "it hums"})
	w.add(job, at, claims.KindCustomer, c)
	return job
}

func (w *world) photo(job claims.JobID, content string) {
	d := claims.DigestOf([]byte(content))
	_, err := w.Service.Receive(ctx, tech, claims.Upload{Digest: d, Size: int64(len(content)), Bytes: strings.NewReader(content)})
	require.NoError(w.t, err)
	w.add(job, w.now, claims.KindPhoto, claims.Photo{Digest: d, Bytes: int64(len(content)), Subject: "rating-plate", Name: "IMG.JPG"})
}

func TestCustomerOf(t *testing.T) {
	w := newWorld(t)
	one := w.job("1", w.now, claims.Customer{Name: "Ottoline Quillfeather", Phone: "+44 20 7946 0018", Email: "O@quill.example"})
	sameName := w.job("2", w.now.AddDate(0, 0, -1), claims.Customer{Name: "ottoline  quillfeather"})
	samePhone := w.job("3", w.now.AddDate(0, 0, -2), claims.Customer{Name: "O. Q.", Phone: "020 7946 0018", Email: "o@QUILL.example"})
	w.job("4", w.now, claims.Customer{Name: "Somebody Else", Phone: "020 7946 0019"})
	got, err := w.CustomerOf(ctx, desk, one)
	require.NoError(t, err)
	require.Len(t, got.Jobs, 3)
	assert.Equal(t, one, got.Jobs[0].Job)
	assert.Empty(t, got.Jobs[0].By)
	assert.Equal(t, sameName, got.Jobs[1].Job)
	assert.Equal(t, []string{"name"}, got.Jobs[1].By)
	assert.Equal(t, samePhone, got.Jobs[2].Job)
	assert.Equal(t, []string{"phone", "email"}, got.Jobs[2].By)
	_, err = w.CustomerOf(ctx, tech, one)
	assert.Equal(t, claims.Forbidden, claims.CodeOf(err))
}

func TestExport(t *testing.T) {
	w := newWorld(t)
	job := w.job("J/1 <b>", w.now, claims.Customer{Name: `Ottoline <script>alert(1)</script>`})
	w.photo(job, "picture one")
	w.photo(job, "picture two")
	var out bytes.Buffer
	require.NoError(t, w.Export(ctx, desk, privacy.ExportOrder{Jobs: []claims.JobID{job, job}, Reason: "asked on 3 March"}, &out))

	z, err := zip.NewReader(bytes.NewReader(out.Bytes()), int64(out.Len()))
	require.NoError(t, err)
	files := map[string]string{}
	for _, f := range z.File {
		r, err := f.Open()
		require.NoError(t, err)
		raw, err := io.ReadAll(r)
		require.NoError(t, err)
		files[f.Name] = string(raw)
	}
	folder := "customer-data/jobs/01-j-1--b/"
	assert.Equal(t, "picture one", files[folder+"originals/0001-rating-plate.jpg"])
	assert.Equal(t, "picture two", files[folder+"originals/0002-rating-plate.jpg"])
	recs, _, err := w.Service.Journal(ctx, owner, job, 0, 0)
	require.NoError(t, err)
	lines := strings.Split(strings.TrimSuffix(files[folder+"entries.ndjson"], "\n"), "\n")
	require.Len(t, lines, len(recs)-1, "all but the record of the copy itself")
	for i, line := range lines {
		assert.Equal(t, string(recs[i].Line), line, "byte for byte")
	}
	var data struct {
		By   string
		Jobs []struct{ Job claims.Job }
	}
	require.NoError(t, json.Unmarshal([]byte(files["customer-data/data.json"]), &data))
	assert.Equal(t, "ann", data.By)
	require.Len(t, data.Jobs, 1, "named twice, copied once")
	assert.Len(t, data.Jobs[0].Job.Photos, 2)

	page := files["customer-data/index.html"]
	links := regexp.MustCompile(`(?:href|src)="([^"]*)"`).FindAllStringSubmatch(page, -1)
	assert.Len(t, links, 6, "two pictures, each with its link twice")
	for _, l := range links {
		assert.Contains(t, files, "customer-data/"+l[1], "what the page points to is in the copy")
	}
	assert.Equal(t, 2, strings.Count(page, "<img"))
	assert.NotContains(t, page, "<script")

	j, err := w.Service.Job(ctx, owner, job)
	require.NoError(t, err)
	require.Len(t, j.Exports, 1)
	assert.Equal(t, "ann", j.Exports[0].By)
	assert.Equal(t, 2, j.Exports[0].Body.Originals)

	for name, c := range map[string]struct {
		a    claims.Actor
		o    privacy.ExportOrder
		code claims.ErrorCode
	}{
		"a technician": {tech, privacy.ExportOrder{Jobs: []claims.JobID{job}}, claims.Forbidden},
		"no jobs":      {desk, privacy.ExportOrder{}, claims.Invalid},
		"no such job":  {desk, privacy.ExportOrder{Jobs: []claims.JobID{claims.JobID(w.Service.MakeID())}}, claims.NotFound},
		"long reason":  {desk, privacy.ExportOrder{Jobs: []claims.JobID{job}, Reason: strings.Repeat("x", 501)}, claims.TooLarge},
	} {
		var none bytes.Buffer
		err := w.Export(ctx, c.a, c.o, &none)
		assert.Equal(t, c.code, claims.CodeOf(err), "%s: %v", name, err)
		assert.Zero(t, none.Len(), name)
	}
}

// The end of a term follows the month-end rule: a month after 31 January is the last day of February (the calendar's own length; common practice).
func TestRetention(t *testing.T) {
	w := newWorld(t)
	who := claims.Customer{Name: "Ottoline Quillfeather"}
	settled := func(number string, at time.Time, more ...func(claims.JobID)) claims.JobID {
		job := w.job(number, at.AddDate(0, -1, 0), who)
		for _, m := range more {
			m(job)
		}
		w.add(job, at, claims.KindSettle, claims.Settle{Outcome: "paid"})
		return job
	}
	day := func(y int, m time.Month, d int) time.Time { return time.Date(y, m, d, 10, 0, 0, 0, time.UTC) }
	old := settled("old", day(2025, time.November, 30))
	lastDay := settled("last-day", day(2025, time.December, 31))
	young := settled("young", day(2026, time.January, 2))
	held := settled("held", day(2024, time.January, 2), func(j claims.JobID) {
		w.add(j, day(2024, time.January, 1), claims.KindHold, claims.LegalHold{State: "on", Reason: "the insurer asks"})
	})
	disputed := settled("disputed", day(2024, time.January, 2), func(j claims.JobID) {
		w.add(j, day(2024, time.January, 1), claims.KindAllege, claims.Allege{Area: "floor", Words: "you broke it"})
	})
	idle := w.job("idle", day(2024, time.January, 2), who)
	sent := w.job("sent", day(2024, time.January, 2), who)
	w.add(sent, day(2024, time.January, 3), claims.KindSend, claims.Send{To: "payer"})

	p, err := w.Propose(ctx, owner)
	require.NoError(t, err)
	assert.Empty(t, p.Due, "without rules nothing is proposed")
	for name, r := range map[string]privacy.Rules{"negative": {Months: -1}, "too long": {Idle: 601}, "by itself, without a term": {Auto: true}} {
		_, err := w.SetRetention(ctx, owner, r)
		assert.Equal(t, claims.Invalid, claims.CodeOf(err), name)
	}
	_, err = w.SetRetention(ctx, desk, privacy.Rules{Months: 3})
	assert.Equal(t, claims.Forbidden, claims.CodeOf(err))
	set, err := w.SetRetention(ctx, owner, privacy.Rules{Months: 3, Idle: 24})
	require.NoError(t, err)
	assert.Equal(t, "lee", set.SetBy)

	p, err = w.Propose(ctx, owner) // on 31 March 2026
	require.NoError(t, err)
	days := func(list []privacy.Due) map[claims.JobID]string {
		out := map[claims.JobID]string{}
		for _, d := range list {
			out[d.Job] = fmt.Sprint(d.Day)
		}
		return out
	}
	assert.Equal(t, map[claims.JobID]string{old: "2026-02-28", lastDay: "2026-03-31", idle: "2026-01-02"}, days(p.Due))
	assert.Equal(t, map[claims.JobID]string{held: "2024-04-02", disputed: "2024-04-02", sent: "2026-01-03"}, days(p.Kept))
	for _, d := range p.Kept {
		assert.NotEmpty(t, d.Kept)
	}

	n, err := w.Daily(ctx, shop, nil)
	require.NoError(t, err)
	assert.Zero(t, n, "nothing runs by itself without the switch")
	_, err = w.Carry(ctx, owner, []claims.JobID{old, young}, nil)
	require.Equal(t, claims.Conflict, claims.CodeOf(err), "not on the list: %v", err)
	_, err = w.Carry(ctx, owner, []claims.JobID{old, old}, nil)
	require.Equal(t, claims.Conflict, claims.CodeOf(err), "twice: %v", err)
	_, err = w.Carry(ctx, owner, []claims.JobID{held}, nil)
	require.Equal(t, claims.Conflict, claims.CodeOf(err), "held: %v", err)
	j, err := w.Service.Job(ctx, owner, old)
	require.NoError(t, err)
	require.Empty(t, j.Erased)

	run, err := w.Carry(ctx, owner, []claims.JobID{old, idle}, nil)
	require.NoError(t, err)
	assert.Len(t, run.Jobs, 2)
	for id, why := range map[claims.JobID]string{old: "kept for 3 months after the claim was settled", idle: "never settled, and kept for 24 months after the last entry"} {
		j, err := w.Service.Job(ctx, owner, id)
		require.NoError(t, err)
		require.Len(t, j.Erased, 1)
		assert.Equal(t, "retention", j.Erased[0].Body.Basis)
		assert.Equal(t, why, j.Erased[0].Body.Rule)
	}

	_, err = w.SetRetention(ctx, owner, privacy.Rules{Months: 3, Auto: true})
	require.NoError(t, err)
	n, err = w.Daily(ctx, shop, nil)
	require.NoError(t, err)
	assert.Equal(t, 1, n, "only the one whose term is over: idle jobs have no rule now")
	_, runs, err := w.Retention(ctx, owner)
	require.NoError(t, err)
	require.Len(t, runs, 4)
	for _, r := range runs {
		raw, err := json.Marshal(r)
		require.NoError(t, err)
		assert.NotContains(t, string(raw), "Quillfeather", "a record of a run holds no names")
	}
	for _, id := range []claims.JobID{young, held, disputed, sent} {
		j, err := w.Service.Job(ctx, owner, id)
		require.NoError(t, err)
		assert.Empty(t, j.Erased)
	}
}
