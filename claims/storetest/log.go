package storetest

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

// testLogTree commits batches of many sizes and has the independent implementation check the tree after each.
func testLogTree(t *testing.T, s Stores) {
	store := openShop(t, s)
	RequireWholeLog(t, store)
	heads := map[claims.JobID]claims.Head{}
	roots := map[uint64][32]byte{}
	for i, n := range []int{1, 1, 2, 1, 3, 8, 5, 13, 1, 29, 64, 2, 100} {
		job := claims.JobID(fmt.Sprintf("job%d", i%3))
		commit(t, store, batch(job, heads[job], n))
		heads[job] += claims.Head(n)
		leaves := RequireWholeLog(t, store)
		roots[uint64(len(leaves))] = Root(t, store, uint64(len(leaves)))
	}
	for size, root := range roots {
		require.Equal(t, root, Root(t, store, size), "the root of the first %d leaves stays", size)
	}
}

func testLogHashesAbsent(t *testing.T, s Stores) {
	store := openShop(t, s)
	size, err := store.LogSize(t.Context())
	require.NoError(t, err)
	require.Zero(t, size)
	list, err := store.LogHashes(t.Context(), nil)
	require.NoError(t, err)
	require.Empty(t, list)
	_, err = store.LogHashes(t.Context(), []int64{0})
	require.ErrorIs(t, err, claims.ErrAbsent)
	commit(t, store, batch("job", 0, 2)) // three hashes
	for _, index := range []int64{3, 1 << 40, -1, -1 << 63} {
		_, err = store.LogHashes(t.Context(), []int64{0, index})
		require.ErrorIs(t, err, claims.ErrAbsent, "index %d", index)
	}
	list, err = store.LogHashes(t.Context(), []int64{2, 0, 2})
	require.NoError(t, err)
	require.Equal(t, list[0], list[2])
	require.NotEqual(t, list[0], list[1])
}

func testLeaves(t *testing.T, s Stores) {
	store := openShop(t, s)
	const n = 700 // more than one page of any store
	commit(t, store, batch("job", 0, n))
	for _, from := range []uint64{0, 1, 255, 256, 257, 511, n - 1, n, n + 5} {
		next := from
		require.NoError(t, store.Leaves(t.Context(), from, func(r claims.Record) bool {
			require.Equal(t, next, r.Leaf)
			require.Equal(t, claims.EntryID(fmt.Sprintf("job/e%d", next)), r.Entry)
			require.Equal(t, claims.JobID("job"), r.Job)
			next++
			return true
		}))
		require.Equal(t, max(from, n), next, "from %d", from)
	}
	count := 0
	require.NoError(t, store.Leaves(t.Context(), 3, func(claims.Record) bool {
		count++
		return count < 300
	}))
	require.Equal(t, 300, count, "false ends it")
}

func testNotes(t *testing.T, s Stores) {
	store := openShop(t, s)
	_, err := store.Note(t.Context(), "a")
	require.ErrorIs(t, err, claims.ErrAbsent)
	require.NoError(t, store.PutNote(t.Context(), "absent", nil), "deleting what is not there is fine")
	put := map[string]string{"a": "1", "a/b": "2", "a/b/c": "", "a/c": "4", "ab": "5", "b": "6", "\xff": "7"}
	for name, value := range put {
		require.NoError(t, store.PutNote(t.Context(), name, []byte("before")))
		require.NoError(t, store.PutNote(t.Context(), name, []byte(value)))
	}
	for name, value := range put {
		got, err := store.Note(t.Context(), name)
		require.NoError(t, err, "%q", name)
		require.NotNil(t, got)
		require.Equal(t, value, string(got))
	}
	list := func(prefix string) (names []string) {
		require.NoError(t, store.Notes(t.Context(), prefix, func(name string, value []byte) bool {
			require.Equal(t, put[name], string(value))
			names = append(names, name)
			return true
		}))
		return names
	}
	require.Equal(t, []string{"a", "a/b", "a/b/c", "a/c", "ab", "b", "\xff"}, list(""))
	require.Equal(t, []string{"a/b", "a/b/c", "a/c"}, list("a/"))
	require.Equal(t, []string{"\xff"}, list("\xff"))
	require.Empty(t, list("c"))
	require.NoError(t, store.PutNote(t.Context(), "a/b", nil))
	_, err = store.Note(t.Context(), "a/b")
	require.ErrorIs(t, err, claims.ErrAbsent)
	require.Equal(t, []string{"a/b/c", "a/c"}, list("a/"))
	require.NoError(t, store.Notes(t.Context(), "", func(string, []byte) bool { return false }))

	for i := range 600 { // more than one page
		require.NoError(t, store.PutNote(t.Context(), fmt.Sprintf("many/%04d", i), []byte("x")))
	}
	next := 0
	require.NoError(t, store.Notes(t.Context(), "many/", func(name string, _ []byte) bool {
		require.Equal(t, fmt.Sprintf("many/%04d", next), name)
		next++
		return true
	}))
	require.Equal(t, 600, next)
}

