// Package memblobs keeps originals in memory, for tests and for trying things out: nothing survives the process.
//
// It implements claims.BlobStores and passes media/blobtest. It must never import anything of ours but claims.
package memblobs

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"maps"
	"os"
	"slices"
	"strings"
	"sync"

	"kickplate/claims"
)

// Store keeps the originals of all shops. Make one with New.
type Store struct {
	mu    sync.Mutex
	shops map[claims.ShopID]*blobs
}

var _ claims.BlobStores = (*Store)(nil)

// New returns an empty store.
func New() *Store { return &Store{shops: map[claims.ShopID]*blobs{}} }

// Shop returns the originals of one shop.
func (s *Store) Shop(ctx context.Context, shop claims.ShopID) (claims.Blobs, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if shop == "" {
		return nil, fmt.Errorf("a shop id is missing")
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	b := s.shops[shop]
	if b == nil {
		b = &blobs{originals: map[claims.Digest][]byte{}, derived: map[string][]byte{}}
		s.shops[shop] = b
	}
	return b, nil
}

type blobs struct {
	mu        sync.RWMutex
	originals map[claims.Digest][]byte
	derived   map[string][]byte
}

var (
	_ claims.Blobs   = (*blobs)(nil)
	_ claims.Adopter = (*blobs)(nil)
)

func (b *blobs) Put(ctx context.Context, d claims.Digest, r io.Reader) error {
	if err := check(ctx, d); err != nil {
		return err
	}
	var data bytes.Buffer
	h := sha256.New()
	buf := make([]byte, 64<<10)
	for {
		if err := ctx.Err(); err != nil {
			return fmt.Errorf("store original %s: %w", d, err)
		}
		n, err := r.Read(buf)
		data.Write(buf[:n])
		h.Write(buf[:n])
		if err == io.EOF {
			break
		}
		if err != nil {
			return fmt.Errorf("store original %s: %w", d, err)
		}
	}
	if got := claims.Digest(hex.EncodeToString(h.Sum(nil))); got != d {
		return fmt.Errorf("store original %s: %w: they hash to %s", d, claims.ErrDigest, got)
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if _, ok := b.originals[d]; !ok {
		b.originals[d] = data.Bytes()
	}
	return nil
}

func (b *blobs) Adopt(ctx context.Context, d claims.Digest, path string) error {
	f, err := os.Open(path)
	if err != nil {
		return fmt.Errorf("adopt original %s: %w", d, err)
	}
	err = b.Put(ctx, d, f)
	f.Close()
	if err != nil {
		return err
	}
	return os.Remove(path)
}

func (b *blobs) Open(ctx context.Context, d claims.Digest) (claims.Blob, error) {
	if err := check(ctx, d); err != nil {
		return nil, err
	}
	b.mu.RLock()
	defer b.mu.RUnlock()
	data, ok := b.originals[d]
	if !ok {
		return nil, fmt.Errorf("open original %s: %w", d, claims.ErrAbsent)
	}
	return blob{bytes.NewReader(data)}, nil
}

func (b *blobs) Has(ctx context.Context, d claims.Digest) (int64, error) {
	if err := check(ctx, d); err != nil {
		return 0, err
	}
	b.mu.RLock()
	defer b.mu.RUnlock()
	data, ok := b.originals[d]
	if !ok {
		return 0, fmt.Errorf("original %s: %w", d, claims.ErrAbsent)
	}
	return int64(len(data)), nil
}

func (b *blobs) List(ctx context.Context, yield func(d claims.Digest, size int64) bool) error {
	b.mu.RLock()
	list := slices.Sorted(maps.Keys(b.originals))
	b.mu.RUnlock()
	for _, d := range list {
		size, err := b.Has(ctx, d)
		if err != nil {
			return err
		}
		if !yield(d, size) {
			return nil
		}
	}
	return ctx.Err()
}

func (b *blobs) PutDerived(ctx context.Context, d claims.Digest, name string, data []byte) error {
	if err := check(ctx, d); err != nil {
		return err
	}
	if !validName(name) {
		return fmt.Errorf("derived name %q: use 1 to 40 of a-z, 0-9, '-' and '.'", name)
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if _, ok := b.originals[d]; !ok {
		return fmt.Errorf("keep %s of %s: %w", name, d, claims.ErrAbsent)
	}
	b.derived[string(d)+"."+name] = slices.Clone(data)
	return nil
}

func (b *blobs) Derived(ctx context.Context, d claims.Digest, name string) ([]byte, error) {
	if err := check(ctx, d); err != nil {
		return nil, err
	}
	if !validName(name) {
		return nil, fmt.Errorf("derived name %q: use 1 to 40 of a-z, 0-9, '-' and '.'", name)
	}
	b.mu.RLock()
	defer b.mu.RUnlock()
	data, ok := b.derived[string(d)+"."+name]
	if !ok {
		return nil, fmt.Errorf("%s of %s: %w", name, d, claims.ErrAbsent)
	}
	return slices.Clone(data), nil
}

// Erase implements claims.Blobs.
func (b *blobs) Erase(ctx context.Context, d claims.Digest) error {
	if err := check(ctx, d); err != nil {
		return err
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	delete(b.originals, d)
	for name := range b.derived {
		if strings.HasPrefix(name, string(d)+".") {
			delete(b.derived, name)
		}
	}
	return nil
}

func validName(name string) bool {
	for _, c := range []byte(name) {
		if (c < 'a' || c > 'z') && (c < '0' || c > '9') && c != '-' && c != '.' {
			return false
		}
	}
	return name != "" && len(name) <= 40
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
type blob struct{ *bytes.Reader }

func (blob) Close() error { return nil }
