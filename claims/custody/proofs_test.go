package custody_test

import (
	"encoding/hex"
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/require"
	"github.com/transparency-dev/merkle/proof"
	"github.com/transparency-dev/merkle/rfc6962"
	"golang.org/x/mod/sumdb/tlog"

	"kickplate/claims/custody"
)

func hexes(hashes []tlog.Hash) []string {
	list := []string{}
	for _, h := range hashes {
		list = append(list, hex.EncodeToString(h[:]))
	}
	return list
}

func raw(hashes []tlog.Hash) [][]byte {
	var list [][]byte
	for _, h := range hashes {
		list = append(list, h[:])
	}
	return list
}

// TestVectors: roots are published test vectors of RFC 6962 trees; the sources are named in the file.
func TestVectors(t *testing.T) {
	v := vectorFile(t)
	s := vectorShop(t)
	require.Len(t, v.Roots, 9)
	for size := 1; size < len(v.Roots); size++ {
		c, err := custody.At(t.Context(), s, uint64(size))
		require.NoError(t, err)
		require.Equal(t, v.Roots[size], hex.EncodeToString(c.Root[:]), "root of %d leaves", size)
	}
	_, err := custody.At(t.Context(), s, 0)
	require.ErrorIs(t, err, custody.ErrEmpty)
	_, err = custody.At(t.Context(), s, 9)
	require.Error(t, err)

	c, err := custody.At(t.Context(), s, v.Inclusion.Size)
	require.NoError(t, err)
	p, err := custody.Prove(t.Context(), s, c, []uint64{v.Inclusion.Leaf})
	require.NoError(t, err)
	require.Equal(t, v.Inclusion.Path, hexes(p.Leaves[0].Path))
	q, err := custody.ProveConsistency(t.Context(), s, v.Consistency.Old, v.Consistency.New)
	require.NoError(t, err)
	require.Equal(t, v.Consistency.Path, hexes(q.Path))
}

// TestProofsIndependent has every proof of every tree of up to 40 leaves judged by transparency-dev/merkle.
func TestProofsIndependent(t *testing.T) {
	const most = 40
	s := memShop(t)
	for n := range most {
		appendLines(t, s, jsonLine(n))
	}
	var at [most + 1]custody.Checkpoint
	for size := uint64(1); size <= most; size++ {
		c, err := custody.At(t.Context(), s, size)
		require.NoError(t, err)
		at[size] = c
		var all []uint64
		for leaf := range size {
			all = append(all, leaf)
		}
		p, err := custody.Prove(t.Context(), s, c, all)
		require.NoError(t, err)
		require.Empty(t, p.Check(c))
		for i, l := range p.Leaves {
			require.Equal(t, rfc6962.DefaultHasher.HashLeaf(jsonLine(i)), l.Hash[:])
			require.NoError(t, proof.VerifyInclusion(rfc6962.DefaultHasher, l.Leaf, size, l.Hash[:], raw(l.Path), c.Root[:]))
		}
		for old := uint64(1); old <= size; old++ {
			q, err := custody.ProveConsistency(t.Context(), s, old, size)
			require.NoError(t, err)
			require.NoError(t, proof.VerifyConsistency(rfc6962.DefaultHasher, old, size, raw(q.Path), at[old].Root[:], c.Root[:]))
			require.NoError(t, q.Check(at[old], c))
		}
	}
}

