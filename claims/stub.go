package claims

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"time"
)

// Stub stands in the journal where the line of an erased entry stood. It keeps what proofs need and nothing of what the entry
// said: the leaf's hash (so that the log's root and all proofs stay as they were), the hash of the entry's own bytes (so that the
// device's chain can still be judged), and its place in order.
type Stub struct {
	// By is the erase entry that says who erased it, when and why.
	By EntryID `json:"by"`
	// LeafHash is the leaf's hash in the custody log, EntryHash the SHA-256 of the entry's exact bytes; both in hexadecimal.
	LeafHash  Digest    `json:"leafHash"`
	EntryHash Digest    `json:"entryHash,omitempty"`
	ID        EntryID   `json:"id"`
	Shop      ShopID    `json:"shop"`
	Job       JobID     `json:"job"`
	Kind      Kind      `json:"kind"`
	At        time.Time `json:"at"`
	Received  time.Time `json:"received"`
	Device    string    `json:"device"`
	Seq       uint64    `json:"seq,omitempty"`
	Prev      Digest    `json:"prev,omitempty"`
}

// stubHead begins every stub's line. A sealed entry's line begins with another key, so the two are never mixed up.
const stubHead = `{"erased":{`

// LeafHash is the hash of a line as a leaf of the custody log: SHA-256 over a zero byte and the line (RFC 6962, 2.1). For a stub it is
// the hash of the line that stood there before.
func LeafHash(line []byte) [32]byte {
	if s, ok := ReadStub(line); ok {
		var h [32]byte
		if raw, err := hex.DecodeString(string(s.LeafHash)); err == nil {
			copy(h[:], raw)
		}
		return h
	}
	return sha256.Sum256(append([]byte{0}, line...))
}

// StubOf makes the stub of a kept entry whose line is given.
func StubOf(k Kept, line []byte, by EntryID) Stub {
	h := LeafHash(line)
	return Stub{By: by, LeafHash: Digest(hex.EncodeToString(h[:])), EntryHash: DigestOf(k.Raw), ID: k.ID, Shop: k.Shop, Job: k.Job, Kind: k.Kind, At: k.At,
		Received: k.Received.UTC(), Device: k.Device, Seq: k.Seq, Prev: k.Prev}
}

// Line is the stub as a record's line.
func (s Stub) Line() ([]byte, error) {
	raw, err := json.Marshal(struct {
		Erased Stub `json:"erased"`
	}{s})
	if err != nil {
		return nil, fmt.Errorf("write the stub of entry %s: %w", s.ID, err)
	}
	return raw, nil
}

// ReadStub reads a record's line as a stub; ok is false when it is not one.
func ReadStub(line []byte) (s Stub, ok bool) {
	if !bytes.HasPrefix(line, []byte(stubHead)) {
		return s, false
	}
	var in struct {
		Erased Stub `json:"erased"`
	}
	if err := strict(line, &in); err != nil || in.Erased.By == "" || !in.Erased.LeafHash.Valid() || in.Erased.EntryHash != "" && !in.Erased.EntryHash.Valid() {
		return s, false
	}
	return in.Erased, true
}

// kept is the stub as an entry without a body.
func (s Stub) kept(leaf uint64) Kept {
	return Kept{Entry: Entry{ID: s.ID, Shop: s.Shop, Job: s.Job, Kind: s.Kind, At: s.At, Device: s.Device, Seq: s.Seq, Prev: s.Prev},
		Received: s.Received, Leaf: leaf, Erased: s.By, hash: s.EntryHash}
}
