package demo

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"time"

	"golang.org/x/sync/errgroup"

	"kickplate/claims"
	"kickplate/rules"
)

// RunOptions say where and how the day is played.
type RunOptions struct {
	// BaseURL of the server, such as http://127.0.0.1:8080; Token is a bearer token that may write in the shop.
	BaseURL, Token string
	// Client sends the requests; nil = a client that waits at most two minutes for an answer.
	Client *http.Client
	// Out is told line by line what happens; nil = nobody is.
	Out io.Writer
	// Now is the clock; nil = time.Now.
	Now func() time.Time
	// Folder is where the bundle is put; empty = the current folder.
	Folder string
	// Verify looks at the fetched bundle and says in words what holds; nil = the digest alone is compared.
	Verify func(ctx context.Context, path string) ([]string, error)
	// Day says which shop the entries are for, and the seed.
	Day Options

	make func(ctx context.Context, now time.Time, opt Options) (Day, error) // New; the tests have theirs
}

// Result is what a run came to.
type Result struct {
	Day Day
	// Uploaded photographs and kept entries; Already were there from an earlier run.
	Uploaded, UploadedAlready, Kept, KeptAlready int
	// Reports are the checks, by job.
	Reports map[claims.JobID]rules.Report
	// Bundle is the path of the bundle of the complete claim, and what the server said about it; Dispute that of the dispute file.
	Bundle, Dispute string
	Built, Answered claims.Built
	// Took is the time from the first line to the last.
	Took time.Duration
}

type runner struct {
	c   *client
	opt RunOptions
	res Result
}

// Run plays the last working day against a server: uploads, entries, checks, the bundle of the complete claim. Running it
// again on the same data is harmless: the same day has the same ids and bytes.
func Run(ctx context.Context, opt RunOptions) (Result, error) {
	if opt.Client == nil {
		opt.Client = &http.Client{Timeout: 2 * time.Minute}
	}
	if opt.Out == nil {
		opt.Out = io.Discard
	}
	if opt.Now == nil {
		opt.Now = time.Now
	}
	if opt.make == nil {
		opt.make = New
	}
	r := runner{opt: opt, c: &client{base: strings.TrimSuffix(opt.BaseURL, "/"), token: opt.Token, http: opt.Client}}
	r.res.Reports = map[claims.JobID]rules.Report{}
	began := opt.Now()
	err := r.play(ctx, began)
	r.res.Took = opt.Now().Sub(began)
	if err != nil {
		return r.res, err
	}
	r.say("Done in %.1f s: %d photos sent, %d entries kept.", r.res.Took.Seconds(), r.res.Uploaded, r.res.Kept)
	if n := r.res.UploadedAlready + r.res.KeptAlready; n > 0 {
		r.say("%d photos and %d entries were there already.", r.res.UploadedAlready, r.res.KeptAlready)
	}
	return r.res, nil
}

func (r *runner) say(format string, args ...any) { fmt.Fprintf(r.opt.Out, format+"\n", args...) }

func (r *runner) play(ctx context.Context, now time.Time) error {
	day := r.opt.Day
	if day.Drawn == nil {
		day.Drawn = func(done, of int) {
			if done%20 == 0 || done == of {
				r.say("  %d of %d photos drawn", done, of)
			}
		}
	}
	r.say("%s: drawing the photos of an invented working day …", ShopName)
	var err error
	if r.res.Day, err = r.opt.make(ctx, now, day); err != nil {
		return err
	}
	return r.send(ctx)
}

// send plays the day that was made.
func (r *runner) send(ctx context.Context) error {
	r.say("Working day %s, %d jobs. Sending it as the phones would.", r.res.Day.Date.Format("Monday, 2 January 2006"), len(r.res.Day.Jobs))
	for i := range r.res.Day.Jobs {
		if err := r.job(ctx, &r.res.Day.Jobs[i]); err != nil {
			return fmt.Errorf("job %s: %w", r.res.Day.Jobs[i].Number, err)
		}
	}
	for i := range r.res.Day.Jobs {
		if j := &r.res.Day.Jobs[i]; j.Whole {
			if err := r.bundle(ctx, j); err != nil {
				return fmt.Errorf("bundle of job %s: %w", j.Number, err)
			}
		}
	}
	for i := range r.res.Day.Jobs {
		if j := &r.res.Day.Jobs[i]; j.Disputed {
			if err := r.dispute(ctx, j); err != nil {
				return fmt.Errorf("dispute file of job %s: %w", j.Number, err)
			}
		}
	}
	return nil
}

// job sends one job: the bytes of a photograph always before the entry that names them.
func (r *runner) job(ctx context.Context, j *Job) error {
	r.say("")
	r.say("%s  %s", j.Number, j.Title)
	if err := r.photos(ctx, j); err != nil {
		return err
	}
	for from := 0; from < len(j.Actions); from += claims.MaxBatch {
		part := j.Actions[from:min(from+claims.MaxBatch, len(j.Actions))]
		raws := make([]json.RawMessage, len(part))
		for i, a := range part {
			raws[i] = a.Raw
		}
		results, err := r.c.append(ctx, raws)
		if err != nil {
			return err
		}
		for _, s := range results {
			if s.Status == "already" {
				r.res.KeptAlready++
			} else {
				r.res.Kept++
			}
		}
	}
	r.say("  %d entries sent", len(j.Actions))
	report, err := r.c.check(ctx, j.ID)
	if err != nil {
		return err
	}
	r.res.Reports[j.ID] = report
	r.tell(&report)
	return nil
}

