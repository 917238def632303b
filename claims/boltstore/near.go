package boltstore

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"math/bits"
	"slices"

	bolt "go.etcd.io/bbolt"

	"kickplate/claims"
)

// A fingerprint is split into four bands of 16 bits. If two fingerprints differ in at most r bits, and the tolerances
// of the bands t0..t3 satisfy (t0+1)+(t1+1)+(t2+1)+(t3+1) = r+1, then in some band they differ in at most t bits: were
// every band i over by at least ti+1, the sum would be r+1. So looking up, in each band, all values within its
// tolerance finds every neighbour; each find is then measured on all 64 bits. Exact for every r; for r = 10 it
// takes 428 look-ups. (Multi-index hashing: Norouzi, Punjani and Fleet, 2012; the uneven tolerances are the
// general form of the pigeonhole principle.)
const (
	bandCount = 4
	bandBits  = 16
)

// rotate brings a band to the top.
func rotate(print uint64, band int) uint64 { return bits.RotateLeft64(print, band*bandBits) }

// tolerances returns the bits by which each band may differ; -1 = the band need not be looked at.
func tolerances(within int) [bandCount]int {
	var t [bandCount]int
	for i := range t {
		t[i] = -1
	}
	for i := range within + 1 {
		t[i%bandCount]++
	}
	return t
}

// masks calls yield with every 16-bit mask of at most n bits.
func masks(n int, yield func(mask uint16)) {
	var add func(mask uint16, from, left int)
	add = func(mask uint16, from, left int) {
		yield(mask)
		for i := from; left > 0 && i < bandBits; i++ {
			add(mask|1<<i, i+1, left-1)
		}
	}
	if n >= 0 {
		add(0, 0, n)
	}
}

// Near implements claims.Store. Photos at the same distance come by fingerprint, job and digest.
func (s *Store) Near(ctx context.Context, print uint64, within, limit int) ([]claims.NearPhoto, error) {
	limit, err := claims.CheckNear(within, limit)
	if err != nil {
		return nil, err
	}
	var list []claims.NearPhoto
	err = s.view(ctx, func(shop *bolt.Bucket) error {
		if shop == nil {
			return nil
		}
		prints, err := nearPrints(ctx, shop.Bucket([]byte(bucketBands)), print, within)
		if err != nil {
			return err
		}
		c := shop.Bucket([]byte(bucketPrints)).Cursor()
		for _, p := range prints {
			prefix := number(p)
			for k, _ := c.Seek(prefix); bytes.HasPrefix(k, prefix); k, _ = c.Next() {
				if len(list) == limit {
					return nil
				}
				photo, err := parsePrintKey(k)
				if err != nil {
					return err
				}
				photo.Bits = bits.OnesCount64(p ^ print)
				list = append(list, photo)
			}
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("look for photos like %016x: %w", print, err)
	}
	return list, nil
}

// nearPrints returns the distinct fingerprints within the distance, nearest first.
func nearPrints(ctx context.Context, bands *bolt.Bucket, print uint64, within int) ([]uint64, error) {
	found := make(map[uint64]struct{})
	c := bands.Cursor()
	for band, tolerance := range tolerances(within) {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		var broken error
		lead := uint16(rotate(print, band) >> (64 - bandBits))
		masks(tolerance, func(mask uint16) {
			prefix := binary.BigEndian.AppendUint16([]byte{byte(band)}, lead^mask)
			for k, _ := c.Seek(prefix); bytes.HasPrefix(k, prefix); k, _ = c.Next() {
				if len(k) != 9 {
					broken = damaged("a band's key has %d bytes", len(k))
					return
				}
				other := rotate(binary.BigEndian.Uint64(k[1:]), -band)
				if bits.OnesCount64(other^print) <= within {
					found[other] = struct{}{}
				}
			}
		})
		if broken != nil {
			return nil, broken
		}
	}
	list := make([]uint64, 0, len(found))
	for p := range found {
		list = append(list, p)
	}
	slices.SortFunc(list, func(a, b uint64) int {
		if d := bits.OnesCount64(a^print) - bits.OnesCount64(b^print); d != 0 {
			return d
		}
		if a < b {
			return -1
		}
		return 1
	})
	return list, nil
}
