package storetest

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

func testCommitReadsBack(t *testing.T, s Stores) {
	store := openShop(t, s)
	_, _, err := store.Records(t.Context(), "job", 0, 0)
	require.ErrorIs(t, err, claims.ErrAbsent)
	_, err = store.Card(t.Context(), "job")
	require.ErrorIs(t, err, claims.ErrAbsent)

	b := batch("job", 0, 3)
	zone := time.FixedZone("", -5*3600)
	b.Card = claims.Card{
		Number: "C-1", Customer: "Ada Example", Place: "Elm Street 1", UnitKind: "dryer", Maker: "Norbrook", Model: "D1",
		Serial: "AB12", Payer: "Payer & Sons", Stage: "open",
		Opened: start().In(zone), Changed: start().Add(time.Nanosecond), Due: start().Add(time.Hour), DueWhat: "send",
		Photos: 2, Gaps: 3, Doubts: 4, Amount: claims.Money{Minor: 1234, Currency: "USD"},
		Keys: map[string][]string{"serial": {"ab12"}}, Words: []string{"ada", "example"},
		Prints: []claims.PhotoPrint{{Digest: claims.DigestOf([]byte("x")), Print: 1<<63 | 1}},
	}
	commit(t, store, b)
	b2 := batch("job", 3, 2)
	b2.Card = b.Card
	commit(t, store, b2)

	got, head, err := store.Records(t.Context(), "job", 0, 0)
	require.NoError(t, err)
	require.EqualValues(t, 5, head)
	want := append(append([]claims.Record{}, b.Records...), b2.Records...)
	for i := range want {
		want[i].Job, want[i].Leaf = "job", uint64(i)
	}
	require.Equal(t, want, got)

	card, err := store.Card(t.Context(), "job")
	require.NoError(t, err)
	require.True(t, b.Card.Opened.Equal(card.Opened))
	_, offset := card.Opened.Zone()
	require.Equal(t, -5*3600, offset, "a time keeps its zone offset")
	expect := b.Card
	expect.Job, expect.Entries, expect.Opened = "job", 5, card.Opened
	require.Equal(t, expect, card)
	RequireWholeLog(t, store)
}

func testCommitStale(t *testing.T, s Stores) {
	store := openShop(t, s)
	b := batch("job", 1, 1)
	_, err := store.Commit(t.Context(), b)
	require.ErrorIs(t, err, claims.ErrStale, "a new job has the head 0")
	commit(t, store, batch("job", 0, 2))
	for _, was := range []claims.Head{0, 1, 3, 1 << 63} {
		b := batch("job", 2, 1)
		b.Was = was
		_, err := store.Commit(t.Context(), b)
		require.ErrorIs(t, err, claims.ErrStale, "head %d", was)
	}
	require.Len(t, RequireWholeLog(t, store), 2)
	commit(t, store, batch("job", 2, 1))
}

func testCommitTaken(t *testing.T, s Stores) {
	store := openShop(t, s)
	commit(t, store, batch("a", 0, 3))
	b := batch("b", 0, 3)
	b.Card.Words = []string{"left"}
	b.Card.Keys = map[string][]string{"serial": {"left"}}
	b.Card.Prints = []claims.PhotoPrint{{Digest: claims.DigestOf(nil), Print: 7}}
	b.Records[2].Entry = "a/e1" // an entry of the other job
	_, err := store.Commit(t.Context(), b)
	require.ErrorIs(t, err, claims.ErrTaken)

	require.Len(t, RequireWholeLog(t, store), 3)
	found, err := store.Lookup(t.Context(), []claims.EntryID{"b/e0", "b/e1", "a/e1"})
	require.NoError(t, err)
	require.Len(t, found, 1)
	_, _, err = store.Records(t.Context(), "b", 0, 0)
	require.ErrorIs(t, err, claims.ErrAbsent)
	for _, q := range []claims.CardQuery{{}, {Order: "opened"}, {Key: "serial", Value: "left"}, {Words: []string{"le"}}} {
		page, err := store.Cards(t.Context(), q)
		require.NoError(t, err)
		for _, c := range page.Cards {
			require.Equal(t, claims.JobID("a"), c.Job)
		}
	}
	near, err := store.Near(t.Context(), 7, 0, 0)
	require.NoError(t, err)
	require.Empty(t, near)

	twice := batch("c", 0, 2)
	twice.Records[1].Entry = twice.Records[0].Entry
	_, err = store.Commit(t.Context(), twice)
	require.ErrorIs(t, err, claims.ErrTaken, "twice in one batch")

	stale := batch("a", 0, 1)
	_, err = store.Commit(t.Context(), stale)
	require.ErrorIs(t, err, claims.ErrStale, "a head that has moved comes first: the caller must read again anyhow")

	b.Records[2].Entry = "b/e2"
	commit(t, store, b)
}

