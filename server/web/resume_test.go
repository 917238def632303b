package web

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/labstack/echo/v4"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

// patch sends a piece.
func (c *client) patch(d claims.Digest, offset, length int, piece []byte) *answered {
	c.t.Helper()
	return c.do(http.MethodPatch, "/originals/"+string(d), piece, header{
		"Content-Type": kindOffset, headOffset: strconv.Itoa(offset), headLength: strconv.Itoa(length)})
}

func (c *client) head(d claims.Digest) *answered {
	return c.do(http.MethodHead, "/originals/"+string(d), nil)
}

func parts(t *testing.T, f *fixture) []string {
	t.Helper()
	list, err := filepath.Glob(filepath.Join(f.opt.Incoming, "*", "*", "*"))
	require.NoError(t, err)
	return list
}

func TestResume(t *testing.T) {
	f := newFixture(t)
	data := photo(t, 11)
	d, n := claims.DigestOf(data), len(data)
	third := n / 3

	assert.Equal(t, http.StatusNotFound, f.owner.head(d).status)
	res := f.owner.patch(d, 0, n, data[:third])
	require.Equal(t, http.StatusNoContent, res.status, res.text())
	assert.Equal(t, strconv.Itoa(third), res.header.Get(headOffset))

	at := f.owner.head(d)
	require.Equal(t, http.StatusNoContent, at.status)
	assert.Equal(t, strconv.Itoa(third), at.header.Get(headOffset))
	assert.Equal(t, strconv.Itoa(n), at.header.Get(headLength))

	t.Run("the same piece again is told the true offset", func(t *testing.T) {
		res := f.owner.patch(d, 0, n, data[:third])
		res.problem(http.StatusConflict, codeOffset)
		assert.Equal(t, strconv.Itoa(third), res.header.Get(headOffset))
	})
	t.Run("a piece that is too far on is told the true offset", func(t *testing.T) {
		res := f.owner.patch(d, third+1, n, data[third+1:])
		res.problem(http.StatusConflict, codeOffset)
		assert.Equal(t, strconv.Itoa(third), res.header.Get(headOffset))
	})
	t.Run("more bytes than the file has are refused and change nothing", func(t *testing.T) {
		f.owner.patch(d, third, n, append(bytes.Clone(data[third:]), 'x')).problem(http.StatusUnprocessableEntity, codeLength)
		assert.Equal(t, strconv.Itoa(third), f.owner.head(d).header.Get(headOffset))
	})
	t.Run("nobody else sees the part", func(t *testing.T) {
		other := f.person("Joss", claims.Technician)
		assert.Equal(t, http.StatusNotFound, other.head(d).status)
		assert.Equal(t, http.StatusUnauthorized, f.anybody().head(d).status)
	})
	t.Run("the rest makes it an original", func(t *testing.T) {
		res := f.owner.patch(d, third, n, data[third:])
		require.Equal(t, http.StatusCreated, res.status, res.text())
		assert.Equal(t, string(d), res.json()["digest"])
		assert.Equal(t, data, f.owner.do(http.MethodGet, "/originals/"+string(d), nil).body)
		assert.Empty(t, parts(t, f))
	})
	t.Run("kept is 200 with offset = length, and a late piece is fine", func(t *testing.T) {
		res := f.owner.head(d)
		require.Equal(t, http.StatusOK, res.status)
		assert.Equal(t, strconv.Itoa(n), res.header.Get(headOffset))
		assert.Equal(t, http.StatusOK, f.owner.patch(d, third, n, data[third:]).status)
	})
}

