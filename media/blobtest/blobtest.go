// Package blobtest is the conformance suite of claims.Blobs: whatever keeps originals, on whatever disk or service,
// must pass it. It is imported by tests only, and must never import an implementation.
package blobtest

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

// Suite says how to test an implementation.
type Suite struct {
	// Open returns an empty store that lives until the test ends.
	Open func(t *testing.T) claims.BlobStores
	// Scratch returns a folder on the file system where Adopt expects its files; nil = t.TempDir.
	Scratch func(t *testing.T) string
	// InMemory is set when the store keeps the bytes in memory, so that the memory bound cannot hold.
	InMemory bool
}

// Run runs every check as a subtest.
func Run(t *testing.T, s Suite) {
	t.Helper()
	for _, c := range []struct {
		name string
		run  func(*testing.T, Suite)
	}{
		{"Put/ThenOpen", putThenOpen},
		{"Put/Empty", putEmpty},
		{"Put/SameBytesAgain", putAgain},
		{"Put/OtherBytesRefused", putWrong},
		{"Put/OtherBytesRefusedForKeptDigest", putWrongForKept},
		{"Put/ReaderErrorLeavesNothing", putBroken},
		{"Put/CancelLeavesNothing", putCancelled},
		{"Put/BadDigest", putBadDigest},
		{"Put/ManyAtOnce", putAtOnce},
		{"Put/BoundedMemory", putBig},
		{"Open/ReadsAnywhere", openAnywhere},
		{"Open/Absent", openAbsent},
		{"List/InOrder", listInOrder},
		{"List/Stops", listStops},
		{"Shops/Apart", shopsApart},
		{"Derived/LastWins", derivedLast},
		{"Derived/BadNames", derivedNames},
		{"Derived/Absent", derivedAbsent},
		{"Erase/TakesAllAway", eraseAll},
		{"Erase/ThenPutAgain", eraseThenPut},
		{"Adopt/TakesOver", adoptTakes},
		{"Adopt/OtherBytesRefused", adoptWrong},
	} {
		t.Run(c.name, func(t *testing.T) { c.run(t, s) })
	}
}

func open(t *testing.T, s Suite) claims.Blobs { return shop(t, s.Open(t), "shop-a") }

func shop(t *testing.T, st claims.BlobStores, id claims.ShopID) claims.Blobs {
	t.Helper()
	b, err := st.Shop(t.Context(), id)
	require.NoError(t, err)
	return b
}

// sample returns n bytes that differ for each seed.
func sample(seed uint64, n int) []byte {
	var key [32]byte
	key[0], key[1], key[2] = byte(seed), byte(seed>>8), byte(seed>>16)
	out := make([]byte, n)
	_, _ = rand.NewChaCha8(key).Read(out)
	return out
}

func put(t *testing.T, b claims.Blobs, data []byte) claims.Digest {
	t.Helper()
	d := claims.DigestOf(data)
	require.NoError(t, b.Put(t.Context(), d, bytes.NewReader(data)))
	return d
}

func read(t *testing.T, b claims.Blobs, d claims.Digest) []byte {
	t.Helper()
	f, err := b.Open(t.Context(), d)
	require.NoError(t, err)
	defer func() { assert.NoError(t, f.Close()) }()
	data, err := io.ReadAll(f)
	require.NoError(t, err)
	assert.Equal(t, int64(len(data)), f.Size())
	return data
}

// requireEmpty says that the store holds nothing under d and lists nothing.
func requireEmpty(t *testing.T, b claims.Blobs, d claims.Digest) {
	t.Helper()
	_, err := b.Has(t.Context(), d)
	require.ErrorIs(t, err, claims.ErrAbsent)
	_, err = b.Open(t.Context(), d)
	require.ErrorIs(t, err, claims.ErrAbsent)
	require.NoError(t, b.List(t.Context(), func(d claims.Digest, _ int64) bool {
		t.Errorf("%s was left behind", d)
		return true
	}))
}

