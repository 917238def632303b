package filestore_test

import (
	"bytes"
	"context"
	"io/fs"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"kickplate/claims"
	"kickplate/media/blobtest"
	"kickplate/media/filestore"
)

func TestConformance(t *testing.T) {
	blobtest.Run(t, blobtest.Suite{Open: func(t *testing.T) claims.BlobStores {
		s, err := filestore.Open(t.TempDir())
		require.NoError(t, err)
		return s
	}})
}

func openShop(t *testing.T, dir string) claims.Blobs {
	t.Helper()
	s, err := filestore.Open(dir)
	require.NoError(t, err)
	b, err := s.Shop(t.Context(), "north")
	require.NoError(t, err)
	return b
}

func files(t *testing.T, dir string) map[string]fs.FileMode {
	t.Helper()
	out := map[string]fs.FileMode{}
	require.NoError(t, filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		info, err := e.Info()
		rel, _ := filepath.Rel(dir, path)
		out[filepath.ToSlash(rel)] = info.Mode()
		return err
	}))
	return out
}

func TestLayout(t *testing.T) {
	dir := t.TempDir()
	b := openShop(t, dir)
	// SHA-256 of "abc" is the first example of FIPS 180-4.
	const abc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
	require.NoError(t, b.Put(t.Context(), abc, bytes.NewReader([]byte("abc"))))
	require.NoError(t, b.PutDerived(t.Context(), abc, "view", []byte("v")))
	require.Equal(t, map[string]fs.FileMode{
		"originals/north/ba/78/" + abc:         0o444,
		"derived/north/ba/78/" + abc + ".view": 0o600,
	}, files(t, dir))
}

func TestOpenSweepsUnfinishedUploads(t *testing.T) {
	dir := t.TempDir()
	b := openShop(t, dir)
	d := claims.DigestOf([]byte("kept"))
	require.NoError(t, b.Put(t.Context(), d, bytes.NewReader([]byte("kept"))))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "tmp", "put-123"), []byte("half"), 0o600))
	b = openShop(t, dir)
	require.NoFileExists(t, filepath.Join(dir, "tmp", "put-123"))
	n, err := b.Has(t.Context(), d)
	require.NoError(t, err)
	require.EqualValues(t, 4, n)
}

func TestShopIDs(t *testing.T) {
	s, err := filestore.Open(t.TempDir())
	require.NoError(t, err)
	for _, id := range []claims.ShopID{"", ".", "..", "../x", "a/b", `a\b`, "North", "-x", "a b", "x\x00", claims.ShopID(bytes.Repeat([]byte("a"), 65))} {
		_, err := s.Shop(t.Context(), id)
		require.Error(t, err, "%q", id)
	}
	for _, id := range []claims.ShopID{"a", "north-2", "0198c1a2-7b3c-7def-8123-456789abcdef", claims.ShopID(bytes.Repeat([]byte("a"), 64))} {
		_, err := s.Shop(t.Context(), id)
		require.NoError(t, err, "%q", id)
	}
}

// A flipped bit on the disk is found by reading, and cured when the right bytes come again: the damaged file is set
// aside, not deleted.
func TestDamagedOriginal(t *testing.T) {
	dir := t.TempDir()
	b := openShop(t, dir)
	data := bytes.Repeat([]byte("evidence "), 1000)
	d := claims.DigestOf(data)
	require.NoError(t, b.Put(t.Context(), d, bytes.NewReader(data)))
	path := filepath.Join(dir, "originals", "north", string(d[:2]), string(d[2:4]), string(d))
	require.NoError(t, os.Chmod(path, 0o644))
	bad := bytes.Clone(data)
	bad[4000] ^= 1
	require.NoError(t, os.WriteFile(path, bad, 0o644))

	require.NoError(t, b.Put(t.Context(), d, bytes.NewReader(data)))
	got, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, data, got)
	aside, err := os.ReadFile(filepath.Join(dir, "damaged", "north", string(d)+".1"))
	require.NoError(t, err)
	require.Equal(t, bad, aside)
	seen := 0
	require.NoError(t, b.List(t.Context(), func(claims.Digest, int64) bool { seen++; return true }))
	require.Equal(t, 1, seen)
}

// What somebody drops into the folder by hand is not listed as an original.
func TestListIgnoresStrangers(t *testing.T) {
	dir := t.TempDir()
	b := openShop(t, dir)
	d := claims.DigestOf([]byte("one"))
	require.NoError(t, b.Put(t.Context(), d, bytes.NewReader([]byte("one"))))
	shop := filepath.Join(dir, "originals", "north")
	inner := filepath.Join(shop, string(d[:2]), string(d[2:4]))
	require.NoError(t, os.WriteFile(filepath.Join(shop, "notes.txt"), nil, 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(inner, "thumbs.db"), nil, 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(inner, string(claims.DigestOf([]byte("elsewhere")))), nil, 0o600))
	require.NoError(t, os.Symlink("/dev/zero", filepath.Join(inner, string(d[:4])+string(claims.DigestOf([]byte("link"))[4:]))))
	var got []claims.Digest
	require.NoError(t, b.List(t.Context(), func(d claims.Digest, _ int64) bool { got = append(got, d); return true }))
	require.Equal(t, []claims.Digest{d}, got)
}

func TestAdoptRefusesLinks(t *testing.T) {
	dir := t.TempDir()
	b := openShop(t, dir)
	target := filepath.Join(t.TempDir(), "target")
	require.NoError(t, os.WriteFile(target, []byte("secret"), 0o600))
	link := filepath.Join(dir, "tmp", "link")
	require.NoError(t, os.Symlink(target, link))
	require.Error(t, b.(claims.Adopter).Adopt(context.Background(), claims.DigestOf([]byte("secret")), link))
	require.FileExists(t, target)
}

func BenchmarkPut4MB(b *testing.B) {
	s, err := filestore.Open(b.TempDir())
	require.NoError(b, err)
	blobs, err := s.Shop(b.Context(), "bench")
	require.NoError(b, err)
	data := make([]byte, 4<<20)
	b.SetBytes(int64(len(data)))
	for i := 0; b.Loop(); i++ {
		data[0], data[1], data[2] = byte(i), byte(i>>8), byte(i>>16)
		require.NoError(b, blobs.Put(b.Context(), claims.DigestOf(data), bytes.NewReader(data)))
	}
}
