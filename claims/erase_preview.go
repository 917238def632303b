package claims

import (
	"context"
	"errors"
	"slices"
	"time"
)

// Erasable is what erasing a job would take, and what speaks against it.
type Erasable struct {
	Job      JobID     `json:"job"`
	Number   string    `json:"number,omitempty"`
	Customer string    `json:"customer,omitempty"`
	Stage    string    `json:"stage"`
	Opened   time.Time `json:"opened,omitzero"`
	Changed  time.Time `json:"changed,omitzero"`
	// Goes and Stays count entries by kind.
	Goes  map[Kind]int `json:"goes"`
	Stays map[Kind]int `json:"stays"`
	// Originals are the files that go, with their Bytes; Shared those that stay because another job has the same ones.
	Originals int   `json:"originals"`
	Bytes     int64 `json:"bytes"`
	Shared    int   `json:"shared"`
	// Out are the bundles that left the house.
	Out []OutOfReach `json:"out,omitempty"`
	// Warnings are codes: claim-open, unfinished, dispute, bundle-out. Hold is the reason of a legal hold: it forbids erasing.
	Warnings []string `json:"warnings,omitempty"`
	Hold     string   `json:"hold,omitempty"`
}

// OutOfReach is a bundle that was sent or fetched: erasing here does not reach it.
type OutOfReach struct {
	Version int       `json:"version"`
	To      string    `json:"to,omitempty"`
	At      time.Time `json:"at"`
}

// EraseWould says what erasing jobs would take. Nothing is changed.
func (s *Service) EraseWould(ctx context.Context, a Actor, jobs []JobID) ([]Erasable, error) {
	st, err := s.store(ctx, a, ActErase)
	if err != nil {
		return nil, err
	}
	if len(jobs) == 0 || len(jobs) > MaxErase {
		return nil, Errorf(Invalid, "Name 1 to %d jobs.", MaxErase).At("jobs")
	}
	blobs, err := s.Blobs.Shop(ctx, a.Shop)
	if err != nil {
		return nil, err
	}
	out := make([]Erasable, 0, len(jobs))
	for _, job := range jobs {
		recs, _, err := journal(ctx, st, job, 0, 0)
		if err != nil {
			return nil, err
		}
		kept, err := keptOf(recs)
		if err != nil {
			return nil, err
		}
		j := Fold(kept)
		if len(j.Erased) > 0 {
			return nil, erasedAlready(&j).At("jobs")
		}
		e, err := erasable(ctx, st, blobs, &j, kept)
		if err != nil {
			return nil, err
		}
		out = append(out, e)
	}
	return out, nil
}

func erasable(ctx context.Context, st Store, blobs Blobs, j *Job, kept []Kept) (Erasable, error) {
	e := Erasable{Job: j.ID, Number: j.Open.Number, Customer: j.Customer.Name, Stage: j.Stage(), Opened: j.Opened, Changed: j.Changed, Goes: map[Kind]int{}, Stays: map[Kind]int{}}
	going := goes(kept)
	for _, k := range kept {
		if going[k.ID] {
			e.Goes[k.Kind]++
		} else {
			e.Stays[k.Kind]++
		}
	}
	gone, shared, err := originalsToErase(ctx, st, j.ID, kept, going)
	if err != nil {
		return e, err
	}
	e.Shared = len(shared)
	for _, d := range gone {
		n, err := blobs.Has(ctx, d)
		if errors.Is(err, ErrAbsent) {
			continue
		}
		if err != nil {
			return e, err
		}
		e.Originals, e.Bytes = e.Originals+1, e.Bytes+n
	}
	for _, x := range j.Sends {
		if x.Body.Version > 0 {
			e.Out = append(e.Out, OutOfReach{Version: x.Body.Version, To: x.Body.To, At: x.At})
		}
	}
	for _, x := range j.Fetches {
		if !slices.ContainsFunc(e.Out, func(o OutOfReach) bool { return o.Version == x.Body.Version }) {
			e.Out = append(e.Out, OutOfReach{Version: x.Body.Version, At: x.At})
		}
	}
	if h := j.OnHold(); h != nil {
		e.Hold = h.Body.Reason
	}
	switch {
	case j.disputed():
		e.Warnings = append(e.Warnings, "dispute")
	case e.Stage == "sent" || e.Stage == "refused":
		e.Warnings = append(e.Warnings, "claim-open")
	case e.Stage != "paid" && e.Stage != "settled":
		e.Warnings = append(e.Warnings, "unfinished")
	}
	if len(e.Out) > 0 {
		e.Warnings = append(e.Warnings, "bundle-out")
	}
	return e, nil
}

// originalsToErase are the originals that the going entries name, apart by whether another job has them too. A photo that is the same as another
// job's stays for that one.
func originalsToErase(ctx context.Context, st Store, job JobID, kept []Kept, going map[EntryID]bool) (gone, shared []Digest, err error) {
	seen := map[Digest]bool{}
	for _, k := range kept {
		if !going[k.ID] {
			continue
		}
		for _, d := range originalsOf(k) {
			if seen[d] {
				continue
			}
			seen[d] = true
			elsewhere, err := namedElsewhere(ctx, st, job, d)
			if err != nil {
				return nil, nil, err
			}
			if elsewhere {
				shared = append(shared, d)
			} else {
				gone = append(gone, d)
			}
		}
	}
	return gone, shared, nil
}

// originalsOf are the originals that an entry names.
func originalsOf(k Kept) (list []Digest) {
	switch k.Kind {
	case KindPhoto, KindBuilt, KindLinkStatement:
	default:
		return nil
	}
	body, err := DecodeBody(k.Kind, k.Body)
	if err != nil {
		return nil
	}
	switch b := body.(type) {
	case *Photo:
		list = append(list, b.Digest)
	case *Built:
		list = append(list, b.Digest)
	case *LinkStatement:
		for _, p := range b.Pictures {
			list = append(list, p.Digest)
		}
	}
	return list
}

func namedElsewhere(ctx context.Context, st Store, job JobID, d Digest) (bool, error) {
	for _, key := range []string{"digest", "other-original"} {
		page, err := st.Cards(ctx, CardQuery{Order: "opened", Key: key, Value: string(d), Limit: 2})
		if err != nil {
			return false, err
		}
		for _, c := range page.Cards {
			if c.Job != job {
				return true, nil
			}
		}
	}
	return false, nil
}
