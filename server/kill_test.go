package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"io/fs"
	"math/rand/v2"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

// killRounds is how often the server is killed.
const killRounds = 12

// ledger is what the server has acknowledged: from then on it must be there, whatever happens.
type ledger struct {
	mu        sync.Mutex
	originals map[claims.Digest][]byte
	entries   map[string]map[string]string // by job, by entry id: the exact bytes
}

func (l *ledger) original(d claims.Digest, data []byte) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.originals[d] = data
}

func (l *ledger) kept(job string, entries map[string]string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.entries[job] == nil {
		l.entries[job] = map[string]string{}
	}
	for id, raw := range entries {
		l.entries[job][id] = raw
	}
}

func (l *ledger) counts() (originals, entries int) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, job := range l.entries {
		entries += len(job)
	}
	return len(l.originals), entries
}

// worker is one phone: it sends photos, whole or in pieces, and entries, and repeats until it is told that they are kept.
type worker struct {
	url    *atomic.Value // of the server that runs at the moment
	token  string
	client *http.Client
	rand   *rand.Rand
	led    *ledger
	jobs   []string
	name   string
}

func (w *worker) run(ctx context.Context, t *testing.T) {
	for n := 0; ctx.Err() == nil; n++ {
		data := snapshot(w.name, n)
		d := claims.DigestOf(data)
		send := w.whole
		if w.rand.IntN(2) == 0 {
			send = w.pieces
		}
		for !send(d, data) {
			if ctx.Err() != nil {
				return
			}
			time.Sleep(time.Duration(5+w.rand.IntN(20)) * time.Millisecond)
		}
		w.led.original(d, data)
		job := w.jobs[w.rand.IntN(len(w.jobs))]
		body, sent := w.entries(job, d, data)
		for {
			status, _, raw, err := request(w.client, w.token, http.MethodPost, w.base()+"/entries", "application/json", body, nil)
			if err == nil && status == http.StatusOK {
				w.led.kept(job, sent)
				break
			}
			if err == nil && status != http.StatusServiceUnavailable {
				t.Errorf("%s: entries: %d %s", w.name, status, raw)
				return
			}
			if ctx.Err() != nil {
				return
			}
			time.Sleep(time.Duration(5+w.rand.IntN(20)) * time.Millisecond)
		}
	}
}

func (w *worker) base() string { return w.url.Load().(string) + "/api/v1" }

func (w *worker) whole(d claims.Digest, data []byte) bool {
	status, _, _, err := request(w.client, w.token, http.MethodPut, w.base()+"/originals/"+string(d), "image/jpeg", data, nil)
	return err == nil && (status == http.StatusOK || status == http.StatusCreated)
}

// pieces resumes as a phone does: HEAD tells the offset, PATCH goes on from it.
func (w *worker) pieces(d claims.Digest, data []byte) bool {
	url := w.base() + "/originals/" + string(d)
	status, h, _, err := request(w.client, w.token, http.MethodHead, url, "", nil, nil)
	if err != nil {
		return false
	}
	at := 0
	switch status {
	case http.StatusOK:
		return true
	case http.StatusNoContent:
		if at, err = strconv.Atoi(h.Get("Upload-Offset")); err != nil {
			return false
		}
	}
	end := min(len(data), at+len(data)/3+1)
	status, _, _, err = request(w.client, w.token, http.MethodPatch, url, "application/offset+octet-stream", data[at:end],
		map[string]string{"Upload-Offset": strconv.Itoa(at), "Upload-Length": strconv.Itoa(len(data))})
	return err == nil && (status == http.StatusOK || status == http.StatusCreated)
}

func (w *worker) entries(job string, d claims.Digest, data []byte) (body []byte, sent map[string]string) {
	sent = map[string]string{}
	var raws []string
	for _, e := range []map[string]any{
		{"kind": "note", "body": map[string]any{"text": "by " + w.name}},
		{"kind": "photo", "body": map[string]any{"digest": d, "bytes": len(data), "subject": "symptom", "source": "camera"}},
	} {
		e["id"], e["shop"], e["job"], e["by"], e["device"] = makeID(), "shop", job, w.name, w.name
		e["at"] = time.Now().UTC().Format(time.RFC3339Nano)
		raw := string(asJSON(e))
		sent[e["id"].(string)] = raw
		raws = append(raws, raw)
	}
	return []byte(`{"entries":[` + strings.Join(raws, ",") + `]}`), sent
}

// snapshot draws a small picture that is different for every name and number.
func snapshot(name string, n int) []byte {
	seed := claims.DigestOf([]byte(name + strconv.Itoa(n)))
	m := image.NewRGBA(image.Rect(0, 0, 160, 120))
	for y := range 120 {
		for x := range 160 {
			v := seed[(x/20+y/15*8)%64] * 3
			m.SetRGBA(x, y, color.RGBA{v, uint8(x) + seed[1], uint8(y) ^ seed[2], 255})
		}
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, nil); err != nil {
		panic(err) // into memory it can't fail
	}
	return b.Bytes()
}

