package boltstore

import (
	"context"
	"fmt"

	bolt "go.etcd.io/bbolt"
	"golang.org/x/mod/sumdb/tlog"

	"kickplate/claims"
)

// Store is one shop's journal in the file. It implements claims.Store.
type Store struct {
	file *Stores
	shop []byte
}

var _ claims.Store = (*Store)(nil)

// Commit implements claims.Store.
func (s *Store) Commit(ctx context.Context, b claims.Batch) (claims.Head, error) {
	card, raw, err := b.Check()
	if err != nil {
		return 0, err
	}
	leaves := make([]tlog.Hash, len(b.Records)) // hashed here: this part needs no lock
	for i, r := range b.Records {
		leaves[i] = tlog.RecordHash(r.Line)
	}
	err = s.file.writes.do(ctx, &change{
		check: func(tx *bolt.Tx) error { return s.checkCommit(tx, b) },
		write: func(tx *bolt.Tx) error {
			shop, err := s.writable(tx)
			if err != nil {
				return err
			}
			if err := appendRecords(shop, b, leaves); err != nil {
				return err
			}
			return replaceCard(shop, card, raw)
		},
	})
	if err != nil {
		return 0, err
	}
	return card.Entries, nil
}

func (s *Store) checkCommit(tx *bolt.Tx, b claims.Batch) error {
	shop := tx.Bucket([]byte(bucketShops)).Bucket(s.shop)
	var head claims.Head
	if shop != nil {
		if raw := shop.Bucket([]byte(bucketJobs)).Get([]byte(b.Job)); raw != nil {
			var err error
			if head, err = headOf(b.Job, raw); err != nil {
				return err
			}
		}
	}
	if head != b.Was {
		return fmt.Errorf("job %q has %d entries, not %d: %w", b.Job, head, b.Was, claims.ErrStale)
	}
	if head == 0 && len(b.Records) == 0 {
		return fmt.Errorf("job %q: %w", b.Job, claims.ErrAbsent)
	}
	if shop != nil {
		entries := shop.Bucket([]byte(bucketEntries))
		for _, r := range b.Records {
			if entries.Get([]byte(r.Entry)) != nil {
				return fmt.Errorf("entry %q: %w", r.Entry, claims.ErrTaken)
			}
		}
	}
	return nil
}

// writable returns the shop's bucket with all its buckets, made when this is the shop's first write.
func (s *Store) writable(tx *bolt.Tx) (*bolt.Bucket, error) {
	shops := tx.Bucket([]byte(bucketShops))
	if shop := shops.Bucket(s.shop); shop != nil {
		return shop, nil
	}
	shop, err := shops.CreateBucket(s.shop)
	if err != nil {
		return nil, fmt.Errorf("make shop %q: %w", s.shop, err)
	}
	for _, name := range shopBuckets() {
		if _, err := shop.CreateBucket([]byte(name)); err != nil {
			return nil, fmt.Errorf("make shop %q: %w", s.shop, err)
		}
	}
	return shop, nil
}

// appendRecords writes records, entry ids, leaves and tree hashes.
func appendRecords(shop *bolt.Bucket, b claims.Batch, leaves []tlog.Hash) error {
	if len(b.Records) == 0 {
		return nil
	}
	size, err := logSize(shop)
	if err != nil {
		return err
	}
	lines, hashes := shop.Bucket([]byte(bucketLeaves)), shop.Bucket([]byte(bucketHashes))
	lines.FillPercent, hashes.FillPercent = 0.95, 0.95 // only ever appended to
	entries, records := shop.Bucket([]byte(bucketEntries)), shop.Bucket([]byte(bucketRecords))
	read := hashReader(hashes)
	for i, r := range b.Records {
		leaf := size + uint64(i)
		if lines.Get(number(leaf)) != nil {
			return damaged("the log's size is %d, but leaf %d is there already", size, leaf)
		}
		if err := lines.Put(number(leaf), encodeLeaf(b.Job, r)); err != nil {
			return fmt.Errorf("write leaf %d: %w", leaf, err)
		}
		stored, err := tlog.StoredHashesForRecordHash(int64(leaf), leaves[i], read)
		if err != nil {
			return fmt.Errorf("hash leaf %d: %w", leaf, err)
		}
		at := tlog.StoredHashIndex(0, int64(leaf))
		for j, h := range stored {
			if err := hashes.Put(number(uint64(at)+uint64(j)), h[:]); err != nil {
				return fmt.Errorf("write the hashes of leaf %d: %w", leaf, err)
			}
		}
		if err := entries.Put([]byte(r.Entry), number(leaf)); err != nil {
			return fmt.Errorf("write entry %q: %w", r.Entry, err)
		}
		if err := records.Put(recordKey(b.Job, b.Was+claims.Head(i)), number(leaf)); err != nil {
			return fmt.Errorf("write entry %q: %w", r.Entry, err)
		}
		if r.Seq > 0 {
			if err := shop.Bucket([]byte(bucketChains)).Put(chainKey(r.Device, r.Seq, leaf), nil); err != nil {
				return fmt.Errorf("write the place of entry %q in its chain: %w", r.Entry, err)
			}
		}
	}
	return shop.Bucket([]byte(bucketLog)).Put([]byte("size"), number(size+uint64(len(b.Records))))
}

func logSize(shop *bolt.Bucket) (uint64, error) {
	raw := shop.Bucket([]byte(bucketLog)).Get([]byte("size"))
	if raw == nil {
		return 0, nil
	}
	return parseNumber("the log's size", raw)
}

