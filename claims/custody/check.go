package custody

import (
	"context"
	"errors"
	"fmt"
	"sort"

	"golang.org/x/mod/sumdb/tlog"

	"kickplate/claims"
)

// MaxProblems is how many problems a Report spells out; the rest are counted.
const MaxProblems = 200

// Checker walks one shop's whole store and sees whether log, entries, originals and checkpoints agree.
type Checker struct {
	Store claims.Store
	// Blobs holds the originals; nil = they are not looked at.
	Blobs claims.Blobs
	// Keys are the verifier keys of checkpoints that are kept or came back; see Keys.Verifiers. With none, the signatures
	// are not checked, only what the checkpoints say.
	Keys func(origin string) ([]string, error)
	// Witnessed are signed checkpoints that were elsewhere: from bundles, from customers. They show what a rewritten
	// store cannot.
	Witnessed [][]byte
	// Codes are short codes that were elsewhere.
	Codes []Code
	// Originals returns the digests of the originals that an entry names; nil = OriginalsOf.
	Originals func(claims.Kept) ([]claims.Digest, error)
	// Skim looks only whether originals are there, not at their bytes.
	Skim bool
}

// Report is the outcome of a check.
type Report struct {
	Entries, Jobs, Originals, Checkpoints int
	// Erased are the entries of which only the hash is left, each accounted for by one of Erasings.
	Erased   int
	Erasings []Erasing
	// OriginalBytes is how many bytes of originals were read and hashed.
	OriginalBytes int64
	// Now is the log as it was checked; zero when it is empty or could not be read.
	Now Checkpoint
	// Problems are the first MaxProblems broken promises; Found counts all.
	Problems []Problem
	Found    int
	// NotChecked says in plain words what was left out.
	NotChecked []string
}

// OK reports that nothing was found.
func (r Report) OK() bool { return r.Found == 0 }

// Problem is one broken promise.
type Problem struct {
	// Kind is one of the constants below; Where names leaf, job, original or checkpoint.
	Kind  ProblemKind
	Where string
	Says  string
}

// ProblemKind groups problems.
type ProblemKind string

// The kinds of problem.
const (
	LogBroken        ProblemKind = "log"        // a leaf is missing, doubled, out of place or changed
	TreeBroken       ProblemKind = "tree"       // a stored tree hash is not that of the leaves
	EntryBroken      ProblemKind = "entry"      // an entry is not found under its id, or its line cannot be read
	JobBroken        ProblemKind = "job"        // a job's entries, head or card do not agree with the log
	OriginalMissing  ProblemKind = "missing"    // the bytes of an original are not there
	OriginalChanged  ProblemKind = "changed"    // the bytes of an original are not those that were taken in
	CheckpointBroken ProblemKind = "checkpoint" // the log does not contain what was signed
)

// OriginalsOf returns the originals that the known kinds of entry name: photos, and bundles that were built.
func OriginalsOf(k claims.Kept) ([]claims.Digest, error) {
	body, err := claims.DecodeBody(k.Kind, k.Body)
	if err != nil {
		return nil, err
	}
	switch b := body.(type) {
	case *claims.Photo:
		return []claims.Digest{b.Digest}, nil
	case *claims.Built:
		return []claims.Digest{b.Digest}, nil
	case *claims.LinkStatement:
		var list []claims.Digest
		for _, p := range b.Pictures {
			list = append(list, p.Digest)
		}
		return list, nil
	}
	return nil, nil
}

// check is a check under way.
type check struct {
	Checker
	report    Report
	size      uint64
	tree      frontier
	jobs      map[claims.JobID][]place
	originals map[claims.Digest]uint64 // and the first leaf that names it
	marks     []mark
	shop      claims.ShopID
	stubs     []stubAt
	erasings  map[claims.EntryID]*erasing

	wantHashes []tlog.Hash // of the tree as computed, not yet compared with the stored ones
	wantFrom   int64
}

