package bundle

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/disintegration/imaging"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

// made is a store whose originals are computed when they are read: it holds nothing but a block and the pictures.
type made struct {
	claims.Blobs // Put and List are not used
	size         int64
	block        []byte
	of           map[claims.Digest]int
	view, thumb  []byte
}

func newMade(t testing.TB, count int, size int64, side int) (*made, []claims.Digest) {
	m := &made{size: size, block: drawn(400, 300, 7), of: map[claims.Digest]int{}}
	img, err := decode(drawn(1600, 1200, 7))
	require.NoError(t, err)
	m.view = jpegBytes(imaging.Fit(img, side, side, imaging.Linear), 80)
	m.thumb = jpegBytes(imaging.Fit(img, 320, 320, imaging.Linear), 80)
	var list []claims.Digest
	for i := range count {
		h := sha256.New()
		_, err := io.Copy(h, io.NewSectionReader(m.reader(i), 0, size))
		require.NoError(t, err)
		d := claims.Digest(hex.EncodeToString(h.Sum(nil)))
		m.of[d] = i
		list = append(list, d)
	}
	return m, list
}

type madeReader struct {
	m *made
	n int
}

func (m *made) reader(n int) io.ReaderAt { return madeReader{m, n} }

func (r madeReader) ReadAt(p []byte, at int64) (int, error) {
	if at >= r.m.size {
		return 0, io.EOF
	}
	p = p[:min(int64(len(p)), r.m.size-at)]
	for done := 0; done < len(p); {
		done += copy(p[done:], r.m.block[(at+int64(done)+int64(r.n)*17)%int64(len(r.m.block)):])
	}
	return len(p), nil
}

type madeBlob struct{ *io.SectionReader }

func (madeBlob) Close() error { return nil }

func (m *made) Open(_ context.Context, d claims.Digest) (claims.Blob, error) {
	return madeBlob{io.NewSectionReader(m.reader(m.of[d]), 0, m.size)}, nil
}
func (m *made) Has(context.Context, claims.Digest) (int64, error) { return m.size, nil }
func (m *made) PutDerived(context.Context, claims.Digest, string, []byte) error {
	return nil
}
func (m *made) Derived(_ context.Context, _ claims.Digest, name string) ([]byte, error) {
	switch name {
	case claims.DerivedView:
		return m.view, nil
	case claims.DerivedThumb:
		return m.thumb, nil
	}
	return nil, claims.ErrAbsent
}

// manyPhotos is a parcel with count photos of size bytes that takes no room for them.
func manyPhotos(t testing.TB, count int, size int64, side int) claims.Parcel {
	s := newScene(t)
	m, list := newMade(t, count, size, side)
	s.add(claims.KindOpen, claims.Open{Number: "1", Complaint: "warm"})
	for i, d := range list {
		s.add(claims.KindPhoto, claims.Photo{Digest: d, Bytes: size, Subject: []string{"symptom", "surroundings", "failed-part"}[i%3], Source: "camera"})
		s.add(claims.KindExamined, claims.PhotoFacts{Digest: d, Bytes: size, Type: "image/jpeg", Width: 4032, Height: 3024, Examiner: "test"})
	}
	p := s.parcel()
	p.Blobs = m
	return p
}

