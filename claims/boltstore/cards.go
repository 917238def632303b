package boltstore

import (
	"bytes"
	"context"
	"fmt"
	"sort"

	bolt "go.etcd.io/bbolt"

	"kickplate/claims"
)

// fewJobs is how many jobs a filter may pick for them to be fetched and sorted. A filter that picks more is dense
// enough to walk the order and keep what fits.
const fewJobs = 2000

// Card implements claims.Store.
func (s *Store) Card(ctx context.Context, job claims.JobID) (claims.Card, error) {
	var card claims.Card
	err := s.view(ctx, func(shop *bolt.Bucket) (err error) {
		if shop == nil {
			return claims.ErrAbsent
		}
		card, err = readCard(shop, job)
		return err
	})
	if err != nil {
		return claims.Card{}, fmt.Errorf("card of job %q: %w", job, err)
	}
	return card, nil
}

func readCard(shop *bolt.Bucket, job claims.JobID) (claims.Card, error) {
	raw := shop.Bucket([]byte(bucketCards)).Get([]byte(job))
	if raw == nil {
		return claims.Card{}, claims.ErrAbsent
	}
	return claims.DecodeCard(job, raw)
}

// Cards implements claims.Store. A page costs its own cards, whatever the number of jobs; with filters it costs
// at most fewJobs look-ups, or the steps along the order between one fitting job and the next.
func (s *Store) Cards(ctx context.Context, q claims.CardQuery) (claims.CardPage, error) {
	plan, err := q.Plan()
	if err != nil {
		return claims.CardPage{}, err
	}
	var page claims.CardPage
	err = s.view(ctx, func(shop *bolt.Bucket) error {
		if shop == nil {
			return nil
		}
		keys, err := pageKeys(ctx, shop, plan)
		if err != nil {
			return err
		}
		if len(keys) > plan.Limit {
			keys = keys[:plan.Limit]
			page.Next = plan.Order.Cursor(keys[plan.Limit-1])
		}
		for _, k := range keys {
			card, err := readCard(shop, plan.Order.JobOf(k))
			if err != nil {
				return damaged("job %q is in the list by %s: %v", plan.Order.JobOf(k), plan.Order, err)
			}
			page.Cards = append(page.Cards, card)
		}
		return nil
	})
	if err != nil {
		return claims.CardPage{}, fmt.Errorf("list jobs: %w", err)
	}
	return page, nil
}

// pageKeys returns the order keys of the page, and of one more card if there is one.
func pageKeys(ctx context.Context, shop *bolt.Bucket, p claims.CardPlan) ([][]byte, error) {
	for _, f := range filters(p) {
		jobs, few, err := f.pick(ctx, shop)
		if err != nil {
			return nil, err
		}
		if few {
			return sortJobs(shop, p, jobs)
		}
	}
	return walkOrder(ctx, shop, p)
}

// filter is a range of keys of an index bucket.
type filter struct {
	bucket string
	prefix []byte
	job    func(key []byte) (claims.JobID, bool)
}

// filters are the query's, the one that likely picks the fewest first.
func filters(p claims.CardPlan) []filter {
	var list []filter
	if p.Key != "" {
		prefix := keyPrefix(p.Key, p.Value)
		list = append(list, filter{bucketKeys, prefix, func(k []byte) (claims.JobID, bool) {
			return claims.JobID(k[len(prefix):]), true
		}})
	}
	for _, w := range p.Words {
		list = append(list, filter{bucketWords, []byte(cutWord(w)), jobOfWordKey})
	}
	return list
}

// pick returns the jobs in the filter's range; few is false when there are too many to fetch.
func (f filter) pick(ctx context.Context, shop *bolt.Bucket) (jobs map[claims.JobID]struct{}, few bool, err error) {
	jobs = make(map[claims.JobID]struct{})
	c := shop.Bucket([]byte(f.bucket)).Cursor()
	steps := 0
	for k, _ := c.Seek(f.prefix); bytes.HasPrefix(k, f.prefix); k, _ = c.Next() {
		if steps++; steps > 4*fewJobs {
			return nil, false, nil
		}
		job, ok := f.job(k)
		if !ok {
			return nil, false, damaged("index %s holds the key %x", f.bucket, k)
		}
		jobs[job] = struct{}{}
		if len(jobs) > fewJobs {
			return nil, false, nil
		}
	}
	return jobs, true, ctx.Err()
}

func sortJobs(shop *bolt.Bucket, p claims.CardPlan, jobs map[claims.JobID]struct{}) ([][]byte, error) {
	var keys [][]byte
	for job := range jobs {
		key, fits, err := fit(shop, p, job)
		if err != nil {
			return nil, err
		}
		if fits && key != nil && (p.After == nil || bytes.Compare(key, p.After) > 0) {
			keys = append(keys, key)
		}
	}
	sort.Slice(keys, func(i, j int) bool { return bytes.Compare(keys[i], keys[j]) < 0 })
	return keys[:min(len(keys), p.Limit+1)], nil
}

func walkOrder(ctx context.Context, shop *bolt.Bucket, p claims.CardPlan) ([][]byte, error) {
	var keys [][]byte
	c := shop.Bucket([]byte(p.Order)).Cursor()
	k, _ := c.Seek(p.After)
	if p.After != nil && bytes.Equal(k, p.After) {
		k, _ = c.Next()
	}
	for steps := 1; k != nil && len(keys) <= p.Limit; k, _ = c.Next() {
		if p.Key != "" || len(p.Words) > 0 {
			_, fits, err := fit(shop, p, p.Order.JobOf(k))
			if err != nil {
				return nil, err
			}
			if steps++; steps%1024 == 0 && ctx.Err() != nil {
				return nil, ctx.Err()
			}
			if !fits {
				continue
			}
		}
		keys = append(keys, append([]byte(nil), k...))
	}
	return keys, nil
}

// fit returns the job's key in the order of the plan (nil when it is not in it), and whether it passes the filters.
func fit(shop *bolt.Bucket, p claims.CardPlan, job claims.JobID) (key []byte, fits bool, err error) {
	state := shop.Bucket([]byte(bucketJobs)).Get([]byte(job))
	if state == nil {
		return nil, false, damaged("an index names job %q, which is not here", job)
	}
	if p.Key != "" {
		want := append(keyPrefix(p.Key, p.Value), job...)
		if k, _ := shop.Bucket([]byte(bucketKeys)).Cursor().Seek(want); !bytes.Equal(k, want) {
			return nil, false, nil
		}
	}
	if len(p.Words) > 0 && !hasWords(state, p.Words) {
		return nil, false, nil
	}
	key, err = timeOf(job, state, p.Order)
	return key, err == nil, err
}
