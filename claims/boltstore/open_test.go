package boltstore_test

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	bolt "go.etcd.io/bbolt"
	bolterrors "go.etcd.io/bbolt/errors"

	"kickplate/claims"
	"kickplate/claims/boltstore"
	"kickplate/claims/storetest"
)

func TestOpen(t *testing.T) {
	t.Run("NewFileIsPrivate", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "k.db")
		s, err := boltstore.Open(path, boltstore.Options{})
		require.NoError(t, err)
		require.NoError(t, s.Close())
		require.Equal(t, os.FileMode(0o600), mode(t, path))
		require.NoError(t, os.Chmod(path, 0o644))
		s, err = boltstore.Open(path, boltstore.Options{})
		require.NoError(t, err)
		require.NoError(t, s.Close())
		require.Equal(t, os.FileMode(0o600), mode(t, path), "a file that others could read is closed to them")
	})
	t.Run("ErrLocked", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "k.db")
		s, err := boltstore.Open(path, boltstore.Options{})
		require.NoError(t, err)
		_, err = boltstore.Open(path, boltstore.Options{LockTimeout: 20 * time.Millisecond})
		require.ErrorIs(t, err, bolterrors.ErrTimeout)
		require.ErrorContains(t, err, "another process has this file open")
		require.NoError(t, s.Close())
		s, err = boltstore.Open(path, boltstore.Options{})
		require.NoError(t, err)
		require.NoError(t, s.Close())
		require.NoError(t, s.Close(), "closing twice is fine")
	})
	t.Run("ErrNewerFormat", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "k.db")
		s, err := boltstore.Open(path, boltstore.Options{})
		require.NoError(t, err)
		require.NoError(t, s.Close())
		edit(t, path, func(tx *bolt.Tx) error { return tx.Bucket([]byte("format")).Put([]byte("version"), []byte("3")) })
		_, err = boltstore.Open(path, boltstore.Options{})
		require.ErrorContains(t, err, "start the newer program")
	})
	// A program that does not know stubs must not take a file that holds some for a damaged one.
	t.Run("ErasingRaisesTheFormat", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "k.db")
		format := func() (version string) {
			edit(t, path, func(tx *bolt.Tx) error {
				version = string(tx.Bucket([]byte("format")).Get([]byte("version")))
				return nil
			})
			return version
		}
		s, err := boltstore.Open(path, boltstore.Options{})
		require.NoError(t, err)
		store, err := s.Shop(t.Context(), "shop")
		require.NoError(t, err)
		line := []byte("a line")
		_, err = store.Commit(t.Context(), claims.Batch{Job: "job", Records: []claims.Record{{Entry: "e", Line: line}}})
		require.NoError(t, err)
		require.NoError(t, s.Close())
		require.Equal(t, "1", format())
		s, err = boltstore.Open(path, boltstore.Options{})
		require.NoError(t, err)
		store, err = s.Shop(t.Context(), "shop")
		require.NoError(t, err)
		stub, err := claims.StubOf(claims.Kept{Entry: claims.Entry{ID: "e", Job: "job"}}, line, "by").Line()
		require.NoError(t, err)
		require.NoError(t, store.Erase(t.Context(), claims.Erasure{Job: "job", Was: 1, Lines: map[claims.EntryID][]byte{"e": stub}}))
		require.NoError(t, s.Close())
		require.Equal(t, "2", format())
		s, err = boltstore.Open(path, boltstore.Options{})
		require.NoError(t, err)
		require.NoError(t, s.Close())
	})
	t.Run("ErrForeign", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "k.db")
		edit(t, path, func(tx *bolt.Tx) error { _, err := tx.CreateBucket([]byte("recipes")); return err })
		before, err := os.ReadFile(path)
		require.NoError(t, err)
		_, err = boltstore.Open(path, boltstore.Options{})
		require.ErrorContains(t, err, "belongs to another program")
		after, err := os.ReadFile(path)
		require.NoError(t, err)
		require.Equal(t, before, after)
	})
	t.Run("ErrNotADatabase", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "k.db")
		require.NoError(t, os.WriteFile(path, []byte(strings.Repeat("not a database\n", 1000)), 0o600))
		_, err := boltstore.Open(path, boltstore.Options{})
		require.ErrorContains(t, err, "not a data file of Kickplate")
	})
	t.Run("ErrNoFolder", func(t *testing.T) {
		_, err := boltstore.Open(filepath.Join(t.TempDir(), "none", "k.db"), boltstore.Options{})
		require.ErrorIs(t, err, os.ErrNotExist)
	})
}

