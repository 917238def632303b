package claims

import (
	"context"
	"encoding/json"
	"errors"
	"slices"
	"strings"
)

// HoldChoice is what a person is asked before a bundle is built: what to keep out of it, as it was chosen for this payer the last time.
type HoldChoice struct {
	Payer string `json:"payer,omitempty"`
	// Hold are the names of what was kept out (Hold.Names); Remembered is false when nothing was chosen for this payer yet.
	Hold       []string `json:"hold"`
	Remembered bool     `json:"remembered"`
	// Covered counts the photos that have covers; Positions those whose bytes or entry tell where they were taken.
	Covered   int `json:"covered"`
	Positions int `json:"positions"`
}

// notesHold are the choices by payer, by the payer's hash: what the payer is called is in no note's name.
const notesHold = "hold/"

func noteHold(payer string) string {
	return notesHold + string(DigestOf([]byte(strings.ToLower(strings.TrimSpace(payer)))))
}

// HoldFor returns the choice for a job's payer. Where covers were drawn and nothing was chosen yet, they are proposed: somebody drew them for a reason.
func (s *Service) HoldFor(ctx context.Context, a Actor, job JobID) (HoldChoice, error) {
	st, err := s.store(ctx, a, ActBuild)
	if err != nil {
		return HoldChoice{}, err
	}
	j, err := s.Job(ctx, a, job)
	if err != nil {
		return HoldChoice{}, err
	}
	out := HoldChoice{Payer: j.Coverage.Payer, Hold: []string{}}
	seen := map[Digest]bool{}
	for _, p := range j.Photos {
		d := p.Body.Digest
		if seen[d] {
			continue
		}
		seen[d] = true
		if shapes, _ := j.ShapesOn(d); len(shapes) > 0 {
			out.Covered++
		}
		if p.Body.Position != nil || j.Facts[d].GPS != nil {
			out.Positions++
		}
	}
	if out.Payer != "" {
		raw, err := st.Note(ctx, noteHold(out.Payer))
		switch {
		case errors.Is(err, ErrAbsent):
		case err != nil:
			return HoldChoice{}, err
		default:
			if err := json.Unmarshal(raw, &out.Hold); err != nil {
				return HoldChoice{}, err
			}
			out.Remembered = true
		}
	}
	if covered := (Hold{Covered: true}).Names()[0]; out.Covered > 0 && !out.Remembered && !slices.Contains(out.Hold, covered) {
		out.Hold = append(out.Hold, covered)
	}
	return out, nil
}

// rememberHold keeps what was chosen for a payer.
func rememberHold(ctx context.Context, st Store, payer string, hold Hold) error {
	if payer == "" {
		return nil
	}
	names := hold.Names()
	if names == nil {
		names = []string{}
	}
	raw, err := json.Marshal(names)
	if err != nil {
		return err
	}
	return st.PutNote(ctx, noteHold(payer), raw)
}
