package claims

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"time"
)

// Build packs a job's bundle, keeps it, and records that it was built. When nothing has happened on the job since the last
// bundle with the same things held back, that one is returned instead of a new version.
func (s *Service) Build(ctx context.Context, a Actor, job JobID, hold Hold) (Built, error) {
	return s.build(ctx, a, job, hold, nil)
}

func (s *Service) build(ctx context.Context, a Actor, job JobID, hold Hold, dispute *DisputeParcel) (Built, error) {
	st, err := s.store(ctx, a, ActBuild)
	if err != nil {
		return Built{}, err
	}
	recs, head, err := journal(ctx, st, job, 0, 0)
	if err != nil {
		return Built{}, err
	}
	j, err := foldRecords(recs)
	if err != nil {
		return Built{}, err
	}
	if len(j.Erased) > 0 {
		return Built{}, erasedAlready(&j)
	}
	if dispute == nil { // a dispute file needs no bill and goes to somebody else
		drawn, err := s.drawUp(ctx, st, a, j)
		if err != nil {
			return Built{}, err
		}
		if drawn {
			if recs, head, err = journal(ctx, st, job, 0, 0); err != nil {
				return Built{}, err
			}
			if j, err = foldRecords(recs); err != nil {
				return Built{}, err
			}
		}
		if err := rememberHold(ctx, st, j.Coverage.Payer, hold); err != nil {
			return Built{}, err
		}
	}
	if last, ok := s.unchanged(recs, j, hold, dispute); ok {
		return last, nil
	}
	blobs, err := s.Blobs.Shop(ctx, a.Shop)
	if err != nil {
		return Built{}, err
	}
	parcel, err := s.parcel(ctx, a, st, blobs, recs, j, hold, dispute)
	if err != nil {
		return Built{}, err
	}
	built, err := s.pack(ctx, blobs, parcel, head)
	if err != nil {
		return Built{}, err
	}
	err = s.record(ctx, st, a, job, KindBuilt, built)
	if CodeOf(err) == Erased { // erased while it was being packed: nobody would ever find these bytes again
		err = errors.Join(err, blobs.Erase(ctx, built.Digest))
	}
	return built, err
}

// Prepare does what can be done for a job's bundle before it is asked for. It is slow and runs in the background.
func (s *Service) Prepare(ctx context.Context, shop ShopID, job JobID) error {
	p, ok := s.Packager.(Preparer)
	if !ok {
		return nil
	}
	j, err := s.Job(ctx, Actor{Shop: shop, Person: serverDevice, Role: Office, Device: serverDevice}, job)
	if err != nil {
		return err
	}
	blobs, err := s.Blobs.Shop(ctx, shop)
	if err != nil {
		return err
	}
	var photos []Digest
	for _, photo := range j.Photos {
		photos = append(photos, photo.Body.Digest)
	}
	return p.Prepare(ctx, blobs, photos)
}

// unchanged finds the last bundle of the same purpose when only looking and building happened since.
func (s *Service) unchanged(recs []Record, j Job, hold Hold, dispute *DisputeParcel) (Built, bool) {
	var last Built
	for i := range j.Bundles {
		if b := j.Bundles[i].Body; (b.Dispute == nil) == (dispute == nil) {
			last = b
		}
	}
	if last.Version == 0 || fmt.Sprint(last.Held) != fmt.Sprint(hold.Names()) || last.Upto > Head(len(recs)) {
		return Built{}, false
	}
	if dispute != nil && fmt.Sprint(*last.Dispute) != fmt.Sprint(*dispute) {
		return Built{}, false
	}
	for _, r := range recs[last.Upto:] {
		k, err := KeptOf(r)
		if err != nil || !aboutBundles(k.Kind) {
			return Built{}, false
		}
	}
	return last, true
}

// aboutBundles reports whether an entry tells only what became of bundles that were built.
func aboutBundles(k Kind) bool {
	return k == KindBuilt || k == KindFetched || k == KindShared || k == KindUnshared || k == KindMailed
}

func (s *Service) parcel(ctx context.Context, a Actor, st Store, blobs Blobs, recs []Record, j Job, hold Hold, dispute *DisputeParcel) (Parcel, error) {
	checked, err := s.check(j)
	if err != nil && dispute != nil { // it is held against no rule pack
		checked, err = Checked{Facts: FactsOf(&j, nil, s.Now())}, nil
	}
	if err != nil {
		return Parcel{}, err
	}
	shop, err := s.shop(ctx, st, a.Shop)
	if err != nil {
		return Parcel{}, err
	}
	earlier, err := earlierRepairs(ctx, st, &j)
	if err != nil {
		return Parcel{}, err
	}
	p := Parcel{Shop: shop, Job: j, Facts: checked.Facts, Report: checked.Report, Coverage: CoverageOf(&j, earlier), Records: recs,
		Built: checked.Facts.Now, BuiltBy: a.Person, Version: nextVersion(j), Hold: hold, Dispute: dispute, Blobs: blobs}
	if checked.Pack != nil {
		p.Pack = checked.Pack.Pack()
	}
	// A picture whose view was lost is made again, so that the packager finds all it needs.
	for _, photo := range j.Photos {
		if _, err := s.facts(ctx, blobs, photo.Body.Digest); err != nil {
			return Parcel{}, fmt.Errorf("photo %d of the job: %w", photo.Number, err)
		}
		f := j.Facts[photo.Body.Digest]
		if f.Width == 0 {
			continue
		}
		if _, err := blobs.Derived(ctx, photo.Body.Digest, DerivedView); errors.Is(err, ErrAbsent) {
			if _, _, err := s.reexamine(ctx, blobs, photo.Body.Digest); err != nil {
				return Parcel{}, err
			}
		}
	}
	leaves := make([]uint64, len(recs))
	for i, r := range recs {
		leaves[i] = r.Leaf
	}
	if p.Custody, err = s.Notary.Seal(ctx, st, leaves); err != nil {
		return Parcel{}, fmt.Errorf("seal the shop's log: %w", err)
	}
	return p, nil
}