// lanes is how many photographs are on their way at once.
const lanes = 2

func (r *runner) photos(ctx context.Context, j *Job) error {
	var photos []*Original
	size := 0
	for _, a := range j.Actions {
		if a.Photo != nil {
			photos = append(photos, a.Photo)
			size += len(a.Photo.Bytes)
		}
	}
	r.say("  sending %d photos (%.1f MB) …", len(photos), float64(size)/1e6)
	var there atomic.Int64
	g, ctx := errgroup.WithContext(ctx)
	g.SetLimit(lanes)
	for _, p := range photos {
		g.Go(func() error {
			had, err := r.upload(ctx, p)
			if err != nil {
				return fmt.Errorf("photo %s: %w", p.Name, err)
			}
			if had {
				there.Add(1)
			}
			return nil
		})
	}
	err := g.Wait()
	r.res.UploadedAlready += int(there.Load())
	r.res.Uploaded += len(photos) - int(there.Load())
	return err
}

// upload sends one photograph unless the server has it.
func (r *runner) upload(ctx context.Context, o *Original) (had bool, err error) {
	if had, err = r.c.has(ctx, o.Digest); had || err != nil {
		return had, err
	}
	facts, err := r.c.put(ctx, o)
	if err == nil && facts.Digest != o.Digest {
		err = fmt.Errorf("the server keeps it under %q, sent was %s", facts.Digest, o.Digest)
	}
	return false, err
}

// tell says in words how a check came out.
func (r *runner) tell(rep *rules.Report) {
	c := rep.Counts
	if rep.Complete {
		r.say("  check: complete. %d met, %d not needed (%s)", c.Met, c.NotNeeded, rep.Title)
	} else {
		r.say("  check: %d open. %d met, %s, %s (%s)", c.Open, c.Met, count(c.Gap, "gap"), count(c.Doubt, "doubt"), rep.Title)
	}
	for i := range rep.Findings {
		f := &rep.Findings[i]
		if f.Open() && f.Severity == rules.Required {
			r.say("    %s: %s. %s", f.Outcome, f.Title, f.Sentence)
		}
	}
}

func count(n int, thing string) string {
	if n != 1 {
		thing += "s"
	}
	return fmt.Sprintf("%d %s", n, thing)
}

func (r *runner) bundle(ctx context.Context, j *Job) error {
	r.say("")
	r.say("Building the bundle of %s …", j.Number)
	built, err := r.c.build(ctx, j.ID)
	if err != nil {
		return err
	}
	r.res.Built = built
	r.res.Bundle, err = r.keep(ctx, j, built)
	return err
}

// dispute says what is on record about the allegations, and has the file built that answers them.
func (r *runner) dispute(ctx context.Context, j *Job) error {
	r.say("")
	r.say("Answering what is said about %s …", j.Number)
	list, err := r.c.disputes(ctx, j.ID)
	if err != nil {
		return err
	}
	for _, f := range list {
		r.say("  %s: %s. %s", f.Area, f.Finding.Title, f.Finding.Says)
		r.say("    %s against the shop, %d missing", count(len(f.Finding.Against), "point"), len(f.Finding.Missing))
	}
	built, err := r.c.answer(ctx, j.ID)
	if err != nil {
		return err
	}
	r.res.Answered = built
	r.res.Dispute, err = r.keep(ctx, j, built)
	return err
}

// keep fetches a bundle into the folder and has it verified.
func (r *runner) keep(ctx context.Context, j *Job, built claims.Built) (string, error) {
	path := filepath.Join(r.opt.Folder, filepath.Base(built.Name))
	if err := r.save(ctx, j, built, path); err != nil {
		return path, err
	}
	r.say("  %s (%.1f MB)", path, float64(built.Bytes)/1e6)
	r.say("  SHA-256 %s", built.Digest)
	if r.opt.Verify == nil {
		return path, nil
	}
	lines, err := r.opt.Verify(ctx, path)
	for _, l := range lines {
		r.say("  %s", l)
	}
	return path, err
}

// save fetches a bundle into a file and holds it against what the server said about it.
func (r *runner) save(ctx context.Context, j *Job, built claims.Built, path string) (err error) {
	part := path + ".part"
	f, err := os.Create(part)
	if err != nil {
		return fmt.Errorf("keep the bundle: %w", err)
	}
	hash := sha256.New()
	err = r.c.fetch(ctx, j.ID, built.Version, io.MultiWriter(f, hash))
	if err = errors.Join(err, f.Close()); err == nil && hex.EncodeToString(hash.Sum(nil)) != string(built.Digest) {
		err = errors.New("the bundle that arrived does not have the SHA-256 that the server named")
	}
	if err != nil {
		return errors.Join(err, os.Remove(part))
	}
	if err := os.Rename(part, path); err != nil {
		return fmt.Errorf("keep the bundle: %w", err)
	}
	return nil
}