func TestResumeRefusals(t *testing.T) {
	f := newFixture(t, func(o *Options) { o.Limits.Parts = 2; o.Limits.Upload = 1 << 20 })
	data := photo(t, 12)
	d, n := claims.DigestOf(data), len(data)

	t.Run("wrong bytes are dropped, all of them", func(t *testing.T) {
		wrong := bytes.Clone(data)
		wrong[100] ^= 1
		require.Equal(t, http.StatusNoContent, f.owner.patch(d, 0, n, wrong[:200]).status)
		res := f.owner.patch(d, 200, n, wrong[200:])
		res.problem(http.StatusUnprocessableEntity, claims.Invalid)
		assert.Empty(t, res.header.Get(headOffset))
		assert.Equal(t, http.StatusNotFound, f.owner.head(d).status)
		assert.Empty(t, parts(t, f))
	})
	t.Run("a file that is no photo is dropped", func(t *testing.T) {
		html := []byte("<html><script>alert(1)</script></html>")
		f.owner.patch(claims.DigestOf(html), 0, len(html), html).problem(http.StatusUnsupportedMediaType, claims.Unsupported)
		assert.Equal(t, http.StatusNotFound, f.owner.head(claims.DigestOf(html)).status)
	})
	t.Run("another length begins anew", func(t *testing.T) {
		require.Equal(t, http.StatusNoContent, f.owner.patch(d, 0, n, data[:10]).status)
		res := f.owner.patch(d, 10, n+1, data[10:20])
		res.problem(http.StatusConflict, codeOffset)
		assert.Equal(t, "0", res.header.Get(headOffset))
		assert.Equal(t, http.StatusCreated, f.owner.patch(d, 0, n, data).status)
	})
	t.Run("headers that make no sense", func(t *testing.T) {
		for name, h := range map[string]header{
			"no offset":        {headLength: "10", "Content-Type": kindOffset},
			"no length":        {headOffset: "0", "Content-Type": kindOffset},
			"negative offset":  {headOffset: "-1", headLength: "10", "Content-Type": kindOffset},
			"words":            {headOffset: "zero", headLength: "10", "Content-Type": kindOffset},
			"beyond int64":     {headOffset: "0", headLength: "99999999999999999999", "Content-Type": kindOffset},
			"empty file":       {headOffset: "0", headLength: "0", "Content-Type": kindOffset},
			"offset past end":  {headOffset: "11", headLength: "10", "Content-Type": kindOffset},
			"too large a file": {headOffset: "0", headLength: "1048577", "Content-Type": kindOffset},
			"another type":     {headOffset: "0", headLength: "10", "Content-Type": "image/jpeg"},
		} {
			t.Run(name, func(t *testing.T) {
				res := f.owner.lax().do(http.MethodPatch, "/originals/"+strings.Repeat("a", 64), []byte("abc"), h)
				assert.Contains(t, []int{http.StatusUnprocessableEntity, http.StatusRequestEntityTooLarge, http.StatusUnsupportedMediaType}, res.status, res.text())
			})
		}
		assert.Empty(t, parts(t, f))
	})
	t.Run("a device can't begin without end", func(t *testing.T) {
		for i := range 2 {
			require.Equal(t, http.StatusNoContent, f.owner.patch(claims.DigestOf([]byte{byte(i)}), 0, 10, []byte("abc")).status)
		}
		res := f.owner.patch(claims.DigestOf([]byte{9}), 0, 10, []byte("abc"))
		res.problem(http.StatusServiceUnavailable, claims.Busy)
		assert.NotEmpty(t, res.header.Get("Retry-After"))
	})
	t.Run("stale parts are swept", func(t *testing.T) {
		require.Len(t, parts(t, f), 2)
		n, err := f.srv.incoming.sweep(context.Background())
		require.NoError(t, err)
		assert.Zero(t, n)
		f.clock.move(8 * 24 * time.Hour)
		n, err = f.srv.incoming.sweep(context.Background())
		require.NoError(t, err)
		assert.Equal(t, 2, n)
		assert.Empty(t, parts(t, f))
	})
}

// raw opens a connection and sends the head of a PATCH and the first bytes of its body, then nothing.
func raw(t *testing.T, f *fixture, d claims.Digest, length int, first []byte) net.Conn {
	t.Helper()
	conn, err := net.Dial("tcp", strings.TrimPrefix(f.url, "http://"))
	require.NoError(t, err)
	t.Cleanup(func() { conn.Close() })
	_, err = fmt.Fprintf(conn, "PATCH /api/v1/originals/%s HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer %s\r\nContent-Type: %s\r\nUpload-Offset: 0\r\nUpload-Length: %d\r\nContent-Length: %d\r\n\r\n",
		d, f.owner.token, kindOffset, length, length)
	require.NoError(t, err)
	_, err = conn.Write(first)
	require.NoError(t, err)
	return conn
}

