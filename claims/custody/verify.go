package custody

import (
	"crypto/x509"
	"fmt"
	"io"

	"golang.org/x/mod/sumdb/tlog"

	"kickplate/claims"
)

// Verdict is what a bundle's custody folder proves.
type Verdict struct {
	Checkpoint Checkpoint
	// Shown and HeldBack count the entries whose content is there and those of which only the hash is.
	Shown, HeldBack int
	Stamps          []Stamp
	// Problems are the promises that do not hold, in plain words. None = everything holds.
	Problems []string
}

// VerifyParcel verifies entries.txt against the checkpoint, the proofs and the time stamps of a parcel. trusted are the
// verifier keys that are known from elsewhere to be the shop's; with none, the key in the parcel is taken at its word, which
// shows that the parts belong together, not whose they are. roots are for time stamps, see VerifyStamp.
func VerifyParcel(entries io.Reader, p claims.CustodyParcel, trusted []string, roots *x509.CertPool) Verdict {
	var v Verdict
	wrong := func(format string, args ...any) { v.Problems = append(v.Problems, fmt.Sprintf(format, args...)) }
	keys := trusted
	if len(keys) == 0 {
		keys = []string{p.Key}
	}
	c, err := Open(p.Checkpoint, keys...)
	if err != nil {
		wrong("the checkpoint does not hold: %v", err)
		return v
	}
	v.Checkpoint = c
	proofs, err := ParseProofs(p.Proofs)
	if err != nil {
		wrong("%v", err)
		return v
	}
	for _, err := range proofs.Check(c) {
		wrong("%v", err)
	}
	proved := make(map[uint64]tlog.Hash, len(proofs.Leaves))
	for _, l := range proofs.Leaves {
		proved[l.Leaf] = l.Hash
	}
	err = ReadEntries(entries, func(e EntryLine) bool {
		hash, ok := proved[e.Leaf]
		switch {
		case !ok:
			wrong("entry %d has no proof", e.Leaf)
		case hash != e.Hash:
			wrong("entry %d was changed: its hash is not the one in the log", e.Leaf)
		}
		delete(proved, e.Leaf)
		if e.Line == nil {
			v.HeldBack++
		} else {
			v.Shown++
		}
		return true
	})
	if err != nil {
		wrong("%v", err)
	}
	for _, l := range proofs.Leaves {
		if _, left := proved[l.Leaf]; left {
			wrong("entry %d is proved, but it is missing from entries.txt", l.Leaf)
		}
	}
	for i, raw := range p.Stamps {
		stamp, err := VerifyStamp(raw, p.Checkpoint, roots)
		if err != nil {
			wrong("time stamp %d does not hold: %v", i+1, err)
			continue
		}
		v.Stamps = append(v.Stamps, stamp)
	}
	return v
}
