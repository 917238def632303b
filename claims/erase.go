package claims

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
)

// EraseOrder says what is to be erased, and why.
type EraseOrder struct {
	Jobs   []JobID `json:"jobs"`
	Reason string  `json:"reason"`
	Basis  string  `json:"basis"`
	Rule   string  `json:"-"`
	// Despite names the warnings (see Erasable) that the person has seen and erases despite.
	Despite []string `json:"despite,omitempty"`
}

// MaxErase bounds the jobs of one order.
const MaxErase = 200

// DropParts takes away what lies in the upload folder of originals that are being erased.
type DropParts func(ctx context.Context, gone []Digest) error

// notesErasing are erasures under way: one note a job, deleted when nothing of it is left to be done.
const notesErasing = "privacy/erasing/"

// Erase erases the content of jobs. For each job an erase entry is recorded first; then the originals go, then the entries' lines; and at the end what the
// store still holds in free space is overwritten. Whatever breaks in between is finished by FinishErasures. It answers with the entries recorded.
func (s *Service) Erase(ctx context.Context, a Actor, o EraseOrder, drop DropParts) ([]Erase, error) {
	would, err := s.EraseWould(ctx, a, o.Jobs)
	if err != nil {
		return nil, err
	}
	if err := first(text("reason", o.Reason, true), required("basis", o.Basis), oneOf("basis", o.Basis, EraseBases()...)); err != nil {
		return nil, err
	}
	for _, e := range would {
		if e.Hold != "" {
			return nil, Errorf(Conflict, "The job %s is under a legal hold: %s Lift the hold first; that is recorded too.", orUnknown(e.Number, string(e.Job)), sentenceEnd(e.Hold)).At("jobs")
		}
		for _, w := range e.Warnings {
			if !slices.Contains(o.Despite, w) {
				return nil, Errorf(Conflict, "There is a warning about the job %s (%s). Look at it and confirm it, or leave the job out.", orUnknown(e.Number, string(e.Job)), w).At("despite")
			}
		}
	}
	st, err := s.Stores.Shop(ctx, a.Shop)
	if err != nil {
		return nil, err
	}
	var done []Erase
	for _, e := range would {
		if err := s.orderErasing(ctx, st, a, e, o); err != nil {
			return nil, err
		}
	}
	if err := s.FinishErasures(ctx, a.Shop, drop); err != nil {
		return nil, err
	}
	for _, e := range would {
		j, err := s.Job(ctx, a, e.Job)
		if err != nil {
			return nil, err
		}
		for _, it := range j.Erased {
			done = append(done, it.Body)
		}
	}
	return done, nil
}

func sentenceEnd(s string) string {
	if strings.HasSuffix(s, ".") {
		return s
	}
	return s + "."
}

// mostRuns bounds the leaves of one erase entry, so that it stays below MaxEntry.
const mostRuns = 2000

// orderErasing records the erase entries of one job: from then on nothing more is added to it, and the erasing is finished come what may.
func (s *Service) orderErasing(ctx context.Context, st Store, a Actor, e Erasable, o EraseOrder) error {
	for range attempts {
		recs, head, err := journal(ctx, st, e.Job, 0, 0)
		if err != nil {
			return err
		}
		kept, err := keptOf(recs)
		if err != nil {
			return err
		}
		j := Fold(kept)
		if len(j.Erased) > 0 {
			return erasedAlready(&j)
		}
		if h := j.OnHold(); h != nil {
			return Errorf(Conflict, "The job was put under a legal hold just now. Nothing of it was erased.")
		}
		who := personalOf(kept)
		if who.in(o.Reason) {
			return Errorf(Invalid, "The reason stays in the journal for good, so it must not name the customer, an address or a number. Write for example: the customer asked for it by letter of 3 March.").At("reason")
		}
		own, err := s.eraseEntries(a, e, o, kept, who)
		if err != nil {
			return err
		}
		if err := st.PutNote(ctx, notesErasing+string(e.Job), []byte(s.Now().UTC().Format(time.RFC3339))); err != nil {
			return err
		}
		batch := Batch{Job: e.Job, Was: head}
		now := s.Now()
		for _, k := range own {
			k.Received = now
			kept = append(kept, k)
			batch.Records = append(batch.Records, Record{Entry: k.ID, Job: e.Job, Line: Seal(now, k.Raw)})
		}
		after := Fold(kept)
		if batch.Card, err = s.card(&after); err != nil {
			return err
		}
		if _, err = st.Commit(ctx, batch); !errors.Is(err, ErrStale) {
			return err
		}
	}
	return Errorf(Busy, "Too many are writing on this job at once. Try again in a moment.")
}

