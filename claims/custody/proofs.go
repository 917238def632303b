package custody

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"slices"

	"golang.org/x/mod/sumdb/tlog"

	"kickplate/claims"
)

// ProofsFormat marks the JSON of proofs.json; a change of the format changes the number.
const ProofsFormat = "kickplate-custody-proofs/1"

// MaxProofs bounds the bytes of a proofs.json that are read: some 25,000 entries in a log of a million.
const MaxProofs = 32 << 20

// maxPath is the longest audit path there can be: one hash a level of a tree of 2^63 leaves.
const maxPath = 63

// Proofs is what proofs.json holds: for each entry of a bundle, that it is in the log of the checkpoint. Hashes are
// base64 as in the checkpoint.
type Proofs struct {
	Format string    `json:"format"`
	Origin string    `json:"origin"`
	Size   uint64    `json:"size"`
	Root   tlog.Hash `json:"root"`
	// Leaves are in the order of their numbers.
	Leaves []LeafProof `json:"leaves"`
}

// LeafProof proves one leaf: Hash is SHA-256(0x00 ‖ line), Path the audit path of RFC 6962, 2.1.1, from the leaf upward.
type LeafProof struct {
	Leaf uint64      `json:"leaf"`
	Hash tlog.Hash   `json:"hash"`
	Path []tlog.Hash `json:"path"`
}

// Prove returns the proofs that the leaves are in the log's first c.Size leaves. Leaves may come in any order and twice.
func Prove(ctx context.Context, s claims.Store, c Checkpoint, leaves []uint64) (Proofs, error) {
	p := Proofs{Format: ProofsFormat, Origin: c.Origin, Size: c.Size, Root: c.Root, Leaves: []LeafProof{}}
	leaves = slices.Compact(slices.Sorted(slices.Values(leaves)))
	read := reader(ctx, s)
	for _, leaf := range leaves {
		if leaf >= c.Size {
			return Proofs{}, fmt.Errorf("entry %d is not in the checkpoint of %d entries", leaf, c.Size)
		}
		path, err := tlog.ProveRecord(int64(c.Size), int64(leaf), read)
		if err != nil {
			return Proofs{}, fmt.Errorf("prove entry %d: %w", leaf, err)
		}
		hash, err := read.ReadHashes([]int64{tlog.StoredHashIndex(0, int64(leaf))})
		if err != nil {
			return Proofs{}, fmt.Errorf("prove entry %d: %w", leaf, err)
		}
		p.Leaves = append(p.Leaves, LeafProof{Leaf: leaf, Hash: hash[0], Path: path})
	}
	return p, nil
}

// ParseProofs reads proofs.json strictly.
func ParseProofs(raw []byte) (Proofs, error) {
	var p Proofs
	if err := strict(raw, &p); err != nil {
		return Proofs{}, fmt.Errorf("proofs: %w", err)
	}
	switch {
	case p.Format != ProofsFormat:
		return Proofs{}, fmt.Errorf("proofs: the format is %q; this program knows %q", cut(p.Format), ProofsFormat)
	case !validOrigin(p.Origin):
		return Proofs{}, fmt.Errorf("proofs: %q is not the name of a log", cut(p.Origin))
	case p.Size >= 1<<63:
		return Proofs{}, fmt.Errorf("proofs: no log has %d entries", p.Size)
	}
	for i, l := range p.Leaves {
		switch {
		case l.Leaf >= p.Size:
			return Proofs{}, fmt.Errorf("proofs: entry %d is not within the %d of the log", l.Leaf, p.Size)
		case i > 0 && l.Leaf <= p.Leaves[i-1].Leaf:
			return Proofs{}, fmt.Errorf("proofs: entry %d comes after entry %d", l.Leaf, p.Leaves[i-1].Leaf)
		case len(l.Path) > maxPath:
			return Proofs{}, fmt.Errorf("proofs: the path of entry %d has %d hashes", l.Leaf, len(l.Path))
		}
	}
	return p, nil
}

