package bundle

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"

	"kickplate/claims"
)

// atOnce is the size up to which an original is read into memory as a whole; larger ones are read twice. At most two
// are in memory at a time.
const atOnce = 16 << 20

// ready is an original that has been read, or the reason why it could not be.
type ready struct {
	shot *shot
	data []byte // nil for a large one
	sum  string
	err  error
}

// writeOriginals copies each original once, hashing the next one while the one before is written.
func (pl *plan) writeOriginals(ctx context.Context, b *bagWriter) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	free := make(chan []byte, 2)
	free <- nil
	free <- nil
	queue := make(chan ready)
	go func() {
		defer close(queue)
		for _, s := range pl.shots {
			if s.file == "" || s.same != 0 {
				continue
			}
			var buf []byte
			select {
			case buf = <-free:
			case <-ctx.Done():
				return
			}
			r := pl.read(ctx, s, buf)
			select {
			case queue <- r:
			case <-ctx.Done():
				return
			}
			if r.err != nil {
				return
			}
		}
	}()
	for r := range queue {
		if r.err == nil {
			r.err = pl.copy(ctx, b, r)
		}
		if r.err != nil {
			return fmt.Errorf("photo %d (%s, %s): %w", r.shot.no, r.shot.Body.Subject, r.shot.Body.Digest, r.err)
		}
		if r.shot.kept != keptWhole { // not ours to write over
			r.data = nil
		}
		free <- r.data[:0]
	}
	for _, s := range pl.shots { // the same bytes again
		if s.same != 0 {
			s.sum, s.bytes = pl.shots[s.same-1].sum, pl.shots[s.same-1].bytes
		}
	}
	return ctx.Err()
}

// read reads a small original and checks it against its digest.
func (pl *plan) read(ctx context.Context, s *shot, buf []byte) ready {
	if s.kept == keptStripped {
		data, err := pl.stripped(ctx, s)
		return ready{shot: s, data: data, sum: hexSum(data), err: err}
	}
	if s.kept != keptWhole {
		view, err := pl.parcel.Blobs.Derived(ctx, s.Body.Digest, s.standIn())
		return ready{shot: s, data: view, sum: hexSum(view), err: err}
	}
	if s.bytes > atOnce {
		return ready{shot: s}
	}
	blob, err := pl.parcel.Blobs.Open(ctx, s.Body.Digest)
	if err != nil {
		return ready{shot: s, err: err}
	}
	defer blob.Close()
	if int64(cap(buf)) < s.bytes {
		buf = make([]byte, s.bytes)
	}
	buf = buf[:s.bytes]
	if _, err := io.ReadFull(blob, buf); err != nil {
		return ready{shot: s, err: fmt.Errorf("read the original: %w", err)}
	}
	if n, err := blob.Read(make([]byte, 1)); n != 0 || (err != nil && err != io.EOF) {
		return ready{shot: s, err: fmt.Errorf("the original is longer than the %d bytes the store says: %w", s.bytes, errors.Join(claims.ErrDigest, err))}
	}
	return ready{shot: s, data: buf, sum: hexSum(buf), err: match(s, hexSum(buf))}
}

func match(s *shot, sum string) error {
	if sum != string(s.Body.Digest) {
		return fmt.Errorf("the stored original is damaged, it now hashes to %s; restore it from a backup, then build the bundle again: %w", sum, claims.ErrDigest)
	}
	return nil
}

func (pl *plan) copy(ctx context.Context, b *bagWriter, r ready) error {
	s := r.shot
	if r.sum != "" {
		s.sum, s.bytes = r.sum, int64(len(r.data))
		return b.stored(s.file, r.data, r.sum)
	}
	blob, err := pl.parcel.Blobs.Open(ctx, s.Body.Digest)
	if err != nil {
		return err
	}
	defer blob.Close()
	if s.sum, err = b.stream(s.file, &stoppable{ctx, blob}, s.bytes); err != nil {
		return err
	}
	return match(s, s.sum)
}

// stoppable ends a long copy when its context ends.
type stoppable struct {
	ctx context.Context
	io.ReadSeeker
}

func (s *stoppable) Read(p []byte) (int, error) {
	if err := s.ctx.Err(); err != nil {
		return 0, err
	}
	return s.ReadSeeker.Read(p)
}

func (pl *plan) writeThumbnails(ctx context.Context, b *bagWriter) error {
	for _, s := range pl.shots {
		if s.thumb == "" || s.same != 0 {
			continue
		}
		data, err := pl.parcel.Blobs.Derived(ctx, s.Body.Digest, s.thumbName())
		if err != nil {
			return fmt.Errorf("thumbnail of photo %d (%s, %s): %w", s.no, s.Body.Subject, s.Body.Digest, err)
		}
		if err := b.stored(s.thumb, data, hexSum(data)); err != nil {
			return err
		}
	}
	return nil
}

// mentions reports whether an original contains a text, such as a tag name of XMP metadata.
func mentions(ctx context.Context, blobs claims.Blobs, d claims.Digest, text string) (bool, error) {
	blob, err := blobs.Open(ctx, d)
	if err != nil {
		return false, err
	}
	defer blob.Close()
	buf := make([]byte, 1<<20)
	keep := 0
	for {
		if err := ctx.Err(); err != nil {
			return false, err
		}
		n, err := blob.Read(buf[keep:])
		if bytes.Contains(buf[:keep+n], []byte(text)) {
			return true, nil
		}
		if err == io.EOF {
			return false, nil
		}
		if err != nil {
			return false, err
		}
		end := keep + n
		keep = min(len(text)-1, end)
		copy(buf, buf[end-keep:end])
	}
}
