package claims

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
)

// Coverage answers whether the papers' terms cover a job, with the earlier repairs of the same unit in view.
func (s *Service) Coverage(ctx context.Context, a Actor, job JobID) (CoverageAnswer, error) {
	st, err := s.store(ctx, a, ActRead)
	if err != nil {
		return CoverageAnswer{}, err
	}
	j, err := s.Job(ctx, a, job)
	if err != nil {
		return CoverageAnswer{}, err
	}
	earlier, err := earlierRepairs(ctx, st, &j)
	if err != nil {
		return CoverageAnswer{}, err
	}
	return CoverageOf(&j, earlier), nil
}

// Bill draws up a job's bill by the shop's rates as they are. Once the claim was sent, the bill that went with it stands until
// something happens that bears on it.
func (s *Service) Bill(ctx context.Context, a Actor, job JobID) (Bill, error) {
	j, _, err := s.priced(ctx, a, job)
	if err != nil {
		return Bill{}, err
	}
	return j.Bill(), nil
}

// Account holds a job's bill against the payments that came in.
func (s *Service) Account(ctx context.Context, a Actor, job JobID) (Account, error) {
	j, _, err := s.priced(ctx, a, job)
	if err != nil {
		return Account{}, err
	}
	return AccountOf(&j, j.Bill()), nil
}

// priced is a job with its bill by the shop's rates.
func (s *Service) priced(ctx context.Context, a Actor, job JobID) (Job, Store, error) {
	st, err := s.store(ctx, a, ActRead)
	if err != nil {
		return Job{}, nil, err
	}
	j, err := s.Job(ctx, a, job)
	if err != nil {
		return Job{}, nil, err
	}
	return j, st, s.price(ctx, st, &j)
}

// price draws up the bill of a job where the shop's rates and earlier repairs say more than its own entries.
func (s *Service) price(ctx context.Context, st Store, j *Job) error {
	if n := len(j.Bills); n > 0 && len(j.Sends) > 0 && j.Bills[n-1].Body.Bearing == j.Bearing {
		return nil
	}
	r, err := rates(ctx, st)
	if err != nil {
		return err
	}
	var earlier []EarlierRepair
	if c := j.Coverage; c.RepeatDays > 0 || c.FittedMonths > 0 || c.Kind == "part-warranty" { // else they change no amount
		if earlier, err = earlierRepairs(ctx, st, j); err != nil {
			return err
		}
	}
	b := BillOf(j, r, CoverageOf(j, earlier))
	j.bill = &b
	return nil
}

// lookBack bounds how many earlier jobs on the same unit are looked at, those with the latest change first.
const lookBack = 20

// earlierRepairs finds what other jobs repaired on the same unit, or where the old part of this job was fitted, by the serials.
func earlierRepairs(ctx context.Context, st Store, j *Job) ([]EarlierRepair, error) {
	if len(j.Parts) == 0 && len(j.Causes) == 0 {
		return nil, nil
	}
	serials := []string{FoldKey(j.Unit.Serial)}
	for _, p := range j.Parts {
		serials = append(serials, FoldKey(p.Body.OldSerial))
	}
	seen := map[string]bool{"": true}
	jobs := map[JobID]bool{j.ID: true}
	var list []EarlierRepair
	for _, serial := range serials {
		if seen[serial] {
			continue
		}
		seen[serial] = true
		page, err := st.Cards(ctx, CardQuery{Key: "serial", Value: serial, Limit: lookBack})
		if err != nil {
			return nil, fmt.Errorf("look for earlier repairs: %w", err)
		}
		for _, c := range page.Cards {
			if jobs[c.Job] || len(jobs) > lookBack {
				continue
			}
			jobs[c.Job] = true
			recs, _, err := st.Records(ctx, c.Job, 0, 0)
			if errors.Is(err, ErrAbsent) {
				continue
			}
			if err != nil {
				return nil, fmt.Errorf("look for earlier repairs: %w", err)
			}
			other, err := foldRecords(recs)
			if err != nil {
				return nil, fmt.Errorf("job %s: %w", c.Job, err)
			}
			list = append(list, EarlierOf(&other)...)
		}
	}
	return list, nil
}

// drawUp records the bill before a bundle is built, when the entries alone would not give it: what the bundle asks for then stays
// provable, whatever becomes of the rates.
func (s *Service) drawUp(ctx context.Context, st Store, a Actor, j Job) (bool, error) {
	if err := s.price(ctx, st, &j); err != nil {
		return false, err
	}
	if j.bill == nil || len(j.bill.Lines) == 0 {
		return false, nil
	}
	live := *j.bill
	j.bill = nil
	alone := j.Bill()
	raw, err := json.Marshal(live)
	if err != nil {
		return false, fmt.Errorf("draw up the bill: %w", err)
	}
	if old, err := json.Marshal(alone); err == nil && string(old) == string(raw) {
		return false, nil
	}
	if len(raw) > MaxEntry*3/4 {
		short := live.short()
		if old, err := json.Marshal(short); err == nil {
			if last, err := json.Marshal(alone); err == nil && string(old) == string(last) {
				return false, nil
			}
		}
		live = short
	}
	return true, s.record(ctx, st, a, j.ID, KindBilled, live)
}

// short is a bill with the lines of one kind put together, for one that is too long for an entry. The shifts stay.
func (b Bill) short() Bill {
	var lines []BillLine
	at := map[string]int{}
	for _, l := range b.Lines {
		if l.Kind == "shift" {
			lines = append(lines, l)
			continue
		}
		i, ok := at[l.Kind]
		if !ok {
			i, at[l.Kind] = len(lines), len(lines)
			lines = append(lines, BillLine{ID: l.Kind, Kind: l.Kind, Says: "All lines of the kind " + l.Kind + " together; the entries have them one by one"})
		}
		t := &lines[i]
		t.Amount, t.Payer, t.Customer, t.Shop, t.Open = t.Amount+l.Amount, t.Payer+l.Payer, t.Customer+l.Customer, t.Shop+l.Shop, t.Open || l.Open
	}
	b.Lines = lines
	b.Problems = b.Problems[:min(len(b.Problems), 20)]
	return b
}
