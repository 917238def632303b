package boltstore_test

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"kickplate/claims"
	"kickplate/claims/boltstore"
	"kickplate/claims/storetest"
)

func TestConforms(t *testing.T) {
	paths := map[claims.Stores]string{}
	open := func(t testing.TB, path string) claims.Stores {
		s, err := boltstore.Open(path, boltstore.Options{})
		require.NoError(t, err)
		paths[s] = path
		return s
	}
	storetest.Run(t, storetest.Stores{
		Open: func(t testing.TB) claims.Stores { return open(t, filepath.Join(t.TempDir(), "kickplate.db")) },
		Reopen: func(t testing.TB, s claims.Stores) claims.Stores {
			require.NoError(t, s.Close())
			return open(t, paths[s])
		},
	})
}
