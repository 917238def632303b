package media

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"runtime"
	"time"

	"golang.org/x/sync/semaphore"

	"kickplate/claims"
	"kickplate/media/measure"
)

// Version names what an examination finds and how the pictures are made; facts carry it (PhotoFacts.Examiner).
const Version = "kickplate-media-2/measure-" + measure.Version

// Options are the limits of an Examiner. The zero value of a field means its default.
type Options struct {
	// MaxImage, MaxDocument and MaxClip are the largest files in bytes: 40 MiB, 20 MiB, 100 MiB.
	MaxImage, MaxDocument, MaxClip int64
	// MaxPixels is the largest picture (60 million), MaxSide its longest side (20,000 px).
	MaxPixels, MaxSide int
	// MaxHEICPixels bounds HEIC pictures more tightly (50 million): its decoder needs about 30 bytes a pixel.
	MaxHEICPixels int
	// Memory is what all decodes together may take, in bytes (768 MiB). One picture that needs more is refused.
	Memory int64
	// Time bounds one examination (20 s), CodeTime one search for codes (6 s).
	Time, CodeTime time.Duration
	// Workers is how many pictures are worked on at once (the number of CPUs).
	Workers int
	// Tesseract is the path of an OCR program (see FindTesseract); empty = printed text is not read.
	Tesseract string
}

func (o Options) withDefaults() Options {
	setDefault(&o.MaxImage, 40<<20)
	setDefault(&o.MaxDocument, 20<<20)
	setDefault(&o.MaxClip, 100<<20)
	setDefault(&o.MaxPixels, 60_000_000)
	setDefault(&o.MaxSide, 20_000)
	setDefault(&o.MaxHEICPixels, 50_000_000)
	setDefault(&o.Memory, 768<<20)
	setDefault(&o.Time, 20*time.Second)
	setDefault(&o.CodeTime, 6*time.Second)
	setDefault(&o.Workers, runtime.GOMAXPROCS(0))
	return o
}

func setDefault[T int | int64 | time.Duration](v *T, def T) {
	if *v <= 0 {
		*v = def
	}
}

// Examiner implements claims.Examiner. It may be used from many goroutines: beyond Workers pictures, or beyond Memory,
// callers wait for their turn, and get a Busy error when Time runs out meanwhile.
type Examiner struct {
	opt     Options
	workers *semaphore.Weighted
	memory  *semaphore.Weighted
	heic    *semaphore.Weighted
}

var _ claims.Examiner = (*Examiner)(nil)

// New returns an Examiner.
func New(o Options) *Examiner {
	o = o.withDefaults()
	return &Examiner{
		opt:     o,
		workers: semaphore.NewWeighted(int64(o.Workers)),
		memory:  semaphore.NewWeighted(o.Memory),
		heic:    semaphore.NewWeighted(1),
	}
}

// upload is one file under examination.
type upload struct {
	ctx  context.Context
	src  io.ReaderAt
	size int64
	kind kind
}

// section reads the whole upload from its start, and stops when the context ends: decoders that only ever read can so be
// interrupted.
func (u *upload) section() *io.SectionReader {
	return io.NewSectionReader(interruptible{u.ctx, u.src}, 0, u.size)
}

type interruptible struct {
	ctx context.Context
	r   io.ReaderAt
}

func (i interruptible) ReadAt(p []byte, off int64) (int, error) {
	if err := i.ctx.Err(); err != nil {
		return 0, err
	}
	return i.r.ReadAt(p, off)
}

// Examine says what the bytes are and makes the small pictures; see claims.Examiner.
func (e *Examiner) Examine(ctx context.Context, r io.ReaderAt, size int64) (facts claims.PhotoFacts, made claims.Derived, err error) {
	ctx, cancel := context.WithTimeout(ctx, e.opt.Time)
	defer cancel()
	defer func() {
		if p := recover(); p != nil {
			facts, made, err = claims.PhotoFacts{}, claims.Derived{}, panicked(p)
		}
	}()
	u, err := e.open(ctx, r, size)
	if err != nil {
		return claims.PhotoFacts{}, claims.Derived{}, err
	}
	if err := e.take(ctx, e.workers, 1); err != nil {
		return claims.PhotoFacts{}, claims.Derived{}, err
	}
	defer e.workers.Release(1)
	facts = claims.PhotoFacts{Bytes: size, Type: u.kind.mime, Examiner: Version}
	switch u.kind.family {
	case document:
		err = checkPDF(u)
	case clip:
		err = e.clip(u, &facts)
	default:
		made, err = e.photo(u, &facts)
	}
	if err == nil {
		facts.Digest, err = digest(u)
	}
	if err != nil {
		return claims.PhotoFacts{}, claims.Derived{}, e.explain(ctx, err)
	}
	return facts, made, nil
}