// waitForPart waits until the part on disk has so many bytes.
func waitForPart(t *testing.T, f *fixture, size int) {
	t.Helper()
	require.Eventually(t, func() bool {
		for _, p := range parts(t, f) {
			if info, err := os.Stat(p); err == nil && info.Size() == int64(size) {
				return true
			}
		}
		return false
	}, time.Minute, 5*time.Millisecond)
}

func TestConnectionBreaksInMidPiece(t *testing.T) {
	f := newFixture(t)
	data := photo(t, 13)
	d, n := claims.DigestOf(data), len(data)
	conn := raw(t, f, d, n, data[:1000])
	waitForPart(t, f, 1000)
	conn.Close()
	var at *answered
	require.Eventually(t, func() bool { at = f.owner.head(d); return at.status == http.StatusNoContent }, time.Minute, 5*time.Millisecond)
	assert.Equal(t, "1000", at.header.Get(headOffset))
	assert.Equal(t, http.StatusCreated, f.owner.patch(d, 1000, n, data[1000:]).status)
	assert.Contains(t, f.log.String(), "the body broke off")
	assert.NotContains(t, f.log.String(), "level=ERROR", "a line that breaks is no fault of the server")
}

// A phone whose connection has died without a sign goes on at once on a new one; the old one is stopped.
func TestNewerConnectionTakesOver(t *testing.T) {
	f := newFixture(t)
	data := photo(t, 14)
	d, n := claims.DigestOf(data), len(data)
	conn := raw(t, f, d, n, data[:1000])
	waitForPart(t, f, 1000)
	began := time.Now()
	res := f.owner.patch(d, 1000, n, data[1000:])
	require.Equal(t, http.StatusCreated, res.status, res.text())
	assert.Less(t, time.Since(began), 25*time.Second) // the idle one would be let go after 30 s
	require.NoError(t, conn.SetReadDeadline(time.Now().Add(25*time.Second)))
	old, err := io.ReadAll(conn)
	require.NoError(t, err)
	assert.Contains(t, string(old), "408 Request Timeout")
	assert.Equal(t, data, f.owner.do(http.MethodGet, "/originals/"+string(d), nil).body)
}

func TestSlowBodyIsLetGo(t *testing.T) {
	f := newFixture(t, func(o *Options) { o.Limits.Idle = 200 * time.Millisecond })
	conn, err := net.Dial("tcp", strings.TrimPrefix(f.url, "http://"))
	require.NoError(t, err)
	defer conn.Close()
	_, err = fmt.Fprintf(conn, "POST /api/v1/entries HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer %s\r\nContent-Type: application/json\r\nContent-Length: 1000\r\n\r\n{\"entries\":", f.owner.token)
	require.NoError(t, err)
	require.NoError(t, conn.SetReadDeadline(time.Now().Add(10*time.Second)))
	got, err := io.ReadAll(conn)
	require.NoError(t, err)
	assert.Contains(t, string(got), "408 Request Timeout")
	assert.Contains(t, string(got), `"code":"timeout"`)
}

// A body that keeps coming, however slowly, is not cut off by the pause limit.
func TestSteadySlowBodyIsKept(t *testing.T) {
	f := newFixture(t, func(o *Options) { o.Limits.Idle = 3 * time.Second })
	data := photo(t, 15)
	r, w := io.Pipe()
	go func() {
		for i := 0; i < len(data); i += len(data)/8 + 1 {
			w.Write(data[i:min(len(data), i+len(data)/8+1)])
			time.Sleep(500 * time.Millisecond) // 4 s in all; a machine may be busy for 2.5 s
		}
		w.Close()
	}()
	res := f.owner.do(http.MethodPut, "/originals/"+string(claims.DigestOf(data)), io.Reader(r))
	require.Equal(t, http.StatusCreated, res.status, res.text())
}

