package claims

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"time"
)

// Link is one entry's place in its device's own chain: a sequence from 1, and the hash of the entry before. The chain
// fixes the order of a device's entries before there is signal.
type Link struct {
	Device string  `json:"device"`
	Seq    uint64  `json:"seq"`
	Entry  EntryID `json:"entry"`
	Job    JobID   `json:"job"`
	// Hash is the SHA-256 of the entry's exact bytes, Prev that of the entry before as the device had it.
	Hash Digest `json:"hash"`
	Prev Digest `json:"prev,omitempty"`
	Leaf uint64 `json:"leaf"`
	// At is the device's clock, Received the server's.
	At       time.Time `json:"at"`
	Received time.Time `json:"received"`
}

// LinkOf is the link of a kept entry; ok is false for entries outside any chain (the server's own).
func LinkOf(k Kept) (l Link, ok bool) {
	hash := k.hash
	if k.Erased == "" {
		hash = DigestOf(k.Raw)
	}
	return Link{Device: k.Device, Seq: k.Seq, Entry: k.ID, Job: k.Job, Hash: hash, Prev: k.Prev, Leaf: k.Leaf, At: k.At, Received: k.Received}, k.Seq > 0
}

// ChainFlaw is something in a device's chain that a person should know. None of them breaks a job.
type ChainFlaw struct {
	// Kind is gap (entries are missing), fork (two entries claim one place), broken (the hash does not match the entry
	// before) or late (it arrived after entries that the device made later).
	Kind  string  `json:"kind"`
	Seq   uint64  `json:"seq"`
	Until uint64  `json:"until,omitempty"`
	Entry EntryID `json:"entry,omitempty"`
	Job   JobID   `json:"job,omitempty"`
	Says  string  `json:"says"`
}

// ChainReport is what a device's chain looks like from the server.
type ChainReport struct {
	Device string `json:"device"`
	// Entries are those that are here, Last the highest sequence seen.
	Entries int         `json:"entries"`
	Last    uint64      `json:"last"`
	Flaws   []ChainFlaw `json:"flaws,omitempty"`
	Says    string      `json:"says"`
}

// ReadChain judges the links of one device, in any order. A gap is what a lost phone, or one that has not sent everything yet,
// leaves behind; it is stated, not explained away.
func ReadChain(device string, links []Link) ChainReport {
	r := ChainReport{Device: device, Entries: len(links)}
	links = slices.Clone(links)
	slices.SortFunc(links, func(a, b Link) int {
		return cmp.Or(cmp.Compare(a.Seq, b.Seq), cmp.Compare(a.Leaf, b.Leaf), cmp.Compare(a.Entry, b.Entry))
	})
	var before *Link
	next := uint64(1)
	for i := range links {
		l := &links[i]
		if before != nil && l.Seq == before.Seq {
			r.flaw("fork", *l, "Two entries of this device claim place %d: it was restored from a copy, or two phones share one identity.", l.Seq)
			continue
		}
		if l.Seq > next {
			f := ChainFlaw{Kind: "gap", Seq: next, Until: l.Seq - 1, Says: fmt.Sprintf("Entries %d to %d of this device are not here: not sent yet, or lost with the device.", next, l.Seq-1)}
			if f.Seq == f.Until {
				f.Says = fmt.Sprintf("Entry %d of this device is not here: not sent yet, or lost with the device.", next)
			}
			r.Flaws = append(r.Flaws, f)
		} else if before != nil && l.Prev != before.Hash {
			r.flaw("broken", *l, "Entry %d does not carry the hash of entry %d: one of them is not what the device wrote.", l.Seq, before.Seq)
		}
		before, next = l, l.Seq+1
		r.Last = l.Seq
	}
	r.late(links)
	switch n := len(r.Flaws); {
	case r.Entries == 0:
		r.Says = "No entries of this device are here."
	case n == 0:
		r.Says = fmt.Sprintf("All %d entries of this device are here, each with the hash of the one before, in the order in which they were made.", r.Entries)
	default:
		r.Says = fmt.Sprintf("%d entries of this device are here; worth knowing about their order: %d.", r.Entries, n)
	}
	return r
}

// late finds entries that came in after ones made later by the same device.
func (r *ChainReport) late(links []Link) {
	byLeaf := slices.Clone(links)
	slices.SortFunc(byLeaf, func(a, b Link) int { return cmp.Compare(a.Leaf, b.Leaf) })
	var high *Link
	for i := range byLeaf {
		l := &byLeaf[i]
		if high != nil && l.Seq < high.Seq && l.Received.Sub(high.Received) > promptReceipt {
			r.flaw("late", *l, "Entry %d arrived %s after entry %d, which the device made later.", l.Seq, span(l.Received.Sub(high.Received)), high.Seq)
		}
		if high == nil || l.Seq > high.Seq {
			high = l
		}
	}
}

func (r *ChainReport) flaw(kind string, l Link, format string, args ...any) {
	r.Flaws = append(r.Flaws, ChainFlaw{Kind: kind, Seq: l.Seq, Entry: l.Entry, Job: l.Job, Says: fmt.Sprintf(format, args...)})
}

// Chains judges the chains of the devices that wrote on a job; each over the whole shop, since one phone writes on many jobs.
func (s *Service) Chains(ctx context.Context, a Actor, job JobID) ([]ChainReport, error) {
	st, err := s.store(ctx, a, ActRead)
	if err != nil {
		return nil, err
	}
	recs, _, err := journal(ctx, st, job, 0, 0)
	if err != nil {
		return nil, err
	}
	kept, err := keptOf(recs)
	if err != nil {
		return nil, err
	}
	var reports []ChainReport
	seen := map[string]bool{}
	for _, k := range kept {
		if k.Seq > 0 && !seen[k.Device] {
			seen[k.Device] = true
			r, err := ChainOf(ctx, st, k.Device)
			if err != nil {
				return nil, err
			}
			reports = append(reports, r)
		}
	}
	return reports, nil
}

// ChainOf reads and judges the chain of one device of the shop.
func ChainOf(ctx context.Context, st Store, device string) (ChainReport, error) {
	var links []Link
	var broken error
	err := st.Chain(ctx, device, func(r Record) bool {
		k, err := KeptOf(r)
		if err != nil {
			broken = err
			return false
		}
		if l, ok := LinkOf(k); ok {
			links = append(links, l)
		}
		return true
	})
	if err == nil {
		err = broken
	}
	if err != nil {
		return ChainReport{}, fmt.Errorf("chain of device %q: %w", device, err)
	}
	return ReadChain(device, links), nil
}