func testCommitRefuses(t *testing.T, s Stores) {
	store := openShop(t, s)
	long := strings.Repeat("x", claims.MaxStoreID+1)
	for name, change := range map[string]func(b *claims.Batch){
		"no job":           func(b *claims.Batch) { b.Job = "" },
		"long job":         func(b *claims.Batch) { b.Job = claims.JobID(long) },
		"no entry":         func(b *claims.Batch) { b.Records[1].Entry = "" },
		"long entry":       func(b *claims.Batch) { b.Records[1].Entry = claims.EntryID(long) },
		"another job's":    func(b *claims.Batch) { b.Records[1].Job = "other" },
		"line too long":    func(b *claims.Batch) { b.Records[1].Line = make([]byte, claims.MaxStoreLine+1) },
		"too many records": func(b *claims.Batch) { b.Records = records("job", 0, claims.MaxStoreBatch+1) },
		"year 10000":       func(b *claims.Batch) { b.Card.Changed = time.Date(10000, 1, 1, 0, 0, 0, 0, time.UTC) },
		"card too large":   func(b *claims.Batch) { b.Card.Words = []string{strings.Repeat("w", claims.MaxStoreCard)} },
	} {
		b := batch("job", 0, 2)
		change(&b)
		_, err := store.Commit(t.Context(), b)
		require.NotEmpty(t, claims.CodeOf(err), "%s: %v", name, err)
	}
	size, err := store.LogSize(t.Context())
	require.NoError(t, err)
	require.Zero(t, size)
	require.NotEmpty(t, claims.CodeOf(store.PutNote(t.Context(), "", nil)))
	require.NotEmpty(t, claims.CodeOf(store.PutNote(t.Context(), strings.Repeat("n", 200), nil)))
	_, err = s.Open(t).Shop(t.Context(), "")
	require.NotEmpty(t, claims.CodeOf(err))
}

func testCardOnly(t *testing.T, s Stores) {
	store := openShop(t, s)
	_, err := store.Commit(t.Context(), claims.Batch{Job: "job"})
	require.ErrorIs(t, err, claims.ErrAbsent)
	commit(t, store, batch("job", 0, 2))
	commit(t, store, claims.Batch{Job: "job", Was: 2, Card: claims.Card{Number: "new"}})
	_, err = store.Commit(t.Context(), claims.Batch{Job: "job", Was: 1, Card: claims.Card{Number: "late"}})
	require.ErrorIs(t, err, claims.ErrStale)
	card, err := store.Card(t.Context(), "job")
	require.NoError(t, err)
	require.Equal(t, claims.Card{Job: "job", Number: "new", Entries: 2}, card)
	require.Len(t, RequireWholeLog(t, store), 2)
}

func testOddBytes(t *testing.T, s Stores) {
	all := open(t, s)
	odd := []string{"\x00", "\x00\x00", "\xff", "\xff\xff", "a", "a\x00", "a\x00b", "ab", "/", "a/b", "\xc3\x28", "日本", "\x01a", "\x02aa", strings.Repeat("\xff", claims.MaxStoreID)}
	for i, shop := range odd {
		store := shopOf(t, all, claims.ShopID(shop))
		for j, job := range odd {
			b := batch(claims.JobID(job), 0, 1)
			b.Records[0].Entry = claims.EntryID(job) // the same entry ids in every shop
			b.Records[0].Line = fmt.Appendf(nil, "%d %d \x00\xff\n", i, j)
			b.Card.Keys = map[string][]string{job: odd}
			b.Card.Words = []string{job}
			commit(t, store, b)
		}
	}
	for i, shop := range odd {
		store := shopOf(t, all, claims.ShopID(shop))
		RequireWholeLog(t, store)
		for j, job := range odd {
			got, head, err := store.Records(t.Context(), claims.JobID(job), 0, 0)
			require.NoError(t, err)
			require.EqualValues(t, 1, head)
			require.Equal(t, []claims.Record{{
				Entry: claims.EntryID(job), Job: claims.JobID(job), Leaf: uint64(j), Line: fmt.Appendf(nil, "%d %d \x00\xff\n", i, j),
			}}, got)
			card, err := store.Card(t.Context(), claims.JobID(job))
			require.NoError(t, err)
			require.Equal(t, claims.JobID(job), card.Job)
		}
		page, err := store.Cards(t.Context(), claims.CardQuery{Order: "opened"})
		require.NoError(t, err)
		require.Len(t, page.Cards, len(odd))
		page, err = store.Cards(t.Context(), claims.CardQuery{Key: "a", Value: "a\x00"})
		require.NoError(t, err)
		require.Len(t, page.Cards, 1)
		page, err = store.Cards(t.Context(), claims.CardQuery{Words: []string{"a"}})
		require.NoError(t, err)
		require.Len(t, page.Cards, 5, "a, a0, a0b, ab, a/b begin with a")
	}
}

