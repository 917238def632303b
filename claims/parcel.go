package claims

import (
	"context"
	"io"
	"time"

	"kickplate/rules"
)

// Parcel is all that goes into a claim bundle. A Packager is a function of it: equal parcels give equal bytes.
type Parcel struct {
	Shop Shop
	// Job is the fold of Records; Facts and Report are what the rules made of it at the time Built.
	Job    Job
	Facts  rules.Facts
	Report rules.Report
	// Coverage is the answer on coverage with the earlier repairs of the unit in view; without a verdict a Packager answers from
	// the job alone. The bill needs no place here: it follows from the entries (Job.Bill), since Build enters what the rates say.
	Coverage CoverageAnswer
	// Pack is the rule pack of the check.
	Pack *rules.Pack
	// Records are the entries that go in, in order of arrival.
	Records []Record
	Built   time.Time
	// BuiltBy is the person who had it built.
	BuiltBy string
	Version int
	Hold    Hold
	// Dispute makes it a dispute file; nil = a claim.
	Dispute *DisputeParcel
	Custody CustodyParcel
	// Blobs holds the originals and their views and thumbnails (Derived names DerivedView and DerivedThumb).
	Blobs Blobs
}

// Shop is the tenant as a letterhead has it.
type Shop struct {
	ID      ShopID `json:"id"`
	Name    string `json:"name"`
	Address string `json:"address,omitempty"`
	Contact string `json:"contact,omitempty"`
	// Zone is the IANA zone of the shop; Country and Currency its defaults.
	Zone     string `json:"zone,omitempty"`
	Country  string `json:"country,omitempty"`
	Currency string `json:"currency,omitempty"`
	// Release is the shop's own template of a release; {customer}, {shop}, {job}, {unit}, {area}, {amount} and {date} are filled in.
	Release string `json:"release,omitempty"`
}

// Hold says what is kept out of a bundle. What was held back is listed in it.
type Hold struct {
	Customer bool `json:"customer,omitempty"`
	Position bool `json:"position,omitempty"`
	// Covered shows pictures that have covers on record (see Cover) with these burnt in, and holds their originals back.
	Covered bool `json:"covered,omitempty"`
}

// Names lists what is held back: "customer", "position", "covered".
func (h Hold) Names() []string {
	var names []string
	if h.Customer {
		names = append(names, "customer")
	}
	if h.Position {
		names = append(names, "position")
	}
	if h.Covered {
		names = append(names, "covered")
	}
	return names
}

// CustodyParcel is what proves the entries' place in the shop's log. Its parts are made and checked by claims/custody.
type CustodyParcel struct {
	// Checkpoint is a signed note in the C2SP tlog-checkpoint format; empty = the log is not sealed yet.
	Checkpoint []byte
	// Key is the verifier key of the checkpoint in the signed-note format.
	Key string
	// Proofs is the JSON of the inclusion proofs, one for each record.
	Proofs []byte
	// Stamps are RFC 3161 time-stamp tokens over the checkpoint.
	Stamps [][]byte
}

// Packed is what a Packager made.
type Packed struct {
	Name   string // claim-<number>-v<version>.zip, safe as a file name
	Digest Digest
	Bytes  int64
}

// Packager writes a parcel as one file. Memory does not grow with the parcel.
type Packager interface {
	Pack(ctx context.Context, w io.Writer, p Parcel) (Packed, error)
}

// Preparer is a Packager that can do a part of its work before a bundle is asked for.
type Preparer interface {
	// Prepare makes what a parcel of these photos will need and keeps it as derived data. Doing it twice costs nothing; not
	// doing it only makes the first Pack slower.
	Prepare(ctx context.Context, blobs Blobs, photos []Digest) error
}

// Notary seals the shop's log and proves what is in it.
type Notary interface {
	// Seal signs a checkpoint of the whole log as it stands, keeps it, and returns it with inclusion proofs for leaves.
	Seal(ctx context.Context, s Store, leaves []uint64) (CustodyParcel, error)
}

// Names under which the pictures made from an original, and the facts found in it, are kept as derived data.
const (
	DerivedView  = "view.jpg"
	DerivedThumb = "thumb.jpg"
	DerivedFacts = "facts.json"
)