// Who holds a slot is stopped by who wants it, and only while it is held: afterwards its connection serves another request.
func TestStoppedOnlyWhileHolding(t *testing.T) {
	in, err := openIncoming(t.TempDir(), Limits{}.withDefaults(), time.Now)
	require.NoError(t, err)
	place := in.slot(claims.Actor{Shop: "shop-1", Device: "d"}, claims.DigestOf([]byte("x")))
	var all sync.WaitGroup
	var stopped, late atomic.Int64
	for range 8 {
		all.Go(func() {
			for range 200 {
				var gone atomic.Bool
				done, err := in.hold(t.Context(), place, func() {
					stopped.Add(1)
					if gone.Load() {
						late.Add(1)
					}
				})
				if !assert.NoError(t, err) {
					return
				}
				runtime.Gosched()
				done()
				gone.Store(true)
			}
		})
	}
	all.Wait()
	assert.Positive(t, stopped.Load())
	assert.Zero(t, late.Load())
}

// What is broken off is not answered with 200, which is what net/http says where nobody says anything.
func TestBrokenOffIsNoSuccess(t *testing.T) {
	f := newFixture(t)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	rec := httptest.NewRecorder()
	f.srv.fail(fmt.Errorf("look: %w", ctx.Err()), echo.New().NewContext(httptest.NewRequestWithContext(ctx, http.MethodGet, "/api/v1/jobs", nil), rec))
	assert.Equal(t, http.StatusServiceUnavailable, rec.Code)
	assert.Equal(t, "close", rec.Header().Get("Connection"))
	assert.NotContains(t, f.log.String(), "level=ERROR")
}

func TestLeftoversAreRemovedAtStart(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "put-1.tmp"), []byte("x"), 0o600))
	_, err := openIncoming(dir, Limits{}.withDefaults(), time.Now)
	require.NoError(t, err)
	list, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Empty(t, list)
}

// Whether a file is here is told to nobody who may not have it: what another shop holds, or another phone has sent a part of, answers as what is not here at
// all does, and a stranger is told nothing of either.
func TestHeadTellsNothing(t *testing.T) {
	f := newFixture(t)
	ctx := context.Background()
	mine, theirs, nobodys, half := photo(t, 41), photo(t, 42), photo(t, 43), photo(t, 44)
	blobs, err := f.opt.Service.Blobs.Shop(ctx, "another-shop")
	require.NoError(t, err)
	require.NoError(t, blobs.Put(ctx, claims.DigestOf(theirs), bytes.NewReader(theirs)))
	require.Equal(t, http.StatusCreated, f.owner.do(http.MethodPut, "/originals/"+string(claims.DigestOf(mine)), mine).status)
	require.Equal(t, http.StatusNoContent, f.owner.patch(claims.DigestOf(half), 0, len(half), half[:len(half)/2]).status)

	same := func(c *client, status int, data ...[]byte) {
		t.Helper()
		for _, method := range []string{http.MethodHead, http.MethodGet} {
			var first *answered
			for _, d := range data {
				res := c.do(method, "/originals/"+string(claims.DigestOf(d)), nil)
				assert.Equal(t, status, res.status)
				res.body = bytes.ReplaceAll(res.body, []byte(res.header.Get("X-Request-Id")), nil)
				for _, own := range []string{"Date", "X-Request-Id"} {
					res.header.Del(own)
				}
				if first == nil {
					first = res
				}
				assert.Equal(t, first.header, res.header, method)
				assert.Equal(t, first.text(), res.text(), method)
			}
		}
	}
	same(f.owner, http.StatusNotFound, nobodys, theirs)
	other := f.person("Another phone", claims.Technician)
	same(other, http.StatusNotFound, nobodys, theirs, half)
	same(f.anybody(), http.StatusUnauthorized, nobodys, theirs, half, mine)
	assert.Equal(t, http.StatusOK, other.head(claims.DigestOf(mine)).status, "who works in the shop is told")
	assert.Equal(t, http.StatusNoContent, f.owner.head(claims.DigestOf(half)).status, "and who sent a part")
}