// place is where a job's entry stands.
type place struct {
	leaf uint64
	hash tlog.Hash
}

// mark is a checkpoint or code to compare the log with when the walk comes to its size.
type mark struct {
	size  uint64
	where string
	holds func(Checkpoint) error
}

// Check walks the store. It returns an error only when it was stopped (the context ended); what cannot be read is a
// problem in the report. Entries that are committed meanwhile are left for the next check.
func (c Checker) Check(ctx context.Context) (Report, error) {
	if c.Originals == nil {
		c.Originals = OriginalsOf
	}
	k := &check{Checker: c, jobs: make(map[claims.JobID][]place), originals: make(map[claims.Digest]uint64)}
	size, err := c.Store.LogSize(ctx)
	if err != nil {
		k.found(LogBroken, "log", "its size cannot be read: %v", err)
		return k.report, ctx.Err()
	}
	k.size = size
	k.gatherMarks(ctx)
	k.walkLog(ctx)
	k.checkErased()
	k.checkJobs(ctx)
	k.checkCards(ctx)
	k.checkOriginals(ctx)
	if c.Keys == nil {
		k.report.NotChecked = append(k.report.NotChecked, "the signatures of checkpoints: no keys were given")
	}
	if len(c.Witnessed)+len(c.Codes) == 0 {
		k.report.NotChecked = append(k.report.NotChecked, "whether the whole log was written anew: no checkpoint from outside was given")
	}
	return k.report, ctx.Err()
}

func (k *check) found(kind ProblemKind, where, format string, args ...any) {
	if k.report.Found++; k.report.Found <= MaxProblems {
		k.report.Problems = append(k.report.Problems, Problem{kind, where, fmt.Sprintf(format, args...)})
	}
}

func leafName(leaf uint64) string { return fmt.Sprintf("entry %d", leaf) }

// gatherMarks reads the checkpoints that are kept and those that came back.
func (k *check) gatherMarks(ctx context.Context) {
	add := func(where string, signed []byte) {
		c, err := Peek(signed)
		if err == nil && k.Keys != nil {
			var keys []string
			if keys, err = k.Keys(c.Origin); err == nil {
				c, err = Open(signed, keys...)
			}
		}
		if err != nil {
			k.found(CheckpointBroken, where, "%v", err)
			return
		}
		k.report.Checkpoints++
		k.marks = append(k.marks, mark{c.Size, where, func(now Checkpoint) error {
			switch {
			case now.Origin != c.Origin:
				return fmt.Errorf("it is of log %s; this is log %s, with another first entry", c.Origin, now.Origin)
			case now.Root != c.Root:
				return fmt.Errorf("the first %d entries are not those that were signed: something in them was changed, removed or moved", c.Size)
			}
			return nil
		}})
	}
	err := k.Store.Notes(ctx, notesCheckpoints, func(name string, value []byte) bool {
		add("kept checkpoint "+name[len(notesCheckpoints):], value)
		return true
	})
	if err != nil {
		k.found(CheckpointBroken, "kept checkpoints", "they cannot be read: %v", err)
	}
	if signed, err := k.Store.Note(ctx, noteLatest); err == nil {
		add("latest checkpoint", signed)
	} else if !errors.Is(err, claims.ErrAbsent) {
		k.found(CheckpointBroken, "latest checkpoint", "it cannot be read: %v", err)
	}
	for i, signed := range k.Witnessed {
		add(fmt.Sprintf("checkpoint %d from outside", i+1), signed)
	}
	for _, code := range k.Codes {
		k.report.Checkpoints++
		k.marks = append(k.marks, mark{code.Size, "code " + code.String(), func(now Checkpoint) error {
			if now.Code() != code {
				return fmt.Errorf("the first %d entries are not those that the code stands for: something in them was changed, removed or moved", code.Size)
			}
			return nil
		}})
	}
	sort.SliceStable(k.marks, func(i, j int) bool { return k.marks[i].size < k.marks[j].size })
}
