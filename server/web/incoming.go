package web

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"time"

	"kickplate/claims"
)

// incoming is the folder of uploads under way:
//
//	put-*.tmp                                     whole uploads, gone when their request ends
//	<shop>/<device>/<sha256>.<length>.part        parts, of one device each: nobody else can see or go on with them
//
// A part holds the first bytes of the file as they came; its size is the offset. A part is only ever appended to or removed.
type incoming struct {
	dir    string
	limits Limits
	now    func() time.Time

	mu   sync.Mutex
	busy map[string]*holder
}

// holder is a request that is writing a part.
type holder struct {
	stop func()
	done chan struct{}
}

const partEnd = ".part"

// openIncoming prepares the folder and removes what only a dead process can have left.
func openIncoming(dir string, limits Limits, now func() time.Time) (*incoming, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("open the folder for uploads: %w", err)
	}
	left, err := filepath.Glob(filepath.Join(dir, "*.tmp"))
	if err != nil {
		return nil, fmt.Errorf("open the folder for uploads: %w", err)
	}
	for _, name := range left {
		if err := os.Remove(name); err != nil {
			return nil, fmt.Errorf("clear the folder for uploads: %w", err)
		}
	}
	return &incoming{dir: dir, limits: limits, now: now, busy: map[string]*holder{}}, nil
}

// spool is a whole upload in a temporary file.
type spool struct {
	file *os.File
	size int64
	sum  claims.Digest
}

func (s *spool) remove() {
	s.file.Close()
	os.Remove(s.file.Name())
}

// spool writes a body to a temporary file, hashing while the bytes go by. Memory is one buffer.
func (in *incoming) spool(body io.Reader) (*spool, error) {
	f, err := os.CreateTemp(in.dir, "put-*.tmp")
	if err != nil {
		return nil, fmt.Errorf("take in an upload: %w", err)
	}
	s := &spool{file: f}
	h := sha256.New()
	s.size, err = io.CopyBuffer(onlyWriter{io.MultiWriter(f, h)}, body, make([]byte, 64<<10))
	if err != nil {
		s.remove()
		return nil, fmt.Errorf("take in an upload: %w", err)
	}
	s.sum = claims.Digest(hex.EncodeToString(h.Sum(nil)))
	return s, nil
}

// onlyWriter hides ReadFrom, so that CopyBuffer uses its buffer.
type onlyWriter struct{ io.Writer }

// slot is one device's place for the parts of one upload.
type slot struct {
	dir    string
	digest claims.Digest
}

func (in *incoming) slot(a claims.Actor, d claims.Digest) slot {
	device := sha256.Sum256([]byte(a.Device))
	return slot{filepath.Join(in.dir, string(a.Shop), hex.EncodeToString(device[:8])), d}
}

// hold makes the caller the only one to write in the slot. Whoever was writing is stopped first: it is the same device on an older
// connection, which has most often died without our knowing. stop is called while the slot is held and never after; it must not wait.
func (in *incoming) hold(ctx context.Context, s slot, stop func()) (release func(), err error) {
	key := filepath.Join(s.dir, string(s.digest))
	late := time.NewTimer(in.limits.Wait)
	defer late.Stop()
	for {
		in.mu.Lock()
		h := in.busy[key]
		if h == nil {
			h = &holder{stop: stop, done: make(chan struct{})}
			in.busy[key] = h
			in.mu.Unlock()
			return func() {
				in.mu.Lock()
				delete(in.busy, key)
				in.mu.Unlock()
				close(h.done)
			}, nil
		}
		// With the lock: once it has let go, its connection serves another request, which must not be stopped.
		h.stop()
		in.mu.Unlock()
		select {
		case <-h.done:
		case <-late.C:
			return nil, claims.Errorf(claims.Busy, "The last piece of this upload is still being worked on. Ask again in a moment.")
		case <-ctx.Done():
			return nil, ctx.Err()
		}
	}
}

// part finds what the slot holds: the path of the part, how many bytes are there and how many there will be. The error is
// ErrAbsent when nothing is there.
func (s slot) part() (path string, offset, length int64, err error) {
	list, err := os.ReadDir(s.dir)
	if errors.Is(err, fs.ErrNotExist) {
		return "", 0, 0, claims.ErrAbsent
	}
	if err != nil {
		return "", 0, 0, fmt.Errorf("look for an upload's part: %w", err)
	}
	for _, e := range list {
		d, n, ok := parsePart(e.Name())
		if !ok || d != s.digest {
			continue
		}
		info, err := e.Info()
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			return "", 0, 0, fmt.Errorf("look for an upload's part: %w", err)
		}
		return filepath.Join(s.dir, e.Name()), info.Size(), n, nil
	}
	return "", 0, 0, claims.ErrAbsent
}

