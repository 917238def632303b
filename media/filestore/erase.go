package filestore

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"kickplate/claims"
)

// Erase takes away the original, everything derived from it, and copies of it that were set aside as damaged:
//
//	unlink(original)                       first: whatever is derived from now on is taken away by PutDerived itself
//	unlink(derived/…), unlink(damaged/…)
//	fsync(each folder)
//
// The blocks that held the bytes are free for the file system to use again; a program above it can't promise to clear them. Whoever gives a disk away clears the
// whole disk.
func (b *blobs) Erase(ctx context.Context, d claims.Digest) error {
	if err := check(ctx, d); err != nil {
		return err
	}
	for _, dir := range []string{b.folder("originals", d), b.folder("derived", d), filepath.Join(b.store.root, "damaged", b.shop)} {
		if err := unlinkAll(dir, string(d)); err != nil {
			return fmt.Errorf("erase original %s: %w", d, err)
		}
	}
	return nil
}

// unlinkAll removes the files of a digest from a folder and makes that durable: the name itself, and the name with an ending.
func unlinkAll(dir, name string) error {
	list, err := readFolder(dir)
	if err != nil {
		return err
	}
	gone := false
	for _, f := range list {
		if f.Name() != name && !strings.HasPrefix(f.Name(), name+".") {
			continue
		}
		if err := os.Remove(filepath.Join(dir, f.Name())); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		gone = true
	}
	if !gone {
		return nil
	}
	return syncFolder(dir)
}