func putThenOpen(t *testing.T, s Suite) {
	b := open(t, s)
	for _, n := range []int{1, 31, 4096, 128<<10 - 1, 128 << 10, 128<<10 + 1, 1<<20 + 7} {
		data := sample(uint64(n), n)
		d := put(t, b, data)
		require.True(t, bytes.Equal(data, read(t, b, d)), "%d bytes", n)
		size, err := b.Has(t.Context(), d)
		require.NoError(t, err)
		require.Equal(t, int64(n), size)
	}
}

// The digest of no bytes is published in FIPS 180-4 examples (SHA-256 of the empty message).
func putEmpty(t *testing.T, s Suite) {
	b := open(t, s)
	const empty = claims.Digest("e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855")
	require.NoError(t, b.Put(t.Context(), empty, bytes.NewReader(nil)))
	require.Empty(t, read(t, b, empty))
}

func putAgain(t *testing.T, s Suite) {
	b := open(t, s)
	data := sample(1, 5000)
	d := put(t, b, data)
	put(t, b, data)
	// A reader that hands out one byte at a time brings the same bytes.
	require.NoError(t, b.Put(t.Context(), d, onebyte{bytes.NewReader(data)}))
	require.Equal(t, data, read(t, b, d))
	n := 0
	require.NoError(t, b.List(t.Context(), func(claims.Digest, int64) bool { n++; return true }))
	require.Equal(t, 1, n)
}

func putWrong(t *testing.T, s Suite) {
	b := open(t, s)
	data := sample(2, 300_000)
	d := claims.DigestOf(data)
	for name, wrong := range map[string][]byte{
		"flipped":    flip(data, 150_000),
		"cut":        data[:len(data)-1],
		"lengthened": append(slices.Clone(data), 0),
		"empty":      nil,
	} {
		require.ErrorIs(t, b.Put(t.Context(), d, bytes.NewReader(wrong)), claims.ErrDigest, name)
		requireEmpty(t, b, d)
	}
	put(t, b, data) // and the right bytes are welcome afterwards
	require.Equal(t, data, read(t, b, d))
}

func putWrongForKept(t *testing.T, s Suite) {
	b := open(t, s)
	data := sample(3, 9000)
	d := put(t, b, data)
	require.ErrorIs(t, b.Put(t.Context(), d, bytes.NewReader(flip(data, 0))), claims.ErrDigest)
	require.Equal(t, data, read(t, b, d))
}

func putBroken(t *testing.T, s Suite) {
	b := open(t, s)
	data := sample(4, 400_000)
	d := claims.DigestOf(data)
	cause := errors.New("the line went dead")
	err := b.Put(t.Context(), d, io.MultiReader(bytes.NewReader(data[:200_000]), failing{cause}))
	require.ErrorIs(t, err, cause)
	requireEmpty(t, b, d)
	// All bytes, then an error instead of the end: not acknowledged either.
	require.ErrorIs(t, b.Put(t.Context(), d, io.MultiReader(bytes.NewReader(data), failing{cause})), cause)
	requireEmpty(t, b, d)
}

func putCancelled(t *testing.T, s Suite) {
	b := open(t, s)
	data := sample(5, 400_000)
	d := claims.DigestOf(data)
	ctx, cancel := context.WithCancel(t.Context())
	r := io.MultiReader(bytes.NewReader(data[:200_000]), onRead{cancel}, bytes.NewReader(data[200_000:]))
	require.ErrorIs(t, b.Put(ctx, d, r), context.Canceled)
	requireEmpty(t, b, d)
	require.ErrorIs(t, b.Put(ctx, d, bytes.NewReader(data)), context.Canceled)
	requireEmpty(t, b, d)
}

func putBadDigest(t *testing.T, s Suite) {
	b := open(t, s)
	good := string(claims.DigestOf([]byte("x")))
	for _, d := range []string{"", "ab", good[:63], good + "0", "../../../../etc/passwd", "AB" + good[2:], good[:60] + "/../"} {
		require.Error(t, b.Put(t.Context(), claims.Digest(d), bytes.NewReader([]byte("x"))), "%q", d)
		_, err := b.Open(t.Context(), claims.Digest(d))
		require.Error(t, err, "%q", d)
		_, err = b.Has(t.Context(), claims.Digest(d))
		require.Error(t, err, "%q", d)
		require.Error(t, b.PutDerived(t.Context(), claims.Digest(d), "view", nil), "%q", d)
	}
	require.NoError(t, b.List(t.Context(), func(d claims.Digest, _ int64) bool { t.Errorf("%s is there", d); return true }))
}

