package custody

import (
	"context"
	"fmt"

	"golang.org/x/mod/sumdb/tlog"

	"kickplate/claims"
)

const (
	checkBatch = 256
	// maxGap is how many missing leaves in a row are named one by one; where more are missing, the walk ends.
	maxGap = 1000
)

// walkLog reads the leaves, computes the tree anew and compares it with the stored one. Where a leaf is missing or
// changed it goes on with the hash that is stored for it, so that one fault is one problem and not one for each leaf after it.
func (k *check) walkLog(ctx context.Context) {
	var batch []claims.Record
	next := uint64(0)
	ended := false
	err := k.Store.Leaves(ctx, 0, func(r claims.Record) bool {
		if next >= k.size || r.Leaf >= k.size || ctx.Err() != nil {
			return false
		}
		if r.Leaf < next {
			k.found(LogBroken, leafName(r.Leaf), "it comes again after entry %d", next-1)
			return true
		}
		if r.Leaf > next || len(batch) == checkBatch {
			k.leaves(ctx, batch)
			batch = batch[:0]
		}
		if !k.gap(ctx, next, r.Leaf) {
			ended = true
			return false
		}
		batch, next = append(batch, r), r.Leaf+1
		return true
	})
	k.leaves(ctx, batch)
	switch {
	case ctx.Err() != nil:
		return
	case err != nil:
		k.found(LogBroken, leafName(next), "the log cannot be read from here on: %v", err)
	case !ended:
		k.gap(ctx, next, k.size)
	}
	k.flushHashes(ctx)
	for _, m := range k.marks {
		if m.size > k.size {
			k.found(CheckpointBroken, m.where, "it was signed for %d entries; the log has only %d", m.size, k.size)
		} else {
			k.report.NotChecked = append(k.report.NotChecked, m.where+": the log could not be read so far")
		}
	}
	if k.tree.size < k.size {
		k.report.NotChecked = append(k.report.NotChecked, fmt.Sprintf("the log from entry %d on", k.tree.size))
	}
	if k.tree.size > 0 {
		k.report.Now = k.tree.checkpoint()
	}
}

// gap reports the leaves from up to before until as missing. False = too many to go on.
func (k *check) gap(ctx context.Context, from, until uint64) bool {
	if until-from > maxGap {
		k.found(LogBroken, leafName(from), "it and the %d after it are missing from the log", until-from-1)
		return false
	}
	for leaf := from; leaf < until; leaf++ {
		k.found(LogBroken, leafName(leaf), "it is missing from the log")
		stored, err := k.Store.LogHashes(ctx, []int64{tlog.StoredHashIndex(0, int64(leaf))})
		if err != nil {
			k.found(LogBroken, leafName(leaf), "its hash is missing as well: %v", err)
			return false
		}
		k.grow(ctx, stored[0])
	}
	return true
}

// leaves checks records that follow each other.
func (k *check) leaves(ctx context.Context, batch []claims.Record) {
	if len(batch) == 0 || ctx.Err() != nil {
		return
	}
	indexes := make([]int64, len(batch))
	for i, r := range batch {
		indexes[i] = tlog.StoredHashIndex(0, int64(r.Leaf))
	}
	stored, missing := k.stored(ctx, indexes)
	for i, r := range batch {
		k.report.Entries++
		hash := tlog.Hash(claims.LeafHash(r.Line))
		k.jobs[r.Job] = append(k.jobs[r.Job], place{r.Leaf, hash})
		if !missing[i] && stored[i] != hash {
			k.found(LogBroken, leafName(r.Leaf), "its line is not the one that was put into the log: it was changed, or another stands in its place")
			hash = stored[i]
		}
		k.line(r)
		k.grow(ctx, hash)
	}
	k.lookup(ctx, batch)
}

// grow adds a leaf to the computed tree and compares the log with the checkpoints of this size.
func (k *check) grow(ctx context.Context, leaf tlog.Hash) {
	k.wantHashes = append(k.wantHashes, k.tree.add(leaf)...)
	if len(k.wantHashes) >= 4*checkBatch {
		k.flushHashes(ctx)
	}
	for len(k.marks) > 0 && k.marks[0].size <= k.tree.size {
		m := k.marks[0]
		k.marks = k.marks[1:]
		if m.size < k.tree.size {
			k.found(CheckpointBroken, m.where, "a checkpoint of %d entries says nothing", m.size)
		} else if err := m.holds(k.tree.checkpoint()); err != nil {
			k.found(CheckpointBroken, m.where, "%v", err)
		}
	}
}

