package filestore

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"

	"kickplate/claims"
)

// Put stores what r yields under d. In this order, each step only after the one before:
//
//	open(tmp/put-*, O_CREAT|O_EXCL)      same file system as the final name
//	write … write                        hashing while the bytes go by
//	compare the hash with d              other bytes: unlink, ErrDigest, nothing is left
//	fchmod(0444), fsync(file)
//	mkdir + fsync(parent) per new level  once per folder and process
//	link(tmp, final)                     fails when final exists: an original is never overwritten
//	unlink(tmp)
//	fsync(folder)
//
// A crash before link leaves a file in tmp only, which Open removes; a crash after it leaves a whole, right original.
func (b *blobs) Put(ctx context.Context, d claims.Digest, r io.Reader) error {
	if err := check(ctx, d); err != nil {
		return err
	}
	tmp, err := os.CreateTemp(filepath.Join(b.store.root, "tmp"), "put-*")
	if err != nil {
		return fmt.Errorf("store original %s: %w", d, err)
	}
	name := tmp.Name()
	err = fill(ctx, tmp, d, r)
	if err == nil {
		err = seal(tmp)
	}
	if e := tmp.Close(); err == nil {
		err = e
	}
	if err == nil {
		err = b.publish(ctx, name, d)
	}
	if err != nil {
		os.Remove(name)
		return fmt.Errorf("store original %s: %w", d, err)
	}
	return nil
}

// Adopt takes over the finished file at path, which must be on the same file system: it is hashed, synced, linked
// under its digest and removed from path, as Put does with its temporary file. On an error the file stays where it is,
// and its mode may have become 0444.
func (b *blobs) Adopt(ctx context.Context, d claims.Digest, path string) error {
	if err := check(ctx, d); err != nil {
		return err
	}
	info, err := os.Lstat(path)
	if err == nil && !info.Mode().IsRegular() {
		err = errors.New("not a regular file")
	}
	if err != nil {
		return fmt.Errorf("adopt original %s: %w", d, err)
	}
	f, err := os.Open(path)
	if err != nil {
		return fmt.Errorf("adopt original %s: %w", d, err)
	}
	err = same(ctx, f, d)
	if err == nil {
		err = seal(f)
	}
	if e := f.Close(); err == nil {
		err = e
	}
	if err == nil {
		err = b.publish(ctx, path, d)
	}
	if err != nil {
		return fmt.Errorf("adopt original %s: %w", d, err)
	}
	return nil
}

// fill copies r into f and checks the digest.
func fill(ctx context.Context, f *os.File, d claims.Digest, r io.Reader) error {
	h := sha256.New()
	if _, err := io.CopyBuffer(struct{ io.Writer }{io.MultiWriter(f, h)}, contextReader{ctx, r}, make([]byte, 128<<10)); err != nil {
		return err
	}
	if got := claims.Digest(hex.EncodeToString(h.Sum(nil))); got != d {
		return fmt.Errorf("%w: they hash to %s", claims.ErrDigest, got)
	}
	return nil
}

// same checks that what f holds hashes to d.
func same(ctx context.Context, f io.Reader, d claims.Digest) error {
	h := sha256.New()
	if _, err := io.CopyBuffer(struct{ io.Writer }{h}, contextReader{ctx, f}, make([]byte, 128<<10)); err != nil {
		return err
	}
	if got := claims.Digest(hex.EncodeToString(h.Sum(nil))); got != d {
		return fmt.Errorf("%w: they hash to %s", claims.ErrDigest, got)
	}
	return nil
}

// seal makes the file read-only and its bytes durable.
func seal(f *os.File) error {
	if err := f.Chmod(0o444); err != nil {
		return err
	}
	return f.Sync()
}

// publish gives the sealed file at tmp its final name, makes the name durable and removes tmp.
func (b *blobs) publish(ctx context.Context, tmp string, d claims.Digest) error {
	dir, final := b.folder("originals", d), b.path(d)
	if err := b.store.known.ensure(b.store.root, dir); err != nil {
		return err
	}
	err := b.store.place(tmp, final)
	if errors.Is(err, fs.ErrExist) {
		err = b.again(ctx, tmp, final, d)
	}
	if err != nil {
		return err
	}
	// Also when somebody else placed it: they may not have synced the folder yet, and nil means durable.
	if err := syncFolder(dir); err != nil {
		return err
	}
	if err := os.Remove(tmp); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

// again handles a second arrival of the same digest: fine when the kept bytes still are what their name says. When they
// are not (a disk fault, somebody's editor), they are set aside, never deleted, and the right bytes take the place.
func (b *blobs) again(ctx context.Context, tmp, final string, d claims.Digest) error {
	f, err := os.Open(final)
	if err != nil {
		return err
	}
	err = same(ctx, f, d)
	f.Close()
	if !errors.Is(err, claims.ErrDigest) {
		return err
	}
	aside := filepath.Join(b.store.root, "damaged", b.shop)
	if err := b.store.known.ensure(b.store.root, aside); err != nil {
		return err
	}
	for n := 1; ; n++ {
		err := os.Link(final, filepath.Join(aside, fmt.Sprintf("%s.%d", d, n)))
		if errors.Is(err, fs.ErrExist) {
			continue
		}
		if err != nil {
			return fmt.Errorf("set the damaged original aside: %w", err)
		}
		break
	}
	if err := syncFolder(aside); err != nil {
		return err
	}
	return os.Rename(tmp, final)
}

// place gives tmp the name final and fails with fs.ErrExist when final exists. File systems without hard links (FAT,
// some network mounts) get a look and a rename under a lock instead: enough, because one process owns the folder.
func (s *Store) place(tmp, final string) error {
	err := os.Link(tmp, final)
	if !errors.Is(err, syscall.EPERM) && !errors.Is(err, syscall.ENOTSUP) && !errors.Is(err, errors.ErrUnsupported) {
		return err
	}
	s.linkless.Lock()
	defer s.linkless.Unlock()
	if _, err := os.Lstat(final); err == nil {
		return fs.ErrExist
	}
	return os.Rename(tmp, final)
}

// syncFolder makes the names in a folder durable.
func syncFolder(dir string) error {
	f, err := os.Open(dir)
	if err != nil {
		return err
	}
	err = f.Sync()
	if e := f.Close(); err == nil {
		err = e
	}
	return err
}