func (s *Service) eraseEntries(a Actor, e Erasable, o EraseOrder, kept []Kept, who personal) ([]Kept, error) {
	going := goes(kept)
	body := Erase{Reason: o.Reason, Basis: o.Basis, Rule: o.Rule, Number: e.Number, Originals: e.Originals, Bytes: e.Bytes, Shared: e.Shared, Kinds: map[Kind]int{}}
	if who.in(e.Number) {
		body.Number = ""
	}
	for _, out := range e.Out {
		if !slices.Contains(body.Sent, out.Version) {
			body.Sent = append(body.Sent, out.Version)
		}
	}
	var runs [][2]uint64
	byLeaf := slices.Clone(kept)
	slices.SortFunc(byLeaf, func(a, b Kept) int { return int(int64(a.Leaf) - int64(b.Leaf)) })
	for _, k := range byLeaf {
		if !going[k.ID] {
			body.Stayed++
			continue
		}
		body.Kinds[k.Kind]++
		if n := len(runs); n > 0 && runs[n-1][1]+1 == k.Leaf {
			runs[n-1][1] = k.Leaf
		} else {
			runs = append(runs, [2]uint64{k.Leaf, k.Leaf})
		}
	}
	if len(runs) == 0 {
		return nil, Errorf(Invalid, "The job holds nothing that could be erased.").At("jobs")
	}
	var own []Kept
	for len(runs) > 0 {
		n := min(len(runs), mostRuns)
		body.Leaves, runs = runs[:n:n], runs[n:]
		k, err := s.own(a.Shop, e.Job, KindErase, a.Person, body)
		if err != nil {
			return nil, err
		}
		own = append(own, k)
		body = Erase{Reason: body.Reason, Basis: body.Basis, Rule: body.Rule, Number: body.Number} // the counts stand in the first
	}
	return own, nil
}

// erasedAlready is the refusal that tells a phone to drop what it still holds of a job.
func erasedAlready(j *Job) *Error {
	at := ""
	if n := len(j.Erased); n > 0 {
		at = " on " + j.Erased[n-1].At.Format("2006-01-02")
	}
	return Errorf(Erased, "This job was erased%s. Nothing is added to it any more; drop what is still here of it.", at)
}

// FinishErasures does what is left to be done of erasures that were ordered. Repeating it is harmless; a server calls it when it starts.
func (s *Service) FinishErasures(ctx context.Context, shop ShopID, drop DropParts) error {
	st, err := s.Stores.Shop(ctx, shop)
	if err != nil {
		return err
	}
	blobs, err := s.Blobs.Shop(ctx, shop)
	if err != nil {
		return err
	}
	var names []string
	if err := st.Notes(ctx, notesErasing, func(name string, _ []byte) bool {
		names = append(names, name)
		return true
	}); err != nil {
		return err
	}
	if len(names) == 0 {
		return nil
	}
	for _, name := range names {
		if err := s.finishErasing(ctx, st, blobs, JobID(strings.TrimPrefix(name, notesErasing)), drop); err != nil {
			return fmt.Errorf("erase job %s: %w", strings.TrimPrefix(name, notesErasing), err)
		}
	}
	if err := st.Scrub(ctx); err != nil {
		return err
	}
	for _, name := range names {
		if err := st.PutNote(ctx, name, nil); err != nil {
			return err
		}
	}
	return nil
}

