package main

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"runtime"
	"time"

	"github.com/google/uuid"

	"kickplate/claims"
	"kickplate/claims/boltstore"
	"kickplate/claims/bundle"
	"kickplate/claims/custody"
	"kickplate/media"
	"kickplate/media/filestore"
	"kickplate/media/measure"
	"kickplate/rules/packs"
	"kickplate/server/web"
)

// theShop is the one shop of the embedded default.
const theShop claims.ShopID = "shop"

// backend is everything that is kept, and what works on it. The data folder:
//
//	journal.db            entries, indexes, the custody log's hashes, people and devices (boltstore)
//	originals/ derived/   photos, documents, bundles, by SHA-256 (filestore); derived can be made again
//	tmp/ damaged/         the filestore's: files being written; originals that were found changed
//	incoming/             uploads under way
//	keys/                 what signs checkpoints, and the shop's own certificate authority (nobody else may read it)
//	packs/                rule packs of the shop's own
type backend struct {
	dir     string
	stores  *boltstore.Stores
	blobs   *filestore.Store
	keys    *custody.Keys
	notary  *custody.Notary
	shelf   *web.Shelf
	service *claims.Service
	access  *claims.Access
}

// openBackend opens a data folder; when create is set it is made if it is not there.
func openBackend(dir, packFolder string, create bool, log *slog.Logger) (*backend, error) {
	if err := prepareFolder(dir, create); err != nil {
		return nil, err
	}
	shelf, err := openPacks(packFolder)
	if err != nil {
		return nil, err
	}
	// The journal first: its lock keeps a second process out of the whole folder.
	stores, err := boltstore.Open(filepath.Join(dir, "journal.db"), boltstore.Options{})
	if err != nil {
		return nil, fmt.Errorf("the data folder %s can't be used: %w", dir, err)
	}
	b := &backend{dir: dir, stores: stores, shelf: shelf}
	if err := b.open(log); err != nil {
		return nil, errors.Join(err, stores.Close())
	}
	return b, nil
}

func (b *backend) open(log *slog.Logger) (err error) {
	if b.blobs, err = filestore.Open(b.dir); err != nil {
		return err
	}
	if b.keys, err = custody.OpenKeys(filepath.Join(b.dir, "keys", "custody.key")); err != nil {
		return err
	}
	now := time.Now
	b.notary = &custody.Notary{Keys: b.keys}
	examiner := media.New(media.Options{Tesseract: media.FindTesseract()})
	b.service = &claims.Service{
		Stores: b.stores, Blobs: b.blobs, Examiner: examiner, Aligner: examiner, Packager: bundle.New(),
		Notary: b.notary, Packs: b.shelf, Now: now, MakeID: makeID,
		Turns: measure.Turns, Scratch: filepath.Join(b.dir, "tmp"), Log: log,
	}
	b.access = &claims.Access{
		Stores: b.stores, Passwords: web.NewPasswords(max(1, runtime.GOMAXPROCS(0)/2)), Now: now, Random: rand.Reader, MakeID: makeID,
	}
	return nil
}

func (b *backend) close() error { return b.stores.Close() }

// makeID makes a UUIDv7.
func makeID() string { return uuid.Must(uuid.NewV7()).String() }

// prepareFolder makes sure the data folder is there and can be written.
func prepareFolder(dir string, create bool) error {
	info, err := os.Stat(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist) && !create:
		return fmt.Errorf("there is no data folder %s; name the right one with --data", dir)
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("the data folder %s can't be used: %w", dir, err)
	case err == nil && !info.IsDir():
		return fmt.Errorf("the data folder %s is not a folder; name another with --data", dir)
	}
	if !create {
		if _, err := os.Stat(filepath.Join(dir, "journal.db")); err != nil {
			return fmt.Errorf("%s is not a data folder of Kickplate: it has no journal.db; name the right one with --data", dir)
		}
	}
	for _, sub := range []string{"", "keys", "packs"} {
		path := filepath.Join(dir, sub)
		if err := os.MkdirAll(path, 0o700); err != nil {
			return fmt.Errorf("the data folder %s can't be made: %w; name one you may write with --data", dir, err)
		}
	}
	if err := os.Chmod(filepath.Join(dir, "keys"), 0o700); err != nil {
		return fmt.Errorf("keep others out of the keys: %w", err)
	}
	probe, err := os.CreateTemp(dir, ".probe-*")
	if err != nil {
		return fmt.Errorf("the data folder %s can't be written: %w; give this user the right to, or name another with --data", dir, err)
	}
	return errors.Join(probe.Close(), os.Remove(probe.Name()))
}

// openPacks loads our rule packs with the shop's own over them.
func openPacks(folder string) (*web.Shelf, error) {
	set, err := packs.Default()
	if folder != "" {
		if _, statErr := os.Stat(folder); statErr == nil {
			set, err = packs.WithShop(os.DirFS(folder))
		} else if !errors.Is(statErr, fs.ErrNotExist) {
			return nil, fmt.Errorf("read the rule packs in %s: %w", folder, statErr)
		}
	}
	if err != nil {
		return nil, fmt.Errorf("the rule packs in %s can't be used: %w", folder, err)
	}
	return web.NewShelf(set)
}

// checker checks a shop's whole store.
func (b *backend) checker(ctx context.Context, shop claims.ShopID) (custody.Checker, error) {
	store, err := b.stores.Shop(ctx, shop)
	if err != nil {
		return custody.Checker{}, err
	}
	blobs, err := b.blobs.Shop(ctx, shop)
	if err != nil {
		return custody.Checker{}, err
	}
	return custody.Checker{Store: store, Blobs: blobs, Keys: b.keys.Verifiers}, nil
}
