package memstore

import (
	"context"
	"fmt"
	"math/bits"
	"sort"

	"kickplate/claims"
)

// Card implements claims.Store.
func (s *Store) Card(ctx context.Context, id claims.JobID) (claims.Card, error) {
	unlock, err := s.read(ctx)
	if err != nil {
		return claims.Card{}, err
	}
	defer unlock()
	j := s.jobs[id]
	if j == nil {
		return claims.Card{}, fmt.Errorf("card of job %q: %w", id, claims.ErrAbsent)
	}
	return claims.DecodeCard(id, j.card)
}

// Cards implements claims.Store by reading every card.
func (s *Store) Cards(ctx context.Context, q claims.CardQuery) (claims.CardPage, error) {
	p, err := q.Plan()
	if err != nil {
		return claims.CardPage{}, err
	}
	unlock, err := s.read(ctx)
	if err != nil {
		return claims.CardPage{}, err
	}
	defer unlock()
	type placed struct {
		key  string
		card claims.Card
	}
	var list []placed
	for id, j := range s.jobs {
		card, err := claims.DecodeCard(id, j.card)
		if err != nil {
			return claims.CardPage{}, err
		}
		key, ok := p.Order.Key(card)
		if ok && (p.After == nil || string(key) > string(p.After)) && fits(p, card) {
			list = append(list, placed{string(key), card})
		}
	}
	sort.Slice(list, func(i, j int) bool { return list[i].key < list[j].key })
	var page claims.CardPage
	if len(list) > p.Limit {
		list = list[:p.Limit]
		page.Next = p.Order.Cursor([]byte(list[p.Limit-1].key))
	}
	for _, l := range list {
		page.Cards = append(page.Cards, l.card)
	}
	return page, nil
}

func fits(p claims.CardPlan, c claims.Card) bool {
	if p.Key != "" && !c.HasKey(p.Key, p.Value) {
		return false
	}
	for _, w := range p.Words {
		if !c.HasWord(w) {
			return false
		}
	}
	return true
}

// Near implements claims.Store by measuring every photo.
func (s *Store) Near(ctx context.Context, print uint64, within, limit int) ([]claims.NearPhoto, error) {
	limit, err := claims.CheckNear(within, limit)
	if err != nil {
		return nil, err
	}
	unlock, err := s.read(ctx)
	if err != nil {
		return nil, err
	}
	defer unlock()
	var list []claims.NearPhoto
	for id, j := range s.jobs {
		card, err := claims.DecodeCard(id, j.card)
		if err != nil {
			return nil, err
		}
		seen := make(map[claims.PhotoPrint]bool)
		for _, p := range card.Prints {
			d := bits.OnesCount64(p.Print ^ print)
			if d <= within && !seen[p] {
				seen[p] = true
				list = append(list, claims.NearPhoto{Job: id, Digest: p.Digest, Bits: d})
			}
		}
	}
	sort.Slice(list, func(i, j int) bool {
		a, b := list[i], list[j]
		if a.Bits != b.Bits {
			return a.Bits < b.Bits
		}
		if a.Job != b.Job {
			return a.Job < b.Job
		}
		return a.Digest < b.Digest
	})
	return list[:min(len(list), limit)], nil
}