func nextVersion(j Job) int {
	v := 0
	for _, b := range j.Bundles {
		v = max(v, b.Body.Version)
	}
	return v + 1
}

// pack writes the bundle to a temporary file and keeps it like an original.
func (s *Service) pack(ctx context.Context, blobs Blobs, p Parcel, head Head) (Built, error) {
	tmp, err := os.CreateTemp(s.Scratch, "bundle-*.part")
	if err != nil {
		return Built{}, fmt.Errorf("build a bundle: %w", err)
	}
	defer os.Remove(tmp.Name())
	defer tmp.Close()
	packed, err := s.Packager.Pack(ctx, tmp, p)
	if err != nil {
		return Built{}, err
	}
	if _, err := tmp.Seek(0, io.SeekStart); err != nil {
		return Built{}, fmt.Errorf("build a bundle: %w", err)
	}
	if adopter, ok := blobs.(Adopter); ok {
		err = adopter.Adopt(ctx, packed.Digest, tmp.Name())
	} else {
		err = blobs.Put(ctx, packed.Digest, tmp)
	}
	if err != nil {
		return Built{}, fmt.Errorf("keep the bundle: %w", err)
	}
	built := Built{Version: p.Version, Digest: packed.Digest, Bytes: packed.Bytes, Name: packed.Name, Upto: head, Held: p.Hold.Names(), Dispute: p.Dispute}
	if p.Dispute == nil { // a dispute file is held against no rule pack
		built.Pack, built.Complete = p.Report.Pack+" "+p.Report.Version, p.Report.Complete
	}
	return built, nil
}

// record appends one of the server's own entries, on behalf of the actor.
func (s *Service) record(ctx context.Context, st Store, a Actor, job JobID, kind Kind, body any) error {
	return s.recordUnless(ctx, st, a, job, kind, body, nil)
}

// recordUnless is record, save that nothing is written when unless holds of the entries that are there; nobody can write in between.
func (s *Service) recordUnless(ctx context.Context, st Store, a Actor, job JobID, kind Kind, body any, unless func([]Kept) bool) error {
	k, err := s.own(a.Shop, job, kind, a.Person, body)
	if err != nil {
		return err
	}
	for range attempts {
		err = s.commit(ctx, st, a.Shop, []Kept{k}, unless)
		if !errors.Is(err, ErrStale) {
			return err
		}
	}
	return Errorf(Busy, "Too many are writing on this job at once. Try again in a moment.")
}

// Built finds a version of the job's bundle; 0 is the latest.
func (j *Job) Built(version int) (Built, bool) {
	for i := len(j.Bundles) - 1; i >= 0; i-- {
		if b := j.Bundles[i].Body; version == 0 || b.Version == version {
			return b, true
		}
	}
	return Built{}, false
}

// sameDownload is for how long the pieces that one person fetches of one bundle count as one download.
const sameDownload = time.Hour

// Bundle opens a version of a job's bundle and records that it was fetched. Version 0 is the latest. A piece (part) of a bundle that
// the same person began to fetch within the hour is not recorded again: a browser fetches in as many pieces as it likes.
func (s *Service) Bundle(ctx context.Context, a Actor, job JobID, version int, part bool) (Blob, Built, error) {
	st, err := s.store(ctx, a, ActRead)
	if err != nil {
		return nil, Built{}, err
	}
	j, err := s.Job(ctx, a, job)
	if err != nil {
		return nil, Built{}, err
	}
	b, ok := j.Built(version)
	if !ok {
		return nil, Built{}, Errorf(NotFound, "There is no such version of the bundle. Build it first.")
	}
	blobs, err := s.Blobs.Shop(ctx, a.Shop)
	if err != nil {
		return nil, Built{}, err
	}
	blob, err := blobs.Open(ctx, b.Digest)
	if err != nil {
		return nil, Built{}, fmt.Errorf("bundle version %d: %w", b.Version, err)
	}
	fetched := Fetched{Version: b.Version, Digest: b.Digest, How: "download"}
	since := s.Now().Add(-sameDownload)
	goesOn := func(all []Kept) bool {
		return part && slices.ContainsFunc(all, func(k Kept) bool {
			if k.Kind != KindFetched || k.By != a.Person || k.At.Before(since) {
				return false
			}
			body, err := DecodeBody(k.Kind, k.Body)
			return err == nil && *body.(*Fetched) == fetched
		})
	}
	if err := s.recordUnless(ctx, st, a, job, KindFetched, fetched, goesOn); err != nil {
		blob.Close()
		return nil, Built{}, err
	}
	return blob, b, nil
}
