package storetest

import (
	"fmt"
	"math/bits"
	"math/rand/v2"
	"sort"
	"testing"

	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

// testNear plants neighbours at every distance around several fingerprints, on bits chosen to be spread and to be
// crowded, and compares with measuring all of them.
func testNear(t *testing.T, s Stores) {
	store := openShop(t, s)
	rng := rand.New(rand.NewPCG(3, 4))
	type photo struct {
		claims.PhotoPrint
		job claims.JobID
	}
	var photos []photo
	centres := []uint64{0, ^uint64(0), 0xffff, 0x0123456789abcdef, rng.Uint64(), rng.Uint64()}
	var prints []uint64
	for _, c := range centres {
		prints = append(prints, c, c) // two photos with one fingerprint
		for n := 1; n <= 13; n++ {
			for range 8 {
				prints = append(prints, flip(rng, c, n, 64))
			}
			prints = append(prints, flip(rng, c, n, 16))
		}
	}
	for range 500 {
		prints = append(prints, rng.Uint64())
	}
	rng.Shuffle(len(prints), func(i, j int) { prints[i], prints[j] = prints[j], prints[i] })
	for i := 0; i < len(prints); i += 50 {
		b := batch(claims.JobID(fmt.Sprintf("job%d", i/50)), 0, 1)
		for k, p := range prints[i:min(i+50, len(prints))] {
			pp := claims.PhotoPrint{Digest: claims.DigestOf(fmt.Appendf(nil, "photo %d", i+k)), Print: p}
			b.Card.Prints = append(b.Card.Prints, pp)
			photos = append(photos, photo{pp, b.Job})
		}
		commit(t, store, b)
	}
	for _, c := range append(centres, rng.Uint64(), flip(rng, centres[3], 3, 64)) {
		for within := 0; within <= claims.MaxNearBits; within++ {
			want := []claims.NearPhoto{}
			for _, p := range photos {
				if d := bits.OnesCount64(p.Print ^ c); d <= within {
					want = append(want, claims.NearPhoto{Job: p.job, Digest: p.Digest, Bits: d})
				}
			}
			got, err := store.Near(t.Context(), c, within, claims.MaxNearPhotos)
			require.NoError(t, err)
			require.True(t, sort.SliceIsSorted(got, func(i, j int) bool { return got[i].Bits < got[j].Bits }), "nearest first")
			require.ElementsMatch(t, want, got, "%016x within %d", c, within)
			few, err := store.Near(t.Context(), c, within, 5)
			require.NoError(t, err)
			require.Len(t, few, min(5, len(want)))
			for i, p := range few {
				require.Equal(t, got[i].Bits, p.Bits, "the limit cuts off the farthest")
			}
		}
	}
	for _, bad := range [][2]int{{-1, 1}, {11, 1}, {1, -1}, {1, 1001}} {
		_, err := store.Near(t.Context(), 0, bad[0], bad[1])
		require.NotEmpty(t, claims.CodeOf(err), "%v", bad)
	}
}

// flip changes n different bits among the lowest ones.
func flip(rng *rand.Rand, print uint64, n, among int) uint64 {
	for _, bit := range rng.Perm(among)[:n] {
		print ^= 1 << bit
	}
	return print
}

func testNearFollows(t *testing.T, s Stores) {
	store := openShop(t, s)
	x, y := claims.DigestOf([]byte("x")), claims.DigestOf([]byte("y"))
	near := func(print uint64) []claims.NearPhoto {
		list, err := store.Near(t.Context(), print, 10, 0)
		require.NoError(t, err)
		return list
	}
	const p, far = 0x00ff00ff00ff00ff, 0xff00ff00ff00ff00
	a, b := batch("a", 0, 1), batch("b", 0, 1)
	a.Card.Prints = []claims.PhotoPrint{{Digest: x, Print: p}, {Digest: x, Print: p}, {Digest: y, Print: p}}
	b.Card.Prints = []claims.PhotoPrint{{Digest: x, Print: p}}
	commit(t, store, a)
	commit(t, store, b)
	require.ElementsMatch(t, []claims.NearPhoto{{Job: "a", Digest: x}, {Job: "a", Digest: y}, {Job: "b", Digest: x}}, near(p))

	a2 := batch("a", 1, 1)
	a2.Card.Prints = []claims.PhotoPrint{{Digest: y, Print: far}}
	commit(t, store, a2)
	require.Equal(t, []claims.NearPhoto{{Job: "b", Digest: x}}, near(p), "the other job's photo stays")
	require.Equal(t, []claims.NearPhoto{{Job: "a", Digest: y}}, near(far))
	commit(t, store, batch("b", 1, 1))
	require.Empty(t, near(p))
	commit(t, store, batch("a", 2, 1))
	require.Empty(t, near(far))
}
