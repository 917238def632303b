package demo

import (
	"cmp"
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"time"

	"kickplate/claims"
	"kickplate/server/demo/draw"
)

// visit writes the entries of one device on one job on one day. A moment of the day is a text such as "09:12" or
// "09:12:30".
type visit struct {
	s    *script
	dev  *device
	job  int
	day  time.Time
	site claims.Position
	// blind means that the phone found no position: a basement.
	blind bool
	last  time.Time
}

// begin opens a job.
func (s *script) begin(number, title string, opened time.Time, whole bool) int {
	id := s.id(opened, "job "+number, 0)
	s.jobs = append(s.jobs, Job{ID: claims.JobID(id), Number: number, Title: title, Whole: whole})
	return len(s.jobs) - 1
}

// on goes on with a job: days counts from the working day, before it is negative.
func (s *script) on(dev *device, job, days int, site claims.Position) *visit {
	return &visit{s: s, dev: dev, job: job, day: s.date.AddDate(0, 0, days), site: site}
}

func (v *visit) moment(clock string) time.Time {
	layout := "15:04"
	if strings.Count(clock, ":") == 2 {
		layout = "15:04:05"
	}
	t, err := time.Parse(layout, clock)
	if err != nil {
		return v.last.Add(time.Second) // the tests hold the whole day against its own order
	}
	y, m, d := v.day.Date()
	at := time.Date(y, m, d, t.Hour(), t.Minute(), t.Second(), (t.Minute()*37+t.Second()*11)%900*int(time.Millisecond), v.day.Location())
	if !at.After(v.last) {
		at = v.last.Add(1700 * time.Millisecond)
	}
	v.last = at
	return at
}

// do makes an entry.
func (v *visit) do(clock string, kind claims.Kind, body any) claims.EntryID {
	return v.add(v.moment(clock), kind, body).id
}

// fix makes an entry that corrects another of the same kind.
func (v *visit) fix(clock string, kind claims.Kind, body any, old claims.EntryID, why string) {
	st := v.add(v.moment(clock), kind, body)
	st.fixes, st.why = old, why
}

func (v *visit) add(at time.Time, kind claims.Kind, body any) *step {
	s := v.s
	st := &step{dev: v.dev, job: v.job, kind: kind, at: at, body: body, order: len(s.steps)}
	st.id = claims.EntryID(s.id(v.dev.clock(at), "entry", st.order))
	s.steps = append(s.steps, st)
	return st
}

// picture is what a photograph shows and how it was taken.
type picture struct {
	scene              draw.Scene
	subject, component string
	caption, area      string
	portrait           bool
	blur, gain         float64
	pairedWith         claims.EntryID
	// pair is the kind of pair, wide-close unless it is said; from says who took it when it was not the shop: it came as a file then.
	pair, from string
}

// shoot takes a photograph.
func (v *visit) shoot(clock string, p picture) claims.EntryID {
	at := v.moment(clock)
	s := v.s
	s.drawn++
	taken := v.dev.clock(at)
	n := float64(s.drawn)
	exif := draw.Exif{Make: "Handheld", Model: "Kaleo 3", Software: "Kaleo camera 5.2", Taken: taken, Speed: 40 + int(s.drawn*17%90), ISO: 80 + int(s.drawn*53%400)}
	body := &claims.Photo{
		Name: fmt.Sprintf("IMG_%s.jpg", taken.Format("20060102_150405")), Subject: p.subject, Component: p.component, Area: p.area, Caption: p.caption,
		Source: "camera", Captured: taken.Format("2006-01-02T15:04:05.000Z07:00"),
	}
	if p.pairedWith != "" {
		body.PairedWith, body.Pair = p.pairedWith, cmp.Or(p.pair, "wide-close")
	}
	if p.from != "" { // taken the evening before with a telephone of their own, sent along with the message
		exif.Make, exif.Model, exif.Software, exif.Taken = "Pocketmate", "P2", "", taken.Add(-11*time.Hour)
		body.Name, body.Source, body.Captured, body.From = fmt.Sprintf("photo-%d.jpg", s.drawn), "file", "", p.from
	} else if !v.blind {
		// A few metres of wander, as a phone indoors has it.
		lat, lon := v.site.Lat+4e-5*math.Sin(n*1.7), v.site.Lon+5e-5*math.Cos(n*2.3)
		lat, lon = math.Round(lat*1e6)/1e6, math.Round(lon*1e6)/1e6
		accuracy := 4 + math.Round(30*math.Abs(math.Sin(n)))/4
		body.Position = &claims.Position{Lat: lat, Lon: lon, Accuracy: accuracy}
		exif.Position = &draw.Position{Lat: lat, Lon: lon, Error: accuracy, Altitude: 218.4}
	}
	// The entry is made a moment after the shutter.
	st := v.add(at.Add(420*time.Millisecond), claims.KindPhoto, body)
	v.last = st.at
	st.shot = &shot{scene: p.scene, how: draw.Shot{Seed: s.opt.Seed*1000 + s.drawn, Portrait: p.portrait, Blur: p.blur, Gain: p.gain, Exif: exif}}
	return st.id
}

// caution records that cautions were on the screen.
func (v *visit) caution(clock, before string, ids ...string) {
	for _, id := range ids {
		v.do(clock, claims.KindCaution, &claims.CautionShown{Caution: id, Before: before})
	}
}

// step is arrive, work-start or work-finish; it carries the position.
func (v *visit) step(clock string, kind claims.Kind, says string) {
	body := &claims.Step{Says: says}
	if !v.blind && kind == claims.KindArrive {
		p := v.site
		body.Position = &p
	}
	v.do(clock, kind, body)
}

// meter describes the instruments in the van, without a make.
const (
	meter       = `{"id":"M-2","description":"true-RMS multimeter, 6000 counts","specs":[{"quantity":"resistance","unit":"Ohm","upTo":6000000,"percent":0.9,"digits":2},{"quantity":"voltage-ac","unit":"V","upTo":750,"percent":1,"digits":3},{"quantity":"voltage-dc","unit":"V","upTo":600,"percent":0.5,"digits":2}]}`
	thermometer = `{"id":"T-1","description":"thermometer with a wire probe","specs":[{"quantity":"temperature","unit":"[degF]","upTo":120,"plus":1.0}]}`
)

// measured makes a reading ready: conditions and profile are JSON objects or empty.
func measured(component, quantity, value, unit, moment, where, conditions, profile, instrument string, photo claims.EntryID) *claims.Reading {
	r := &claims.Reading{Component: component, Quantity: quantity, Value: value, Unit: unit, Moment: moment, Where: where, Photo: photo}
	for _, x := range []struct {
		to   *json.RawMessage
		text string
	}{{&r.Conditions, conditions}, {&r.Profile, profile}, {&r.Instrument, instrument}} {
		if x.text != "" {
			*x.to = json.RawMessage(x.text)
		}
	}
	if value == "OL" {
		r.Value, r.Unit, r.State = "", "", "over-range"
	}
	return r
}

func named(profile string) string { return `{"name":"` + profile + `"}` }

func usd(minor int64) *claims.Money { return &claims.Money{Minor: minor, Currency: "USD"} }

// before is a date some months and days before the working day, YYYY-MM-DD.
func (s *script) before(months, days int) string {
	return s.date.AddDate(0, -months, -days).Format(time.DateOnly)
}
