package memstore

import (
	"cmp"
	"context"
	"maps"
	"slices"

	"kickplate/claims"
)

// Chain implements claims.Store. No lock is held while yield runs.
func (s *Store) Chain(ctx context.Context, device string, yield func(claims.Record) bool) error {
	unlock, err := s.read(ctx)
	if err != nil {
		return err
	}
	places := slices.Clone(s.chains[device])
	slices.SortFunc(places, func(a, b place) int { return cmp.Or(cmp.Compare(a.seq, b.seq), cmp.Compare(a.leaf, b.leaf)) })
	list := make([]claims.Record, len(places))
	for i, p := range places {
		list[i] = copyRecord(s.leaves[p.leaf])
	}
	unlock()
	for _, r := range list {
		if !yield(r) {
			return nil
		}
	}
	return nil
}

// Devices implements claims.Store.
func (s *Store) Devices(ctx context.Context) ([]string, error) {
	unlock, err := s.read(ctx)
	if err != nil {
		return nil, err
	}
	defer unlock()
	return slices.Sorted(maps.Keys(s.chains)), nil
}