// clip looks at a film or a sound.
func (e *Examiner) clip(u *upload, facts *claims.PhotoFacts) (err error) {
	if u.kind.mime != mimeWebM {
		facts.Type, err = checkClip(u)
		return err
	}
	timed, err := checkWebM(u)
	if err == nil && !timed {
		facts.Notes = append(facts.Notes, "The recording does not say how long it is, as is usual where a browser writes it while it records.")
	}
	return err
}

// open checks size and kind, before anything is decoded.
func (e *Examiner) open(ctx context.Context, r io.ReaderAt, size int64) (*upload, error) {
	if size <= 0 {
		return nil, claims.Errorf(claims.Invalid, "The file is empty. Take the photo again, or choose another file.")
	}
	u := &upload{ctx: ctx, src: r, size: size}
	head := make([]byte, min(size, sniffBytes))
	if n, err := u.section().ReadAt(head, 0); n < len(head) {
		return nil, e.explain(ctx, fmt.Errorf("read the upload: %w", err))
	}
	k, err := sniff(head)
	if err != nil {
		return nil, err
	}
	u.kind = k
	limit := map[family]int64{photo: e.opt.MaxImage, document: e.opt.MaxDocument, clip: e.opt.MaxClip}[k.family]
	if size > limit {
		return nil, claims.Errorf(claims.TooLarge, "The %s has %s; at most %s can be taken. %s", k.word, inMB(size), inMB(limit), k.smaller)
	}
	return u, nil
}

// take waits for n units of s; the deadline passing meanwhile is a Busy error.
func (e *Examiner) take(ctx context.Context, s *semaphore.Weighted, n int64) error {
	if err := s.Acquire(ctx, n); err != nil {
		return e.explain(ctx, err)
	}
	return nil
}

// explain turns what went wrong into what a person can read. Errors that already are *claims.Error stay.
func (e *Examiner) explain(ctx context.Context, err error) error {
	var own *claims.Error
	switch {
	case errors.As(err, &own):
		return own
	case errors.Is(ctx.Err(), context.DeadlineExceeded):
		return &claims.Error{Code: claims.Busy, Err: err,
			Says: fmt.Sprintf("Looking at the file took longer than %s. Send it again later; if that does not help, take the photo again with a smaller resolution.", e.opt.Time)}
	case ctx.Err() != nil:
		return ctx.Err()
	}
	return err
}

// panicked is the error for a decoder that gave up the hard way.
func panicked(p any) error {
	return &claims.Error{Code: claims.Invalid, Err: fmt.Errorf("panic: %v", p),
		Says: "The file is damaged: it could not be read as a picture. Send it again, or take the photo again."}
}

func digest(u *upload) (claims.Digest, error) {
	h := sha256.New()
	n, err := io.CopyBuffer(struct{ io.Writer }{h}, struct{ io.Reader }{u.section()}, make([]byte, 128<<10))
	if err != nil {
		return "", fmt.Errorf("read the upload: %w", err)
	}
	if n != u.size {
		return "", fmt.Errorf("read the upload: %w: %d of %d bytes", io.ErrUnexpectedEOF, n, u.size)
	}
	return claims.Digest(hex.EncodeToString(h.Sum(nil))), nil
}

// inMB writes a number of bytes for a person.
func inMB(n int64) string {
	switch {
	case n < 10_000:
		return fmt.Sprintf("%d bytes", n)
	case n < 1_000_000:
		return fmt.Sprintf("%d kB", n/1000)
	}
	return fmt.Sprintf("%.1f MB", float64(n)/1e6)
}