// finishErasing erases what the erase entries of a job name and is still there: originals first, since the lines name them.
func (s *Service) finishErasing(ctx context.Context, st Store, blobs Blobs, job JobID, drop DropParts) error {
	for range attempts {
		recs, head, err := st.Records(ctx, job, 0, 0)
		if errors.Is(err, ErrAbsent) {
			return nil
		}
		if err != nil {
			return err
		}
		kept, err := keptOf(recs)
		if err != nil {
			return err
		}
		by, going := map[EntryID]EntryID{}, map[EntryID]bool{}
		for _, it := range Fold(kept).Erased {
			for _, k := range kept {
				if k.Erased == "" && k.Kind != KindErase && it.Body.Names(k.Leaf) {
					by[k.ID], going[k.ID] = it.Entry, true
				}
			}
		}
		if len(going) == 0 {
			return nil // nothing was ordered after all, or all of it is done
		}
		if err := s.eraseOriginals(ctx, st, blobs, job, kept, going, drop); err != nil {
			return err
		}
		e := Erasure{Job: job, Was: head, Lines: map[EntryID][]byte{}}
		for i, k := range kept {
			if !going[k.ID] {
				continue
			}
			stub := StubOf(k, recs[i].Line, by[k.ID])
			if e.Lines[k.ID], err = stub.Line(); err != nil {
				return err
			}
			kept[i] = stub.kept(k.Leaf)
		}
		after := Fold(kept)
		if e.Card, err = s.card(&after); err != nil {
			return err
		}
		if err := st.Erase(ctx, e); !errors.Is(err, ErrStale) {
			return err
		}
	}
	return Errorf(Busy, "Too many are writing on this job at once.")
}

func (s *Service) eraseOriginals(ctx context.Context, st Store, blobs Blobs, job JobID, kept []Kept, going map[EntryID]bool, drop DropParts) error {
	// No entry may come in between that names an original just as it goes; see Append.
	s.originals.Lock()
	defer s.originals.Unlock()
	gone, _, err := originalsToErase(ctx, st, job, kept, going)
	if err != nil {
		return err
	}
	links, theirs, err := linksOf(ctx, st, job)
	if err != nil {
		return err
	}
	gone = append(gone, theirs...)
	for _, d := range gone {
		if err := blobs.Erase(ctx, d); err != nil {
			return err
		}
	}
	for _, name := range links { // last, since they name pictures
		if err := st.PutNote(ctx, name, nil); err != nil {
			return err
		}
	}
	if drop == nil || len(gone) == 0 {
		return nil
	}
	return drop(ctx, gone)
}

// linksOf are the notes about links to a job's bundles, and pictures that came in over them, also those that stand in no entry.
func linksOf(ctx context.Context, st Store, job JobID) (names []string, theirs []Digest, err error) {
	links := map[string]bool{}
	var pictures []Digest
	if err := eachShare(ctx, st, func(rec share) {
		if rec.Job == job {
			links[rec.Link] = true
			names, pictures = append(names, noteShares+rec.Link), append(pictures, rec.Theirs...)
		}
	}); err != nil || len(links) == 0 {
		return nil, nil, err
	}
	if err := st.Notes(ctx, noteSeen, func(name string, value []byte) bool {
		var rec seen
		if json.Unmarshal(value, &rec) == nil && links[rec.Link] {
			names = append(names, name)
		}
		return true
	}); err != nil {
		return nil, nil, err
	}
	for _, d := range pictures {
		elsewhere, err := namedElsewhere(ctx, st, job, d)
		if err != nil {
			return nil, nil, err
		}
		if !elsewhere {
			theirs = append(theirs, d)
		}
	}
	return names, theirs, nil
}

// refuseErased refuses entries for a job that was erased, and takes away the bytes that a phone had sent for them and no job names.
func (s *Service) refuseErased(ctx context.Context, st Store, shop ShopID, k Kept) error {
	card, err := st.Card(ctx, k.Job)
	if errors.Is(err, ErrAbsent) || err == nil && card.Stage != StageErased {
		return nil
	}
	if err != nil {
		return err
	}
	if len(originalsOf(k)) > 0 {
		blobs, err := s.Blobs.Shop(ctx, shop)
		if err != nil {
			return err
		}
		if err := s.eraseOriginals(ctx, st, blobs, k.Job, []Kept{k}, map[EntryID]bool{k.ID: true}, nil); err != nil {
			return err
		}
	}
	return erasedAlready(&Job{})
}

// RecordExport records that a copy of what is held on a job's customer is being made.
func (s *Service) RecordExport(ctx context.Context, a Actor, job JobID, e Exported) error {
	st, err := s.store(ctx, a, ActExport)
	if err != nil {
		return err
	}
	return s.record(ctx, st, a, job, KindExported, e)
}
