package boltstore

import (
	"bytes"
	"encoding/binary"
	"fmt"

	bolt "go.etcd.io/bbolt"

	"kickplate/claims"
)

// replaceCard writes the card and brings the job's index entries from what the old card asked for to what the new
// one asks for. Only the differences are written: a job with sixty photos that gains a note touches no photo index.
func replaceCard(shop *bolt.Bucket, card claims.Card, raw []byte) error {
	cards := shop.Bucket([]byte(bucketCards))
	var old claims.Card
	if before := cards.Get([]byte(card.Job)); before != nil {
		var err error
		if old, err = claims.DecodeCard(card.Job, before); err != nil {
			return fmt.Errorf("%w: %w", err, errDamaged)
		}
		if err := replaceKeys(shop, indexKeys(old), indexKeys(card)); err != nil {
			return err
		}
	} else if err := replaceKeys(shop, nil, indexKeys(card)); err != nil {
		return err
	}
	if err := replacePrints(shop, card.Job, old.Prints, card.Prints); err != nil {
		return err
	}
	if err := cards.Put([]byte(card.Job), raw); err != nil {
		return fmt.Errorf("write the card of job %q: %w", card.Job, err)
	}
	if err := shop.Bucket([]byte(bucketJobs)).Put([]byte(card.Job), encodeJob(card)); err != nil {
		return fmt.Errorf("write job %q: %w", card.Job, err)
	}
	return nil
}

// indexKey is one key in one of the index buckets.
type indexKey struct{ bucket, key string }

func indexKeys(c claims.Card) map[indexKey]struct{} {
	set := make(map[indexKey]struct{})
	for _, o := range claims.CardOrders() {
		if k, ok := o.Key(c); ok {
			set[indexKey{string(o), string(k)}] = struct{}{}
		}
	}
	for name, values := range c.Keys {
		for _, v := range values {
			set[indexKey{bucketKeys, string(append(keyPrefix(name, v), c.Job...))}] = struct{}{}
		}
	}
	for _, w := range c.Words {
		set[indexKey{bucketWords, string(wordKey(w, c.Job))}] = struct{}{}
	}
	return set
}

func replaceKeys(shop *bolt.Bucket, old, now map[indexKey]struct{}) error {
	for k := range old {
		if _, stays := now[k]; !stays {
			if err := shop.Bucket([]byte(k.bucket)).Delete([]byte(k.key)); err != nil {
				return fmt.Errorf("index %s: %w", k.bucket, err)
			}
		}
	}
	for k := range now {
		if _, there := old[k]; !there {
			if err := shop.Bucket([]byte(k.bucket)).Put([]byte(k.key), nil); err != nil {
				return fmt.Errorf("index %s: %w", k.bucket, err)
			}
		}
	}
	return nil
}

func replacePrints(shop *bolt.Bucket, job claims.JobID, old, now []claims.PhotoPrint) error {
	prints, bands := shop.Bucket([]byte(bucketPrints)), shop.Bucket([]byte(bucketBands))
	was, is := printSet(old), printSet(now)
	for p := range was {
		if _, stays := is[p]; stays {
			continue
		}
		if err := prints.Delete(printKey(p, job)); err != nil {
			return fmt.Errorf("index prints: %w", err)
		}
		prefix := number(p.Print)
		if k, _ := prints.Cursor().Seek(prefix); bytes.HasPrefix(k, prefix) {
			continue // another photo has this fingerprint
		}
		for band := range bandCount {
			if err := bands.Delete(bandKey(band, p.Print)); err != nil {
				return fmt.Errorf("index bands: %w", err)
			}
		}
	}
	for p := range is {
		if _, there := was[p]; there {
			continue
		}
		if err := prints.Put(printKey(p, job), nil); err != nil {
			return fmt.Errorf("index prints: %w", err)
		}
		for band := range bandCount {
			if err := bands.Put(bandKey(band, p.Print), nil); err != nil {
				return fmt.Errorf("index bands: %w", err)
			}
		}
	}
	return nil
}

func printSet(list []claims.PhotoPrint) map[claims.PhotoPrint]struct{} {
	set := make(map[claims.PhotoPrint]struct{}, len(list))
	for _, p := range list {
		set[p] = struct{}{}
	}
	return set
}

func printKey(p claims.PhotoPrint, job claims.JobID) []byte {
	return append(appendID(number(p.Print), string(job)), p.Digest...)
}

func parsePrintKey(k []byte) (claims.NearPhoto, error) {
	if len(k) < 8 {
		return claims.NearPhoto{}, damaged("a fingerprint's key has %d bytes", len(k))
	}
	job, digest, ok := cutID(k[8:])
	if !ok {
		return claims.NearPhoto{}, damaged("fingerprint %x has no job", k[:8])
	}
	return claims.NearPhoto{Job: claims.JobID(job), Digest: claims.Digest(digest)}, nil
}

func bandKey(band int, print uint64) []byte {
	return binary.BigEndian.AppendUint64([]byte{byte(band)}, rotate(print, band))
}
