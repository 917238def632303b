package custody

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"

	"golang.org/x/mod/sumdb/tlog"

	"kickplate/claims"
)

// frontier is the right edge of a growing tree: of each level the last whole subtree. It is all that is needed to add
// a leaf and to compute the root.
type frontier struct {
	size  uint64
	last  [64]tlog.Hash
	first tlog.Hash
}

// add returns the hashes that the leaf completes, in the order in which a store keeps them.
func (f *frontier) add(leaf tlog.Hash) []tlog.Hash {
	if f.size == 0 {
		f.first = leaf
	}
	hashes := []tlog.Hash{leaf}
	for level, n := 0, f.size; n&1 == 1; level, n = level+1, n>>1 {
		hashes = append(hashes, tlog.NodeHash(f.last[level], hashes[level]))
	}
	copy(f.last[:], hashes)
	f.size++
	return hashes
}

// checkpoint is that of the leaves so far: the whole subtrees are joined from the right (RFC 6962, 2.1).
func (f *frontier) checkpoint() Checkpoint {
	var root tlog.Hash
	have := false
	for level := range f.last {
		if f.size>>level&1 == 0 {
			continue
		}
		if have {
			root = tlog.NodeHash(f.last[level], root)
		} else {
			root, have = f.last[level], true
		}
	}
	return Checkpoint{Origin: originOf(f.first), Size: f.size, Root: root}
}

const jobPage = 500

// checkJobs sees that each job has exactly the entries that the log has for it, in that order.
func (k *check) checkJobs(ctx context.Context) {
	for _, job := range slices.Sorted(maps.Keys(k.jobs)) {
		if ctx.Err() != nil {
			return
		}
		k.report.Jobs++
		k.checkJob(ctx, job, k.jobs[job])
	}
}

func (k *check) checkJob(ctx context.Context, job claims.JobID, want []place) {
	where := fmt.Sprintf("job %s", job)
	read := 0
	for {
		list, head, err := k.Store.Records(ctx, job, claims.Head(read), jobPage)
		if errors.Is(err, claims.ErrAbsent) {
			k.found(JobBroken, where, "the log has %d entries of it, but the job is not there", len(want))
			return
		}
		if err != nil {
			k.found(JobBroken, where, "its entries cannot be read: %v", err)
			return
		}
		later := false // entries that came while the check was running are left for the next
		for _, r := range list {
			if later = r.Leaf >= k.size; later {
				break
			}
			switch {
			case read >= len(want):
				k.found(JobBroken, where, "it has entry %d, which the log does not have for it", r.Leaf)
			case r.Leaf != want[read].leaf:
				k.found(JobBroken, where, "its entry number %d is entry %d of the log; in the order of the log it would be %d", read+1, r.Leaf, want[read].leaf)
			case tlog.Hash(claims.LeafHash(r.Line)) != want[read].hash:
				k.found(JobBroken, where, "its entry number %d has other bytes than the log", read+1)
			}
			read++
		}
		if later {
			break
		}
		if len(list) == 0 || claims.Head(read) >= head {
			if claims.Head(read) != head {
				k.found(JobBroken, where, "it says it has %d entries; %d are there", head, read)
			}
			break
		}
	}
	if read < len(want) {
		k.found(JobBroken, where, "it has %d entries; the log has %d of it", read, len(want))
	}
}

// checkCards sees that the lists show each job once, with the number of its entries.
func (k *check) checkCards(ctx context.Context) {
	for _, order := range []claims.CardOrder{claims.ByChanged, claims.ByOpened} {
		seen := make(map[claims.JobID]bool, len(k.jobs))
		q := claims.CardQuery{Order: string(order), Limit: claims.MaxCardPage}
		for ctx.Err() == nil {
			page, err := k.Store.Cards(ctx, q)
			if err != nil {
				k.found(JobBroken, "list by "+string(order), "it cannot be read: %v", err)
				return
			}
			for _, c := range page.Cards {
				want, known := k.jobs[c.Job]
				switch {
				case seen[c.Job]:
					// A job that changes while the list is read moves in it: no fault.
				case known && c.Entries < claims.Head(len(want)):
					k.found(JobBroken, fmt.Sprintf("job %s", c.Job), "its card was made from %d entries; the log has %d", c.Entries, len(want))
				case !known && !k.began(ctx, c.Job):
					k.found(JobBroken, fmt.Sprintf("job %s", c.Job), "it is listed, but the log has no entry of it")
				}
				seen[c.Job] = true
			}
			if q.Cursor = page.Next; q.Cursor == "" {
				break
			}
		}
		if ctx.Err() != nil {
			return
		}
		for _, job := range slices.Sorted(maps.Keys(k.jobs)) {
			if seen[job] {
				continue
			}
			if _, err := k.Store.Card(ctx, job); err != nil {
				k.found(JobBroken, fmt.Sprintf("job %s", job), "its card cannot be read: %v", err)
			} else if now, err := k.Store.LogSize(ctx); err == nil && now == k.size { // else it may have moved while we read
				k.found(JobBroken, fmt.Sprintf("job %s", job), "it is missing from the list by %s", order)
			}
		}
	}
}

// began reports whether the job began after the check did.
func (k *check) began(ctx context.Context, job claims.JobID) bool {
	list, _, err := k.Store.Records(ctx, job, 0, 1)
	return err == nil && len(list) == 1 && list[0].Leaf >= k.size
}

// checkOriginals reads every original that an entry names.
func (k *check) checkOriginals(ctx context.Context) {
	if k.Blobs == nil {
		k.report.NotChecked = append(k.report.NotChecked, "the originals: no blob store was given")
		return
	}
	if k.Skim {
		k.report.NotChecked = append(k.report.NotChecked, "the bytes of the originals: only whether they are there")
	}
	for _, d := range slices.Sorted(maps.Keys(k.originals)) {
		if ctx.Err() != nil {
			return
		}
		k.report.Originals++
		where := fmt.Sprintf("original %s", d)
		if k.Skim {
			if _, err := k.Blobs.Has(ctx, d); err != nil {
				k.missing(where, d, err)
			}
			continue
		}
		blob, err := k.Blobs.Open(ctx, d)
		if err != nil {
			k.missing(where, d, err)
			continue
		}
		h := sha256.New()
		n, err := io.Copy(h, blob)
		err = errors.Join(err, blob.Close())
		k.report.OriginalBytes += n
		switch {
		case err != nil:
			k.found(OriginalMissing, where, "it cannot be read: %v; entry %d names it", err, k.originals[d])
		case hex.EncodeToString(h.Sum(nil)) != string(d):
			k.found(OriginalChanged, where, "its bytes are not those that were taken in; entry %d names it", k.originals[d])
		}
	}
}

func (k *check) missing(where string, d claims.Digest, err error) {
	if errors.Is(err, claims.ErrAbsent) {
		if k.beingErased(d) {
			return // checkErased has said so
		}
		k.found(OriginalMissing, where, "its bytes are not there; entry %d names it", k.originals[d])
		return
	}
	k.found(OriginalMissing, where, "it cannot be read: %v; entry %d names it", err, k.originals[d])
}
