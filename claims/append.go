package claims

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
)

// Result says what became of one entry that was sent.
type Result struct {
	ID  EntryID `json:"id"`
	Job JobID   `json:"job"`
	// Status is "kept" (now durable) or "already" (it was sent before).
	Status string `json:"status"`
	Leaf   uint64 `json:"leaf"`
}

// Append takes entries, in any order and as often as a phone likes to send them. All are validated first: if one is
// refused, none is kept, and the *Error says which. Entries of several jobs are committed job by job; when it returns nil all are
// durable.
func (s *Service) Append(ctx context.Context, a Actor, raws []json.RawMessage) ([]Result, error) {
	if err := a.allow(ActAppend); err != nil {
		return nil, err
	}
	if len(raws) == 0 || len(raws) > MaxBatch {
		return nil, Errorf(Invalid, "Send 1 to %d entries at once; these are %d.", MaxBatch, len(raws)).At("entries")
	}
	st, err := s.Stores.Shop(ctx, a.Shop)
	if err != nil {
		return nil, err
	}
	kept := make([]Kept, len(raws))
	for i, raw := range raws {
		k, err := s.admit(a, raw)
		if err != nil {
			return nil, atEntry(err, i)
		}
		kept[i] = k
	}
	looked := map[JobID]bool{}
	for i, k := range kept {
		if looked[k.Job] && k.Kind != KindPhoto {
			continue
		}
		looked[k.Job] = true
		if err := s.refuseErased(ctx, st, a.Shop, k); err != nil {
			return nil, atEntry(err, i)
		}
	}
	s.originals.RLock()
	defer s.originals.RUnlock()
	for i, k := range kept {
		if err := s.hasBytes(ctx, a.Shop, k.Entry); err != nil {
			return nil, atEntry(err, i)
		}
	}
	results := make([]Result, len(kept))
	for _, group := range byJob(kept) {
		if err := s.appendJob(ctx, st, a, kept, group, results); err != nil {
			return nil, err
		}
	}
	return results, nil
}

// atEntry says which entry of a batch was refused.
func atEntry(err error, i int) error {
	if own, ok := errors.AsType[*Error](err); ok {
		return own.At(fmt.Sprintf("entries[%d]", i))
	}
	return err
}

// admit validates one entry on its own.
func (s *Service) admit(a Actor, raw []byte) (Kept, error) {
	e, err := ParseEntry(raw)
	if err != nil {
		return Kept{}, err
	}
	if e.Shop != a.Shop {
		return Kept{}, Errorf(Forbidden, "This entry is for the shop %q; you are signed in for %q.", clip(string(e.Shop)), a.Shop).At("shop")
	}
	if serverKind(e.Kind) {
		return Kept{}, Errorf(Forbidden, "Entries of the kind %s are made by the server.", e.Kind).At("kind")
	}
	if err := a.allow(actOfEntry(e)); err != nil {
		return Kept{}, err
	}
	if err := a.inOwnName(e); err != nil {
		return Kept{}, err
	}
	return Kept{Entry: e, Raw: raw}, nil
}

// hasBytes refuses a photo entry whose bytes are not durable here: a record without its photo must never exist.
func (s *Service) hasBytes(ctx context.Context, shop ShopID, e Entry) error {
	if e.Kind != KindPhoto {
		return nil
	}
	body, err := DecodeBody(KindPhoto, e.Body)
	if err != nil {
		return err
	}
	p := body.(*Photo)
	blobs, err := s.Blobs.Shop(ctx, shop)
	if err != nil {
		return err
	}
	size, err := blobs.Has(ctx, p.Digest)
	if errors.Is(err, ErrAbsent) {
		return Errorf(Missing, "The bytes of photo %s are not here yet. Upload them first, then send the entry again.", p.Digest[:12]).At("body.digest")
	}
	if err == nil && size != p.Bytes {
		return Errorf(Invalid, "The photo has %d bytes, the entry says %d.", size, p.Bytes).At("body.bytes")
	}
	return err
}

// byJob groups the indexes of entries by job, jobs in order of first appearance.
func byJob(kept []Kept) [][]int {
	at := map[JobID]int{}
	var groups [][]int
	for i, k := range kept {
		g, ok := at[k.Job]
		if !ok {
			g = len(groups)
			at[k.Job] = g
			groups = append(groups, nil)
		}
		groups[g] = append(groups[g], i)
	}
	return groups
}

