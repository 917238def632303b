// Package privacy is what a shop owes its customers beside their repair: to find everything it holds on one of them, to hand a copy of it over,
// and to keep none of it longer than it has said. Erasing itself is a use-case of claims (Service.Erase), since it reaches into the journal; what is
// here decides what is to be erased and asks for it.
//
// Start with Desk. It imports claims and must never import a store, another child of claims, media or the server.
package privacy

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"

	"kickplate/claims"
)

// Desk is the use-cases. It keeps no state of its own.
type Desk struct {
	Service *claims.Service
}

// store opens the shop's journal for somebody who may do the act.
func (d Desk) store(ctx context.Context, a claims.Actor, act claims.Act) (claims.Store, error) {
	if err := a.Allow(act); err != nil {
		return nil, err
	}
	return d.Service.Stores.Shop(ctx, a.Shop)
}

func putNote(ctx context.Context, st claims.Store, name string, v any) error {
	raw, err := json.Marshal(v)
	if err != nil {
		return fmt.Errorf("write note %s: %w", name, err)
	}
	return st.PutNote(ctx, name, raw)
}

// note reads a note into v; found is false when there is none.
func note(ctx context.Context, st claims.Store, name string, v any) (found bool, err error) {
	raw, err := st.Note(ctx, name)
	if errors.Is(err, claims.ErrAbsent) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	if err := json.Unmarshal(raw, v); err != nil {
		return false, fmt.Errorf("read note %s: %w", name, err)
	}
	return true, nil
}
