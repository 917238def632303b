package storetest

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

const writers = 64

// appendRetrying does what a use-case does: read the head, commit, and read again when somebody was faster.
func appendRetrying(ctx context.Context, s claims.Store, job claims.JobID, r claims.Record) error {
	for {
		_, head, err := s.Records(ctx, job, 1<<62, 1)
		if err != nil && !errors.Is(err, claims.ErrAbsent) {
			return err
		}
		card := cardOf(job, start().Add(time.Duration(head)*time.Second))
		card.Photos = int(head) + 1
		_, err = s.Commit(ctx, claims.Batch{Job: job, Was: head, Records: []claims.Record{r}, Card: card})
		if !errors.Is(err, claims.ErrStale) {
			return err
		}
	}
}

func runWriters(t *testing.T, work func(w int) error) {
	t.Helper()
	var wg sync.WaitGroup
	errs := make([]error, writers)
	for w := range writers {
		wg.Go(func() { errs[w] = work(w) })
	}
	wg.Wait()
	require.NoError(t, errors.Join(errs...))
}

func testManyWritersOneJob(t *testing.T, s Stores) {
	store := openShop(t, s)
	const each = 4
	runWriters(t, func(w int) error {
		for i := range each {
			r := claims.Record{Entry: claims.EntryID(fmt.Sprintf("w%d-%d", w, i)), Line: fmt.Appendf(nil, "%d %d", w, i)}
			if err := appendRetrying(t.Context(), store, "job", r); err != nil {
				return err
			}
		}
		return nil
	})
	requireWriters(t, store, each)
	card, err := store.Card(t.Context(), "job")
	require.NoError(t, err)
	require.EqualValues(t, writers*each, card.Entries)
	require.Equal(t, writers*each, card.Photos, "the last card is the last commit's")
}

// testManyWritersManyJobs mixes own jobs, shared jobs, entries sent twice at once, and notes.
func testManyWritersManyJobs(t *testing.T, s Stores) {
	store := openShop(t, s)
	const each = 12
	runWriters(t, func(w int) error {
		for i := range each {
			job := claims.JobID(fmt.Sprintf("own%d", w))
			if i%3 == 0 {
				job = claims.JobID(fmt.Sprintf("shared%d", i))
			}
			r := claims.Record{Entry: claims.EntryID(fmt.Sprintf("w%d-%d", w, i)), Line: fmt.Appendf(nil, "%d %d", w, i)}
			if err := appendRetrying(t.Context(), store, job, r); err != nil {
				return err
			}
			if err := appendRetrying(t.Context(), store, job, r); !errors.Is(err, claims.ErrTaken) {
				return fmt.Errorf("sent twice: %v", err)
			}
			if err := store.PutNote(t.Context(), fmt.Sprintf("note/%d", w), fmt.Append(nil, i)); err != nil {
				return err
			}
		}
		return nil
	})
	requireWriters(t, store, each)
	for w := range writers {
		value, err := store.Note(t.Context(), fmt.Sprintf("note/%d", w))
		require.NoError(t, err)
		require.Equal(t, fmt.Sprint(each-1), string(value))
	}
}

// requireWriters checks that every writer's records are there, each writer's in its own order within a job.
func requireWriters(t *testing.T, store claims.Store, each int) {
	t.Helper()
	leaves := RequireWholeLog(t, store)
	require.Len(t, leaves, writers*each)
	byJob := map[claims.JobID][]claims.Record{}
	for _, r := range leaves {
		byJob[r.Job] = append(byJob[r.Job], r)
	}
	for job, want := range byJob {
		got, head, err := store.Records(t.Context(), job, 0, 0)
		require.NoError(t, err)
		require.EqualValues(t, len(want), head)
		require.Equal(t, want, got, "a job's records come in log order")
		last := map[int]int{}
		for _, r := range got {
			var w, i int
			_, err := fmt.Sscanf(string(r.Entry), "w%d-%d", &w, &i)
			require.NoError(t, err)
			require.Greater(t, i+1, last[w])
			last[w] = i + 1
		}
	}
}

func testCancelled(t *testing.T, s Stores) {
	store := openShop(t, s)
	commit(t, store, batch("job", 0, 1))
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := store.Commit(ctx, batch("job", 1, 1))
	require.ErrorIs(t, err, context.Canceled)
	require.ErrorIs(t, store.PutNote(ctx, "n", []byte("v")), context.Canceled)
	_, _, err = store.Records(ctx, "job", 0, 0)
	require.ErrorIs(t, err, context.Canceled)
	_, err = store.Cards(ctx, claims.CardQuery{})
	require.ErrorIs(t, err, context.Canceled)
	_, err = store.Lookup(ctx, nil)
	require.ErrorIs(t, err, context.Canceled)
	_, err = store.LogHashes(ctx, nil)
	require.ErrorIs(t, err, context.Canceled)
	_, err = store.Near(ctx, 0, 0, 0)
	require.ErrorIs(t, err, context.Canceled)
	require.ErrorIs(t, store.Leaves(ctx, 0, func(claims.Record) bool { return true }), context.Canceled)
	require.ErrorIs(t, store.Notes(ctx, "", func(string, []byte) bool { return true }), context.Canceled)

	// Cancelled at any moment, a commit is there if and only if it said so.
	var mu sync.Mutex
	acknowledged := map[claims.EntryID]bool{}
	runWriters(t, func(w int) error {
		for i := range 10 {
			ctx, cancel := context.WithTimeout(t.Context(), time.Duration(w*i%50)*20*time.Microsecond)
			job := claims.JobID(fmt.Sprintf("w%d-%d", w, i))
			_, err := store.Commit(ctx, batch(job, 0, 1))
			cancel()
			if err != nil && !errors.Is(err, context.DeadlineExceeded) {
				return err
			}
			if err == nil {
				mu.Lock()
				acknowledged[claims.EntryID(job+"/e0")] = true
				mu.Unlock()
			}
		}
		return nil
	})
	leaves := RequireWholeLog(t, store)
	require.Len(t, leaves, 1+len(acknowledged))
	for _, r := range leaves[1:] {
		require.True(t, acknowledged[r.Entry], "%s was not acknowledged, yet it is there", r.Entry)
	}
}

func testClosed(t *testing.T, s Stores) {
	all := s.Open(t)
	store := shopOf(t, all, "shop")
	commit(t, store, batch("job", 0, 1))
	require.NoError(t, all.Close())
	_, err := store.Commit(t.Context(), batch("job", 1, 1))
	require.Error(t, err)
	require.Error(t, store.PutNote(t.Context(), "n", []byte("v")))
	_, err = store.Card(t.Context(), "job")
	require.Error(t, err)
	require.NotErrorIs(t, err, claims.ErrAbsent, "closed is not the same as not there")
}
