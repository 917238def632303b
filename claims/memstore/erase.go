package memstore

import (
	"context"
	"fmt"

	"kickplate/claims"
)

// Erase implements claims.Store.
func (s *Store) Erase(ctx context.Context, e claims.Erasure) error {
	_, raw, err := e.Check()
	if err != nil {
		return err
	}
	unlock, err := s.write(ctx)
	if err != nil {
		return err
	}
	defer unlock()
	j := s.jobs[e.Job]
	if j == nil {
		return fmt.Errorf("erase in job %q: %w", e.Job, claims.ErrAbsent)
	}
	if head := claims.Head(len(j.leaves)); head != e.Was {
		return fmt.Errorf("job %q has %d entries, not %d: %w", e.Job, head, e.Was, claims.ErrStale)
	}
	for id, line := range e.Lines {
		leaf, ok := s.entries[id]
		if !ok || s.leaves[leaf].Job != e.Job {
			return fmt.Errorf("erase entry %q of job %q: %w", id, e.Job, claims.ErrAbsent)
		}
		if claims.LeafHash(line) != claims.LeafHash(s.leaves[leaf].Line) {
			return claims.Errorf(claims.Invalid, "The stub for entry %q does not carry the hash of its leaf.", id)
		}
	}
	for id, line := range e.Lines {
		s.leaves[s.entries[id]].Line = append([]byte(nil), line...)
	}
	j.card = raw
	return nil
}

// Scrub implements claims.Store. Memory has no free space that anybody reads.
func (s *Store) Scrub(ctx context.Context) error {
	unlock, err := s.read(ctx)
	if err != nil {
		return err
	}
	unlock()
	return nil
}
