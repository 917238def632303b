package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"runtime"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

// An upload's memory does not grow with it: 80 MiB of noise go through a few buffers.
func TestUploadMemoryIsBounded(t *testing.T) {
	f := newFixture(t)
	const size = 80 << 20
	var before, now runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	stop, ended := make(chan struct{}), make(chan uint64)
	go func() {
		var most uint64
		for {
			select {
			case <-stop:
				ended <- most
				return
			case <-time.After(5 * time.Millisecond):
				runtime.ReadMemStats(&now)
				most = max(most, now.HeapAlloc)
			}
		}
	}()
	noise := rand.NewChaCha8([32]byte{1})
	// Without the checking transport, which reads bodies whole.
	req, err := http.NewRequest(http.MethodPut, f.url+"/api/v1/originals/"+strings.Repeat("0", 64), io.LimitReader(noise, size))
	require.NoError(t, err)
	req.Header.Set("Authorization", "Bearer "+f.owner.token)
	res, err := http.DefaultClient.Do(req)
	close(stop)
	most := <-ended
	require.NoError(t, err)
	require.NoError(t, res.Body.Close())
	assert.Equal(t, http.StatusUnprocessableEntity, res.StatusCode)
	if most > before.HeapAlloc {
		t.Logf("%d MiB sent; the heap grew by %.1f MiB at most", size>>20, float64(most-before.HeapAlloc)/(1<<20))
		assert.Less(t, most-before.HeapAlloc, uint64(16<<20))
	}
}

// Several phones send the same photo and the same entries at once: one original, one of each entry, everybody is told so.
func TestTheSameFromManyAtOnce(t *testing.T) {
	f := newFixture(t)
	data := photo(t, 60)
	d := claims.DigestOf(data)
	job := newID()
	entries := batch(f.entry(job, "open", map[string]any{"number": "J-60", "complaint": "x"}), f.entry(job, "photo", photoBody(data, "symptom")))
	var all sync.WaitGroup
	var mu sync.Mutex
	kept := map[string]int{}
	for i := range 8 {
		c := f.anybody()
		c.token = f.owner.token
		all.Go(func() {
			if i%2 == 0 {
				res := c.do(http.MethodPut, "/originals/"+string(d), data)
				assert.Contains(t, []int{http.StatusOK, http.StatusCreated}, res.status, res.text())
			} else {
				// All by one device: a newer one takes over from an older one, which is then told to ask again.
				for try := 0; ; try++ {
					at := 0
					if head := c.head(d); head.status == http.StatusNoContent {
						fmt.Sscan(head.header.Get(headOffset), &at)
					}
					res := c.patch(d, at, len(data), data[at:])
					if res.status == http.StatusOK || res.status == http.StatusCreated {
						break
					}
					if !assert.Contains(t, []int{http.StatusConflict, http.StatusRequestTimeout}, res.status, res.text()) || !assert.Less(t, try, 100) {
						return
					}
				}
			}
			res := c.do(http.MethodPost, "/entries", entries)
			if !assert.Equal(t, http.StatusOK, res.status, res.text()) {
				return
			}
			mu.Lock()
			defer mu.Unlock()
			for _, r := range res.json()["results"].([]any) {
				kept[r.(map[string]any)["status"].(string)]++
			}
		})
	}
	all.Wait()
	assert.Equal(t, 16, kept["kept"]+kept["already"])
	got := f.owner.do(http.MethodGet, "/jobs/"+job+"/entries", nil).text()
	assert.Equal(t, 1, strings.Count(got, `"kind":"photo"`))
	assert.Equal(t, 1, strings.Count(got, `"kind":"open"`))
	assert.Equal(t, 1, strings.Count(got, `"kind":"examined"`))
	assert.Empty(t, parts(t, f))
}

// A full disk is said to be one.
func TestFullDisk(t *testing.T) {
	assert.Nil(t, asProblem(fmt.Errorf("take in an upload: %w", syscall.EIO)), "any other trouble of the disk is a fault")
	own := asProblem(fmt.Errorf("take in an upload: %w", syscall.ENOSPC))
	require.NotNil(t, own)
	assert.Equal(t, http.StatusInsufficientStorage, statusOf(own.Code))
	assert.Contains(t, own.Says, "disk is full")
	assert.NotContains(t, own.Says, "ENOSPC")
}

