package claims

import (
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// chain makes n links as an honest device would, sent at once.
func chain(t *testing.T, n int) []Link {
	var links []Link
	prev := Digest("")
	for i := range n {
		k := made(t, i+1, KindNote, i, Note{Text: "x"}, func(e *Entry) { e.Seq, e.Prev = uint64(i+1), prev })
		k.Leaf = uint64(i)
		l, ok := LinkOf(k)
		require.True(t, ok)
		links = append(links, l)
		prev = l.Hash
	}
	return links
}

func TestReadChain(t *testing.T) {
	kinds := func(r ChainReport) []string {
		var out []string
		for _, f := range r.Flaws {
			out = append(out, f.Kind)
		}
		return out
	}
	t.Run("Whole", func(t *testing.T) {
		links := chain(t, 9)
		rand.Shuffle(len(links), func(i, k int) { links[i], links[k] = links[k], links[i] })
		r := ReadChain("phone-1", links)
		assert.Empty(t, r.Flaws)
		assert.EqualValues(t, 9, r.Last)
	})
	t.Run("LostPhoneLeavesAGap", func(t *testing.T) {
		links := slices.Delete(chain(t, 9), 3, 6)
		r := ReadChain("phone-1", links)
		require.Equal(t, []string{"gap"}, kinds(r))
		assert.EqualValues(t, 4, r.Flaws[0].Seq)
		assert.EqualValues(t, 6, r.Flaws[0].Until)
	})
	t.Run("Fork", func(t *testing.T) {
		links := chain(t, 4)
		other := links[2]
		other.Entry, other.Hash, other.Leaf = testID(99), DigestOf([]byte("other")), 50
		r := ReadChain("phone-1", append(links, other))
		assert.Equal(t, []string{"fork"}, kinds(r))
	})
	t.Run("RewrittenEntry", func(t *testing.T) {
		links := chain(t, 4)
		links[1].Hash = DigestOf([]byte("rewritten"))
		assert.Equal(t, []string{"broken"}, kinds(ReadChain("phone-1", links)))
	})
	t.Run("Late", func(t *testing.T) {
		links := chain(t, 4)
		links[1].Leaf, links[1].Received = 40, links[3].Received.Add(26*time.Hour)
		r := ReadChain("phone-1", links)
		require.Equal(t, []string{"late"}, kinds(r))
		assert.Contains(t, r.Flaws[0].Says, "26 h")
	})
	t.Run("Nothing", func(t *testing.T) { assert.Zero(t, ReadChain("phone-1", nil).Entries) })
}
