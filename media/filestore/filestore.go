// Package filestore keeps originals as plain files in one folder on a local disk, named by their SHA-256.
//
//	originals/<shop>/ab/cd/abcd…   the original, read-only (0444), written once
//	derived/<shop>/ab/cd/abcd….view what can be made again from it
//	tmp/                           uploads under way; emptied by Open
//	damaged/                       originals that no longer hashed to their name, set aside when the right bytes came again
//
// One process owns the folder: Open removes what an earlier process left half-written.
//
// It implements claims.BlobStores and passes media/blobtest. It must never import anything of ours but claims.
package filestore

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"sync"

	"kickplate/claims"
)

// Store is a folder of originals. All methods may be called at once from many goroutines.
type Store struct {
	root  string
	known *folders
	// linkless serialises place where the file system has no hard links.
	linkless sync.Mutex
}

var _ claims.BlobStores = (*Store)(nil)

// Open prepares the folder dir (made if absent) and removes unfinished uploads of an earlier process.
func Open(dir string) (*Store, error) {
	root, err := filepath.Abs(dir)
	if err != nil {
		return nil, fmt.Errorf("open originals folder %s: %w", dir, err)
	}
	s := &Store{root: root, known: &folders{made: map[string]bool{}}}
	for _, room := range []string{"originals", "derived", "tmp"} {
		if err := s.known.ensure(filepath.Dir(root), filepath.Join(root, room)); err != nil {
			return nil, fmt.Errorf("open originals folder %s: %w", dir, err)
		}
	}
	left, err := os.ReadDir(filepath.Join(root, "tmp"))
	if err != nil {
		return nil, fmt.Errorf("open originals folder %s: %w", dir, err)
	}
	for _, e := range left {
		if err := os.RemoveAll(filepath.Join(root, "tmp", e.Name())); err != nil {
			return nil, fmt.Errorf("remove unfinished upload %s: %w", e.Name(), err)
		}
	}
	return s, nil
}

// Shop returns the originals of one shop. A shop id is 1 to 64 of a-z, 0-9 and '-', and begins with a letter or digit.
func (s *Store) Shop(ctx context.Context, shop claims.ShopID) (claims.Blobs, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if !validShop(string(shop)) {
		return nil, fmt.Errorf("shop id %q cannot name a folder: use 1 to 64 of a-z, 0-9 and '-'", shop)
	}
	return &blobs{store: s, shop: string(shop)}, nil
}

func validShop(s string) bool {
	if s == "" || len(s) > 64 || s[0] == '-' {
		return false
	}
	for _, c := range []byte(s) {
		if (c < 'a' || c > 'z') && (c < '0' || c > '9') && c != '-' {
			return false
		}
	}
	return true
}

// blobs is one shop's part of the folder.
type blobs struct {
	store *Store
	shop  string
}

var (
	_ claims.Blobs   = (*blobs)(nil)
	_ claims.Adopter = (*blobs)(nil)
)

// folder returns originals/<shop>/ab/cd or derived/<shop>/ab/cd.
func (b *blobs) folder(room string, d claims.Digest) string {
	return filepath.Join(b.store.root, room, b.shop, string(d[:2]), string(d[2:4]))
}

func (b *blobs) path(d claims.Digest) string {
	return filepath.Join(b.folder("originals", d), string(d))
}

// Open returns the original for reading.
func (b *blobs) Open(ctx context.Context, d claims.Digest) (claims.Blob, error) {
	if err := check(ctx, d); err != nil {
		return nil, err
	}
	f, err := os.Open(b.path(d))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("open original %s: %w", d, claims.ErrAbsent)
	}
	if err != nil {
		return nil, fmt.Errorf("open original %s: %w", d, err)
	}
	info, err := f.Stat()
	if err == nil && !info.Mode().IsRegular() {
		err = errors.New("not a regular file")
	}
	if err != nil {
		f.Close()
		return nil, fmt.Errorf("open original %s: %w", d, err)
	}
	return &blob{File: f, size: info.Size()}, nil
}

// Has returns the size of the original in bytes.
func (b *blobs) Has(ctx context.Context, d claims.Digest) (int64, error) {
	if err := check(ctx, d); err != nil {
		return 0, err
	}
	info, err := os.Lstat(b.path(d))
	if errors.Is(err, fs.ErrNotExist) {
		return 0, fmt.Errorf("original %s: %w", d, claims.ErrAbsent)
	}
	if err != nil {
		return 0, fmt.Errorf("original %s: %w", d, err)
	}
	if !info.Mode().IsRegular() {
		return 0, fmt.Errorf("original %s: not a regular file", d)
	}
	return info.Size(), nil
}