func putAtOnce(t *testing.T, s Suite) {
	b := open(t, s)
	const writers = 16
	for round := range 4 {
		data := sample(uint64(100+round), 200_000)
		d := claims.DigestOf(data)
		var wg sync.WaitGroup
		errs := make([]error, writers)
		for i := range writers {
			wg.Go(func() {
				body := data
				if i%4 == 3 {
					body = flip(data, i)
				}
				err := b.Put(t.Context(), d, bytes.NewReader(body))
				switch {
				case i%4 == 3 && !errors.Is(err, claims.ErrDigest):
					errs[i] = fmt.Errorf("wrong bytes gave %v", err)
				case i%4 != 3 && err != nil:
					errs[i] = err
				case i%4 != 3:
					// nil means it is there, whole, now.
					if f, err := b.Open(t.Context(), d); err != nil {
						errs[i] = err
					} else {
						got, _ := io.ReadAll(f)
						f.Close()
						if !bytes.Equal(got, data) {
							errs[i] = fmt.Errorf("%d bytes back, not the same", len(got))
						}
					}
				}
			})
		}
		wg.Wait()
		for _, err := range errs {
			require.NoError(t, err)
		}
	}
}

func putBig(t *testing.T, s Suite) {
	if s.InMemory {
		return
	}
	const size = 96 << 20
	h := &endless{left: size}
	sum, err := digestOf(h)
	require.NoError(t, err)
	b := open(t, s)
	runtime.GC()
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	require.NoError(t, b.Put(t.Context(), sum, &endless{left: size}))
	runtime.ReadMemStats(&after)
	require.Less(t, after.TotalAlloc-before.TotalAlloc, uint64(24<<20), "bytes allocated while storing %d", size)
	n, err := b.Has(t.Context(), sum)
	require.NoError(t, err)
	require.EqualValues(t, size, n)
}

func openAnywhere(t *testing.T, s Suite) {
	b := open(t, s)
	data := sample(6, 100_000)
	f, err := b.Open(t.Context(), put(t, b, data))
	require.NoError(t, err)
	defer f.Close()
	part := make([]byte, 1000)
	_, err = f.ReadAt(part, 55_555)
	require.NoError(t, err)
	require.Equal(t, data[55_555:56_555], part)
	at, err := f.Seek(-10, io.SeekEnd)
	require.NoError(t, err)
	require.EqualValues(t, 99_990, at)
	rest, err := io.ReadAll(f)
	require.NoError(t, err)
	require.Equal(t, data[99_990:], rest)
	_, err = f.ReadAt(part, 99_999)
	require.ErrorIs(t, err, io.EOF)
}

func openAbsent(t *testing.T, s Suite) {
	requireEmpty(t, open(t, s), claims.DigestOf([]byte("never stored")))
}

func listInOrder(t *testing.T, s Suite) {
	b := open(t, s)
	want := map[claims.Digest]int64{}
	for i := range 120 {
		data := sample(uint64(1000+i), 10+i)
		want[put(t, b, data)] = int64(len(data))
	}
	require.NoError(t, b.PutDerived(t.Context(), claims.DigestOf(sample(1000, 10)), "view", []byte("no original")))
	var order []claims.Digest
	require.NoError(t, b.List(t.Context(), func(d claims.Digest, size int64) bool {
		require.Equal(t, want[d], size)
		order = append(order, d)
		return true
	}))
	require.Len(t, order, len(want))
	require.True(t, slices.IsSorted(order))
}

func listStops(t *testing.T, s Suite) {
	b := open(t, s)
	for i := range 5 {
		put(t, b, sample(uint64(i), 10))
	}
	n := 0
	require.NoError(t, b.List(t.Context(), func(claims.Digest, int64) bool { n++; return n < 3 }))
	require.Equal(t, 3, n)
}

