package custody_test

import (
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	bolt "go.etcd.io/bbolt"

	"kickplate/claims"
	"kickplate/claims/custody"
)

// jobOfLeaf is how fill spreads its entries over three jobs.
func jobOfLeaf(leaf int) claims.JobID { return claims.JobID(id(1_000_000 + leaf%3)) }

// orderErase commits an erase entry of a job that names leaves.
func (f *shopFile) orderErase(t *testing.T, n int, job claims.JobID, leaves ...[2]uint64) claims.EntryID {
	t.Helper()
	body, err := json.Marshal(claims.Erase{Reason: "asked by letter", Basis: "asked", Leaves: leaves})
	require.NoError(t, err)
	r := entryLine(t, n, job, "erase", string(body))
	f.with(t, func(s claims.Store) {
		_, head, err := s.Records(t.Context(), job, 0, 1)
		require.NoError(t, err)
		_, err = s.Commit(t.Context(), claims.Batch{Job: job, Was: head, Records: []claims.Record{r}, Card: claims.Card{Opened: time.Unix(1, 0), Changed: time.Unix(99, 0)}})
		require.NoError(t, err)
	})
	return r.Entry
}

// erase puts stubs in the place of leaves of one job, as the service does, and takes their originals.
func (f *shopFile) erase(t *testing.T, by claims.EntryID, job claims.JobID, leaves ...uint64) {
	t.Helper()
	f.with(t, func(s claims.Store) {
		recs, head, err := s.Records(t.Context(), job, 0, 0)
		require.NoError(t, err)
		e := claims.Erasure{Job: job, Was: head, Lines: map[claims.EntryID][]byte{}, Card: claims.Card{Opened: time.Unix(1, 0), Changed: time.Unix(99, 0)}}
		for _, r := range recs {
			for _, leaf := range leaves {
				if r.Leaf != leaf {
					continue
				}
				k, err := claims.KeptOf(r)
				require.NoError(t, err)
				line, err := claims.StubOf(k, r.Line, by).Line()
				require.NoError(t, err)
				e.Lines[r.Entry] = line
				originals, err := custody.OriginalsOf(k)
				require.NoError(t, err)
				for _, d := range originals {
					require.NoError(t, f.blobs.Erase(t.Context(), d))
				}
			}
		}
		require.Len(t, e.Lines, len(leaves))
		require.NoError(t, s.Erase(t.Context(), e))
	})
}

func (f *shopFile) witnessed(c *custody.Checker) {
	c.Witnessed, c.Codes = [][]byte{f.early}, []custody.Code{f.code}
}

// What was erased by the rules is told apart from what was taken away.
func TestCheckErased(t *testing.T) {
	t.Run("erased and on record", func(t *testing.T) {
		f := newShopFile(t)
		by := f.orderErase(t, 500, jobOfLeaf(0), [2]uint64{0, 0}, [2]uint64{15, 15})
		f.erase(t, by, jobOfLeaf(0), 0, 15)
		r := f.check(t, f.witnessed)
		require.True(t, r.OK(), say(r))
		require.Equal(t, 2, r.Erased)
		require.Len(t, r.Erasings, 1)
		require.Equal(t, custody.Erasing{Leaf: fileEntries, Job: jobOfLeaf(0), By: "ada", At: r.Erasings[0].At, Basis: "asked", Entries: 2}, r.Erasings[0])
		require.Equal(t, fileEntries/4-1, r.Originals, "the erased photo is not looked for")
		require.Empty(t, r.NotChecked)
		// Checkpoints and codes from before still hold, and so do proofs made now of what was erased.
		f.with(t, func(s claims.Store) {
			signed, c, err := f.notary.Checkpoint(t.Context(), s)
			require.NoError(t, err)
			require.NotEmpty(t, signed)
			_, err = custody.Prove(t.Context(), s, c, []uint64{0, 15})
			require.NoError(t, err)
		})
	})
	t.Run("broken off before the lines went", func(t *testing.T) {
		f := newShopFile(t)
		f.orderErase(t, 500, jobOfLeaf(0), [2]uint64{0, 0}, [2]uint64{15, 15})
		require.NoError(t, f.blobs.Erase(t.Context(), claims.DigestOf([]byte("photo 15"))))
		r := f.check(t, f.witnessed)
		require.True(t, r.OK(), say(r))
		require.Equal(t, []string{fmt.Sprintf("2 entries that entry %d erases and that are still there: the erasing was broken off; start the server, which finishes it", fileEntries)}, r.NotChecked)
	})
	for _, c := range []struct {
		name string
		do   func(t *testing.T, f *shopFile)
		says string
	}{
		{"a stub without an erase entry", func(t *testing.T, f *shopFile) { f.erase(t, claims.EntryID(id(777)), jobOfLeaf(0), 9) },
			"[entry] entry 9: its content is gone, and no entry says that it was erased"},
		{"a stub that names an entry of another kind", func(t *testing.T, f *shopFile) { f.erase(t, claims.EntryID(id(12)), jobOfLeaf(0), 9) },
			"[entry] entry 9: its content is gone, and no entry says that it was erased"},
		{"more gone than the erase entry names", func(t *testing.T, f *shopFile) {
			by := f.orderErase(t, 500, jobOfLeaf(0), [2]uint64{0, 0})
			f.erase(t, by, jobOfLeaf(0), 0, 9)
		}, "[entry] entry 9: its content is gone, and entry 40, by which it is said to have been erased, does not name it"},
		{"the erase entry of another job", func(t *testing.T, f *shopFile) {
			by := f.orderErase(t, 500, jobOfLeaf(1), [2]uint64{0, 39})
			f.erase(t, by, jobOfLeaf(0), 9)
		}, "[entry] entry 9: its content is gone, and entry 40, by which it is said to have been erased, does not name it"},
		{"a stub with another hash", func(t *testing.T, f *shopFile) {
			by := f.orderErase(t, 500, jobOfLeaf(0), [2]uint64{9, 9})
			f.erase(t, by, jobOfLeaf(0), 9)
			f.tamper(t, func(b *bolt.Bucket) error {
				leaves := b.Bucket([]byte("leaves"))
				v := append([]byte(nil), leaves.Get(n8(9))...)
				at := len(v) - 1
				for i := range v {
					if string(v[i:min(len(v), i+12)]) == `"leafHash":"` {
						at = i + 12
						break
					}
				}
				v[at] = map[bool]byte{true: 'b', false: 'a'}[v[at] == 'a']
				return leaves.Put(n8(9), v)
			})
		}, "[log] entry 9: its line is not the one that was put into the log"},
		{"the line is simply deleted", func(t *testing.T, f *shopFile) {
			f.orderErase(t, 500, jobOfLeaf(0), [2]uint64{9, 9})
			f.tamper(t, func(b *bolt.Bucket) error { return b.Bucket([]byte("leaves")).Delete(n8(9)) })
		}, "[log] entry 9: it is missing from the log"},
		{"an original that no erase entry speaks of", func(t *testing.T, f *shopFile) {
			by := f.orderErase(t, 500, jobOfLeaf(0), [2]uint64{0, 0})
			f.erase(t, by, jobOfLeaf(0), 0)
			require.NoError(t, f.blobs.Erase(t.Context(), claims.DigestOf([]byte("photo 15"))))
		}, "[missing] original " + string(claims.DigestOf([]byte("photo 15"))) + ": its bytes are not there"},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := newShopFile(t)
			c.do(t, f)
			r := f.check(t, f.witnessed)
			require.False(t, r.OK())
			require.Contains(t, say(r), c.says)
		})
	}
}
