package demo

import (
	"context"
	"crypto/sha256"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"slices"
	"time"
	_ "time/tzdata" // the shop's zone must be known on machines without a zone database

	"kickplate/claims"
	"kickplate/server/demo/draw"
)

// Shop is the name of the invented shop in the store.
const Shop claims.ShopID = "demo"

// ShopName is its name for people.
const ShopName = "Teasel Bend Appliance Care"

// Zone is where the shop works.
const Zone = "America/Chicago"

// The people of the shop.
const (
	technician = "Dara Quill"
	apprentice = "Joss Emmerling"
	office     = "Perrin Oake"
)

// Day is a working day: jobs with what the devices of the shop did on them.
type Day struct {
	// Date is the working day, at midnight in the shop's zone.
	Date time.Time
	Jobs []Job
}

// Job is one job of the day.
type Job struct {
	ID claims.JobID
	// Number is the shop's own; Title says in a few words what it is about.
	Number, Title string
	// Whole is true for the claim that should be complete; Disputed for the job with an allegation that is answered.
	Whole, Disputed bool
	// Actions are in the order in which they were made, over all devices.
	Actions []Action
}

// Action is one thing that a device did.
type Action struct {
	Entry claims.EntryID
	Kind  claims.Kind
	At    time.Time
	// Raw is the entry's exact bytes. Photo is set for photographs: their bytes go to the server first.
	Raw   json.RawMessage
	Photo *Original
}

// Original is a photograph as the phone has it.
type Original struct {
	Digest claims.Digest
	Name   string
	Type   string
	Bytes  []byte
}

// Options for New.
type Options struct {
	// Shop that the entries are for; empty = Shop.
	Shop claims.ShopID
	// Seed decides ids and noise; 0 = 1. The same seed and date give the same day, byte for byte.
	Seed uint64
	// Drawn is told after each photograph how many of how many are done; nil = nobody is.
	Drawn func(done, of int)
}

// WorkingDay is the last working day that is over by now: the entries of a day must not lie in the future.
func WorkingDay(now time.Time) (time.Time, error) {
	zone, err := time.LoadLocation(Zone)
	if err != nil {
		return time.Time{}, fmt.Errorf("the shop's time zone: %w", err)
	}
	const over = 17*time.Hour + 30*time.Minute
	y, m, d := now.In(zone).Add(-over).Date()
	day := time.Date(y, m, d, 0, 0, 0, 0, zone)
	for day.Weekday() == time.Saturday || day.Weekday() == time.Sunday {
		day = day.AddDate(0, 0, -1)
	}
	return day, nil
}

// New writes the last working day before now and draws its photographs.
func New(ctx context.Context, now time.Time, opt Options) (Day, error) {
	date, err := WorkingDay(now)
	if err != nil {
		return Day{}, err
	}
	studio, err := draw.NewStudio(max(opt.Seed, 1))
	if err != nil {
		return Day{}, err
	}
	return write(ctx, date, opt, studio.Photo)
}

// write makes the day of a date; render makes the bytes of a photograph.
func write(ctx context.Context, date time.Time, opt Options, render func(draw.Scene, draw.Shot) ([]byte, error)) (Day, error) {
	if opt.Shop == "" {
		opt.Shop = Shop
	}
	if opt.Seed == 0 {
		opt.Seed = 1
	}
	s := newScript(date, opt)
	s.heaterJob()
	s.dishwasherJob()
	s.damageJob()
	s.dryerJob()
	s.freezerJob()
	s.rangeJob()
	if err := s.develop(ctx, render); err != nil {
		return Day{}, err
	}
	if err := s.chain(); err != nil {
		return Day{}, err
	}
	return Day{Date: date, Jobs: s.jobs}, nil
}

// script is the day while it is being written.
type script struct {
	date    time.Time
	opt     Options
	devices []*device
	jobs    []Job
	steps   []*step
	phone   *device // the technician's
	second  *device // the apprentice's: offline all day, its clock wrong
	desk    *device
	drawn   uint64 // photographs so far
}

// step is one entry before it is written: a photograph has no digest yet.
type step struct {
	dev   *device
	job   int
	id    claims.EntryID
	kind  claims.Kind
	at    time.Time // true time
	body  any
	fixes claims.EntryID
	why   string
	shot  *shot
	order int
	raw   []byte
}

type shot struct {
	scene draw.Scene
	how   draw.Shot
	bytes []byte
}

func newScript(date time.Time, opt Options) *script {
	s := &script{date: date, opt: opt}
	s.phone = s.device("phone-dara", technician, 1340*time.Millisecond, 45)
	s.second = s.device("phone-joss", apprentice, 7*time.Minute+12*time.Second, 60)
	s.desk = s.device("desk", office, -210*time.Millisecond, 8)
	return s
}

// id makes a UUIDv7 (RFC 9562, 5.7): the milliseconds of the moment, then bits that only seed and count decide.
func (s *script) id(at time.Time, what string, n int) string {
	sum := sha256.Sum256(fmt.Appendf(nil, "%d|%s|%s|%s|%d", s.opt.Seed, s.opt.Shop, s.date.Format("2006-01-02"), what, n))
	u := sum[:16]
	ms := uint64(at.UnixMilli())
	var head [8]byte
	binary.BigEndian.PutUint64(head[:], ms<<16)
	copy(u[:6], head[:6])
	u[6] = u[6]&0x0F | 0x70
	u[8] = u[8]&0x3F | 0x80
	return fmt.Sprintf("%x-%x-%x-%x-%x", u[:4], u[4:6], u[6:8], u[8:10], u[10:])
}

// chain fixes the order of each device's entries, links them, and hands them to the jobs.
func (s *script) chain() error {
	slices.SortStableFunc(s.steps, func(a, b *step) int { return a.at.Compare(b.at) })
	for _, st := range s.steps {
		if err := st.dev.write(s, st); err != nil {
			return fmt.Errorf("demo entry %s at %s: %w", st.kind, st.at.Format("15:04:05"), err)
		}
		a := Action{Entry: st.id, Kind: st.kind, At: st.at, Raw: st.raw}
		if st.shot != nil {
			p := st.body.(*claims.Photo)
			a.Photo = &Original{Digest: p.Digest, Name: p.Name, Type: "image/jpeg", Bytes: st.shot.bytes}
		}
		job := &s.jobs[st.job]
		job.Actions = append(job.Actions, a)
	}
	return nil
}
