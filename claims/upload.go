package claims

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math/bits"
	"slices"
	"strconv"
)

// Upload is a file that has arrived whole, in a place of the server's.
type Upload struct {
	// Digest is the SHA-256 it was sent under; the receiver has compared it with the bytes.
	Digest Digest
	Size   int64
	Bytes  io.ReaderAt
	// Path is the file's path when it is on local disk and may be taken over; empty otherwise.
	Path string
}

// Receive examines an upload and keeps its original. When it returns nil the original is durable. An upload of bytes that are
// here already is fine, and answers with the same facts.
func (s *Service) Receive(ctx context.Context, a Actor, u Upload) (PhotoFacts, error) {
	if err := a.allow(ActUpload); err != nil {
		return PhotoFacts{}, err
	}
	return s.receive(ctx, a.Shop, u)
}

func (s *Service) receive(ctx context.Context, shop ShopID, u Upload) (PhotoFacts, error) {
	blobs, err := s.Blobs.Shop(ctx, shop)
	if err != nil {
		return PhotoFacts{}, err
	}
	if _, err := blobs.Has(ctx, u.Digest); err == nil {
		return s.facts(ctx, blobs, u.Digest)
	} else if !errors.Is(err, ErrAbsent) {
		return PhotoFacts{}, err
	}
	facts, derived, err := s.Examiner.Examine(ctx, u.Bytes, u.Size)
	if err != nil {
		return PhotoFacts{}, err
	}
	facts.Digest = u.Digest
	if adopter, ok := blobs.(Adopter); ok && u.Path != "" {
		err = adopter.Adopt(ctx, u.Digest, u.Path)
	} else {
		err = blobs.Put(ctx, u.Digest, io.NewSectionReader(u.Bytes, 0, u.Size))
	}
	if errors.Is(err, ErrDigest) {
		return PhotoFacts{}, Errorf(Invalid, "The bytes do not have the SHA-256 they were sent under. Send them again.")
	}
	if err != nil {
		return PhotoFacts{}, fmt.Errorf("keep photo %s: %w", u.Digest, err)
	}
	return facts, keepDerived(ctx, blobs, facts, derived)
}

func keepDerived(ctx context.Context, blobs Blobs, facts PhotoFacts, derived Derived) error {
	raw, err := json.Marshal(facts)
	if err != nil {
		return fmt.Errorf("facts of photo %s: %w", facts.Digest, err)
	}
	for _, d := range []struct {
		name string
		data []byte
	}{{DerivedView, derived.View}, {DerivedThumb, derived.Thumb}, {DerivedFacts, raw}} {
		if d.data == nil {
			continue
		}
		if err := blobs.PutDerived(ctx, facts.Digest, d.name, d.data); err != nil {
			return fmt.Errorf("keep %s of photo %s: %w", d.name, facts.Digest, err)
		}
	}
	return nil
}

// facts returns what is known of an original, examining it again when that was lost.
func (s *Service) facts(ctx context.Context, blobs Blobs, d Digest) (PhotoFacts, error) {
	var f PhotoFacts
	raw, err := blobs.Derived(ctx, d, DerivedFacts)
	if err == nil {
		if err = json.Unmarshal(raw, &f); err == nil && f.Digest == d {
			return f, nil
		}
	} else if !errors.Is(err, ErrAbsent) {
		return f, err
	}
	f, _, err = s.reexamine(ctx, blobs, d)
	return f, err
}

func (s *Service) reexamine(ctx context.Context, blobs Blobs, d Digest) (PhotoFacts, Derived, error) {
	blob, err := blobs.Open(ctx, d)
	if err != nil {
		return PhotoFacts{}, Derived{}, err
	}
	defer blob.Close()
	facts, derived, err := s.Examiner.Examine(ctx, blob, blob.Size())
	if err != nil {
		return facts, derived, fmt.Errorf("examine photo %s again: %w", d, err)
	}
	facts.Digest = d
	return facts, derived, keepDerived(ctx, blobs, facts, derived)
}

// Picture returns an original's view or thumbnail (DerivedView, DerivedThumb), making it again when it was lost.
func (s *Service) Picture(ctx context.Context, a Actor, d Digest, name string) ([]byte, error) {
	if err := a.allow(ActRead); err != nil {
		return nil, err
	}
	blobs, err := s.Blobs.Shop(ctx, a.Shop)
	if err != nil {
		return nil, err
	}
	if _, err := blobs.Has(ctx, d); err != nil {
		return nil, noPhoto(err)
	}
	data, err := blobs.Derived(ctx, d, name)
	if !errors.Is(err, ErrAbsent) {
		return data, err
	}
	facts, derived, err := s.reexamine(ctx, blobs, d)
	if err != nil {
		return nil, err
	}
	pictures := map[string][]byte{DerivedView: derived.View, DerivedThumb: derived.Thumb}
	if pictures[name] == nil {
		return nil, Errorf(NotFound, "There is no picture to show of a file of the kind %s.", facts.Type)
	}
	return pictures[name], nil
}