func hashReader(hashes *bolt.Bucket) tlog.HashReader {
	return tlog.HashReaderFunc(func(indexes []int64) ([]tlog.Hash, error) {
		list := make([]tlog.Hash, len(indexes))
		for i, x := range indexes {
			raw := hashes.Get(number(uint64(x)))
			if len(raw) != tlog.HashSize {
				return nil, damaged("tree hash %d has %d bytes", x, len(raw))
			}
			copy(list[i][:], raw)
		}
		return list, nil
	})
}

// Records implements claims.Store.
func (s *Store) Records(ctx context.Context, job claims.JobID, from claims.Head, limit int) ([]claims.Record, claims.Head, error) {
	var list []claims.Record
	var head claims.Head
	err := s.view(ctx, func(shop *bolt.Bucket) error {
		if shop == nil {
			return claims.ErrAbsent
		}
		raw := shop.Bucket([]byte(bucketJobs)).Get([]byte(job))
		if raw == nil {
			return claims.ErrAbsent
		}
		var err error
		if head, err = headOf(job, raw); err != nil {
			return err
		}
		end := head
		if limit > 0 && from < head && head-from > claims.Head(limit) {
			end = from + claims.Head(limit)
		}
		records, leaves := shop.Bucket([]byte(bucketRecords)), shop.Bucket([]byte(bucketLeaves))
		for pos := from; pos < end; pos++ {
			raw := records.Get(recordKey(job, pos))
			if raw == nil {
				return damaged("entry %d of job %q is missing", pos, job)
			}
			leaf, err := parseNumber("a record", raw)
			if err != nil {
				return err
			}
			r, err := readLeaf(leaves, leaf)
			if err != nil {
				return err
			}
			list = append(list, r)
			if pos%256 == 255 && ctx.Err() != nil {
				return ctx.Err()
			}
		}
		return nil
	})
	if err != nil {
		return nil, 0, fmt.Errorf("read job %q: %w", job, err)
	}
	return list, head, nil
}

func readLeaf(leaves *bolt.Bucket, leaf uint64) (claims.Record, error) {
	raw := leaves.Get(number(leaf))
	if raw == nil {
		return claims.Record{}, damaged("leaf %d is missing", leaf)
	}
	return decodeLeaf(leaf, raw)
}

// Lookup implements claims.Store.
func (s *Store) Lookup(ctx context.Context, ids []claims.EntryID) (map[claims.EntryID]claims.Record, error) {
	found := make(map[claims.EntryID]claims.Record)
	err := s.view(ctx, func(shop *bolt.Bucket) error {
		if shop == nil {
			return nil
		}
		entries, leaves := shop.Bucket([]byte(bucketEntries)), shop.Bucket([]byte(bucketLeaves))
		for _, id := range ids {
			raw := entries.Get([]byte(id))
			if raw == nil {
				continue
			}
			leaf, err := parseNumber("an entry", raw)
			if err != nil {
				return err
			}
			r, err := readLeaf(leaves, leaf)
			if err != nil {
				return err
			}
			found[id] = r
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("look up %d entries: %w", len(ids), err)
	}
	return found, nil
}

// LogSize implements claims.Store.
func (s *Store) LogSize(ctx context.Context) (uint64, error) {
	var size uint64
	err := s.view(ctx, func(shop *bolt.Bucket) (err error) {
		if shop != nil {
			size, err = logSize(shop)
		}
		return err
	})
	return size, err
}

// LogHashes implements claims.Store.
func (s *Store) LogHashes(ctx context.Context, indexes []int64) ([][32]byte, error) {
	list := make([][32]byte, len(indexes))
	err := s.view(ctx, func(shop *bolt.Bucket) error {
		if shop == nil && len(indexes) > 0 {
			return fmt.Errorf("tree hash %d: %w", indexes[0], claims.ErrAbsent)
		}
		for i, x := range indexes {
			raw := shop.Bucket([]byte(bucketHashes)).Get(number(uint64(x)))
			if raw == nil {
				return fmt.Errorf("tree hash %d: %w", x, claims.ErrAbsent)
			}
			if len(raw) != tlog.HashSize {
				return damaged("tree hash %d has %d bytes", x, len(raw))
			}
			copy(list[i][:], raw)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return list, nil
}

const (
	pageRecords = 256     // records read in one transaction
	pageBytes   = 4 << 20 // and their bytes, about
)

// Leaves implements claims.Store. It reads page by page and yields between transactions, so yield may take its time
// and may write.
func (s *Store) Leaves(ctx context.Context, from uint64, yield func(claims.Record) bool) error {
	for {
		var page []claims.Record
		more := false
		err := s.view(ctx, func(shop *bolt.Bucket) error {
			if shop == nil {
				return nil
			}
			size := 0
			c := shop.Bucket([]byte(bucketLeaves)).Cursor()
			for k, v := c.Seek(number(from)); k != nil; k, v = c.Next() {
				leaf, err := parseNumber("a leaf's number", k)
				if err != nil {
					return err
				}
				if len(page) == pageRecords || size > pageBytes {
					more = true
					return nil
				}
				r, err := decodeLeaf(leaf, v)
				if err != nil {
					return err
				}
				page, size, from = append(page, r), size+len(v), leaf+1
			}
			return nil
		})
		for _, r := range page {
			if !yield(r) {
				return nil
			}
		}
		if err != nil {
			return fmt.Errorf("read the log from leaf %d: %w", from, err)
		}
		if !more {
			return nil
		}
	}
}
