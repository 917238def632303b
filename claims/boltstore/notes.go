package boltstore

import (
	"bytes"
	"context"
	"fmt"

	bolt "go.etcd.io/bbolt"

	"kickplate/claims"
)

// PutNote implements claims.Store.
func (s *Store) PutNote(ctx context.Context, name string, value []byte) error {
	if err := claims.CheckNote(name, value); err != nil {
		return err
	}
	if value != nil {
		value = append([]byte{1}, value...) // a copy; the mark tells empty from absent
	}
	return s.file.writes.do(ctx, &change{
		check: func(*bolt.Tx) error { return nil },
		write: func(tx *bolt.Tx) error {
			shop, err := s.writable(tx)
			if err != nil {
				return err
			}
			notes := shop.Bucket([]byte(bucketNotes))
			if value == nil {
				return notes.Delete([]byte(name))
			}
			return notes.Put([]byte(name), value)
		},
	})
}

// Note implements claims.Store.
func (s *Store) Note(ctx context.Context, name string) ([]byte, error) {
	var value []byte
	err := s.view(ctx, func(shop *bolt.Bucket) error {
		if shop == nil {
			return claims.ErrAbsent
		}
		raw := shop.Bucket([]byte(bucketNotes)).Get([]byte(name))
		if len(raw) == 0 {
			return claims.ErrAbsent
		}
		value = append([]byte{}, raw[1:]...)
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("note %q: %w", name, err)
	}
	return value, nil
}

// Notes implements claims.Store. Like Leaves it yields between transactions.
func (s *Store) Notes(ctx context.Context, prefix string, yield func(name string, value []byte) bool) error {
	type note struct {
		name  string
		value []byte
	}
	next := []byte(prefix)
	for {
		var page []note
		more := false
		err := s.view(ctx, func(shop *bolt.Bucket) error {
			if shop == nil {
				return nil
			}
			size := 0
			c := shop.Bucket([]byte(bucketNotes)).Cursor()
			for k, v := c.Seek(next); k != nil && bytes.HasPrefix(k, []byte(prefix)); k, v = c.Next() {
				if len(page) == pageRecords || size > pageBytes {
					more = true
					return nil
				}
				if len(v) == 0 {
					return damaged("note %q has no value", k)
				}
				page, size = append(page, note{string(k), append([]byte{}, v[1:]...)}), size+len(v)
			}
			return nil
		})
		if err != nil {
			return fmt.Errorf("read the notes under %q: %w", prefix, err)
		}
		for _, n := range page {
			if !yield(n.name, n.value) {
				return nil
			}
			next = append([]byte(n.name), 0)
		}
		if !more {
			return nil
		}
	}
}
