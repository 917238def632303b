package boltstore_test

import (
	"bufio"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"kickplate/claims"
	"kickplate/claims/boltstore"
	"kickplate/claims/storetest"
)

// childFile names the data file for the child process of TestKill; set, it turns the test binary into that child.
const childFile = "KICKPLATE_KILL_TEST_FILE"

func TestMain(m *testing.M) {
	if path := os.Getenv(childFile); path != "" {
		run := commitUntilKilled
		if os.Getenv(childFile+"_ERASE") != "" {
			run = eraseUntilKilled
		}
		if err := run(path, os.Getenv(childFile+"_ROUND")); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	}
	os.Exit(m.Run())
}

const killWriters = 8

// commitUntilKilled commits from several goroutines, some to jobs of their own and some to a shared one, and writes a
// line for each commit to the pipe only after Commit has returned nil.
func commitUntilKilled(path, round string) error {
	all, err := boltstore.Open(path, boltstore.Options{})
	if err != nil {
		return err
	}
	ctx := context.Background()
	store, err := all.Shop(ctx, "shop")
	if err != nil {
		return err
	}
	var serial atomic.Int64
	failed := make(chan error)
	var mu sync.Mutex // one write to the pipe at a time
	for w := range killWriters {
		go func() {
			for i := 0; ; i++ {
				job := claims.JobID(fmt.Sprintf("r%s-w%d-%d", round, w, i/20))
				if i%5 == 4 {
					job = "shared"
				}
				_, head, err := store.Records(ctx, job, 1<<62, 1)
				if err != nil && !errors.Is(err, claims.ErrAbsent) {
					failed <- err
					return
				}
				b := claims.Batch{Job: job, Was: head, Card: claims.Card{Changed: time.Unix(int64(i), 0), Words: []string{"all", string(job)}}}
				for range 1 + i%4 {
					n := serial.Add(1)
					line := fmt.Sprintf("%s %d %s", job, n, strings.Repeat("x", int(n*37%900)))
					b.Records = append(b.Records, claims.Record{Entry: claims.EntryID(fmt.Sprintf("r%s-%d", round, n)), Line: []byte(line)})
				}
				now, err := store.Commit(ctx, b)
				if errors.Is(err, claims.ErrStale) {
					continue
				}
				if err != nil {
					failed <- err
					return
				}
				var ack strings.Builder
				fmt.Fprintf(&ack, "%s %d", job, now)
				for _, r := range b.Records {
					fmt.Fprintf(&ack, " %s=%s", r.Entry, claims.DigestOf(r.Line))
				}
				mu.Lock()
				fmt.Println(ack.String())
				mu.Unlock()
			}
		}()
	}
	return <-failed
}

// TestKill kills the writing process (SIGKILL) at random moments, again and again on the same file. After each kill
// everything acknowledged is there with its bytes, the log's tree is whole, and no commit is there in part.
func TestKill(t *testing.T) {
	const rounds = 25
	path := filepath.Join(t.TempDir(), "kickplate.db")
	acknowledged := map[claims.EntryID]claims.Digest{}
	heads := map[claims.JobID]claims.Head{}
	size := uint64(0)
	root := sha256.Sum256(nil) // RFC 6962, 2.1: the hash of the empty tree is that of the empty string
	for round := 0; round < rounds || len(acknowledged) <= rounds; round++ {
		for _, line := range killedChild(t, path, round, 1) {
			fields := strings.Fields(line)
			var head claims.Head
			_, err := fmt.Sscan(fields[1], &head)
			require.NoError(t, err)
			job := claims.JobID(fields[0])
			heads[job] = max(heads[job], head)
			for _, f := range fields[2:] {
				id, digest, ok := strings.Cut(f, "=")
				require.True(t, ok, "%q", line)
				acknowledged[claims.EntryID(id)] = claims.Digest(digest)
			}
		}
		all, err := boltstore.Open(path, boltstore.Options{})
		require.NoError(t, err, "round %d", round)
		store, err := all.Shop(t.Context(), "shop")
		require.NoError(t, err)
		requireNothingLost(t, store, acknowledged, heads)
		require.Equal(t, root, storetest.Root(t, store, size), "what was in the log stays as it was")
		size, err = store.LogSize(t.Context())
		require.NoError(t, err)
		root = storetest.Root(t, store, size)
		require.NoError(t, all.Close())
	}
	t.Logf("at least %d kills, %d entries acknowledged, %d in the log", rounds, len(acknowledged), size)
}

// killedChild runs the child, kills it a random while after a random one of its first lines (up to the number most), and returns the whole lines.
func killedChild(t *testing.T, path string, round, most int) []string {
	t.Helper()
	child := exec.Command(os.Args[0])
	child.Env = append(os.Environ(), childFile+"="+path, fmt.Sprintf("%s_ROUND=%d", childFile, round))
	var complaint strings.Builder
	child.Stderr = &complaint
	out, err := child.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, child.Start())
	pipe := bufio.NewReader(out)
	var lines []string
	last := 1 + rand.IntN(most)
	for {
		line, err := pipe.ReadString('\n')
		if err == io.EOF {
			break // what has no line end was not written whole
		}
		require.NoError(t, err)
		if len(lines)+1 == last {
			go func() {
				time.Sleep(time.Duration(rand.IntN(40_000)) * time.Microsecond)
				_ = child.Process.Kill() // SIGKILL; gone already shows below
			}()
		}
		lines = append(lines, strings.TrimSuffix(line, "\n"))
	}
	err = child.Wait()
	require.ErrorContains(t, err, "killed", "%s", complaint.String())
	return lines
}

func requireNothingLost(t *testing.T, store claims.Store, acknowledged map[claims.EntryID]claims.Digest, heads map[claims.JobID]claims.Head) {
	t.Helper()
	leaves := storetest.RequireWholeLog(t, store)
	byJob := map[claims.JobID][]claims.Record{}
	there := map[claims.EntryID]claims.Digest{}
	for _, r := range leaves {
		byJob[r.Job] = append(byJob[r.Job], r)
		there[r.Entry] = claims.DigestOf(r.Line)
	}
	for id, digest := range acknowledged {
		require.Equal(t, digest, there[id], "entry %s was acknowledged", id)
	}
	for job, head := range heads {
		require.GreaterOrEqual(t, len(byJob[job]), int(head), "job %s", job)
	}
	listed := map[claims.JobID]bool{}
	q := claims.CardQuery{Words: []string{"all"}, Limit: 200}
	for {
		page, err := store.Cards(t.Context(), q)
		require.NoError(t, err)
		for _, c := range page.Cards {
			require.EqualValues(t, len(byJob[c.Job]), c.Entries, "the card of %s is of the last commit", c.Job)
			listed[c.Job] = true
		}
		if q.Cursor = page.Next; q.Cursor == "" {
			break
		}
	}
	require.Len(t, listed, len(byJob), "every job is listed, and none without entries")
	for job, want := range byJob {
		got, head, err := store.Records(t.Context(), job, 0, 0)
		require.NoError(t, err)
		require.EqualValues(t, len(want), head)
		require.Equal(t, want, got)
	}
}
