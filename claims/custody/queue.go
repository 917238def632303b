package custody

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"strconv"
	"strings"
	"time"

	"kickplate/claims"
)

// Queue has checkpoints time-stamped by an authority, and tries again when it cannot be reached. What waits, how often it
// was tried and when it is to be tried next is kept in the shop's notes, so it survives a restart.
type Queue struct {
	Authority *Authority
	Now       func() time.Time
	Log       *slog.Logger // nil = silent
}

// The time between tries doubles from the first to the longest.
const (
	firstPause   = time.Minute
	longestPause = 12 * time.Hour
)

// waiting is the JSON of a note in the queue.
type waiting struct {
	Checkpoint string    `json:"checkpoint"` // signed
	Tries      int       `json:"tries"`
	Next       time.Time `json:"next"`
	Last       string    `json:"last,omitempty"` // what went wrong the last time
}

// Add puts a signed checkpoint in the queue, due at once.
func (q *Queue) Add(ctx context.Context, s claims.Store, size uint64, signed []byte) error {
	return q.put(ctx, s, size, waiting{Checkpoint: string(signed), Next: q.Now().UTC()})
}

func (q *Queue) put(ctx context.Context, s claims.Store, size uint64, w waiting) error {
	raw, err := json.Marshal(w)
	if err != nil {
		return err
	}
	if err := s.PutNote(ctx, sizeName(notesQueue, size), raw); err != nil {
		return fmt.Errorf("queue the checkpoint of %d entries for a time stamp: %w", size, err)
	}
	return nil
}

// Worked is what a round through the queue did.
type Worked struct {
	Stamped, Failed int
	// Left is how many still wait; Next when the first of them is due, zero when none waits.
	Left int
	Next time.Time
}

// Work tries all checkpoints of the shop that are due. A failed try is no error: it is noted and tried again later.
func (q *Queue) Work(ctx context.Context, s claims.Store) (Worked, error) {
	var sizes []uint64
	var done Worked
	err := q.each(ctx, s, func(size uint64, w waiting) {
		if !w.Next.After(q.Now()) {
			sizes = append(sizes, size)
		}
	})
	if err != nil {
		return done, err
	}
	for _, size := range sizes {
		stamped, err := q.try(ctx, ctx, s, size)
		if err != nil {
			return done, err
		}
		if stamped {
			done.Stamped++
		} else {
			done.Failed++
		}
	}
	err = q.each(ctx, s, func(_ uint64, w waiting) {
		if done.Left++; done.Next.IsZero() || w.Next.Before(done.Next) {
			done.Next = w.Next
		}
	})
	return done, err
}

func (q *Queue) each(ctx context.Context, s claims.Store, yield func(size uint64, w waiting)) error {
	return s.Notes(ctx, notesQueue, func(name string, value []byte) bool {
		size, err := strconv.ParseUint(strings.TrimPrefix(name, notesQueue), 10, 63)
		var w waiting
		if err == nil && json.Unmarshal(value, &w) == nil {
			yield(size, w)
		}
		return true
	})
}

// try asks for one stamp within ask, and notes the outcome within ctx. It is true when the checkpoint is stamped.
func (q *Queue) try(ask, ctx context.Context, s claims.Store, size uint64) (bool, error) {
	raw, err := s.Note(ctx, sizeName(notesQueue, size))
	if errors.Is(err, claims.ErrAbsent) {
		return false, nil // stamped by another process in the meantime, or never queued
	}
	if err != nil {
		return false, err
	}
	var w waiting
	if err := json.Unmarshal(raw, &w); err != nil {
		return false, fmt.Errorf("queued checkpoint of %d entries: %w", size, err)
	}
	response, stamp, err := q.Authority.Stamp(ask, []byte(w.Checkpoint))
	log := q.Log
	if log == nil {
		log = slog.New(slog.NewTextHandler(io.Discard, nil))
	}
	if err != nil {
		if ctx.Err() != nil {
			return false, ctx.Err() // we were told to stop: that is not the authority's failure
		}
		w.Tries++
		w.Next = q.Now().UTC().Add(pause(w.Tries))
		w.Last = cut(err.Error())
		log.WarnContext(ctx, "no time stamp yet", "entries", size, "tries", w.Tries, "next", w.Next, "err", err)
		return false, q.put(ctx, s, size, w)
	}
	if err := s.PutNote(ctx, sizeName(notesStamps, size), response); err != nil {
		return false, fmt.Errorf("keep the time stamp of %d entries: %w", size, err)
	}
	if err := s.PutNote(ctx, sizeName(notesQueue, size), nil); err != nil {
		return false, fmt.Errorf("take %d entries out of the queue: %w", size, err)
	}
	log.InfoContext(ctx, "checkpoint time-stamped", "entries", size, "time", stamp.Time, "authority", stamp.Authority)
	return true, nil
}

func pause(tries int) time.Duration {
	p := firstPause
	for i := 1; i < tries && p < longestPause; i++ {
		p *= 2
	}
	return min(p, longestPause)
}

// Stamps returns the time-stamp responses over the checkpoint of that size; none is no error.
func Stamps(ctx context.Context, s claims.Store, size uint64) ([][]byte, error) {
	raw, err := s.Note(ctx, sizeName(notesStamps, size))
	if errors.Is(err, claims.ErrAbsent) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("time stamp of %d entries: %w", size, err)
	}
	return [][]byte{raw}, nil
}