func testYieldMayWrite(t *testing.T, s Stores) {
	store := openShop(t, s)
	commit(t, store, batch("job", 0, 10))
	seen := 0
	require.NoError(t, store.Leaves(t.Context(), 0, func(r claims.Record) bool {
		if seen++; seen <= 10 {
			commit(t, store, batch(claims.JobID(fmt.Sprintf("while%d", r.Leaf)), 0, 1))
		}
		return r.Leaf < 9
	}))
	require.NoError(t, store.PutNote(t.Context(), "n/1", []byte("1")))
	require.NoError(t, store.Notes(t.Context(), "n/", func(name string, _ []byte) bool {
		require.NoError(t, store.PutNote(t.Context(), name, nil))
		return true
	}))
	require.Len(t, RequireWholeLog(t, store), 20)
}

func testShopsApart(t *testing.T, s Stores) {
	all := open(t, s)
	a, b := shopOf(t, all, "shop"), shopOf(t, all, "shop2")
	full := batch("job", 0, 2)
	full.Card.Words, full.Card.Keys = []string{"word"}, map[string][]string{"serial": {"s"}}
	full.Card.Prints = []claims.PhotoPrint{{Digest: claims.DigestOf(nil), Print: 5}}
	full.Card.Due = start()
	commit(t, a, full)
	require.NoError(t, a.PutNote(t.Context(), "note", []byte("a")))

	for _, q := range []claims.CardQuery{{}, {Order: "due"}, {Order: "opened"}, {Key: "serial", Value: "s"}, {Words: []string{"word"}}} {
		page, err := b.Cards(t.Context(), q)
		require.NoError(t, err)
		require.Empty(t, page.Cards)
	}
	_, _, err := b.Records(t.Context(), "job", 0, 0)
	require.ErrorIs(t, err, claims.ErrAbsent)
	_, err = b.Card(t.Context(), "job")
	require.ErrorIs(t, err, claims.ErrAbsent)
	_, err = b.Note(t.Context(), "note")
	require.ErrorIs(t, err, claims.ErrAbsent)
	found, err := b.Lookup(t.Context(), []claims.EntryID{"job/e0"})
	require.NoError(t, err)
	require.Empty(t, found)
	near, err := b.Near(t.Context(), 5, 10, 0)
	require.NoError(t, err)
	require.Empty(t, near)
	size, err := b.LogSize(t.Context())
	require.NoError(t, err)
	require.Zero(t, size)

	commit(t, b, batch("job", 0, 5)) // the same ids are another shop's own
	require.Len(t, RequireWholeLog(t, a), 2)
	require.Len(t, RequireWholeLog(t, b), 5)
}

func testReopen(t *testing.T, s Stores) {
	if s.Reopen == nil {
		return // it promises nothing beyond the process
	}
	all := s.Open(t)
	store := shopOf(t, all, "shop-1")
	first := batch("job", 0, 20)
	first.Card.Words, first.Card.Due = []string{"word"}, start()
	first.Card.Prints = []claims.PhotoPrint{{Digest: claims.DigestOf(nil), Print: 5}}
	commit(t, store, first)
	require.NoError(t, store.PutNote(t.Context(), "n", []byte("v")))
	before, err := store.Card(t.Context(), "job")
	require.NoError(t, err)
	root := Root(t, store, 20)

	all = s.Reopen(t, all)
	t.Cleanup(func() { require.NoError(t, all.Close()) })
	store = shopOf(t, all, "shop-1")
	require.Len(t, RequireWholeLog(t, store), 20)
	require.Equal(t, root, Root(t, store, 20))
	after, err := store.Card(t.Context(), "job")
	require.NoError(t, err)
	require.Equal(t, before, after)
	value, err := store.Note(t.Context(), "n")
	require.NoError(t, err)
	require.Equal(t, "v", string(value))
	page, err := store.Cards(t.Context(), claims.CardQuery{Order: "due", Words: []string{"word"}})
	require.NoError(t, err)
	require.Len(t, page.Cards, 1)
	near, err := store.Near(t.Context(), 4, 1, 0)
	require.NoError(t, err)
	require.Equal(t, []claims.NearPhoto{{Job: "job", Digest: claims.DigestOf(nil), Bits: 1}}, near)
	commit(t, store, batch("job", 20, 1))
	RequireWholeLog(t, store)
}
