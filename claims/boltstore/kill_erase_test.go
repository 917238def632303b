package boltstore_test

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"kickplate/claims"
	"kickplate/claims/boltstore"
	"kickplate/claims/storetest"
)

// eraseUntilKilled commits jobs that hold a secret, erases each and scrubs the file, and says so only after each call has returned.
func eraseUntilKilled(path, round string) error {
	all, err := boltstore.Open(path, boltstore.Options{})
	if err != nil {
		return err
	}
	ctx := context.Background()
	store, err := all.Shop(ctx, "shop")
	if err != nil {
		return err
	}
	for n := 0; ; n++ {
		job := claims.JobID(fmt.Sprintf("r%s-%d.", round, n))
		secret := fmt.Sprintf("secretof-%s", job)
		b := claims.Batch{Job: job, Card: claims.Card{Changed: time.Unix(int64(n), 0), Customer: secret, Words: []string{"all", secret}}}
		e := claims.Erasure{Job: job, Was: 3, Lines: map[claims.EntryID][]byte{}, Card: claims.Card{Changed: time.Unix(int64(n), 0), Words: []string{"all"}}}
		for i := range 3 {
			id, line := claims.EntryID(fmt.Sprintf("%s/%d", job, i)), []byte(secret+strings.Repeat(" x", n*37%400))
			b.Records = append(b.Records, claims.Record{Entry: id, Line: line})
			if e.Lines[id], err = claims.StubOf(claims.Kept{Entry: claims.Entry{ID: id, Job: job}}, line, "by").Line(); err != nil {
				return err
			}
		}
		if _, err := store.Commit(ctx, b); err != nil {
			return err
		}
		fmt.Printf("%s committed\n", job)
		if err := store.Erase(ctx, e); err != nil {
			return err
		}
		fmt.Printf("%s erased\n", job)
		if err := store.Scrub(ctx); err != nil {
			return err
		}
		fmt.Printf("%s scrubbed\n", job)
	}
}

// TestKillWhileErasing kills a process that erases and overwrites free pages. After each kill the file opens, what was acknowledged as erased is, the
// log has the tree it had, and one more scrub leaves nothing of what was erased in the file.
func TestKillWhileErasing(t *testing.T) {
	const rounds = 8
	path := filepath.Join(t.TempDir(), "kickplate.db")
	erased := map[claims.JobID]bool{}
	// However slow the machine is: the child got to erase.
	for round := 0; round < rounds || len(erased) <= rounds; round++ {
		t.Setenv(childFile+"_ERASE", "yes")
		scrubbed := map[claims.JobID]bool{}
		for _, line := range killedChild(t, path, round, 9) { // within its first three jobs, or a little later
			job, what, _ := strings.Cut(line, " ")
			switch what {
			case "erased":
				erased[claims.JobID(job)] = true
			case "scrubbed":
				scrubbed[claims.JobID(job)] = true
			}
		}
		raw, err := os.ReadFile(path)
		require.NoError(t, err)
		for job := range scrubbed {
			require.NotContains(t, string(raw), "secretof-"+string(job), "round %d: scrubbed, as acknowledged", round)
		}
		all, err := boltstore.Open(path, boltstore.Options{})
		require.NoError(t, err, "round %d", round)
		store, err := all.Shop(t.Context(), "shop")
		require.NoError(t, err)
		live := map[claims.JobID]bool{}
		for _, r := range storetest.RequireWholeLog(t, store) {
			if _, stub := claims.ReadStub(r.Line); !stub {
				require.False(t, erased[r.Job], "job %s was erased, as acknowledged", r.Job)
				live[r.Job] = true
			} else {
				require.False(t, live[r.Job], "job %s is erased in part", r.Job)
			}
		}
		require.NoError(t, store.Scrub(t.Context()))
		require.NoError(t, all.Close())
		raw, err = os.ReadFile(path)
		require.NoError(t, err)
		for job := range erased {
			require.False(t, bytes.Contains(raw, []byte("secretof-"+string(job))), "%s", job)
		}
	}
}
