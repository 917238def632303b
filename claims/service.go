package claims

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"time"

	"kickplate/rules"
	"kickplate/rules/readings"
)

// Service is every use-case, each in the order authorise, validate, commit. It holds no state of its own but one lock: any number of them may work
// on the same stores, as long as only one of them erases and takes entries in (see originals).
type Service struct {
	Stores   Stores
	Blobs    BlobStores
	Examiner Examiner
	Aligner  Aligner
	Packager Packager
	Notary   Notary
	// Packs picks the compiled rule pack of a job; see PackFor.
	Packs PackBook
	// Now is the clock; MakeID makes UUIDv7 ids for the server's own entries.
	Now    func() time.Time
	MakeID func() string
	// Turns gives a fingerprint's four: of the picture as it is and turned by quarters (measure.Turns), so that a copy that was turned is
	// found too. Nil = as it is only.
	Turns func(print uint64) [4]uint64
	// Scratch is the folder for bundles that are being built, best on the file system of the originals; empty = the system's.
	Scratch string
	Log     *slog.Logger

	// originals is held for reading from when an entry's original is found to be here until the entry is committed, and for writing while originals are
	// erased: so no record is left without its photo.
	originals sync.RWMutex
}

// PackBook holds the compiled rule packs.
type PackBook interface {
	// Pack returns the pack with the id, or false.
	Pack(id string) (*rules.Compiled, bool)
	// Pick returns the pack for a kind of coverage and of unit, or false when none fits.
	Pick(coverage, unit string) (*rules.Compiled, bool)
}

// attempts bounds how often a commit is repeated when others write on the same job at the same time.
const attempts = 50

func (s *Service) store(ctx context.Context, a Actor, act Act) (Store, error) {
	if err := a.allow(act); err != nil {
		return nil, err
	}
	return s.Stores.Shop(ctx, a.Shop)
}

func noJob(job JobID) *Error { return Errorf(NotFound, "There is no job %q here.", clip(string(job))) }

// Journal returns a job's records from the from-th on, and its head.
func (s *Service) Journal(ctx context.Context, a Actor, job JobID, from Head, limit int) ([]Record, Head, error) {
	st, err := s.store(ctx, a, ActRead)
	if err != nil {
		return nil, 0, err
	}
	return journal(ctx, st, job, from, limit)
}

func journal(ctx context.Context, st Store, job JobID, from Head, limit int) ([]Record, Head, error) {
	if !ValidID(string(job)) {
		return nil, 0, noJob(job)
	}
	recs, head, err := st.Records(ctx, job, from, limit)
	if errors.Is(err, ErrAbsent) {
		return nil, 0, noJob(job)
	}
	return recs, head, err
}

// Job returns the state of a job.
func (s *Service) Job(ctx context.Context, a Actor, job JobID) (Job, error) {
	recs, _, err := s.Journal(ctx, a, job, 0, 0)
	if err != nil {
		return Job{}, err
	}
	return foldRecords(recs)
}

func foldRecords(recs []Record) (Job, error) {
	kept, err := keptOf(recs)
	if err != nil {
		return Job{}, err
	}
	return Fold(kept), nil
}

func keptOf(recs []Record) ([]Kept, error) {
	kept := make([]Kept, len(recs))
	for i, r := range recs {
		k, err := KeptOf(r)
		if err != nil {
			return nil, fmt.Errorf("read the journal: %w", err)
		}
		kept[i] = k
	}
	return kept, nil
}

// Jobs lists jobs.
func (s *Service) Jobs(ctx context.Context, a Actor, q CardQuery) (CardPage, error) {
	st, err := s.store(ctx, a, ActRead)
	if err != nil {
		return CardPage{}, err
	}
	return st.Cards(ctx, q)
}

// Checked is a job with the result of its check.
type Checked struct {
	Job    Job
	Facts  rules.Facts
	Pack   *rules.Compiled
	Report rules.Report
	// Conflicts are readings that do not fit together, each with the reading that would decide. They advise.
	Conflicts []readings.Conflict
}

// Check checks a job against its rule pack as of now.
func (s *Service) Check(ctx context.Context, a Actor, job JobID) (Checked, error) {
	j, _, err := s.priced(ctx, a, job)
	if err != nil {
		return Checked{}, err
	}
	return s.check(j)
}

func (s *Service) check(j Job) (Checked, error) {
	if len(j.Erased) > 0 {
		return Checked{}, erasedAlready(&j)
	}
	pack, err := s.PackFor(j)
	if err != nil {
		return Checked{}, err
	}
	facts := FactsOf(&j, pack.Pack(), s.Now())
	return Checked{Job: j, Facts: facts, Pack: pack, Report: rules.Check(pack, &facts), Conflicts: ConflictsOf(&j, pack.Pack())}, nil
}

// PackFor picks the rule pack of a job: the one its coverage names, else the one for its kinds of coverage and unit.
func (s *Service) PackFor(j Job) (*rules.Compiled, error) {
	if id := j.Coverage.Pack; id != "" {
		if p, ok := s.Packs.Pack(id); ok {
			return p, nil
		}
		return nil, Errorf(Invalid, "The job asks for the rule pack %q, which is not installed. Install it, or pick another in the job's coverage.", id).At("coverage.pack")
	}
	if p, ok := s.Packs.Pick(j.Coverage.Kind, j.Unit.Kind); ok {
		return p, nil
	}
	return nil, Errorf(Invalid, "There is no rule pack for a %s under %s. Set the kind of unit and of coverage, or pick a pack.", orUnknown(j.Unit.Kind, "unit of unknown kind"), orUnknown(j.Coverage.Kind, "unknown coverage")).At("coverage.kind")
}

func orUnknown(s, unknown string) string {
	if s == "" {
		return unknown
	}
	return s
}