// List yields every original in the order of its digest. It does not read the bytes: Open them to see whether they
// still hash to their name.
func (b *blobs) List(ctx context.Context, yield func(d claims.Digest, size int64) bool) error {
	top := filepath.Join(b.store.root, "originals", b.shop)
	outer, err := readFolder(top)
	if err != nil {
		return err
	}
	for _, one := range outer {
		inner, err := readFolder(filepath.Join(top, one.Name()))
		if err != nil {
			return err
		}
		for _, two := range inner {
			files, err := readFolder(filepath.Join(top, one.Name(), two.Name()))
			if err != nil {
				return err
			}
			for _, f := range files {
				if err := ctx.Err(); err != nil {
					return err
				}
				d, err := claims.ParseDigest(f.Name())
				if err != nil || string(d[:2]) != one.Name() || string(d[2:4]) != two.Name() || !f.Type().IsRegular() {
					continue // not ours: somebody put it here by hand
				}
				info, err := f.Info()
				if errors.Is(err, fs.ErrNotExist) {
					continue
				}
				if err != nil {
					return fmt.Errorf("list originals: %w", err)
				}
				if !yield(d, info.Size()) {
					return nil
				}
			}
		}
	}
	return ctx.Err()
}

// readFolder lists a folder in name order; an absent folder or a plain file is empty.
func readFolder(dir string) ([]fs.DirEntry, error) {
	if info, err := os.Lstat(dir); err == nil && !info.IsDir() {
		return nil, nil
	}
	list, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("list originals: %w", err)
	}
	return list, nil
}

// PutDerived keeps data beside the original's name. It is replaced as a whole (temp file, rename) but not synced:
// after a power cut it may be gone or empty, and is made again.
func (b *blobs) PutDerived(ctx context.Context, d claims.Digest, name string, data []byte) error {
	if err := check(ctx, d); err != nil {
		return err
	}
	if !validName(name) {
		return fmt.Errorf("derived name %q: use 1 to 40 of a-z, 0-9, '-' and '.'", name)
	}
	dir := b.folder("derived", d)
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return fmt.Errorf("keep %s of %s: %w", name, d, err)
	}
	tmp, err := os.CreateTemp(filepath.Join(b.store.root, "tmp"), "derived-*")
	if err != nil {
		return fmt.Errorf("keep %s of %s: %w", name, d, err)
	}
	_, err = tmp.Write(data)
	if e := tmp.Close(); err == nil {
		err = e
	}
	if err == nil {
		err = os.Rename(tmp.Name(), filepath.Join(dir, string(d)+"."+name))
	}
	if err != nil {
		os.Remove(tmp.Name())
		return fmt.Errorf("keep %s of %s: %w", name, d, err)
	}
	if _, err := os.Lstat(b.path(d)); errors.Is(err, fs.ErrNotExist) {
		// Erased meanwhile, or never here: what is made of it must not outlive it.
		if err := os.Remove(filepath.Join(dir, string(d)+"."+name)); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("keep %s of %s: %w", name, d, err)
		}
		return fmt.Errorf("keep %s of %s: %w", name, d, claims.ErrAbsent)
	}
	return nil
}

// Derived returns what PutDerived kept last.
func (b *blobs) Derived(ctx context.Context, d claims.Digest, name string) ([]byte, error) {
	if err := check(ctx, d); err != nil {
		return nil, err
	}
	if !validName(name) {
		return nil, fmt.Errorf("derived name %q: use 1 to 40 of a-z, 0-9, '-' and '.'", name)
	}
	data, err := os.ReadFile(filepath.Join(b.folder("derived", d), string(d)+"."+name))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%s of %s: %w", name, d, claims.ErrAbsent)
	}
	if err != nil {
		return nil, fmt.Errorf("read %s of %s: %w", name, d, err)
	}
	return data, nil
}

func validName(name string) bool {
	if name == "" || len(name) > 40 {
		return false
	}
	for _, c := range []byte(name) {
		if (c < 'a' || c > 'z') && (c < '0' || c > '9') && c != '-' && c != '.' {
			return false
		}
	}
	return true
}

func check(ctx context.Context, d claims.Digest) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	if _, err := claims.ParseDigest(string(d)); err != nil {
		return fmt.Errorf("name of an original: %w", err)
	}
	return nil
}

// blob is an open original.
type blob struct {
	*os.File
	size int64
}

func (b *blob) Size() int64 { return b.size }

// Write hides os.File's: an original is only read.
func (b *blob) Write([]byte) (int, error) { return 0, errors.New("an original is never written") }

// folders remembers which folders this process has made durable, so that each is synced once and not per upload.
type folders struct {
	mu   sync.Mutex
	made map[string]bool
}

// mostFolders bounds the memory of folders; past it the memory starts afresh.
const mostFolders = 1 << 17

// ensure makes dir and its parents below base and syncs each parent, so that the folder itself survives a power cut.
func (f *folders) ensure(base, dir string) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.made[dir] {
		return nil
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	for at := dir; at != base && !f.made[at]; at = filepath.Dir(at) {
		if err := syncFolder(filepath.Dir(at)); err != nil {
			return err
		}
		if at == filepath.Dir(at) {
			break
		}
	}
	if len(f.made) >= mostFolders {
		clear(f.made)
	}
	for at := dir; at != base && !f.made[at] && at != filepath.Dir(at); at = filepath.Dir(at) {
		f.made[at] = true
	}
	return nil
}

// contextReader stops a copy when the context ends.
type contextReader struct {
	ctx context.Context
	r   io.Reader
}

func (c contextReader) Read(p []byte) (int, error) {
	if err := c.ctx.Err(); err != nil {
		return 0, err
	}
	return c.r.Read(p)
}