// appendJob commits the new ones among kept[group], all of one job, together with the server's own entries about them.
func (s *Service) appendJob(ctx context.Context, st Store, a Actor, kept []Kept, group []int, results []Result) error {
	for range attempts {
		fresh, err := s.sift(ctx, st, kept, group, results)
		if err != nil || len(fresh) == 0 {
			return err
		}
		marks, err := s.handedIn(ctx, st, a, fresh)
		if err != nil {
			return err
		}
		err = s.commit(ctx, st, a.Shop, append(fresh, marks...), nil)
		if errors.Is(err, ErrStale) || errors.Is(err, ErrTaken) {
			continue
		}
		if err != nil {
			return err
		}
	}
	if fresh, err := s.sift(ctx, st, kept, group, results); err != nil || len(fresh) == 0 {
		return err
	}
	return Errorf(Busy, "Too many are writing on this job at once. Send again in a moment.")
}

// sift fills in the results of entries that the store has, and returns those it has not, each once.
func (s *Service) sift(ctx context.Context, st Store, kept []Kept, group []int, results []Result) ([]Kept, error) {
	ids := make([]EntryID, len(group))
	for n, i := range group {
		ids[n] = kept[i].ID
	}
	have, err := st.Lookup(ctx, ids)
	if err != nil {
		return nil, err
	}
	var fresh []Kept
	inBatch := map[EntryID]int{}
	for _, i := range group {
		k := kept[i]
		if rec, ok := have[k.ID]; ok {
			old, err := KeptOf(rec)
			if err != nil {
				return nil, err
			}
			if !bytes.Equal(old.Raw, k.Raw) {
				return nil, differs(k.ID).At(fmt.Sprintf("entries[%d]", i))
			}
			if results[i].Status == "" {
				results[i] = Result{ID: k.ID, Job: k.Job, Status: "already", Leaf: rec.Leaf}
			} else {
				results[i].Leaf = rec.Leaf
			}
			continue
		}
		if first, ok := inBatch[k.ID]; ok {
			if !bytes.Equal(kept[first].Raw, k.Raw) {
				return nil, differs(k.ID).At(fmt.Sprintf("entries[%d]", i))
			}
		} else {
			inBatch[k.ID] = i
			fresh = append(fresh, k)
		}
		results[i] = Result{ID: k.ID, Job: k.Job, Status: "kept"}
	}
	return fresh, nil
}

func differs(id EntryID) *Error {
	return Errorf(Conflict, "An entry with the id %s is already kept, with other content. Nothing was changed; make a new entry with an id of its own.", id)
}

// commit appends fresh entries of one job and what the server has to say about them, unless that holds of the entries before.
func (s *Service) commit(ctx context.Context, st Store, shop ShopID, fresh []Kept, unless func([]Kept) bool) error {
	job := fresh[0].Job
	recs, head, err := st.Records(ctx, job, 0, 0)
	if err != nil && !errors.Is(err, ErrAbsent) {
		return err
	}
	all, err := keptOf(recs)
	if err != nil {
		return err
	}
	if unless != nil && unless(all) {
		return nil
	}
	for _, k := range all {
		if k.Kind == KindErase {
			return erasedAlready(&Job{})
		}
	}
	now := s.Now()
	own, err := s.remarks(ctx, st, shop, all, fresh)
	if err != nil {
		return err
	}
	batch := Batch{Job: job, Was: head}
	for _, k := range append(fresh[:len(fresh):len(fresh)], own...) {
		k.Received = now
		all = append(all, k)
		batch.Records = append(batch.Records, Record{Entry: k.ID, Job: job, Line: Seal(now, k.Raw), Device: k.Device, Seq: k.Seq})
	}
	j := Fold(all)
	if err := s.price(ctx, st, &j); err != nil {
		return err
	}
	if batch.Card, err = s.card(&j); err != nil {
		return err
	}
	_, err = st.Commit(ctx, batch)
	return err
}

// own makes an entry of the server's.
func (s *Service) own(shop ShopID, job JobID, kind Kind, by string, body any) (Kept, error) {
	raw, err := json.Marshal(body)
	if err != nil {
		return Kept{}, fmt.Errorf("write a %s entry: %w", kind, err)
	}
	e := Entry{ID: EntryID(s.MakeID()), Shop: shop, Job: job, Kind: kind, At: s.Now().UTC(), By: by, Device: serverDevice, Body: raw}
	line, err := json.Marshal(e)
	if err != nil {
		return Kept{}, fmt.Errorf("write a %s entry: %w", kind, err)
	}
	if _, err := ParseEntry(line); err != nil {
		return Kept{}, fmt.Errorf("the server's own %s entry: %w", kind, err)
	}
	return Kept{Entry: e, Raw: line}, nil
}

// serverDevice is the device of entries that the server makes.
const serverDevice = "server"
