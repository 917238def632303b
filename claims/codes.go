package claims

import (
	"context"
	"errors"
	"fmt"
)

// codeSubjects are the photo subjects on which bar and QR codes are looked for.
func codeSubject(subject string) bool { return subject == "rating-plate" || subject == "part-label" }

// CodesWanted lists the originals of a job on which codes were not sought yet.
func (j *Job) CodesWanted() []Digest {
	var out []Digest
	for _, p := range j.Photos {
		if f, ok := j.Facts[p.Body.Digest]; ok && codeSubject(p.Body.Subject) && !f.CodesSought && f.Width > 0 {
			out = append(out, p.Body.Digest)
		}
	}
	return out
}

// ReadCodes looks for codes on a job's plates and labels and records what it finds, nothing included. It is slow
// and runs in the background after Append.
func (s *Service) ReadCodes(ctx context.Context, shop ShopID, job JobID) error {
	server := Actor{Shop: shop, Person: serverDevice, Role: Office, Device: serverDevice}
	j, err := s.Job(ctx, server, job)
	if err != nil {
		return err
	}
	st, err := s.Stores.Shop(ctx, shop)
	if err != nil {
		return err
	}
	blobs, err := s.Blobs.Shop(ctx, shop)
	if err != nil {
		return err
	}
	for _, d := range j.CodesWanted() {
		blob, err := blobs.Open(ctx, d)
		if err != nil {
			return fmt.Errorf("read codes on photo %s: %w", d, err)
		}
		codes, err := s.Examiner.Codes(ctx, blob, blob.Size())
		blob.Close()
		if err != nil && CodeOf(err) == "" {
			return fmt.Errorf("read codes on photo %s: %w", d, err)
		}
		if codes == nil {
			codes = []Code{}
		}
		if err := s.record(ctx, st, server, job, KindCodes, CodesRead{Digest: d, Codes: codes}); err != nil && !errors.Is(err, ErrTaken) {
			return err
		}
	}
	return nil
}
