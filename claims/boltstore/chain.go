package boltstore

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"slices"

	bolt "go.etcd.io/bbolt"

	"kickplate/claims"
)

// chainKey is where an entry stands among those of its device.
func chainKey(device string, seq, leaf uint64) []byte {
	key := binary.BigEndian.AppendUint64(appendID(nil, device), seq)
	return binary.BigEndian.AppendUint64(key, leaf)
}

// Chain implements claims.Store. Like Leaves it reads page by page and yields between transactions.
func (s *Store) Chain(ctx context.Context, device string, yield func(claims.Record) bool) error {
	if device == "" || len(device) > claims.MaxStoreID {
		return nil
	}
	prefix := appendID(nil, device)
	from := prefix
	for {
		var page []claims.Record
		more := false
		err := s.view(ctx, func(shop *bolt.Bucket) error {
			if shop == nil {
				return nil
			}
			leaves := shop.Bucket([]byte(bucketLeaves))
			c := shop.Bucket([]byte(bucketChains)).Cursor()
			size := 0
			for k, _ := c.Seek(from); k != nil && bytes.HasPrefix(k, prefix); k, _ = c.Next() {
				if len(k) != len(prefix)+16 {
					return damaged("a place in the chain of device %q has %d bytes", device, len(k))
				}
				if len(page) == pageRecords || size > pageBytes {
					more = true
					return nil
				}
				r, err := readLeaf(leaves, binary.BigEndian.Uint64(k[len(k)-8:]))
				if err != nil {
					return err
				}
				page, size, from = append(page, r), size+len(r.Line), append(bytes.Clone(k), 0)
			}
			return nil
		})
		for _, r := range page {
			if !yield(r) {
				return nil
			}
		}
		if err != nil {
			return fmt.Errorf("read the chain of device %q: %w", device, err)
		}
		if !more {
			return nil
		}
	}
}

// Devices implements claims.Store.
func (s *Store) Devices(ctx context.Context) ([]string, error) {
	var list []string
	err := s.view(ctx, func(shop *bolt.Bucket) error {
		if shop == nil {
			return nil
		}
		c := shop.Bucket([]byte(bucketChains)).Cursor()
		for k, _ := c.First(); k != nil; {
			device, _, ok := cutID(k)
			if !ok {
				return damaged("a place in a chain has no device")
			}
			list = append(list, device)
			// Past everything of this device: no sequence is higher.
			k, _ = c.Seek(append(chainKey(device, ^uint64(0), ^uint64(0)), 0))
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("list the devices: %w", err)
	}
	slices.Sort(list)
	return list, nil
}
