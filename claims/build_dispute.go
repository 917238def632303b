package claims

import (
	"context"
	"fmt"
	"slices"
)

// DisputeParcel makes a parcel a dispute file: only what concerns the allegations goes in, save for the extras that are chosen.
type DisputeParcel struct {
	Allegations []EntryID `json:"allegations"`
	// Include are chosen extras, of rules.FileExtras.
	Include []string `json:"include,omitempty"`
}

// DisputeFile is what is asked for: the letter must be given (a draft is made by claims/dispute) and is recorded with what it leans on.
type DisputeFile struct {
	DisputeParcel
	Letter string
	Leans  []EntryID
	Hold   Hold
}

// BuiltDispute is what BuildDispute made.
type BuiltDispute struct {
	Response EntryID `json:"response"`
	Letter   string  `json:"letter"`
	Built    Built   `json:"bundle"`
}

// BuildDispute answers allegations in one step: it records the letter, unless the last one for them is the same, and builds the dispute file
// that goes with it as a version of the job's bundle. Whether it was sent is for a further entry to say.
func (s *Service) BuildDispute(ctx context.Context, a Actor, job JobID, f DisputeFile) (BuiltDispute, error) {
	st, err := s.store(ctx, a, ActSend)
	if err != nil {
		return BuiltDispute{}, err
	}
	j, err := s.Job(ctx, a, job)
	if err != nil {
		return BuiltDispute{}, err
	}
	if len(j.Erased) > 0 {
		return BuiltDispute{}, erasedAlready(&j)
	}
	for i, id := range f.Allegations {
		if !slices.ContainsFunc(j.Allegations, func(it Item[Allege]) bool { return it.Entry == id }) {
			return BuiltDispute{}, Errorf(NotFound, "There is no such allegation on this job.").At(fmt.Sprintf("allegations[%d]", i))
		}
	}
	r := Respond{Allegations: f.Allegations, Letter: f.Letter, Leans: f.Leans}
	if err := r.validate(); err != nil {
		return BuiltDispute{}, err
	}
	out := BuiltDispute{Letter: f.Letter}
	if last, ok := j.response(f.Allegations); !ok || last.Body.Letter != f.Letter || fmt.Sprint(last.Body.Leans) != fmt.Sprint(f.Leans) {
		if err := s.record(ctx, st, a, job, KindRespond, r); err != nil {
			return BuiltDispute{}, err
		}
	}
	if out.Built, err = s.build(ctx, a, job, f.Hold, &f.DisputeParcel); err != nil {
		return BuiltDispute{}, err
	}
	if j, err = s.Job(ctx, a, job); err != nil {
		return BuiltDispute{}, err
	}
	if last, ok := j.response(f.Allegations); ok {
		out.Response = last.Entry
	}
	return out, nil
}

// response is the last letter for exactly these allegations, in any order.
func (j *Job) response(allegations []EntryID) (Item[Respond], bool) {
	want := sortedIDs(allegations)
	for i := len(j.Responses) - 1; i >= 0; i-- {
		if slices.Equal(sortedIDs(j.Responses[i].Body.Allegations), want) {
			return j.Responses[i], true
		}
	}
	return Item[Respond]{}, false
}

func sortedIDs(ids []EntryID) []EntryID {
	out := slices.Clone(ids)
	slices.Sort(out)
	return out
}