// Original opens an original.
func (s *Service) Original(ctx context.Context, a Actor, d Digest) (Blob, PhotoFacts, error) {
	if err := a.allow(ActRead); err != nil {
		return nil, PhotoFacts{}, err
	}
	blobs, err := s.Blobs.Shop(ctx, a.Shop)
	if err != nil {
		return nil, PhotoFacts{}, err
	}
	blob, err := blobs.Open(ctx, d)
	if err != nil {
		return nil, PhotoFacts{}, noPhoto(err)
	}
	facts, err := s.facts(ctx, blobs, d)
	if err != nil {
		blob.Close()
		return nil, PhotoFacts{}, err
	}
	return blob, facts, nil
}

// Held returns the size of an original that is durable here, or a NotFound error.
func (s *Service) Held(ctx context.Context, a Actor, d Digest) (int64, error) {
	if err := a.allow(ActUpload); err != nil {
		return 0, err
	}
	blobs, err := s.Blobs.Shop(ctx, a.Shop)
	if err != nil {
		return 0, err
	}
	n, err := blobs.Has(ctx, d)
	if err != nil {
		return 0, noPhoto(err)
	}
	return n, nil
}

func noPhoto(err error) error {
	if errors.Is(err, ErrAbsent) {
		return Errorf(NotFound, "There is no such photo here.")
	}
	return err
}

// remarks are the server's own entries about fresh ones: the examination of each new photo, and where else the same or
// a similar picture is.
func (s *Service) remarks(ctx context.Context, st Store, shop ShopID, before, fresh []Kept) ([]Kept, error) {
	var own []Kept
	examined := map[Digest]bool{}
	for _, k := range before {
		if k.Kind == KindExamined {
			if body, err := DecodeBody(k.Kind, k.Body); err == nil {
				examined[body.(*PhotoFacts).Digest] = true
			}
		}
	}
	blobs, err := s.Blobs.Shop(ctx, shop)
	if err != nil {
		return nil, err
	}
	for _, k := range fresh {
		pictures, err := picturesOf(k)
		if err != nil {
			return nil, err
		}
		for _, d := range pictures {
			facts, err := s.facts(ctx, blobs, d)
			if err != nil {
				return nil, err
			}
			if !examined[d] {
				examined[d] = true
				e, err := s.own(shop, k.Job, KindExamined, serverDevice, facts)
				if err != nil {
					return nil, err
				}
				own = append(own, e)
			}
			alike, err := s.alike(ctx, st, k, d, facts)
			if err != nil {
				return nil, err
			}
			for _, l := range alike {
				e, err := s.own(shop, k.Job, KindLikeness, serverDevice, l)
				if err != nil {
					return nil, err
				}
				own = append(own, e)
			}
		}
	}
	return own, nil
}

// picturesOf are the originals that an entry brings: a photo's own, or those of a statement by the other side.
func picturesOf(k Kept) ([]Digest, error) {
	if k.Kind != KindPhoto && k.Kind != KindLinkStatement {
		return nil, nil
	}
	body, err := DecodeBody(k.Kind, k.Body)
	if err != nil {
		return nil, err
	}
	if p, ok := body.(*Photo); ok {
		return []Digest{p.Digest}, nil
	}
	var list []Digest
	for _, p := range body.(*LinkStatement).Pictures {
		list = append(list, p.Digest)
	}
	return list, nil
}

// nearBits is how many of a fingerprint's 64 bits may differ for two pictures to count as alike, and mostAlike how many
// likenesses of one photo are noted. The number comes from the table in media/measure/CALIBRATION.md.
const (
	nearBits  = 6
	mostAlike = 5
)

// alike finds the same bytes or a similar picture in other jobs of the shop. Two honest photos of one unit on one job
// may well look alike; that is not noted.
func (s *Service) alike(ctx context.Context, st Store, k Kept, d Digest, facts PhotoFacts) ([]Likeness, error) {
	var out []Likeness
	seen := map[JobID]bool{k.Job: true}
	note := func(job JobID, other Digest, n int) {
		if !seen[job] && len(out) < mostAlike {
			seen[job] = true
			out = append(out, Likeness{Photo: k.ID, Digest: d, OtherJob: job, OtherDigest: other, Bits: n})
		}
	}
	page, err := st.Cards(ctx, CardQuery{Order: "opened", Key: "digest", Value: string(d), Limit: mostAlike + 1})
	if err != nil {
		return nil, err
	}
	for _, c := range page.Cards {
		note(c.Job, d, 0)
	}
	print, ok := printOf(facts)
	if !ok {
		return out, nil
	}
	prints := []uint64{print}
	if s.Turns != nil {
		turned := s.Turns(print)
		prints = turned[:]
	}
	var near []NearPhoto
	for _, p := range prints {
		found, err := st.Near(ctx, p, nearBits, 50)
		if err != nil {
			return nil, err
		}
		near = append(near, found...)
	}
	slices.SortStableFunc(near, func(a, b NearPhoto) int { return a.Bits - b.Bits })
	for _, n := range near {
		note(n.Job, n.Digest, n.Bits)
	}
	return out, nil
}

// printOf returns a photo's fingerprint when it has one that says something: a nearly plain picture has none.
func printOf(f PhotoFacts) (uint64, bool) {
	if f.Fingerprint == "" {
		return 0, false
	}
	p, err := strconv.ParseUint(f.Fingerprint, 16, 64)
	n := bits.OnesCount64(p)
	return p, err == nil && n >= 8 && n <= 56
}