func TestProofsRefuse(t *testing.T) {
	s := memShop(t)
	for n := range 20 {
		appendLines(t, s, jsonLine(n))
	}
	c, err := custody.At(t.Context(), s, 20)
	require.NoError(t, err)
	_, err = custody.Prove(t.Context(), s, c, []uint64{20})
	require.Error(t, err)
	for _, bad := range [][2]uint64{{0, 5}, {6, 5}, {5, 21}} {
		_, err := custody.ProveConsistency(t.Context(), s, bad[0], bad[1])
		require.Error(t, err, "%v", bad)
	}
	p, err := custody.Prove(t.Context(), s, c, []uint64{7, 3, 7, 19})
	require.NoError(t, err)
	require.Len(t, p.Leaves, 3)
	require.Empty(t, p.Check(c))
	for i := range p.Leaves {
		for name, change := range map[string]func(l *custody.LeafProof){
			"hash":        func(l *custody.LeafProof) { l.Hash[0] ^= 1 },
			"path":        func(l *custody.LeafProof) { l.Path[len(l.Path)-1][31] ^= 1 },
			"shorter":     func(l *custody.LeafProof) { l.Path = l.Path[1:] },
			"longer":      func(l *custody.LeafProof) { l.Path = append(l.Path, tlog.Hash{}) },
			"other place": func(l *custody.LeafProof) { l.Leaf ^= 1 },
		} {
			spoilt, err := custody.Prove(t.Context(), s, c, []uint64{7, 3, 19})
			require.NoError(t, err)
			change(&spoilt.Leaves[i])
			require.Len(t, spoilt.Check(c), 1, "%s of proof %d", name, i)
		}
	}
	other := c
	other.Root[0] ^= 1
	require.Len(t, p.Check(other), 1)

	old, err := custody.At(t.Context(), s, 11)
	require.NoError(t, err)
	q, err := custody.ProveConsistency(t.Context(), s, 11, 20)
	require.NoError(t, err)
	require.NoError(t, q.Check(old, c))
	require.Error(t, q.Check(old, other))
	spoilt := old
	spoilt.Root[5] ^= 4
	require.Error(t, q.Check(spoilt, c), "another history")
	spoilt = old
	spoilt.Origin = "kickplate/other"
	require.Error(t, q.Check(spoilt, c))
	q.Path[0][0] ^= 1
	require.Error(t, q.Check(old, c))
}

func TestProofsJSON(t *testing.T) {
	s := memShop(t)
	for n := range 5 {
		appendLines(t, s, jsonLine(n))
	}
	c, err := custody.At(t.Context(), s, 5)
	require.NoError(t, err)
	p, err := custody.Prove(t.Context(), s, c, []uint64{4, 0})
	require.NoError(t, err)
	text, err := p.JSON()
	require.NoError(t, err)
	again, err := custody.ParseProofs(text)
	require.NoError(t, err)
	require.Equal(t, p, again)
	for name, bad := range map[string]string{
		"not JSON":      `{`,
		"more":          string(text) + "{}",
		"unknown field": `{"format":"kickplate-custody-proofs/1","origin":"o","size":1,"root":"` + c.Root.String() + `","leaves":[],"x":1}`,
		"format":        `{"format":"kickplate-custody-proofs/2","origin":"o","size":1,"root":"` + c.Root.String() + `","leaves":[]}`,
		"hash":          `{"format":"kickplate-custody-proofs/1","origin":"o","size":1,"root":"AAAA","leaves":[]}`,
		"origin":        `{"format":"kickplate-custody-proofs/1","origin":"a b","size":1,"root":"` + c.Root.String() + `","leaves":[]}`,
		"leaf":          `{"format":"kickplate-custody-proofs/1","origin":"o","size":1,"root":"` + c.Root.String() + `","leaves":[{"leaf":1,"hash":"` + c.Root.String() + `","path":[]}]}`,
	} {
		_, err := custody.ParseProofs([]byte(bad))
		require.Error(t, err, name)
	}
	q, err := custody.ProveConsistency(t.Context(), s, 2, 5)
	require.NoError(t, err)
	text, err = json.Marshal(q)
	require.NoError(t, err)
	back, err := custody.ParseConsistency(text)
	require.NoError(t, err)
	require.Equal(t, q, back)
	_, err = custody.ParseConsistency([]byte(`{"format":"kickplate-custody-consistency/1","old":5,"new":2,"path":[]}`))
	require.Error(t, err)
}
