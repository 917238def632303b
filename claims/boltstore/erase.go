package boltstore

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strconv"

	bolt "go.etcd.io/bbolt"
	"golang.org/x/mod/sumdb/tlog"

	"kickplate/claims"
)

// Erase implements claims.Store.
func (s *Store) Erase(ctx context.Context, e claims.Erasure) error {
	card, raw, err := e.Check()
	if err != nil {
		return err
	}
	return s.file.writes.do(ctx, &change{
		check: func(tx *bolt.Tx) error { return s.checkErase(tx, e) },
		write: func(tx *bolt.Tx) error {
			shop, err := s.writable(tx)
			if err != nil {
				return err
			}
			leaves, entries := shop.Bucket([]byte(bucketLeaves)), shop.Bucket([]byte(bucketEntries))
			for id, line := range e.Lines {
				if err := leaves.Put(entries.Get([]byte(id)), encodeLeaf(e.Job, claims.Record{Entry: id, Line: line})); err != nil {
					return fmt.Errorf("erase entry %q: %w", id, err)
				}
			}
			if err := tx.Bucket([]byte(bucketFormat)).Put([]byte("version"), []byte(strconv.Itoa(formatStubs))); err != nil {
				return fmt.Errorf("write the format: %w", err)
			}
			return replaceCard(shop, card, raw)
		},
	})
}

func (s *Store) checkErase(tx *bolt.Tx, e claims.Erasure) error {
	shop := tx.Bucket([]byte(bucketShops)).Bucket(s.shop)
	if shop == nil {
		return fmt.Errorf("erase in job %q: %w", e.Job, claims.ErrAbsent)
	}
	state := shop.Bucket([]byte(bucketJobs)).Get([]byte(e.Job))
	if state == nil {
		return fmt.Errorf("erase in job %q: %w", e.Job, claims.ErrAbsent)
	}
	head, err := headOf(e.Job, state)
	if err != nil {
		return err
	}
	if head != e.Was {
		return fmt.Errorf("job %q has %d entries, not %d: %w", e.Job, head, e.Was, claims.ErrStale)
	}
	hashes := shop.Bucket([]byte(bucketHashes))
	for id, line := range e.Lines {
		raw := shop.Bucket([]byte(bucketEntries)).Get([]byte(id))
		if raw == nil {
			return fmt.Errorf("erase entry %q of job %q: %w", id, e.Job, claims.ErrAbsent)
		}
		leaf, err := parseNumber("an entry", raw)
		if err != nil {
			return err
		}
		r, err := readLeaf(shop.Bucket([]byte(bucketLeaves)), leaf)
		if err != nil {
			return err
		}
		if r.Job != e.Job {
			return fmt.Errorf("erase entry %q of job %q: %w", id, e.Job, claims.ErrAbsent)
		}
		// Against the tree, not the line: a line that was changed must not be covered up by erasing it.
		stored := hashes.Get(number(uint64(tlog.StoredHashIndex(0, int64(leaf)))))
		if h := claims.LeafHash(line); string(stored) != string(h[:]) {
			return claims.Errorf(claims.Invalid, "The stub for entry %q does not carry the hash of its leaf.", id)
		}
	}
	return nil
}

// Scrub implements claims.Store. bbolt never writes in place: what a transaction replaces stays in the pages it frees until they are used again. So all
// free pages, and what lies behind the last page in use, are written over with zeros where they are, which also keeps the disk's own blocks
// (a copy into a new file would leave them behind). Pages in use hold nothing but what is alive: bbolt fills them into cleared buffers.
//
// The two newest states of the file must both be free of the old bytes first, since bbolt falls back to the older one after a torn write; hence the
// empty transaction. A read may still look at pages that are free for the next write, so reads wait.
func (s *Store) Scrub(ctx context.Context) error {
	empty := &change{check: func(*bolt.Tx) error { return nil }, write: func(*bolt.Tx) error { return nil }}
	if err := s.file.writes.do(ctx, empty); err != nil {
		return err
	}
	s.file.reads.Lock()
	defer s.file.reads.Unlock()
	return guard(func() error {
		tx, err := s.file.db.Begin(true)
		if err != nil {
			return fmt.Errorf("overwrite what was erased: %w", err)
		}
		err = s.file.zeroFree(ctx, tx)
		if err := errors.Join(err, tx.Rollback()); err != nil {
			return fmt.Errorf("overwrite what was erased: %w", err)
		}
		return nil
	})
}

// zeroFree writes zeros over every page that is not in use.
func (s *Stores) zeroFree(ctx context.Context, tx *bolt.Tx) error {
	page := int64(s.db.Info().PageSize)
	zeros := make([]byte, page)
	id := 0
	for ; ; id++ {
		if id%4096 == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		info, err := tx.Page(id)
		if err != nil {
			return err
		}
		if info == nil {
			break
		}
		if info.Type != "free" {
			id += info.OverflowCount
			continue
		}
		if _, err := s.data.WriteAt(zeros, int64(id)*page); err != nil {
			return err
		}
	}
	end, err := s.data.Seek(0, io.SeekEnd)
	if err != nil {
		return err
	}
	for at := int64(id) * page; at < end; at += page {
		if err := s.zeroTail(zeros, at, min(page, end-at)); err != nil {
			return err
		}
	}
	return s.data.Sync()
}

// zeroTail clears a page behind the last one in use, unless it is clear: the file grows by much at a time, and most of it was never written.
func (s *Stores) zeroTail(zeros []byte, at, n int64) error {
	buf := make([]byte, n)
	if _, err := s.data.ReadAt(buf, at); err != nil && !errors.Is(err, io.EOF) {
		return err
	}
	for _, b := range buf {
		if b != 0 {
			_, err := s.data.WriteAt(zeros[:n], at)
			return err
		}
	}
	return nil
}
