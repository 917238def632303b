// Package storetest is the conformance suite that every claims.Store passes: the promises in the comments of
// claims/store.go, one test each. Tree hashes are judged by transparency-dev/merkle, an implementation of RFC 6962
// that the stores do not use.
//
// It imports claims and test libraries, and is imported only by tests.
package storetest

import (
	"context"
	"encoding/hex"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"github.com/transparency-dev/merkle/compact"
	"github.com/transparency-dev/merkle/rfc6962"
	"golang.org/x/mod/sumdb/tlog"

	"kickplate/claims"
)

// Stores opens what is to be tested.
type Stores struct {
	// Open returns an empty store.
	Open func(t testing.TB) claims.Stores
	// Reopen closes the store and opens what it left behind; nil when it keeps nothing.
	Reopen func(t testing.TB, s claims.Stores) claims.Stores
}

// Run runs the whole suite.
func Run(t *testing.T, s Stores) {
	for _, test := range []struct {
		name string
		run  func(t *testing.T, s Stores)
	}{
		{"CommitReadsBack", testCommitReadsBack},
		{"CommitStale", testCommitStale},
		{"CommitTakenLeavesNothing", testCommitTaken},
		{"CommitRefusesWhatCannotBeKept", testCommitRefuses},
		{"CommitWithoutRecordsReplacesTheCard", testCardOnly},
		{"OddBytes", testOddBytes},
		{"BigRecords", testBigRecords},
		{"RecordsPaging", testRecordsPaging},
		{"Lookup", testLookup},
		{"CopiesOnly", testCopies},
		{"LogIsRFC6962", testLogTree},
		{"LogHashesAbsent", testLogHashesAbsent},
		{"LeavesFromAnywhere", testLeaves},
		{"ChainInOrder", testChain},
		{"CardsInOrder", testCardsInOrder},
		{"CardsFilters", testCardsFilters},
		{"CardsManyMatches", testCardsManyMatches},
		{"CardsCursorStable", testCardsCursor},
		{"CardsBadQuery", testCardsBadQuery},
		{"CardReplacementLeavesNoIndex", testCardReplacement},
		{"Notes", testNotes},
		{"NearAgainstBruteForce", testNear},
		{"NearFollowsTheCard", testNearFollows},
		{"EraseKeepsTheTree", testErase},
		{"EraseRefuses", testEraseRefuses},
		{"ShopsApart", testShopsApart},
		{"ManyWritersOneJob", testManyWritersOneJob},
		{"ManyWritersManyJobs", testManyWritersManyJobs},
		{"CancelledContext", testCancelled},
		{"Closed", testClosed},
		{"YieldMayWrite", testYieldMayWrite},
		{"Reopen", testReopen},
		{"Model", testModel},
	} {
		t.Run(test.name, func(t *testing.T) { test.run(t, s) })
	}
}

// start is the day the invented jobs begin.
func start() time.Time { return time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC) }

func open(t testing.TB, s Stores) claims.Stores {
	t.Helper()
	all := s.Open(t)
	t.Cleanup(func() { require.NoError(t, all.Close()) })
	return all
}

func openShop(t testing.TB, s Stores) claims.Store {
	t.Helper()
	return shopOf(t, open(t, s), "shop-1")
}

func shopOf(t testing.TB, all claims.Stores, id claims.ShopID) claims.Store {
	t.Helper()
	store, err := all.Shop(t.Context(), id)
	require.NoError(t, err)
	return store
}

// records makes n records of a job, numbered from first.
func records(job claims.JobID, first, n int) []claims.Record {
	var list []claims.Record
	for i := first; i < first+n; i++ {
		list = append(list, claims.Record{
			Entry: claims.EntryID(fmt.Sprintf("%s/e%d", job, i)),
			Line:  fmt.Appendf(nil, `{"job":%q,"n":%d}`, job, i),
		})
	}
	return list
}

func cardOf(job claims.JobID, at time.Time) claims.Card {
	return claims.Card{Job: job, Opened: at, Changed: at, Gaps: 1}
}

func batch(job claims.JobID, was claims.Head, n int) claims.Batch {
	return claims.Batch{Job: job, Was: was, Records: records(job, int(was), n), Card: cardOf(job, start().Add(time.Duration(was)*time.Minute))}
}

func commit(t testing.TB, s claims.Store, b claims.Batch) {
	t.Helper()
	head, err := s.Commit(t.Context(), b)
	require.NoError(t, err)
	require.Equal(t, b.Was+claims.Head(len(b.Records)), head)
}

// allLeaves reads the whole log.
func allLeaves(t testing.TB, s claims.Store) []claims.Record {
	t.Helper()
	var list []claims.Record
	require.NoError(t, s.Leaves(t.Context(), 0, func(r claims.Record) bool {
		list = append(list, r)
		return true
	}))
	return list
}

// RequireWholeLog checks that the shop's log is without gap or double and that every tree hash the store keeps is
// the one an independent RFC 6962 implementation computes from the lines. It returns the leaves.
func RequireWholeLog(t testing.TB, s claims.Store) []claims.Record {
	t.Helper()
	leaves := allLeaves(t, s)
	size, err := s.LogSize(t.Context())
	require.NoError(t, err)
	require.Len(t, leaves, int(size))
	factory := compact.RangeFactory{Hash: rfc6962.DefaultHasher.HashChildren}
	tree := factory.NewEmptyRange(0)
	var indexes []int64
	var want [][32]byte
	seen := make(map[claims.EntryID]bool)
	for i, r := range leaves {
		require.EqualValues(t, i, r.Leaf, "leaf numbers are consecutive")
		require.False(t, seen[r.Entry], "entry %q is in the log once", r.Entry)
		seen[r.Entry] = true
		hash := rfc6962.DefaultHasher.HashLeaf(r.Line)
		if stub, ok := claims.ReadStub(r.Line); ok { // the hash of what stood there
			hash, err = hex.DecodeString(string(stub.LeafHash))
			require.NoError(t, err)
		}
		require.NoError(t, tree.Append(hash, func(id compact.NodeID, hash []byte) {
			indexes = append(indexes, tlog.StoredHashIndex(int(id.Level), int64(id.Index)))
			want = append(want, [32]byte(hash))
		}))
	}
	require.Len(t, indexes, int(tlog.StoredHashCount(int64(size))))
	got, err := s.LogHashes(t.Context(), indexes)
	require.NoError(t, err)
	require.Len(t, got, len(want))
	for i := range want {
		require.Equal(t, want[i], got[i], "tree hash %d", indexes[i])
	}
	if size > 0 {
		root, err := tree.GetRootHash(nil)
		require.NoError(t, err)
		require.Equal(t, [32]byte(root), Root(t, s, size), "root of %d leaves", size)
	}
	return leaves
}

// Root computes the root of the first size leaves through LogHashes.
func Root(t testing.TB, s claims.Store, size uint64) [32]byte {
	t.Helper()
	root, err := tlog.TreeHash(int64(size), tlog.HashReaderFunc(func(indexes []int64) ([]tlog.Hash, error) {
		raw, err := s.LogHashes(context.Background(), indexes)
		list := make([]tlog.Hash, len(raw))
		for i := range raw {
			list[i] = raw[i]
		}
		return list, err
	}))
	require.NoError(t, err)
	return root
}