// stored reads tree hashes; where one cannot be read, missing is set.
func (k *check) stored(ctx context.Context, indexes []int64) (hashes []tlog.Hash, missing []bool) {
	hashes, missing = make([]tlog.Hash, len(indexes)), make([]bool, len(indexes))
	all, err := k.Store.LogHashes(ctx, indexes)
	for i, x := range indexes {
		if err == nil {
			hashes[i] = all[i]
			continue
		}
		one, err := k.Store.LogHashes(ctx, []int64{x}) // one of them is bad: ask for each
		if err != nil {
			missing[i] = true
			continue
		}
		hashes[i] = one[0]
	}
	return hashes, missing
}

// flushHashes compares the computed tree hashes with the stored ones.
func (k *check) flushHashes(ctx context.Context) {
	if len(k.wantHashes) == 0 || ctx.Err() != nil {
		return
	}
	indexes := make([]int64, len(k.wantHashes))
	for i := range indexes {
		indexes[i] = k.wantFrom + int64(i)
	}
	got, missing := k.stored(ctx, indexes)
	for i, h := range got {
		if !missing[i] && h == k.wantHashes[i] {
			continue
		}
		level, n := tlog.SplitStoredHashIndex(indexes[i])
		where := fmt.Sprintf("tree hash %d", indexes[i])
		first, last := n<<level, (n+1)<<level-1
		if missing[i] {
			k.found(TreeBroken, where, "the hash of entries %d to %d is missing or cannot be read", first, last)
		} else {
			k.found(TreeBroken, where, "it is not the hash of entries %d to %d as they stand in the log", first, last)
		}
	}
	k.wantFrom += int64(len(k.wantHashes))
	k.wantHashes = k.wantHashes[:0]
}

// line checks that the leaf's own words agree with what it is filed under.
func (k *check) line(r claims.Record) {
	kept, err := claims.KeptOf(r)
	if err != nil {
		k.found(EntryBroken, leafName(r.Leaf), "it cannot be read: %v", err)
		return
	}
	if kept.ID != r.Entry || kept.Job != r.Job {
		k.found(EntryBroken, leafName(r.Leaf), "it says it is entry %s of job %s, but is filed as %s of %s", kept.ID, kept.Job, r.Entry, r.Job)
	}
	if k.shop == "" {
		k.shop = kept.Shop
	} else if kept.Shop != k.shop {
		k.found(EntryBroken, leafName(r.Leaf), "it says it belongs to shop %s, the others to %s", kept.Shop, k.shop)
	}
	if stub, ok := claims.ReadStub(r.Line); ok {
		k.stubs = append(k.stubs, stubAt{r.Leaf, stub})
		return
	}
	if kept.Kind == claims.KindErase {
		k.noteErase(kept)
	}
	originals, err := k.Originals(kept)
	if err != nil {
		k.found(EntryBroken, leafName(r.Leaf), "its body cannot be read: %v", err)
	}
	for _, d := range originals {
		if !d.Valid() {
			k.found(EntryBroken, leafName(r.Leaf), "it names its original by %q, which is not a SHA-256", cut(string(d)))
			continue
		}
		if _, known := k.originals[d]; !known {
			k.originals[d] = r.Leaf
		}
	}
}

// lookup sees that each entry id leads to its leaf, which also finds an id that is in the log twice.
func (k *check) lookup(ctx context.Context, batch []claims.Record) {
	ids := make([]claims.EntryID, len(batch))
	for i, r := range batch {
		ids[i] = r.Entry
	}
	got, err := k.Store.Lookup(ctx, ids)
	if err != nil {
		got = make(map[claims.EntryID]claims.Record)
		for _, id := range ids { // one of them is bad: ask for each
			one, err := k.Store.Lookup(ctx, []claims.EntryID{id})
			if err == nil {
				got[id] = one[id]
			}
		}
	}
	for _, want := range batch {
		r, there := got[want.Entry]
		switch {
		case !there || r.Entry == "":
			k.found(EntryBroken, leafName(want.Leaf), "it is in the log, but not found under its id %s", want.Entry)
		case r.Leaf != want.Leaf:
			k.found(EntryBroken, leafName(want.Leaf), "its id %s leads to entry %d: the same id is there twice, or the index is wrong", want.Entry, r.Leaf)
		}
	}
}