func parsePart(name string) (claims.Digest, int64, bool) {
	name, ok := strings.CutSuffix(name, partEnd)
	if !ok {
		return "", 0, false
	}
	digest, length, ok := strings.Cut(name, ".")
	d, err := claims.ParseDigest(digest)
	n, err2 := strconv.ParseInt(length, 10, 64)
	return d, n, ok && err == nil && err2 == nil && n > 0
}

// create names a new part of the slot.
func (in *incoming) create(s slot, length int64) (path string, err error) {
	if err := os.MkdirAll(s.dir, 0o700); err != nil {
		return "", fmt.Errorf("take in an upload: %w", err)
	}
	list, err := os.ReadDir(s.dir)
	if err != nil {
		return "", fmt.Errorf("take in an upload: %w", err)
	}
	if len(list) >= in.limits.Parts {
		return "", claims.Errorf(claims.Busy, "This device has begun %d uploads without ending them. End those first, or wait until they are swept.", len(list))
	}
	return filepath.Join(s.dir, string(s.digest)+"."+strconv.FormatInt(length, 10)+partEnd), nil
}

// grow appends at most room bytes of the body to the part and syncs it. What came stays, also when the body breaks off.
func grow(path string, body io.Reader, room int64) (n int64, err error) {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_WRONLY|os.O_APPEND, 0o600)
	if err != nil {
		return 0, fmt.Errorf("take in an upload: %w", err)
	}
	n, err = io.CopyBuffer(onlyWriter{f}, io.LimitReader(body, room), make([]byte, 64<<10))
	if err != nil {
		err = fmt.Errorf("take in an upload: %w", err)
	}
	if e := f.Sync(); err == nil && e != nil {
		err = fmt.Errorf("keep the part of an upload: %w", e)
	}
	if e := f.Close(); err == nil && e != nil {
		err = fmt.Errorf("keep the part of an upload: %w", e)
	}
	return n, err
}

// hashFile hashes a finished part.
func hashFile(ctx context.Context, f *os.File) (claims.Digest, error) {
	h := sha256.New()
	buf := make([]byte, 128<<10)
	for {
		if err := ctx.Err(); err != nil {
			return "", err
		}
		n, err := f.Read(buf)
		h.Write(buf[:n])
		if err == io.EOF {
			return claims.Digest(hex.EncodeToString(h.Sum(nil))), nil
		}
		if err != nil {
			return "", fmt.Errorf("hash an upload: %w", err)
		}
	}
}

// sweep removes parts that nothing was added to for long.
func (in *incoming) sweep(ctx context.Context) (removed int, err error) {
	before := in.now().Add(-in.limits.PartAge)
	err = filepath.WalkDir(in.dir, func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() || !strings.HasSuffix(path, partEnd) {
			return err
		}
		info, err := e.Info()
		if err != nil || !info.ModTime().Before(before) {
			return ignoreAbsent(err)
		}
		d, _, _ := parsePart(e.Name())
		release, err := in.hold(ctx, slot{filepath.Dir(path), d}, func() {})
		if err != nil {
			return err
		}
		defer release()
		if info, err = os.Stat(path); err != nil || !info.ModTime().Before(before) {
			return ignoreAbsent(err)
		}
		removed++
		return ignoreAbsent(os.Remove(path))
	})
	if err != nil {
		err = fmt.Errorf("sweep stale uploads: %w", err)
	}
	return removed, err
}

// drop removes the parts of originals that are being erased, whichever device sends them.
func (in *incoming) drop(shop claims.ShopID, gone []claims.Digest) error {
	devices, err := os.ReadDir(filepath.Join(in.dir, string(shop)))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("drop parts of uploads: %w", err)
	}
	for _, device := range devices {
		for _, d := range gone {
			place := slot{filepath.Join(in.dir, string(shop), device.Name()), d}
			path, _, _, err := place.part()
			if errors.Is(err, claims.ErrAbsent) {
				continue
			}
			if err == nil {
				err = ignoreAbsent(os.Remove(path))
			}
			if err != nil {
				return fmt.Errorf("drop parts of uploads: %w", err)
			}
		}
	}
	return nil
}

func ignoreAbsent(err error) error {
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return err
}