// Memory does not follow the photos: four times as many cost a few megabytes more of index, not their size.
func TestPackMemoryIsBounded(t *testing.T) {
	peak := func(count int) uint64 {
		p := manyPhotos(t, count, 4<<20, 640)
		runtime.GC()
		defer debug.SetGCPercent(debug.SetGCPercent(10)) // so that the heap is what is in use
		var before runtime.MemStats
		runtime.ReadMemStats(&before)
		var most atomic.Uint64
		stop, done := make(chan bool), make(chan bool)
		go func() {
			defer close(done)
			for {
				select {
				case <-stop:
					return
				case <-time.After(3 * time.Millisecond):
					var now runtime.MemStats
					runtime.ReadMemStats(&now)
					most.Store(max(most.Load(), now.HeapAlloc-min(before.HeapAlloc, now.HeapAlloc)))
				}
			}
		}()
		n, err := New().Pack(context.Background(), io.Discard, p)
		close(stop)
		<-done
		require.NoError(t, err)
		require.Greater(t, n.Bytes, int64(count)<<22)
		t.Logf("%d photos, %s: peak %s", count, byteSize(n.Bytes), byteSize(int64(most.Load())))
		return most.Load()
	}
	few, many := peak(40), peak(160)
	require.Less(t, few, uint64(96<<20))
	require.Less(t, many, uint64(128<<20), "%d bytes of photos", 160<<22)
}

// Sixty photos of 4 MB into a bundle, beside "zip -0" over the same files. "cold" makes the reduced pictures for the report,
// "warm" finds them as derived data, as every build after the first does.
func BenchmarkBundle60x4MB(b *testing.B) {
	const count, size = 60, int64(4 << 20)
	p := manyPhotos(b, count, size, 1600)
	m := p.Blobs.(*made)
	dir := b.TempDir()
	for d, i := range m.of {
		f, err := os.Create(filepath.Join(dir, fmt.Sprintf("%04d.jpg", i)))
		require.NoError(b, err)
		_, err = io.Copy(f, io.NewSectionReader(m.reader(i), 0, size))
		require.NoError(b, err)
		require.NoError(b, f.Close())
		_ = d
	}
	store := &onDisk{made: m, dir: dir, kept: map[string][]byte{}}
	p.Blobs = store
	out := filepath.Join(dir, "out.zip")
	build := func() time.Duration {
		f, err := os.Create(out)
		require.NoError(b, err)
		start := time.Now()
		_, err = New().Pack(context.Background(), f, p)
		require.NoError(b, err)
		took := time.Since(start)
		require.NoError(b, f.Close())
		require.NoError(b, os.Remove(out))
		return took
	}
	zipped := func() time.Duration {
		start := time.Now()
		tool(b, "zip", dir, "sh", "-c", "zip -q -0 out.zip *.jpg")
		took := time.Since(start)
		require.NoError(b, os.Remove(out))
		return took
	}
	var cold, warm, zip time.Duration
	b.SetBytes(count * size)
	for b.Loop() { // side by side: each round does all three
		clear(store.kept)
		cold += build()
		warm += build()
		zip += zipped()
	}
	n := float64(b.N)
	b.ReportMetric(cold.Seconds()*1000/n, "cold-ms")
	b.ReportMetric(warm.Seconds()*1000/n, "warm-ms")
	b.ReportMetric(zip.Seconds()*1000/n, "zip0-ms")
	b.ReportMetric(cold.Seconds()/zip.Seconds(), "cold/zip0")
	b.ReportMetric(warm.Seconds()/zip.Seconds(), "warm/zip0")
}

// onDisk reads the originals from files, as the real store does.
type onDisk struct {
	*made
	dir  string
	mu   sync.Mutex
	kept map[string][]byte
}

type fileBlob struct {
	*os.File
	size int64
}

func (f fileBlob) Size() int64 { return f.size }

func (s *onDisk) Open(_ context.Context, d claims.Digest) (claims.Blob, error) {
	f, err := os.Open(filepath.Join(s.dir, fmt.Sprintf("%04d.jpg", s.of[d])))
	return fileBlob{f, s.size}, err
}

func (s *onDisk) PutDerived(_ context.Context, d claims.Digest, name string, data []byte) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.kept[string(d)+name] = bytes.Clone(data)
	return nil
}

func (s *onDisk) Derived(ctx context.Context, d claims.Digest, name string) ([]byte, error) {
	s.mu.Lock()
	have, ok := s.kept[string(d)+name]
	s.mu.Unlock()
	if ok {
		return have, nil
	}
	return s.made.Derived(ctx, d, name)
}
