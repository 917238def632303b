package claims

import (
	"context"
	"errors"
)

// Receipt is what a customer takes along: the log as it stood after the last entry of the job. Whoever has it can show later
// that nothing of the job was changed or taken out since, and the shop can't make it fit another order of events.
type Receipt struct {
	Job    JobID  `json:"job"`
	Number string `json:"number,omitempty"`
	Shop   string `json:"shop"`
	// Entries is how many entries the job had.
	Entries int `json:"entries"`
	// Checkpoint is the signed checkpoint, Key the shop's verifier key.
	Checkpoint string `json:"checkpoint"`
	Key        string `json:"key"`
}

// Receipt seals the log and returns the job's receipt. Everybody who works on the job may give it out: it names hashes only.
func (s *Service) Receipt(ctx context.Context, a Actor, job JobID) (Receipt, error) {
	st, err := s.store(ctx, a, ActRead)
	if err != nil {
		return Receipt{}, err
	}
	j, err := s.Job(ctx, a, job)
	if err != nil {
		return Receipt{}, err
	}
	shop, err := s.shop(ctx, st, a.Shop)
	if err != nil {
		return Receipt{}, err
	}
	sealed, err := s.Notary.Seal(ctx, st, nil)
	if err != nil {
		return Receipt{}, err
	}
	if len(sealed.Checkpoint) == 0 {
		return Receipt{}, errors.New("the log was not sealed")
	}
	return Receipt{Job: job, Number: j.Open.Number, Shop: shop.Name, Entries: j.Entries, Checkpoint: string(sealed.Checkpoint), Key: sealed.Key}, nil
}
