package boltstore

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"strconv"
	"sync"
	"time"

	bolt "go.etcd.io/bbolt"
	bolterrors "go.etcd.io/bbolt/errors"

	"kickplate/claims"
)

// Options for Open. The zero value is right for a server.
type Options struct {
	// LockTimeout is how long to wait for another process to let go of the file; 0 = 1 s.
	LockTimeout time.Duration
	// MaxSize is the most bytes the file may grow to; 0 = no limit. A commit that would pass it is refused.
	MaxSize int

	// noSync is for benchmarks that build large files; nothing is durable with it.
	noSync bool
}

// Stores is one open data file. It implements claims.Stores.
type Stores struct {
	db     *bolt.DB
	path   string
	writes *writer
	// data is the file that bbolt has open, for writing over its free pages; reads is held for reading by every read, see Scrub.
	data  *os.File
	reads sync.RWMutex
}

var _ claims.Stores = (*Stores)(nil)

// Open opens the data file at path, made new (mode 0600) when there is none. It returns an error that says what to do
// when another process has the file open, when it was written by a newer version, and when it is not a data
// file of Kickplate.
func Open(path string, o Options) (*Stores, error) {
	if o.LockTimeout <= 0 {
		o.LockTimeout = time.Second
	}
	_, statErr := os.Stat(path)
	db, data, err := openDB(path, o)
	switch {
	case errors.Is(err, bolterrors.ErrTimeout):
		return nil, fmt.Errorf("open %s: another process has this file open; stop that one first, or use another data folder: %w", path, err)
	case errors.Is(err, bolterrors.ErrInvalid), errors.Is(err, bolterrors.ErrVersionMismatch), errors.Is(err, bolterrors.ErrChecksum):
		return nil, fmt.Errorf("open %s: this is not a data file of Kickplate, or it is damaged; restore the last backup, or move it away to begin anew: %w", path, err)
	case err != nil:
		return nil, fmt.Errorf("open %s: %w", path, err)
	}
	if err := prepare(db, path, errors.Is(statErr, os.ErrNotExist)); err != nil {
		return nil, errors.Join(fmt.Errorf("open %s: %w", path, err), db.Close())
	}
	s := &Stores{db: db, path: path, data: data}
	s.writes = startWriter(s)
	return s, nil
}

// openDB opens bbolt. Where bbolt panics on a damaged file, the file is closed again, which frees its lock.
func openDB(path string, o Options) (db *bolt.DB, file *os.File, err error) {
	panicked := true
	err = guard(func() error {
		db, err = bolt.Open(path, 0o600, &bolt.Options{
			Timeout:      o.LockTimeout,
			FreelistType: bolt.FreelistMapType,
			MaxSize:      o.MaxSize,
			NoSync:       o.noSync,
			OpenFile: func(name string, flag int, mode os.FileMode) (*os.File, error) {
				f, err := os.OpenFile(name, flag, mode)
				file = f
				return f, err
			},
		})
		panicked = false
		return err
	})
	if panicked && file != nil {
		err = errors.Join(err, file.Close())
	}
	return db, file, err
}

// prepare checks the format, writes it into a new file, and makes the file's own name durable: without the sync of
// the folder, a power cut could take away a new file with everything acknowledged in it.
func prepare(db *bolt.DB, path string, isNew bool) error {
	known, err := checkFormat(db)
	if err != nil {
		return err
	}
	if !known {
		err := db.Update(func(tx *bolt.Tx) error {
			b, err := tx.CreateBucket([]byte(bucketFormat))
			if err != nil {
				return err
			}
			if err := b.Put([]byte("version"), []byte(strconv.Itoa(formatFirst))); err != nil {
				return err
			}
			_, err = tx.CreateBucket([]byte(bucketShops))
			return err
		})
		if err != nil {
			return fmt.Errorf("write the format: %w", err)
		}
	}
	if info, err := os.Stat(path); err != nil {
		return err
	} else if info.Mode().Perm()&0o077 != 0 {
		if err := os.Chmod(path, 0o600); err != nil {
			return fmt.Errorf("close the file to other users: %w", err)
		}
	}
	if isNew {
		return syncFolder(filepath.Dir(path))
	}
	return nil
}

func checkFormat(db *bolt.DB) (known bool, err error) {
	err = guard(func() error {
		return db.View(func(tx *bolt.Tx) error {
			b := tx.Bucket([]byte(bucketFormat))
			if b == nil {
				if k, _ := tx.Cursor().First(); k != nil {
					return fmt.Errorf("this file belongs to another program: it holds %q; choose another path", k)
				}
				return nil
			}
			raw := b.Get([]byte("version"))
			version, err := strconv.Atoi(string(raw))
			if err != nil {
				return damaged("the format version reads %q", raw)
			}
			if version > formatVersion {
				return fmt.Errorf("the file has format %d, written by a newer Kickplate; this one knows format %d: start the newer program", version, formatVersion)
			}
			if version < 1 || tx.Bucket([]byte(bucketShops)) == nil {
				return damaged("the file has format %d and no shops", version)
			}
			known = true
			return nil
		})
	})
	return known, err
}

func syncFolder(dir string) error {
	if runtime.GOOS == "windows" { // a folder cannot be opened for sync there
		return nil
	}
	f, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// Shop returns the handle of one shop. Nothing is written until the first commit or note.
func (s *Stores) Shop(ctx context.Context, shop claims.ShopID) (claims.Store, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if err := claims.CheckShop(shop); err != nil {
		return nil, err
	}
	return &Store{file: s, shop: []byte(shop)}, nil
}

// Close finishes the commits already accepted and releases the file. Everything after it is refused.
func (s *Stores) Close() error {
	s.writes.stop()
	return s.db.Close()
}

// view runs fn in a read transaction of the shop; b is nil when the shop has nothing yet. fn must not call out: a long
// read holds up writers that need the file to grow.
func (s *Store) view(ctx context.Context, fn func(b *bolt.Bucket) error) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	s.file.reads.RLock()
	defer s.file.reads.RUnlock()
	return guard(func() error {
		return s.file.db.View(func(tx *bolt.Tx) error {
			return fn(tx.Bucket([]byte(bucketShops)).Bucket(s.shop))
		})
	})
}

// guard turns a panic of bbolt on a damaged page, and a fault on a page that the disk no longer yields, into an error.
func guard(fn func() error) (err error) {
	defer debug.SetPanicOnFault(debug.SetPanicOnFault(true))
	defer func() {
		if p := recover(); p != nil {
			err = damaged("%v", p)
		}
	}()
	return fn()
}
