package custody_test

import (
	"bytes"
	"context"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"kickplate/claims"
	"kickplate/claims/custody"
	"kickplate/claims/memstore"
)

const vectors = "../../testdata/custody"

// openssl runs the tool in dir and returns what it says; it fails the test when the tool is not there.
func openssl(t testing.TB, dir string, args ...string) (string, error) {
	t.Helper()
	path, err := exec.LookPath("openssl")
	require.NoError(t, err, "this test needs openssl: apt-get install openssl")
	cmd := exec.Command(path, args...)
	cmd.Dir = dir
	out, err := cmd.CombinedOutput()
	return string(out), err
}

func memShop(t testing.TB) claims.Store {
	t.Helper()
	s, err := memstore.Open().Shop(t.Context(), "shop-1")
	require.NoError(t, err)
	return s
}

func openKeys(t testing.TB) *custody.Keys {
	t.Helper()
	keys, err := custody.OpenKeys(filepath.Join(t.TempDir(), "keys"))
	require.NoError(t, err)
	return keys
}

// appendLines commits lines as they are, each its own entry of one job.
func appendLines(t testing.TB, s claims.Store, lines ...[]byte) {
	t.Helper()
	size, err := s.LogSize(t.Context())
	require.NoError(t, err)
	b := claims.Batch{Job: claims.JobID(fmt.Sprintf("job-%d", size))}
	for i, l := range lines {
		b.Records = append(b.Records, claims.Record{Entry: claims.EntryID(fmt.Sprintf("e%d", int(size)+i)), Line: l})
	}
	_, err = s.Commit(t.Context(), b)
	require.NoError(t, err)
}

func jsonLine(n int) []byte { return fmt.Appendf(nil, `{"n":%d}`, n) }

// vector is testdata/custody/rfc6962.json.
type vector struct {
	Leaves, Roots []string
	Inclusion     struct {
		Leaf, Size uint64
		Path       []string
	}
	Consistency struct {
		Old, New uint64
		Path     []string
	}
}

func vectorFile(t testing.TB) vector {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join(vectors, "rfc6962.json"))
	require.NoError(t, err)
	var v vector
	require.NoError(t, json.Unmarshal(raw, &v))
	return v
}

func vectorShop(t testing.TB) claims.Store {
	t.Helper()
	s := memShop(t)
	for _, leaf := range vectorFile(t).Leaves {
		line, err := hex.DecodeString(leaf)
		require.NoError(t, err)
		appendLines(t, s, line)
	}
	return s
}

func id(n int) string { return fmt.Sprintf("0190b2c0-0000-7000-8000-%012d", n) }

// entryLine is a sealed entry as the server would keep it.
func entryLine(t testing.TB, n int, job claims.JobID, kind claims.Kind, body string) claims.Record {
	t.Helper()
	raw := fmt.Sprintf(`{"id":%q,"shop":"shop-1","job":%q,"kind":%q,"at":"2026-03-02T08:00:00Z","by":"ada","device":"phone-1","body":%s}`, id(n), job, kind, body)
	e, err := claims.ParseEntry([]byte(raw))
	require.NoError(t, err)
	return claims.Record{Entry: e.ID, Job: job, Line: claims.Seal(time.Date(2026, 3, 2, 8, 0, n, 0, time.UTC), []byte(raw))}
}

// fill writes a small shop: jobs turn about, every fourth entry is a photo whose bytes are in blobs.
func fill(t testing.TB, s claims.Store, blobs *mapBlobs, jobs, entries int) {
	t.Helper()
	heads := map[claims.JobID]claims.Head{}
	for n := range entries {
		job := claims.JobID(id(1_000_000 + n%jobs))
		r := entryLine(t, n, job, "note", fmt.Sprintf(`{"text":"number %d"}`, n))
		if n%4 == 3 {
			bytes := fmt.Appendf(nil, "photo %d", n)
			d := claims.DigestOf(bytes)
			require.NoError(t, blobs.Put(t.Context(), d, newReader(bytes)))
			r = entryLine(t, n, job, "photo", fmt.Sprintf(`{"digest":%q,"bytes":%d,"subject":"rating-plate"}`, d, len(bytes)))
		}
		head, err := s.Commit(t.Context(), claims.Batch{
			Job: job, Was: heads[job], Records: []claims.Record{r},
			Card: claims.Card{Opened: time.Unix(int64(n%jobs), 0), Changed: time.Unix(int64(n), 0)},
		})
		require.NoError(t, err)
		heads[job] = head
	}
}

// mapBlobs is a claims.Blobs in a map.
type mapBlobs struct {
	mu   sync.Mutex
	data map[claims.Digest][]byte
}

func newBlobs() *mapBlobs { return &mapBlobs{data: map[claims.Digest][]byte{}} }

func newReader(b []byte) *memBlob { return &memBlob{bytes.NewReader(b)} }

type memBlob struct{ *bytes.Reader }

func (*memBlob) Close() error { return nil }

func (m *mapBlobs) Put(_ context.Context, d claims.Digest, r io.Reader) error {
	raw, err := io.ReadAll(r)
	if err != nil {
		return err
	}
	if claims.DigestOf(raw) != d {
		return claims.ErrDigest
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	m.data[d] = raw
	return nil
}

func (m *mapBlobs) get(d claims.Digest) ([]byte, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	raw, ok := m.data[d]
	if !ok {
		return nil, claims.ErrAbsent
	}
	return raw, nil
}

func (m *mapBlobs) Open(_ context.Context, d claims.Digest) (claims.Blob, error) {
	raw, err := m.get(d)
	if err != nil {
		return nil, err
	}
	return newReader(raw), nil
}

func (m *mapBlobs) Has(_ context.Context, d claims.Digest) (int64, error) {
	raw, err := m.get(d)
	return int64(len(raw)), err
}

func (m *mapBlobs) List(context.Context, func(claims.Digest, int64) bool) error { return nil }

func (m *mapBlobs) Erase(_ context.Context, d claims.Digest) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	delete(m.data, d)
	return nil
}

func (m *mapBlobs) PutDerived(context.Context, claims.Digest, string, []byte) error { return nil }

func (m *mapBlobs) Derived(context.Context, claims.Digest, string) ([]byte, error) {
	return nil, claims.ErrAbsent
}
