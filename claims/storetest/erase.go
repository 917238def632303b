package storetest

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

// stubFor makes the stub of a record's line. The hash is worked out here: SHA-256 over a zero byte and the line (RFC 6962, 2.1).
func stubFor(t testing.TB, r claims.Record) []byte {
	t.Helper()
	sum := sha256.Sum256(append([]byte{0}, r.Line...))
	line, err := claims.Stub{By: "eraser", LeafHash: claims.Digest(hex.EncodeToString(sum[:])), ID: r.Entry, Job: r.Job, Kind: "note", At: start()}.Line()
	require.NoError(t, err)
	return line
}

func erasure(t testing.TB, s claims.Store, job claims.JobID, ids ...claims.EntryID) claims.Erasure {
	t.Helper()
	found, err := s.Lookup(t.Context(), ids)
	require.NoError(t, err)
	_, head, err := s.Records(t.Context(), job, 0, 1)
	require.NoError(t, err)
	e := claims.Erasure{Job: job, Was: head, Lines: map[claims.EntryID][]byte{}, Card: cardOf(job, start())}
	for _, r := range found {
		e.Lines[r.Entry] = stubFor(t, r)
	}
	return e
}

// testErase: lines go, everything that proves their place stays.
func testErase(t *testing.T, s Stores) {
	store := openShop(t, s)
	a := batch("a", 0, 40)
	a.Card.Words, a.Card.Customer = []string{"quillfeather"}, "Quillfeather"
	a.Card.Keys = map[string][]string{"customer": {"quillfeather"}}
	a.Card.Prints = []claims.PhotoPrint{{Digest: claims.DigestOf([]byte("x")), Print: 99}}
	for i := range a.Records {
		a.Records[i].Device, a.Records[i].Seq = "phone", uint64(i+1)
	}
	commit(t, store, a)
	commit(t, store, batch("b", 0, 10))
	before := RequireWholeLog(t, store)
	var roots [][32]byte
	for size := range uint64(len(before)) {
		roots = append(roots, Root(t, store, size+1))
	}

	e := erasure(t, store, "a", "a/e0", "a/e7", "a/e39")
	require.NoError(t, store.Erase(t.Context(), e))
	require.NoError(t, store.Erase(t.Context(), e), "again is fine")
	require.NoError(t, store.Scrub(t.Context()))
	require.NoError(t, store.Scrub(t.Context()), "again is fine")

	for size, root := range roots {
		require.Equal(t, root, Root(t, store, uint64(size+1)), "the root of the first %d leaves stays", size+1)
	}
	erased := map[claims.EntryID]bool{"a/e0": true, "a/e7": true, "a/e39": true}
	check := func(where string, list []claims.Record) {
		for _, r := range list {
			stub, ok := claims.ReadStub(r.Line)
			require.Equal(t, erased[r.Entry], ok, "%s: %s", where, r.Entry)
			if ok {
				require.Equal(t, r.Entry, stub.ID)
				require.Equal(t, claims.LeafHash(before[r.Leaf].Line), claims.LeafHash(r.Line), "%s: %s", where, r.Entry)
			}
		}
	}
	after := allLeaves(t, store)
	require.Len(t, after, len(before))
	check("leaves", after)
	recs, head, err := store.Records(t.Context(), "a", 0, 0)
	require.NoError(t, err)
	require.EqualValues(t, 40, head)
	check("records", recs)
	var chain []claims.Record
	require.NoError(t, store.Chain(t.Context(), "phone", func(r claims.Record) bool { chain = append(chain, r); return true }))
	require.Len(t, chain, 40)
	check("chain", chain)
	found, err := store.Lookup(t.Context(), []claims.EntryID{"a/e0", "a/e1"})
	require.NoError(t, err)
	require.Len(t, found, 2)

	for _, q := range []claims.CardQuery{{Words: []string{"quill"}}, {Key: "customer", Value: "quillfeather"}} {
		page, err := store.Cards(t.Context(), q)
		require.NoError(t, err)
		require.Empty(t, page.Cards, "the old card's indexes are gone: %+v", q)
	}
	near, err := store.Near(t.Context(), 99, 0, 0)
	require.NoError(t, err)
	require.Empty(t, near)
	card, err := store.Card(t.Context(), "a")
	require.NoError(t, err)
	require.Empty(t, card.Customer)
	require.EqualValues(t, 40, card.Entries)

	commit(t, store, batch("b", 10, 3)) // the log goes on
	require.Len(t, RequireWholeLog(t, store), 53, "and its tree is whole, stubs and all")
}

// testEraseRefuses: what can't be erased leaves everything as it is.
func testEraseRefuses(t *testing.T, s Stores) {
	store := openShop(t, s)
	commit(t, store, batch("a", 0, 5))
	commit(t, store, batch("b", 0, 5))
	good := erasure(t, store, "a", "a/e1")
	for name, c := range map[string]struct {
		change func(e *claims.Erasure)
		is     error
	}{
		"another head":  {func(e *claims.Erasure) { e.Was = 4 }, claims.ErrStale},
		"no such job":   {func(e *claims.Erasure) { e.Job, e.Lines = "c", nil }, claims.ErrAbsent},
		"no such entry": {func(e *claims.Erasure) { e.Lines["a/e9"] = stubFor(t, claims.Record{Entry: "a/e9", Job: "a"}) }, claims.ErrAbsent},
		"entry of b": {func(e *claims.Erasure) {
			e.Lines["b/e1"] = stubFor(t, claims.Record{Entry: "b/e1", Job: "a", Line: records("b", 1, 1)[0].Line})
		}, claims.ErrAbsent},
		"wrong hash": {func(e *claims.Erasure) {
			e.Lines["a/e2"] = stubFor(t, claims.Record{Entry: "a/e2", Job: "a", Line: []byte("x")})
		}, nil},
		"not a stub":     {func(e *claims.Erasure) { e.Lines["a/e2"] = []byte(`{"received":"x"}`) }, nil},
		"stub of others": {func(e *claims.Erasure) { e.Lines["a/e2"] = e.Lines["a/e1"] }, nil},
		"no lines left":  {func(e *claims.Erasure) { e.Lines["a/e2"] = nil }, nil},
	} {
		e := good
		e.Lines = map[claims.EntryID][]byte{}
		for id, line := range good.Lines {
			e.Lines[id] = line
		}
		c.change(&e)
		err := store.Erase(t.Context(), e)
		if c.is != nil {
			require.ErrorIs(t, err, c.is, name)
		} else {
			require.Equal(t, claims.Invalid, claims.CodeOf(err), "%s: %v", name, err)
		}
	}
	for _, r := range RequireWholeLog(t, store) {
		_, stub := claims.ReadStub(r.Line)
		require.False(t, stub, fmt.Sprint(r.Entry))
	}
	require.NoError(t, store.Erase(t.Context(), good))
}
