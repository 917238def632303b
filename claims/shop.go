package claims

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
)

// noteShop is the note that holds the shop's letterhead.
const noteShop = "shop"

// Shop returns the shop's letterhead.
func (s *Service) Shop(ctx context.Context, a Actor) (Shop, error) {
	st, err := s.store(ctx, a, ActRead)
	if err != nil {
		return Shop{}, err
	}
	return s.shop(ctx, st, a.Shop)
}

func (s *Service) shop(ctx context.Context, st Store, id ShopID) (Shop, error) {
	shop := Shop{ID: id, Name: string(id)}
	raw, err := st.Note(ctx, noteShop)
	if errors.Is(err, ErrAbsent) {
		return shop, nil
	}
	if err != nil {
		return shop, err
	}
	if err := json.Unmarshal(raw, &shop); err != nil {
		return shop, fmt.Errorf("read the shop's letterhead: %w", err)
	}
	shop.ID = id
	return shop, nil
}

// SetShop changes the shop's letterhead.
func (s *Service) SetShop(ctx context.Context, a Actor, shop Shop) error {
	st, err := s.store(ctx, a, ActPeople)
	if err != nil {
		return err
	}
	if err := first(line("name", shop.Name, true), text("address", shop.Address, false), text("contact", shop.Contact, false), line("zone", shop.Zone, false),
		country("country", shop.Country), currency("currency", shop.Currency), text("release", shop.Release, false)); err != nil {
		return err
	}
	shop.ID = a.Shop
	raw, err := json.Marshal(shop)
	if err != nil {
		return err
	}
	return st.PutNote(ctx, noteShop, raw)
}