func mode(t *testing.T, path string) os.FileMode {
	t.Helper()
	info, err := os.Stat(path)
	require.NoError(t, err)
	return info.Mode().Perm()
}

func edit(t testing.TB, path string, fn func(tx *bolt.Tx) error) {
	t.Helper()
	db, err := bolt.Open(path, 0o600, &bolt.Options{Timeout: time.Second})
	require.NoError(t, err)
	require.NoError(t, db.Update(fn))
	require.NoError(t, db.Close())
}

// TestFull lets the file reach its size limit while many commit at once: those refused left nothing, those accepted
// are whole, and the store goes on for what still fits.
func TestFull(t *testing.T) {
	path := filepath.Join(t.TempDir(), "k.db")
	all, err := boltstore.Open(path, boltstore.Options{MaxSize: 4 << 20})
	require.NoError(t, err)
	store, err := all.Shop(t.Context(), "shop")
	require.NoError(t, err)
	var mu sync.Mutex
	accepted, refused := map[claims.JobID]bool{}, 0
	var wg sync.WaitGroup
	for w := range 16 {
		wg.Go(func() {
			for i := range 40 {
				job := claims.JobID(fmt.Sprintf("w%d-%d", w, i))
				line := make([]byte, 1000)
				if i%4 == 0 {
					line = make([]byte, 300_000)
				}
				_, err := store.Commit(t.Context(), claims.Batch{Job: job, Records: []claims.Record{{Entry: claims.EntryID(job), Line: line}}})
				mu.Lock()
				switch {
				case err == nil:
					accepted[job] = true
				case errors.Is(err, bolterrors.ErrMaxSizeReached):
					refused++
				default:
					t.Errorf("unexpected: %v", err)
				}
				mu.Unlock()
			}
		})
	}
	wg.Wait()
	require.NotEmpty(t, accepted)
	require.Positive(t, refused)
	for range 2 {
		leaves := storetest.RequireWholeLog(t, store)
		require.Len(t, leaves, len(accepted))
		for _, r := range leaves {
			require.True(t, accepted[r.Job])
		}
		require.NoError(t, all.Close())
		all, err = boltstore.Open(path, boltstore.Options{})
		require.NoError(t, err)
		store, err = all.Shop(t.Context(), "shop")
		require.NoError(t, err)
	}
	require.NoError(t, all.Close())
}

// TestDamagedFile overwrites parts of the file with noise: every call returns, with data or with an error, and none
// takes the process down.
func TestDamagedFile(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "k.db")
	all, err := boltstore.Open(path, boltstore.Options{})
	require.NoError(t, err)
	store, err := all.Shop(t.Context(), "shop")
	require.NoError(t, err)
	for i := range 200 {
		job := claims.JobID(fmt.Sprintf("job%d", i))
		_, err := store.Commit(t.Context(), claims.Batch{Job: job, Records: []claims.Record{{Entry: claims.EntryID(job), Line: []byte(job)}}})
		require.NoError(t, err)
	}
	require.NoError(t, all.Close())
	whole, err := os.ReadFile(path)
	require.NoError(t, err)
	noticed := 0
	for page := 2; page < len(whole)/4096; page++ {
		spoilt := append([]byte(nil), whole...)
		for i := range 64 {
			spoilt[page*4096+i] ^= byte(0xa5 + i*page)
		}
		path := filepath.Join(dir, fmt.Sprintf("spoilt%d.db", page))
		require.NoError(t, os.WriteFile(path, spoilt, 0o600))
		if readEverything(t, path) != nil {
			noticed++
		}
	}
	require.Positive(t, noticed)
	t.Logf("%d of %d spoilt pages noticed by reading", noticed, len(whole)/4096-2)
}

func readEverything(t *testing.T, path string) error {
	all, err := boltstore.Open(path, boltstore.Options{})
	if err != nil {
		return err
	}
	store, err := all.Shop(t.Context(), "shop")
	if err != nil {
		return errors.Join(err, all.Close())
	}
	errs := []error{store.Leaves(t.Context(), 0, func(claims.Record) bool { return true })}
	for i := range 200 {
		job := claims.JobID(fmt.Sprintf("job%d", i))
		_, _, err := store.Records(t.Context(), job, 0, 0)
		errs = append(errs, err)
	}
	_, err = store.Cards(t.Context(), claims.CardQuery{Limit: 200})
	errs = append(errs, err)
	_, err = store.Commit(t.Context(), claims.Batch{Job: "new", Records: []claims.Record{{Entry: "new"}}})
	errs = append(errs, err)
	return errors.Join(append(errs, all.Close())...)
}