func testBigRecords(t *testing.T, s Stores) {
	store := openShop(t, s)
	b := batch("job", 0, 3)
	b.Records[0].Line = bytes.Repeat([]byte("k"), claims.MaxStoreLine)
	b.Records[1].Line = []byte{}
	b.Records[2].Line = bytes.Repeat([]byte{0xff}, 5000)
	want := append([]claims.Record{}, b.Records...)
	commit(t, store, b)
	leaves := RequireWholeLog(t, store)
	for i, r := range leaves {
		require.True(t, bytes.Equal(want[i].Line, r.Line), "record %d", i)
	}
}

func testRecordsPaging(t *testing.T, s Stores) {
	store := openShop(t, s)
	const n = 40
	for i := range n { // two jobs turn about, so that a job's leaves are not next to each other
		commit(t, store, batch("job", claims.Head(i), 1))
		commit(t, store, batch("job2", claims.Head(i), 1))
	}
	whole, head, err := store.Records(t.Context(), "job", 0, 0)
	require.NoError(t, err)
	require.EqualValues(t, n, head)
	require.Len(t, whole, n)
	for i, r := range whole {
		require.Equal(t, claims.EntryID(fmt.Sprintf("job/e%d", i)), r.Entry)
	}
	for _, size := range []int{1, 7, n - 1, n, n + 1} {
		var got []claims.Record
		for len(got) < n {
			page, head, err := store.Records(t.Context(), "job", claims.Head(len(got)), size)
			require.NoError(t, err)
			require.EqualValues(t, n, head)
			require.Len(t, page, min(size, n-len(got)))
			got = append(got, page...)
		}
		require.Equal(t, whole, got, "pages of %d", size)
	}
	for _, from := range []claims.Head{n, n + 1, 1<<64 - 1} {
		page, head, err := store.Records(t.Context(), "job", from, 0)
		require.NoError(t, err)
		require.EqualValues(t, n, head)
		require.Empty(t, page)
	}
}

func testLookup(t *testing.T, s Stores) {
	store := openShop(t, s)
	found, err := store.Lookup(t.Context(), []claims.EntryID{"none"})
	require.NoError(t, err)
	require.Empty(t, found)
	commit(t, store, batch("a", 0, 3))
	commit(t, store, batch("b", 0, 3))
	found, err = store.Lookup(t.Context(), []claims.EntryID{"b/e2", "none", "a/e0", "a/e0", ""})
	require.NoError(t, err)
	require.Equal(t, map[claims.EntryID]claims.Record{
		"b/e2": {Entry: "b/e2", Job: "b", Leaf: 5, Line: []byte(`{"job":"b","n":2}`)},
		"a/e0": {Entry: "a/e0", Job: "a", Leaf: 0, Line: []byte(`{"job":"a","n":0}`)},
	}, found)
}

func testCopies(t *testing.T, s Stores) {
	store := openShop(t, s)
	b := batch("job", 0, 1)
	b.Card.Words = []string{"word"}
	b.Card.Keys = map[string][]string{"serial": {"s"}}
	note := []byte("note")
	commit(t, store, b)
	require.NoError(t, store.PutNote(t.Context(), "n", note))
	want := string(b.Records[0].Line)
	spoil := func(line []byte) {
		require.Equal(t, want, string(line))
		for i := range line {
			line[i] = '!'
		}
	}
	spoil(b.Records[0].Line)
	b.Card.Words[0], b.Card.Keys["serial"][0], note[0] = "x", "x", '!'
	for range 2 { // what the first round spoils the second must not see
		list, _, err := store.Records(t.Context(), "job", 0, 0)
		require.NoError(t, err)
		spoil(list[0].Line)
		found, err := store.Lookup(t.Context(), []claims.EntryID{"job/e0"})
		require.NoError(t, err)
		spoil(found["job/e0"].Line)
		spoil(allLeaves(t, store)[0].Line)
		page, err := store.Cards(t.Context(), claims.CardQuery{Key: "serial", Value: "s", Words: []string{"word"}})
		require.NoError(t, err)
		require.Len(t, page.Cards, 1)
		page.Cards[0].Words[0], page.Cards[0].Keys["serial"][0] = "y", "y"
		value, err := store.Note(t.Context(), "n")
		require.NoError(t, err)
		require.Equal(t, "note", string(value))
		value[0] = '?'
		require.NoError(t, store.Notes(t.Context(), "", func(_ string, value []byte) bool {
			require.Equal(t, "note", string(value))
			value[0] = '?'
			return true
		}))
	}
}
