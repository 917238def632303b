package custody

import (
	"context"
	"errors"
	"fmt"
	"time"

	"golang.org/x/mod/sumdb/tlog"

	"kickplate/claims"
)

// Names of the notes in which a shop's store keeps what belongs to its log.
const (
	notesCheckpoints = "custody/checkpoint/" // and the size in 20 digits → signed checkpoint
	noteLatest       = "custody/latest"      // the checkpoint that was signed last
	notesStamps      = "custody/stamp/"      // and the size in 20 digits → time-stamp response
	notesQueue       = "custody/queue/"      // and the size in 20 digits → waiting, as JSON
)

func sizeName(prefix string, size uint64) string { return fmt.Sprintf("%s%020d", prefix, size) }

// Notary signs checkpoints and makes what a bundle holds about custody. It implements claims.Notary.
type Notary struct {
	Keys *Keys
	// Stamps has checkpoints time-stamped; nil = off.
	Stamps *Queue
	// Patience is how long Seal waits for a time stamp before it goes on without (the queue tries again later); 0 = 5 s.
	Patience time.Duration
}

var _ claims.Notary = (*Notary)(nil)

// ErrBroken says that the log no longer contains what was signed. Nothing more is signed then: a signature would
// cover up the break. Check says where it is.
var ErrBroken = errors.New("the log does not contain what was signed before: run the custody check")

// Seal implements claims.Notary.
func (n *Notary) Seal(ctx context.Context, s claims.Store, leaves []uint64) (claims.CustodyParcel, error) {
	signed, c, err := n.Checkpoint(ctx, s)
	if err != nil {
		return claims.CustodyParcel{}, fmt.Errorf("seal the log: %w", err)
	}
	key, err := n.keyOf(c, signed)
	if err != nil {
		return claims.CustodyParcel{}, fmt.Errorf("seal the log: %w", err)
	}
	proofs, err := Prove(ctx, s, c, leaves)
	if err != nil {
		return claims.CustodyParcel{}, fmt.Errorf("seal the log: %w", err)
	}
	raw, err := proofs.JSON()
	if err != nil {
		return claims.CustodyParcel{}, fmt.Errorf("seal the log: %w", err)
	}
	stamps, err := n.stamps(ctx, s, c)
	if err != nil {
		return claims.CustodyParcel{}, fmt.Errorf("seal the log: %w", err)
	}
	return claims.CustodyParcel{Checkpoint: signed, Key: key, Proofs: raw, Stamps: stamps}, nil
}

// Checkpoint signs the log as it stands, keeps the signed checkpoint with the shop's notes, puts it in the queue for
// a time stamp, and returns it. When the log has not grown since the last one it returns that one again.
func (n *Notary) Checkpoint(ctx context.Context, s claims.Store) ([]byte, Checkpoint, error) {
	size, err := s.LogSize(ctx)
	if err != nil {
		return nil, Checkpoint{}, err
	}
	c, err := At(ctx, s, size)
	if err != nil {
		return nil, Checkpoint{}, err
	}
	last, err := s.Note(ctx, noteLatest)
	switch {
	case errors.Is(err, claims.ErrAbsent):
	case err != nil:
		return nil, Checkpoint{}, err
	default:
		// A key file that was lost must not end the log: what an unknown key signed still has to be in it, and the new
		// key signs on. The check goes on saying that the older checkpoints are signed by a key nobody knows.
		before, err := Peek(last)
		if err != nil {
			return nil, Checkpoint{}, fmt.Errorf("%w (%w)", ErrBroken, err)
		}
		if _, err := n.keyOf(c, last); err == nil && before == c {
			return last, c, nil
		}
		if err := continues(ctx, s, before, c); err != nil {
			return nil, Checkpoint{}, err
		}
	}
	signed, err := n.Keys.Sign(c)
	if err != nil {
		return nil, Checkpoint{}, err
	}
	if err := s.PutNote(ctx, sizeName(notesCheckpoints, c.Size), signed); err != nil {
		return nil, Checkpoint{}, err
	}
	if err := s.PutNote(ctx, noteLatest, signed); err != nil {
		return nil, Checkpoint{}, err
	}
	if n.Stamps != nil {
		if err := n.Stamps.Add(ctx, s, c.Size, signed); err != nil {
			return nil, Checkpoint{}, err
		}
	}
	return signed, c, nil
}

// continues checks that the log still begins with what the earlier checkpoint says. A checkpoint of a larger log is one
// that somebody else signed in this moment.
func continues(ctx context.Context, s claims.Store, before, now Checkpoint) error {
	size, err := s.LogSize(ctx)
	if err != nil {
		return err
	}
	if before.Size > size {
		return fmt.Errorf("%w: %d entries were signed, %d are there", ErrBroken, before.Size, size)
	}
	root, err := tlog.TreeHash(int64(before.Size), reader(ctx, s))
	if err != nil {
		return err
	}
	if root != before.Root || before.Origin != now.Origin {
		return fmt.Errorf("%w: the first %d entries have changed", ErrBroken, before.Size)
	}
	return nil
}

// keyOf returns the verifier key that the checkpoint was signed with: after a rotation, that may be an older one.
func (n *Notary) keyOf(c Checkpoint, signed []byte) (string, error) {
	keys, err := n.Keys.Verifiers(c.Origin)
	if err != nil {
		return "", err
	}
	for _, k := range keys {
		if _, err := Open(signed, k); err == nil {
			return k, nil
		}
	}
	return "", fmt.Errorf("no key of ours signed the checkpoint of %d entries", c.Size)
}

// stamps returns the time stamps of a checkpoint; when there is none yet it waits a little for one. No stamp is no error:
// the queue goes on trying.
func (n *Notary) stamps(ctx context.Context, s claims.Store, c Checkpoint) ([][]byte, error) {
	list, err := Stamps(ctx, s, c.Size)
	if err != nil || len(list) > 0 || n.Stamps == nil {
		return list, err
	}
	patience := n.Patience
	if patience == 0 {
		patience = 5 * time.Second
	}
	wait, cancel := context.WithTimeout(ctx, patience)
	defer cancel()
	if _, err := n.Stamps.try(wait, ctx, s, c.Size); err != nil {
		return nil, err
	}
	return Stamps(ctx, s, c.Size)
}

// Checkpoints calls yield with every signed checkpoint that is kept, smallest log first, until it returns false.
func Checkpoints(ctx context.Context, s claims.Store, yield func(signed []byte) bool) error {
	return s.Notes(ctx, notesCheckpoints, func(_ string, value []byte) bool { return yield(value) })
}
