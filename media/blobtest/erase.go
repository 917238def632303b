package blobtest

import (
	"testing"

	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

func eraseAll(t *testing.T, s Suite) {
	st := s.Open(t)
	b, other := shop(t, st, "shop-a"), shop(t, st, "shop-b")
	one, two := put(t, b, sample(1, 5000)), put(t, b, sample(2, 100))
	put(t, other, sample(1, 5000))
	for _, d := range []claims.Digest{one, two} {
		require.NoError(t, b.PutDerived(t.Context(), d, "view.jpg", []byte("view of "+d)))
		require.NoError(t, b.PutDerived(t.Context(), d, "facts.json", []byte("facts")))
	}
	require.NoError(t, b.Erase(t.Context(), one))
	_, err := b.Has(t.Context(), one)
	require.ErrorIs(t, err, claims.ErrAbsent)
	_, err = b.Open(t.Context(), one)
	require.ErrorIs(t, err, claims.ErrAbsent)
	for _, name := range []string{"view.jpg", "facts.json"} {
		_, err = b.Derived(t.Context(), one, name)
		require.ErrorIs(t, err, claims.ErrAbsent)
		data, err := b.Derived(t.Context(), two, name)
		require.NoError(t, err, "another original keeps what is derived from it")
		require.NotEmpty(t, data)
	}
	require.Equal(t, sample(2, 100), read(t, b, two))
	require.Equal(t, sample(1, 5000), read(t, other, one), "another shop keeps its own")
	var left []claims.Digest
	require.NoError(t, b.List(t.Context(), func(d claims.Digest, _ int64) bool {
		left = append(left, d)
		return true
	}))
	require.Equal(t, []claims.Digest{two}, left)
	require.NoError(t, b.Erase(t.Context(), one), "again is fine")
	require.NoError(t, b.Erase(t.Context(), claims.DigestOf([]byte("never here"))))
	require.Error(t, b.Erase(t.Context(), "../../two"), "not a digest")
}

func eraseThenPut(t *testing.T, s Suite) {
	b := open(t, s)
	d := put(t, b, sample(3, 3000))
	require.NoError(t, b.Erase(t.Context(), d))
	require.Equal(t, d, put(t, b, sample(3, 3000)))
	require.Equal(t, sample(3, 3000), read(t, b, d))
	_, err := b.Derived(t.Context(), d, "view.jpg")
	require.ErrorIs(t, err, claims.ErrAbsent)
}
