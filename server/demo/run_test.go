package demo

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
	"kickplate/rules"
)

// stand is a stand-in for the server, by the words of the API's description: it keeps bytes and entries, and is strict
// about their order.
type stand struct {
	mu        sync.Mutex
	originals map[string][]byte
	entries   map[string]string // id to exact bytes
	requests  []string
	busy      int // so many requests are answered 503 first
	bundle    []byte
	digest    claims.Digest // of the bundle, as it claims
	t         *testing.T
}

func newStand(t *testing.T) (*stand, *httptest.Server) {
	s := &stand{t: t, originals: map[string][]byte{}, entries: map[string]string{}, bundle: []byte("PK a bundle")}
	s.digest = claims.DigestOf(s.bundle)
	mux := http.NewServeMux()
	mux.HandleFunc("HEAD /api/v1/originals/{sha}", s.head)
	mux.HandleFunc("PUT /api/v1/originals/{sha}", s.put)
	mux.HandleFunc("POST /api/v1/entries", s.append)
	mux.HandleFunc("GET /api/v1/jobs/{job}/check", s.check)
	mux.HandleFunc("POST /api/v1/jobs/{job}/bundles", s.build)
	mux.HandleFunc("GET /api/v1/jobs/{job}/disputes", func(w http.ResponseWriter, _ *http.Request) {
		_, _ = io.WriteString(w, `{"allegations":[{"area":"liner","finding":{"title":"Shown before work","says":"It was there.","against":[{}],"missing":[]}}]}`)
	})
	mux.HandleFunc("POST /api/v1/jobs/{job}/dispute-files", func(w http.ResponseWriter, _ *http.Request) {
		w.WriteHeader(http.StatusCreated)
		_ = json.NewEncoder(w).Encode(claims.BuiltDispute{Built: claims.Built{Version: 3, Digest: s.digest, Bytes: int64(len(s.bundle)), Name: "../dispute-x.zip"}})
	})
	mux.HandleFunc("GET /api/v1/jobs/{job}/bundles/3", func(w http.ResponseWriter, _ *http.Request) { _, _ = w.Write(s.bundle) })
	srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		s.mu.Lock()
		defer s.mu.Unlock()
		s.requests = append(s.requests, r.Method+" "+r.URL.Path)
		if s.busy > 0 {
			s.busy--
			w.Header().Set("Retry-After", "0")
			w.WriteHeader(http.StatusServiceUnavailable)
			return
		}
		if r.Header.Get("Authorization") != "Bearer secret" {
			refuse(w, http.StatusUnauthorized, "sign-in", "", "Sign in first.")
			return
		}
		mux.ServeHTTP(w, r)
	}))
	t.Cleanup(srv.Close)
	return s, srv
}

func refuse(w http.ResponseWriter, status int, code, where, detail string) {
	w.Header().Set("Content-Type", "application/problem+json")
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(problem{Status: status, Title: "Refused", Code: code, Where: where, Detail: detail})
}

func (s *stand) head(w http.ResponseWriter, r *http.Request) {
	if _, ok := s.originals[r.PathValue("sha")]; !ok {
		w.WriteHeader(http.StatusNotFound)
	}
}

func (s *stand) put(w http.ResponseWriter, r *http.Request) {
	b, err := io.ReadAll(r.Body)
	assert.NoError(s.t, err)
	assert.Equal(s.t, "image/jpeg", r.Header.Get("Content-Type"))
	d := claims.DigestOf(b)
	assert.Equal(s.t, r.PathValue("sha"), string(d), "the bytes have the name they are sent under")
	s.originals[string(d)] = b
	w.WriteHeader(http.StatusCreated)
	_ = json.NewEncoder(w).Encode(claims.PhotoFacts{Digest: d, Bytes: int64(len(b)), Type: "image/jpeg"})
}

