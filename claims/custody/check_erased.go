package custody

import (
	"fmt"
	"slices"
	"time"

	"kickplate/claims"
)

// Erasing is one erase entry of the log and what it accounts for.
type Erasing struct {
	Leaf  uint64
	Job   claims.JobID
	By    string
	At    time.Time
	Basis string
	// Entries are the stubs that it accounts for.
	Entries int
}

// erasing is an erase entry, as the walk came by it.
type erasing struct {
	leaf uint64
	job  claims.JobID
	kept claims.Kept
	body claims.Erase
	done int
}

// noteErase keeps an erase entry for checkErased.
func (k *check) noteErase(kept claims.Kept) {
	body, err := claims.DecodeBody(kept.Kind, kept.Body)
	if err != nil {
		return // line reports it
	}
	if k.erasings == nil {
		k.erasings = map[claims.EntryID]*erasing{}
	}
	k.erasings[kept.ID] = &erasing{leaf: kept.Leaf, job: kept.Job, kept: kept, body: *body.(*claims.Erase)}
}

// checkErased sees that every stub is accounted for by an erase entry of its job that came later and names it. Content that is gone without one was
// taken away by somebody who did not want to be seen.
func (k *check) checkErased() {
	for _, s := range k.stubs {
		where := leafName(s.leaf)
		e := k.erasings[s.stub.By]
		switch {
		case e == nil:
			k.found(EntryBroken, where, "its content is gone, and no entry says that it was erased")
		case e.job != s.stub.Job || e.leaf <= s.leaf || !e.body.Names(s.leaf):
			k.found(EntryBroken, where, "its content is gone, and entry %d, by which it is said to have been erased, does not name it", e.leaf)
		default:
			e.done++
		}
	}
	for _, e := range k.erasings {
		named := 0
		for _, run := range e.body.Leaves {
			named += int(min(run[1]-run[0]+1, k.size))
		}
		if left := named - e.done; left > 0 {
			k.report.NotChecked = append(k.report.NotChecked, fmt.Sprintf("%d entries that entry %d erases and that are still there: the erasing was broken off; start the server, which finishes it", left, e.leaf))
		}
		k.report.Erased += e.done
		k.report.Erasings = append(k.report.Erasings, Erasing{Leaf: e.leaf, Job: e.job, By: e.kept.By, At: e.kept.At, Basis: e.body.Basis, Entries: e.done})
	}
	slices.SortFunc(k.report.Erasings, func(a, b Erasing) int { return int(int64(a.Leaf) - int64(b.Leaf)) })
	slices.Sort(k.report.NotChecked)
}

// beingErased reports whether an original that is missing is named by an entry that is being erased: its bytes go before its line.
func (k *check) beingErased(d claims.Digest) bool {
	leaf, ok := k.originals[d]
	if !ok {
		return false
	}
	for _, e := range k.erasings {
		if e.body.Names(leaf) && e.leaf > leaf {
			return true
		}
	}
	return false
}

// stubAt is a stub where it stands.
type stubAt struct {
	leaf uint64
	stub claims.Stub
}
