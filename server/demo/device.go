package demo

import (
	"context"
	"encoding/json"
	"fmt"
	"runtime"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"golang.org/x/sync/errgroup"

	"kickplate/claims"
	"kickplate/server/demo/draw"
)

// device is a phone or the desk: its clock, its chain of entries.
type device struct {
	name, person string
	// offset is how far its clock runs ahead of the server's.
	offset      time.Duration
	uncertainty int64
	boot        string
	started     time.Time
	seq         uint64
	prev        claims.Digest
}

func (s *script) device(name, person string, offset time.Duration, uncertainty int64) *device {
	started := s.date.AddDate(0, 0, -8).Add(6*time.Hour + 41*time.Minute)
	d := &device{name: name, person: person, offset: offset, uncertainty: uncertainty, started: started, boot: s.id(started, name, 0)[:8]}
	s.devices = append(s.devices, d)
	return d
}

// write makes the entry's exact bytes, the next link of the device's chain.
func (d *device) write(s *script, st *step) error {
	if ack, ok := st.body.(*claims.Acknowledge); ok {
		ack.ShownDigests = s.digests(ack.Shown)
	}
	body, err := compact(st.body)
	if err != nil {
		return err
	}
	d.seq++
	e := claims.Entry{
		ID: st.id, Shop: s.opt.Shop, Job: s.jobs[st.job].ID, Kind: st.kind, At: d.clock(st.at), By: d.person, Device: d.name, Seq: d.seq, Prev: d.prev,
		Clock:      &claims.Clock{OffsetMs: d.offset.Milliseconds(), UncertaintyMs: d.uncertainty, MonoMs: st.at.Sub(d.started).Milliseconds(), Boot: d.boot},
		Supersedes: st.fixes, Why: st.why, Body: body,
	}
	if st.raw, err = compact(e); err != nil {
		return err
	}
	d.prev = claims.DigestOf(st.raw)
	return nil
}

// clock is what the device's clock shows at a moment.
func (d *device) clock(at time.Time) time.Time { return at.Add(d.offset).Truncate(time.Millisecond) }

// digests names the originals of the photographs among the entries that were on the screen.
func (s *script) digests(shown []claims.EntryID) []claims.Digest {
	var out []claims.Digest
	for _, id := range shown {
		for _, st := range s.steps {
			if p, ok := st.body.(*claims.Photo); ok && st.id == id {
				out = append(out, p.Digest)
			}
		}
	}
	return out
}

func compact(v any) ([]byte, error) {
	var b strings.Builder
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return nil, err
	}
	return []byte(strings.TrimSuffix(b.String(), "\n")), nil
}

// develop draws all photographs, as many at once as there are processors, and names them by their digests.
func (s *script) develop(ctx context.Context, render func(draw.Scene, draw.Shot) ([]byte, error)) error {
	var shots []*step
	for _, st := range s.steps {
		if st.shot != nil {
			shots = append(shots, st)
		}
	}
	var done atomic.Int64
	var tell sync.Mutex
	g, ctx := errgroup.WithContext(ctx)
	g.SetLimit(max(1, runtime.GOMAXPROCS(0)))
	for _, st := range shots {
		g.Go(func() error {
			if err := ctx.Err(); err != nil {
				return err
			}
			b, err := render(st.shot.scene, st.shot.how)
			if err != nil {
				return fmt.Errorf("draw a photo: %w", err)
			}
			p := st.body.(*claims.Photo)
			st.shot.bytes, p.Digest, p.Bytes = b, claims.DigestOf(b), int64(len(b))
			if n := done.Add(1); s.opt.Drawn != nil {
				tell.Lock()
				s.opt.Drawn(int(n), len(shots))
				tell.Unlock()
			}
			return nil
		})
	}
	return g.Wait()
}