func (s *stand) append(w http.ResponseWriter, r *http.Request) {
	var got struct {
		Entries []json.RawMessage `json:"entries"`
	}
	dec := json.NewDecoder(r.Body)
	dec.DisallowUnknownFields()
	assert.NoError(s.t, dec.Decode(&got))
	assert.LessOrEqual(s.t, len(got.Entries), claims.MaxBatch)
	var results []sent
	for i, raw := range got.Entries {
		e, err := claims.ParseEntry(raw)
		if !assert.NoError(s.t, err) {
			return
		}
		if e.Kind == claims.KindPhoto {
			var p claims.Photo
			assert.NoError(s.t, json.Unmarshal(e.Body, &p))
			if _, ok := s.originals[string(p.Digest)]; !ok {
				refuse(w, http.StatusConflict, "missing-bytes", fmt.Sprintf("entries[%d].body.digest", i), "The bytes are not here yet.")
				return
			}
		}
		status := "kept"
		if old, ok := s.entries[string(e.ID)]; ok {
			assert.Equal(s.t, old, string(raw), "the same id has the same bytes")
			status = "already"
		}
		s.entries[string(e.ID)] = string(raw)
		results = append(results, sent{ID: e.ID, Job: e.Job, Status: status, Leaf: uint64(len(s.entries))})
	}
	_ = json.NewEncoder(w).Encode(map[string]any{"results": results})
}

func (s *stand) check(w http.ResponseWriter, r *http.Request) {
	rep := rules.Report{Title: "A pack", Complete: false, Counts: rules.Counts{Met: 3, Gap: 1, Open: 1}, Findings: []rules.Finding{
		{ID: "plate", Title: "Rating plate", Severity: rules.Required, Outcome: rules.Gap, Sentence: "There is no rating plate."},
		{ID: "area", Title: "Work area", Severity: rules.Advised, Outcome: rules.Gap, Sentence: "There is no work area."},
	}}
	_ = json.NewEncoder(w).Encode(map[string]any{"report": rep, "wanted": []string{}})
}

func (s *stand) build(w http.ResponseWriter, r *http.Request) {
	w.WriteHeader(http.StatusCreated)
	_ = json.NewEncoder(w).Encode(claims.Built{Version: 3, Digest: s.digest, Bytes: int64(len(s.bundle)), Name: "../claim-x.zip", Complete: true})
}

func play(t *testing.T, srv *httptest.Server, opt RunOptions) (*runner, string, error) {
	var out bytes.Buffer
	opt.Out, opt.Folder = &out, t.TempDir()
	r := &runner{opt: opt, c: &client{base: srv.URL, token: "secret", http: srv.Client()}}
	r.res.Day, r.res.Reports = plainDay(t, day(t), Options{}), map[claims.JobID]rules.Report{}
	err := r.send(t.Context())
	return r, out.String(), err
}

func TestSend(t *testing.T) {
	s, srv := newStand(t)
	first, out, err := play(t, srv, RunOptions{})
	require.NoError(t, err)
	n := 0
	for _, j := range first.res.Day.Jobs {
		n += len(j.Actions)
		assert.Contains(t, out, j.Number)
	}
	assert.Equal(t, n, first.res.Kept)
	assert.Len(t, s.entries, n)
	assert.Equal(t, len(s.originals), first.res.Uploaded)
	assert.Len(t, first.res.Reports, len(first.res.Day.Jobs))
	assert.Contains(t, out, "gap: Rating plate. There is no rating plate.")
	assert.NotContains(t, out, "Work area", "advised items are no gaps of the claim")
	assert.Contains(t, out, "liner: Shown before work. It was there.")
	assert.Contains(t, out, "1 point against the shop, 0 missing")
	assert.Equal(t, filepath.Join(first.opt.Folder, "dispute-x.zip"), first.res.Dispute)
	assert.Equal(t, first.opt.Folder, filepath.Dir(first.res.Bundle), "the server's name leads nowhere else")
	got, err := os.ReadFile(first.res.Bundle)
	require.NoError(t, err)
	assert.Equal(t, s.bundle, got)

	before := len(s.requests)
	again, _, err := play(t, srv, RunOptions{})
	require.NoError(t, err)
	assert.Zero(t, again.res.Uploaded+again.res.Kept, "sending twice is harmless")
	assert.Equal(t, first.res.Uploaded, again.res.UploadedAlready)
	assert.Equal(t, n, again.res.KeptAlready)
	for _, r := range s.requests[before:] {
		assert.False(t, strings.HasPrefix(r, "PUT"), "bytes that are there are not sent again")
	}
}

