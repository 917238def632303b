package claims

import "context"

// Logbook is the part of a Store that proofs are made from.
type Logbook interface {
	LogSize(ctx context.Context) (uint64, error)
	LogHashes(ctx context.Context, indexes []int64) ([][32]byte, error)
}

// Logbook opens the shop's custody log for making proofs.
func (s *Service) Logbook(ctx context.Context, a Actor) (Logbook, error) {
	return s.store(ctx, a, ActCustody)
}

// Checkpoint signs the shop's custody log as it stands and keeps the checkpoint.
func (s *Service) Checkpoint(ctx context.Context, a Actor) (CustodyParcel, error) {
	st, err := s.store(ctx, a, ActCustody)
	if err != nil {
		return CustodyParcel{}, err
	}
	return s.Notary.Seal(ctx, st, nil)
}