func strict(raw []byte, into any) error {
	if len(raw) > MaxProofs {
		return fmt.Errorf("%d bytes are more than the %d that are read", len(raw), MaxProofs)
	}
	d := json.NewDecoder(bytes.NewReader(raw))
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil {
		return err
	}
	if _, err := d.Token(); err != io.EOF {
		return fmt.Errorf("there is more after the end")
	}
	return nil
}

// JSON is the content of proofs.json. Equal proofs give equal bytes.
func (p Proofs) JSON() ([]byte, error) {
	raw, err := json.MarshalIndent(p, "", " ")
	if err != nil {
		return nil, err
	}
	return append(raw, '\n'), nil
}

// Check reports, for each leaf whose proof does not lead to the checkpoint's root, what is wrong. Nil = all hold.
func (p Proofs) Check(c Checkpoint) []error {
	if p.Origin != c.Origin || p.Size != c.Size || p.Root != c.Root {
		return []error{fmt.Errorf("the proofs are for %d entries of log %s, the checkpoint for %d of %s", p.Size, p.Origin, c.Size, c.Origin)}
	}
	var wrong []error
	for _, l := range p.Leaves {
		if err := tlog.CheckRecord(l.Path, int64(c.Size), c.Root, int64(l.Leaf), l.Hash); err != nil {
			wrong = append(wrong, fmt.Errorf("entry %d is not the one in the log that the checkpoint describes", l.Leaf))
		}
	}
	return wrong
}

// Consistency proves that the log of the newer checkpoint begins with the whole log of the older one.
type Consistency struct {
	Format string `json:"format"`
	Old    uint64 `json:"old"`
	New    uint64 `json:"new"`
	// Path is the consistency proof of RFC 6962, 2.1.2.
	Path []tlog.Hash `json:"path"`
}

// ConsistencyFormat marks the JSON of a consistency proof.
const ConsistencyFormat = "kickplate-custody-consistency/1"

// ProveConsistency proves that the log's first new leaves begin with its first old ones.
func ProveConsistency(ctx context.Context, s claims.Store, old, now uint64) (Consistency, error) {
	if old == 0 || old > now {
		return Consistency{}, fmt.Errorf("a log of %d entries cannot be continued by one of %d", old, now)
	}
	if size, err := s.LogSize(ctx); err != nil {
		return Consistency{}, fmt.Errorf("size of the log: %w", err)
	} else if now > size {
		return Consistency{}, fmt.Errorf("the log has %d entries, not %d", size, now)
	}
	path, err := tlog.ProveTree(int64(now), int64(old), reader(ctx, s))
	if err != nil {
		return Consistency{}, fmt.Errorf("prove that %d entries continue %d: %w", now, old, err)
	}
	return Consistency{Format: ConsistencyFormat, Old: old, New: now, Path: path}, nil
}

// ParseConsistency reads the JSON of a consistency proof strictly.
func ParseConsistency(raw []byte) (Consistency, error) {
	var c Consistency
	if err := strict(raw, &c); err != nil {
		return Consistency{}, fmt.Errorf("consistency proof: %w", err)
	}
	if c.Format != ConsistencyFormat || c.Old == 0 || c.Old > c.New || c.New >= 1<<63 || len(c.Path) > 2*maxPath {
		return Consistency{}, fmt.Errorf("consistency proof: from %d to %d with %d hashes in format %q is not one", c.Old, c.New, len(c.Path), cut(c.Format))
	}
	return c, nil
}

// Check reports whether the proof leads from the old root to the new.
func (p Consistency) Check(old, now Checkpoint) error {
	if old.Origin != now.Origin {
		return fmt.Errorf("the checkpoints are of two logs, %s and %s", old.Origin, now.Origin)
	}
	if p.Old != old.Size || p.New != now.Size {
		return fmt.Errorf("the proof is from %d to %d entries, the checkpoints are of %d and %d", p.Old, p.New, old.Size, now.Size)
	}
	if err := tlog.CheckTree(p.Path, int64(now.Size), now.Root, int64(old.Size), old.Root); err != nil {
		return fmt.Errorf("the log of %d entries does not begin with the %d that were there before: something in it was changed, removed or moved", now.Size, old.Size)
	}
	return nil
}