func TestSendWhenBusy(t *testing.T) {
	s, srv := newStand(t)
	s.busy = 2
	_, _, err := play(t, srv, RunOptions{})
	require.NoError(t, err)
}

func TestSendRefused(t *testing.T) {
	t.Run("not signed in", func(t *testing.T) {
		_, srv := newStand(t)
		r := runner{opt: RunOptions{Out: io.Discard}, c: &client{base: srv.URL, token: "wrong", http: srv.Client()}}
		r.res.Day, r.res.Reports = plainDay(t, day(t), Options{}), map[claims.JobID]rules.Report{}
		err := r.send(t.Context())
		require.ErrorContains(t, err, "401")
	})
	t.Run("bundle with other bytes", func(t *testing.T) {
		s, srv := newStand(t)
		s.digest = claims.DigestOf([]byte("something else"))
		r, _, err := play(t, srv, RunOptions{})
		require.ErrorContains(t, err, "does not have the SHA-256")
		left, err := os.ReadDir(r.opt.Folder)
		require.NoError(t, err)
		assert.Empty(t, left, "nothing half-written stays")
	})
	t.Run("bundle that does not verify", func(t *testing.T) {
		_, srv := newStand(t)
		_, out, err := play(t, srv, RunOptions{Verify: func(_ context.Context, _ string) ([]string, error) {
			return []string{"manifest: broken"}, assert.AnError
		}})
		require.ErrorIs(t, err, assert.AnError)
		assert.Contains(t, out, "manifest: broken")
	})
	t.Run("problem in words", func(t *testing.T) {
		_, srv := newStand(t)
		c := &client{base: srv.URL, token: "secret", http: srv.Client()}
		j := plainDay(t, day(t), Options{}).Jobs[0]
		var raws []json.RawMessage
		for _, a := range j.Actions {
			raws = append(raws, a.Raw)
		}
		_, err := c.append(t.Context(), raws)
		require.ErrorContains(t, err, ".body.digest: The bytes are not here yet.")
	})
	t.Run("no server", func(t *testing.T) {
		srv := httptest.NewServer(http.NotFoundHandler())
		srv.Close()
		_, _, err := play(t, srv, RunOptions{})
		require.Error(t, err)
	})
}

// Run draws, sends and builds the whole day.
func TestRun(t *testing.T) {
	s, srv := newStand(t)
	var out bytes.Buffer
	clock := now()
	asked := false
	res, err := Run(t.Context(), RunOptions{
		BaseURL: srv.URL + "/", Token: "secret", Out: &out, Folder: t.TempDir(), Now: func() time.Time { clock = clock.Add(time.Second); return clock },
		Day: Options{Seed: 1},
		make: func(_ context.Context, at time.Time, opt Options) (Day, error) {
			asked = true
			assert.Equal(t, now().Add(time.Second), at)
			opt.Drawn(60, 60)
			return drawnDay(t), nil
		},
	})
	require.NoError(t, err)
	assert.True(t, asked)
	assert.Equal(t, time.Second, res.Took)
	assert.Len(t, s.originals, res.Uploaded)
	assert.Contains(t, out.String(), "60 of 60 photos drawn")
	assert.Contains(t, out.String(), "Done in 1.0 s")
}