// The server is killed in the middle of uploads and appends, many times. Whatever it acknowledged is there afterwards, byte
// for byte, and nothing half-written can be seen.
func TestKillLosesNothingAcknowledged(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	p := start(t, data, true)
	token := p.enter()
	led := &ledger{originals: map[claims.Digest][]byte{}, entries: map[string]map[string]string{}}
	shared := makeID()
	var url atomic.Value
	url.Store(p.url)
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	var working sync.WaitGroup
	for i := range 4 {
		w := &worker{url: &url, token: token, client: patient(), rand: rand.New(rand.NewPCG(7, uint64(i))), led: led,
			jobs: []string{shared, makeID()}, name: fmt.Sprintf("phone-%d", i)}
		working.Go(func() { w.run(ctx, t) })
	}
	moment := rand.New(rand.NewPCG(3, 5))
	for round := range killRounds {
		_, before := led.counts()
		// At least one acknowledgement a round, then a random moment.
		require.Eventually(t, func() bool { _, now := led.counts(); return now > before }, time.Minute, 5*time.Millisecond, "round %d: %s", round, p.errs)
		time.Sleep(time.Duration(moment.IntN(200)) * time.Millisecond)
		p.kill()
		p = start(t, data, true) // the owner has no password yet, so a new link is printed each time
		url.Store(p.url)
		holds(t, p.url, token, led)
		if t.Failed() {
			break
		}
	}
	cancel()
	working.Wait()
	holds(t, p.url, token, led)
	originals, entries := led.counts()
	t.Logf("killed %d times; %d originals and %d entries were acknowledged", killRounds, originals, entries)
	require.NoError(t, p.stop(), "%s", p.errs)
	filesHold(t, data)
	out, err := exec.Command(binary(t), "custody", "check", "--data", data).CombinedOutput()
	require.NoError(t, err, string(out))
	assert.Contains(t, string(out), "Everything agrees.")
}

// holds compares the server with the ledger, over HTTP.
func holds(t *testing.T, url, token string, led *ledger) {
	t.Helper()
	client := patient()
	led.mu.Lock()
	defer led.mu.Unlock()
	for d, data := range led.originals {
		status, _, got, err := request(client, token, http.MethodGet, url+"/api/v1/originals/"+string(d), "", nil, nil)
		require.NoError(t, err)
		require.Equal(t, http.StatusOK, status, "original %s was acknowledged", d)
		require.True(t, bytes.Equal(data, got), "original %s has changed", d)
	}
	for job, entries := range led.entries {
		have := journalOf(t, client, url, token, job)
		for id, raw := range entries {
			require.Equal(t, raw, have[id], "entry %s was acknowledged", id)
		}
		for id, raw := range have {
			var e claims.Entry
			require.NoError(t, json.Unmarshal([]byte(raw), &e), "entry %s is half-written", id)
			if e.Kind != claims.KindPhoto {
				continue
			}
			body, err := claims.DecodeBody(e.Kind, e.Body)
			require.NoError(t, err)
			status, _, _, err := request(client, token, http.MethodHead, url+"/api/v1/originals/"+string(body.(*claims.Photo).Digest), "", nil, nil)
			require.NoError(t, err)
			require.Equal(t, http.StatusOK, status, "entry %s names a photo that is not here", id)
		}
	}
}

// journalOf reads all entries of a job, by id.
func journalOf(t *testing.T, client *http.Client, url, token, job string) map[string]string {
	t.Helper()
	have := map[string]string{}
	for from := 0; ; {
		status, _, raw, err := request(client, token, http.MethodGet, fmt.Sprintf("%s/api/v1/jobs/%s/entries?from=%d", url, job, from), "", nil, nil)
		require.NoError(t, err)
		require.Equal(t, http.StatusOK, status, string(raw))
		var page struct {
			Entries []struct{ Entry json.RawMessage }
			Head    int
		}
		require.NoError(t, json.Unmarshal(raw, &page))
		for _, e := range page.Entries {
			var id struct{ ID string }
			require.NoError(t, json.Unmarshal(e.Entry, &id))
			have[id.ID] = string(e.Entry)
		}
		from += len(page.Entries)
		if from >= page.Head || len(page.Entries) == 0 {
			return have
		}
	}
}

// filesHold looks at the folder itself: every file among the originals hashes to its own name.
func filesHold(t *testing.T, data string) {
	t.Helper()
	n := 0
	err := filepath.WalkDir(filepath.Join(data, "originals"), func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		raw, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		n++
		assert.Equal(t, filepath.Base(path), string(claims.DigestOf(raw)))
		return nil
	})
	require.NoError(t, err)
	assert.Positive(t, n)
}