// Every code has a status that says the same in short: none falls through to 500 but faults.
func TestEveryCodeHasAStatus(t *testing.T) {
	doc := loadDocument(t)
	codes := doc.Components.Schemas["Problem"].Value.Properties["code"].Value.Enum
	require.NotEmpty(t, codes)
	for _, code := range codes {
		status := statusOf(claims.ErrorCode(code.(string)))
		ours := code == string(codeFault) || code == string(codeDamaged) // a kept file that has changed is no sender's fault either
		assert.Equal(t, ours, status == http.StatusInternalServerError, "%s is %d", code, status)
	}
}

// Whatever is sent as entries, the answer is 200 or a problem that blames the sender, never a fault of ours; and what was refused
// left nothing behind.
func FuzzEntries(f *testing.F) {
	fx := newFixture(f)
	job := newID()
	f.Add([]byte(batch(fx.entry(job, "note", map[string]any{"text": "x"}))))
	f.Add([]byte(batch(fx.entry(job, "reading", map[string]any{"quantity": "resistance", "component": "defrost-heater", "value": "1.5", "unit": "k[Ohm]", "moment": "as-found"}))))
	f.Add([]byte(batch(fx.entry(job, "damage", map[string]any{"area": "door", "kind": "scratch", "seen": "on-arrival"}))))
	f.Add([]byte(`{"entries":[null,1,"x",[],{}]}`))
	f.Add([]byte(`{"entries":[{"id":"` + newID() + `","id":"x"}]}`))
	f.Add([]byte(`{"Entries":[]}`))
	f.Add([]byte("\xef\xbb\xbf{}"))
	f.Fuzz(func(t *testing.T, body []byte) {
		before := logSize(t, fx)
		req := httptest.NewRequest(http.MethodPost, "/api/v1/entries", bytes.NewReader(body))
		req.Header.Set("Content-Type", "application/json")
		req.Header.Set("Authorization", "Bearer "+fx.owner.token)
		w := httptest.NewRecorder()
		fx.srv.ServeHTTP(w, req)
		if w.Code >= 500 {
			t.Fatalf("%d %s", w.Code, w.Body)
		}
		if w.Code == http.StatusOK {
			var out struct{ Results []claims.Result }
			require.NoError(t, json.Unmarshal(w.Body.Bytes(), &out))
			return
		}
		var p problem
		require.NoError(t, json.Unmarshal(w.Body.Bytes(), &p))
		require.Equal(t, w.Code, p.Status)
		require.NotEmpty(t, p.Detail)
		require.Equal(t, before, logSize(t, fx))
	})
}

func logSize(t *testing.T, f *fixture) uint64 {
	t.Helper()
	st, err := f.opt.Service.Stores.Shop(t.Context(), testShop)
	require.NoError(t, err)
	n, err := st.LogSize(t.Context())
	require.NoError(t, err)
	return n
}

// FuzzPieces sends any offset, length and bytes as a piece of an upload: never a fault, never an original that does not hash to its name.
func FuzzPieces(f *testing.F) {
	fx := newFixture(f)
	small := photo(f, 70)
	d := claims.DigestOf(small)
	f.Add(string(d), "0", "10", small[:10])
	f.Add(string(d), "10", fmt.Sprint(len(small)), small[10:])
	f.Add("../../x", "-1", "99999999999999999999", []byte("x"))
	f.Add(strings.Repeat("a", 64), "0", "1", []byte(""))
	f.Fuzz(func(t *testing.T, name, offset, length string, piece []byte) {
		req := httptest.NewRequest(http.MethodPatch, "/", bytes.NewReader(piece))
		req.URL.Path = "/api/v1/originals/" + name
		req.Header.Set("Content-Type", kindOffset)
		req.Header.Set(headOffset, offset)
		req.Header.Set(headLength, length)
		req.Header.Set("Authorization", "Bearer "+fx.owner.token)
		w := httptest.NewRecorder()
		fx.srv.ServeHTTP(w, req)
		if w.Code >= 500 && w.Code != http.StatusServiceUnavailable {
			t.Fatalf("%d %s", w.Code, w.Body)
		}
		if w.Code == http.StatusOK || w.Code == http.StatusCreated {
			get := httptest.NewRequest(http.MethodGet, "/api/v1/originals/"+name, nil)
			get.Header.Set("Authorization", "Bearer "+fx.owner.token)
			back := httptest.NewRecorder()
			fx.srv.ServeHTTP(back, get)
			require.Equal(t, name, string(claims.DigestOf(back.Body.Bytes())))
		}
	})
}