func shopsApart(t *testing.T, s Suite) {
	st := s.Open(t)
	a, b := shop(t, st, "shop-a"), shop(t, st, "shop-b")
	data := sample(7, 1000)
	d := put(t, a, data)
	require.NoError(t, a.PutDerived(t.Context(), d, "view", []byte("a's")))
	requireEmpty(t, b, d)
	_, err := b.Derived(t.Context(), d, "view")
	require.ErrorIs(t, err, claims.ErrAbsent)
	put(t, b, data)
	require.Equal(t, data, read(t, b, d))
	require.Equal(t, data, read(t, shop(t, st, "shop-a"), d), "a second handle reaches the same shop")
	_, err = st.Shop(t.Context(), "")
	require.Error(t, err)
}

func derivedLast(t *testing.T, s Suite) {
	b := open(t, s)
	d := put(t, b, sample(8, 100))
	for _, v := range [][]byte{[]byte("first"), []byte("second, longer"), []byte("3")} {
		require.NoError(t, b.PutDerived(t.Context(), d, "view", v))
		got, err := b.Derived(t.Context(), d, "view")
		require.NoError(t, err)
		require.Equal(t, v, got)
	}
	require.NoError(t, b.PutDerived(t.Context(), d, "facts-1.json", []byte("{}")))
	got, err := b.Derived(t.Context(), d, "view")
	require.NoError(t, err)
	require.Equal(t, []byte("3"), got)
	none := claims.DigestOf([]byte("none"))
	require.ErrorIs(t, b.PutDerived(t.Context(), none, "thumb", []byte("t")), claims.ErrAbsent, "nothing derived without its original")
	_, err = b.Derived(t.Context(), none, "thumb")
	require.ErrorIs(t, err, claims.ErrAbsent)
}

func derivedNames(t *testing.T, s Suite) {
	b := open(t, s)
	d := put(t, b, sample(9, 100))
	for _, name := range []string{"", "View", "a/b", "../x", "a b", "ä", "x\x00", string(bytes.Repeat([]byte("a"), 41))} {
		require.Error(t, b.PutDerived(t.Context(), d, name, []byte("x")), "%q", name)
		_, err := b.Derived(t.Context(), d, name)
		require.Error(t, err, "%q", name)
	}
	require.NoError(t, b.PutDerived(t.Context(), d, string(bytes.Repeat([]byte("a"), 40)), []byte("x")))
}

func derivedAbsent(t *testing.T, s Suite) {
	b := open(t, s)
	_, err := b.Derived(t.Context(), put(t, b, sample(10, 100)), "view")
	require.ErrorIs(t, err, claims.ErrAbsent)
}

func scratch(t *testing.T, s Suite, data []byte) string {
	t.Helper()
	dir := ""
	if s.Scratch != nil {
		dir = s.Scratch(t)
	} else {
		dir = t.TempDir()
	}
	path := filepath.Join(dir, "upload")
	require.NoError(t, os.WriteFile(path, data, 0o600))
	return path
}

func adoptTakes(t *testing.T, s Suite) {
	b := open(t, s)
	a, ok := b.(claims.Adopter)
	if !ok {
		return
	}
	data := sample(11, 70_000)
	d := claims.DigestOf(data)
	for range 2 { // the second time the original is already there
		path := scratch(t, s, data)
		require.NoError(t, a.Adopt(t.Context(), d, path))
		require.NoFileExists(t, path)
		require.Equal(t, data, read(t, b, d))
	}
}

func adoptWrong(t *testing.T, s Suite) {
	b := open(t, s)
	a, ok := b.(claims.Adopter)
	if !ok {
		return
	}
	data := sample(12, 70_000)
	d := claims.DigestOf(data)
	path := scratch(t, s, flip(data, 1))
	require.ErrorIs(t, a.Adopt(t.Context(), d, path), claims.ErrDigest)
	require.FileExists(t, path)
	requireEmpty(t, b, d)
	require.Error(t, a.Adopt(t.Context(), d, path+"-absent"))
}
