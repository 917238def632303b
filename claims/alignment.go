package claims

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
)

// Alignment is the photo of a later moment laid over an earlier one of the same scene: a help to look, never a verdict.
type Alignment struct {
	Before EntryID `json:"before"`
	After  EntryID `json:"after"`
	// Aligned says whether it could be done; Says how well, or why not. Why is the reason for machines: see media/align.
	Aligned bool   `json:"aligned"`
	Says    string `json:"says"`
	Why     string `json:"why,omitempty"`
	// Residual is how far places that both show are off, in pixels of the earlier photo.
	Residual float64 `json:"residualPx,omitempty"`
	// Points is how many places agree, Agreement the share of what both show that looks the same.
	Points    int     `json:"points,omitempty"`
	Agreement float64 `json:"agreement,omitempty"`
	// Model is "similarity" or "perspective"; Transform carries places of the later photo to the earlier one, row by row, both in
	// pixels of the upright photos from the upper left corner.
	Model     string    `json:"model,omitempty"`
	Transform []float64 `json:"transform,omitempty"`
	// Changed are areas that differ beyond light and noise, in thousandths of the earlier picture's width and height.
	Changed []AlignedArea `json:"changed,omitempty"`
}

// AlignedArea is a rectangle in thousandths of a picture's width and height.
type AlignedArea struct {
	X      int `json:"x"`
	Y      int `json:"y"`
	Width  int `json:"width"`
	Height int `json:"height"`
}

// Aligner lines photos up. It bounds its time and memory and never panics.
type Aligner interface {
	// Align lays after over before. The overlay is a JPEG of after as seen from before, of before's view's size; nil when it
	// could not be done. The entries of the Alignment are left empty.
	Align(ctx context.Context, before, after AlignView) (a Alignment, overlay []byte, err error)
	// AlignVersion names the way it is done: at most 4 letters and digits. It changes when the answer for the same photos can.
	AlignVersion() string
}

// AlignView is a photo to line up: its view, and the size of the upright photo itself in pixels.
type AlignView struct {
	View          []byte
	Width, Height int
}

// Alignment lines two photos of a job up. What was found is kept, and made again when it is lost.
func (s *Service) Alignment(ctx context.Context, a Actor, job JobID, before, after EntryID) (Alignment, error) {
	out, _, err := s.alignment(ctx, a, job, before, after)
	return out, err
}

// Overlay returns the later photo as seen from the earlier one, a JPEG of the size of the earlier one's view; NotFound when they
// can't be lined up.
func (s *Service) Overlay(ctx context.Context, a Actor, job JobID, before, after EntryID) ([]byte, error) {
	out, picture, err := s.alignment(ctx, a, job, before, after)
	if err == nil && !out.Aligned {
		return nil, Errorf(NotFound, "There is no overlay. %s", out.Says)
	}
	return picture, err
}

func (s *Service) alignment(ctx context.Context, a Actor, job JobID, before, after EntryID) (Alignment, []byte, error) {
	var none Alignment
	j, err := s.Job(ctx, a, job)
	if err != nil {
		return none, nil, err
	}
	first, err := j.digestOf(before)
	if err != nil {
		return none, nil, err.(*Error).At("before")
	}
	second, err := j.digestOf(after)
	if err != nil {
		return none, nil, err.(*Error).At("after")
	}
	if first == second {
		return none, nil, Errorf(Invalid, "These are one and the same photo. Pick two photos.").At("after")
	}
	blobs, err := s.Blobs.Shop(ctx, a.Shop)
	if err != nil {
		return none, nil, err
	}
	for _, d := range []Digest{first, second} {
		if _, err := blobs.Has(ctx, d); err != nil {
			return none, nil, noPhoto(err)
		}
	}
	// It is kept with the later photo: the overlay shows that one, and goes when that one goes.
	name := "align-" + s.Aligner.AlignVersion() + "-" + string(first[:24])
	out, picture, ok := keptAlignment(ctx, blobs, second, name)
	if !ok {
		if out, picture, err = s.align(ctx, a, blobs, first, second); err != nil {
			return none, nil, err
		}
		if err := keepAlignment(ctx, blobs, second, name, out, picture); err != nil {
			return none, nil, err
		}
	}
	out.Before, out.After = before, after
	return out, picture, nil
}

// digestOf returns the digest of a photo of the job.
func (j *Job) digestOf(id EntryID) (Digest, error) {
	for _, p := range j.Photos {
		if p.Entry == id {
			return p.Body.Digest, nil
		}
	}
	return "", Errorf(NotFound, "The job has no photo %q.", clip(string(id)))
}

func (s *Service) align(ctx context.Context, a Actor, blobs Blobs, first, second Digest) (Alignment, []byte, error) {
	var views [2]AlignView
	for i, d := range []Digest{first, second} {
		view, err := s.Picture(ctx, a, d, DerivedView)
		if err != nil {
			return Alignment{}, nil, err
		}
		facts, err := s.facts(ctx, blobs, d)
		if err != nil {
			return Alignment{}, nil, err
		}
		views[i] = AlignView{View: view, Width: facts.Width, Height: facts.Height}
	}
	out, picture, err := s.Aligner.Align(ctx, views[0], views[1])
	if err != nil {
		return Alignment{}, nil, fmt.Errorf("line photo %s up with %s: %w", second, first, err)
	}
	return out, picture, nil
}

// keptAlignment returns what an earlier call found; what can't be read counts as lost.
func keptAlignment(ctx context.Context, blobs Blobs, d Digest, name string) (out Alignment, picture []byte, ok bool) {
	raw, err := blobs.Derived(ctx, d, name+".json")
	if err != nil || json.Unmarshal(raw, &out) != nil {
		return Alignment{}, nil, false
	}
	if !out.Aligned {
		return out, nil, true
	}
	picture, err = blobs.Derived(ctx, d, name+".jpg")
	return out, picture, err == nil
}

// keepAlignment keeps the picture first: a kept answer has its picture.
func keepAlignment(ctx context.Context, blobs Blobs, d Digest, name string, out Alignment, picture []byte) error {
	raw, err := json.Marshal(out)
	if err == nil && picture != nil {
		err = blobs.PutDerived(ctx, d, name+".jpg", picture)
	}
	if err == nil {
		err = blobs.PutDerived(ctx, d, name+".json", raw)
	}
	if err != nil && !errors.Is(err, context.Canceled) {
		return fmt.Errorf("keep the alignment on photo %s: %w", d, err)
	}
	return err
}
