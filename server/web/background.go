package web

import (
	"context"
	"encoding/json"
	"sync"
	"time"

	"kickplate/claims"
)

// background does what need not be done before an answer: it reads bar and QR codes on new photos of plates and labels and makes
// the small pictures of a report, one job at a time, and sweeps what has grown old. Losing its list is harmless: each start looks through the newest jobs.
type background struct {
	s      *Server
	cancel context.CancelFunc
	ended  sync.WaitGroup

	mu     sync.Mutex
	queued map[todo]bool
	queue  chan todo
}

// todo is a job to look at. Only one that just got photos has pictures to make: at a start they are mostly there.
type todo struct {
	jobKey
	grown bool
}

type jobKey struct {
	shop claims.ShopID
	job  claims.JobID
}

const (
	queueRoom   = 1000
	sweepEvery  = time.Hour
	erasesEvery = 24 * time.Hour
	newestFirst = 200
)

func startBackground(s *Server) *background {
	ctx, cancel := context.WithCancel(context.Background())
	b := &background{s: s, cancel: cancel, queued: map[todo]bool{}, queue: make(chan todo, queueRoom)}
	b.ended.Go(func() { b.erase(ctx) })
	b.ended.Go(func() { b.readCodes(ctx) })
	b.ended.Go(func() { b.sweep(ctx) })
	return b
}

func (b *background) stop() {
	b.cancel()
	b.ended.Wait()
}

// appended queues the jobs that got photos.
func (b *background) appended(shop claims.ShopID, raws []json.RawMessage, results []claims.Result) {
	for i, raw := range raws {
		var e struct {
			Kind claims.Kind `json:"kind"`
		}
		if json.Unmarshal(raw, &e) == nil && e.Kind == claims.KindPhoto && results[i].Status == "kept" {
			b.add(todo{jobKey{shop, results[i].Job}, true})
		}
	}
}

// add queues a job once. When the queue is full the job is left for the next start: reading codes is a help, not a promise.
func (b *background) add(k todo) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.queued[k] {
		return
	}
	select {
	case b.queue <- k:
		b.queued[k] = true
	default:
		b.s.opt.Log.Warn("too many photos to look for codes on at once; some are left for the next start", "job", k.job)
	}
}

func (b *background) readCodes(ctx context.Context) {
	b.unfinished(ctx)
	for {
		select {
		case <-ctx.Done():
			return
		case k := <-b.queue:
			b.mu.Lock()
			delete(b.queued, k)
			b.mu.Unlock()
			if err := b.s.opt.Service.ReadCodes(ctx, k.shop, k.job); err != nil && ctx.Err() == nil {
				b.s.opt.Log.Error("read codes", "job", k.job, "error", err)
			}
			if !k.grown {
				continue
			}
			if err := b.s.opt.Service.Prepare(ctx, k.shop, k.job); err != nil && ctx.Err() == nil {
				b.s.opt.Log.Error("prepare the report's pictures", "job", k.job, "error", err)
			}
		}
	}
}

// unfinished queues the newest jobs, whose codes an earlier process may not have come to. Reading twice does nothing.
func (b *background) unfinished(ctx context.Context) {
	server := claims.Actor{Shop: b.s.opt.Shop, Person: "server", Role: claims.Office, Device: "server"}
	page, err := b.s.opt.Service.Jobs(ctx, server, claims.CardQuery{Order: "changed", Limit: newestFirst})
	if err != nil {
		if ctx.Err() == nil {
			b.s.opt.Log.Error("look for photos without codes", "error", err)
		}
		return
	}
	for _, card := range page.Cards {
		b.add(todo{jobKey: jobKey{b.s.opt.Shop, card.Job}})
	}
}

// erase finishes what was being erased when an earlier process ended, and then carries the retention rules out once a day, if the owner has let them.
func (b *background) erase(ctx context.Context) {
	drop := b.s.dropParts(b.s.opt.Shop)
	if err := b.s.opt.Service.FinishErasures(ctx, b.s.opt.Shop, drop); err != nil && ctx.Err() == nil {
		b.s.opt.Log.Error("finish what was being erased", "error", err)
	}
	tick := time.NewTicker(erasesEvery)
	defer tick.Stop()
	for {
		n, err := b.s.privacyDesk().Daily(ctx, b.s.opt.Shop, drop)
		if err != nil && ctx.Err() == nil {
			b.s.opt.Log.Error("carry out the retention rules", "error", err)
		}
		if n > 0 {
			b.s.opt.Log.Info("jobs erased by the retention rules", "count", n)
		}
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}

func (b *background) sweep(ctx context.Context) {
	tick := time.NewTicker(sweepEvery)
	defer tick.Stop()
	for {
		n, err := b.s.incoming.sweep(ctx)
		if err != nil && ctx.Err() == nil {
			b.s.opt.Log.Error("sweep", "error", err)
		}
		if n > 0 {
			b.s.opt.Log.Info("stale parts of uploads removed", "count", n)
		}
		if err := b.s.opt.Access.Sweep(ctx, b.s.opt.Shop); err != nil && ctx.Err() == nil {
			b.s.opt.Log.Error("sweep sign-ins", "error", err)
		}
		if err := b.s.opt.Shares.Sweep(ctx, b.s.opt.Shop); err != nil && ctx.Err() == nil {
			b.s.opt.Log.Error("sweep links", "error", err)
		}
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}
