package packs

import (
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"

	"go.yaml.in/yaml/v3"

	"kickplate/rules"
)

// facts turns the compact form into facts. Everything in it is checked against the vocabulary: a slip in an example
// would otherwise make it pass for the wrong reason.
func (cr *caseReader) facts(body *yaml.Node) (rules.Facts, bool) {
	d := &decoder{walker: walker{file: cr.r.name}, lines: map[string]int{}}
	var b caseBody
	d.into(body, reflect.ValueOf(&b).Elem(), "")
	if len(d.problems) > 0 {
		cr.l.problems = append(cr.l.problems, d.problems...)
		return rules.Facts{}, false
	}
	f := &factsBuilder{d: d, line: body.Line}
	out := f.build(&b)
	cr.l.problems = append(cr.l.problems, d.problems...)
	return out, len(d.problems) == 0
}

type factsBuilder struct {
	d    *decoder
	line int
	day  time.Time
	zone *time.Location
}

func (f *factsBuilder) fail(path, format string, args ...any) {
	if len(f.d.problems) >= 100 {
		return
	}
	line := f.d.lines[path]
	if line == 0 {
		line = f.line
	}
	f.d.problems = append(f.d.problems, Problem{f.d.file, line, fmt.Sprintf(format, args...)})
}

// known checks a word, with the nearest one in the message.
func (f *factsBuilder) known(path, what string, terms []rules.Term, s string, optional bool) {
	if s == "" && optional {
		return
	}
	words := make([]string, len(terms))
	for i := range terms {
		if terms[i].ID == s {
			return
		}
		words[i] = terms[i].ID
	}
	if near := rules.Nearest(s, words); near != "" {
		f.fail(path, "%q is no known %s; did you mean %s?", clip(s), what, near)
		return
	}
	f.fail(path, "%q is no known %s; write one of %s", clip(s), what, strings.Join(words, ", "))
}

// at reads a moment of the case: "HH:MM" on its day, "+3d HH:MM" so many days later, or a full RFC 3339 time. Empty is the
// zero time.
func (f *factsBuilder) at(path, s string) time.Time {
	if s == "" {
		return time.Time{}
	}
	if t, err := time.Parse(time.RFC3339, s); err == nil {
		return t
	}
	clock, days := s, 0
	if head, rest, ok := strings.Cut(s, " "); ok && strings.HasSuffix(head, "d") {
		n, err := strconv.Atoi(strings.TrimSuffix(head, "d"))
		if err != nil || n < -20000 || n > 20000 {
			f.fail(path, "%q is no number of days; write for example “+3d 09:00”", clip(s))
			return time.Time{}
		}
		clock, days = rest, n
	}
	t, err := time.Parse("15:04", clock)
	if err != nil {
		f.fail(path, "%q is no time; write 09:05, “+3d 09:05” or 2025-06-12T09:05:00-05:00", clip(s))
		return time.Time{}
	}
	y, m, d := f.day.Date()
	return time.Date(y, m, d+days, t.Hour(), t.Minute(), 0, 0, f.zone)
}

func (f *factsBuilder) build(b *caseBody) rules.Facts {
	f.zone = time.UTC
	if b.Zone != "" {
		z, err := time.LoadLocation(b.Zone)
		if err != nil {
			f.fail("zone", "%q is no time zone; write an IANA name such as America/Chicago", clip(b.Zone))
		} else {
			f.zone = z
		}
	}
	day, err := time.Parse(time.DateOnly, b.Day)
	if err != nil {
		f.fail("day", "the case needs its day; write day: 2025-06-12")
	}
	f.day = day
	out := rules.Facts{Now: f.at("now", b.Now), Zone: b.Zone, Fields: b.Fields, Dates: b.Dates, Numbers: b.Numbers}
	f.names("fields", rules.FieldNames(), b.Fields)
	f.names("dates", rules.DateNames(), b.Dates)
	f.names("numbers", rules.NumberNames(), b.Numbers)
	out.Events = f.moments("events", b.Events)
	for _, e := range slices.Sorted(maps.Keys(b.Events)) {
		f.known("events/"+e, "event", rules.Events(), e, false)
	}
	out.Cautions = f.moments("cautions", b.Cautions)
	for i := range b.Photos {
		out.Photos = append(out.Photos, f.photo(&b.Photos[i]))
	}
	for i := range b.Readings {
		out.Readings = append(out.Readings, f.reading(&b.Readings[i]))
	}
	for i := range b.Parts {
		p := &b.Parts[i]
		path := "parts/" + p.Key
		f.known(path+"/component", "component", rules.Components(), p.Component, false)
		f.known(path+"/held", "place of an old part", rules.PartHeld(), p.Held, true)
		if p.Action == "" {
			p.Action = "replaced"
		}
		if !slices.Contains([]string{"removed", "fitted", "replaced"}, p.Action) {
			f.fail(path+"/action", "%q is no action; write removed, fitted or replaced", clip(p.Action))
		}
		out.Parts = append(out.Parts, rules.Part{
			Entry: p.Key, At: f.at(path+"/at", p.At), Component: p.Component, Action: p.Action, Number: p.Number,
			Serial: p.Serial, Quantity: "1", Invoice: p.Invoice, Original: p.Original, Held: p.Held,
		})
	}
	for i := range b.Damages {
		dm := &b.Damages[i]
		path := "damages/" + dm.Key
		kinds := append(rules.DamageKinds(), rules.Term{ID: rules.NoDamage})
		f.known(path+"/kind", "damage kind", kinds, dm.Kind, false)
		f.known(path+"/seen", "time of seeing damage", rules.DamageSeen(), dm.Seen, false)
		out.Damages = append(out.Damages, rules.Damage{
			Entry: dm.Key, At: f.at(path+"/at", dm.At), Area: dm.Area, Kind: dm.Kind, Seen: dm.Seen, Photos: dm.Photos, Bears: dm.Bears,
		})
	}
	for i := range b.Acknowledgements {
		a := &b.Acknowledgements[i]
		path := "acknowledgements/" + a.Key
		if a.Outcome == "" {
			a.Outcome = "signed"
		}
		f.known(path+"/about", "thing to acknowledge", rules.AckAbout(), a.About, false)
		f.known(path+"/outcome", "outcome", rules.AckOutcomes(), a.Outcome, false)
		out.Acks = append(out.Acks, rules.Acknowledgement{Entry: a.Key, At: f.at(path+"/at", a.At), About: a.About, Outcome: a.Outcome, Shown: a.Shown})
	}
	for i := range b.Waivers {
		w := &b.Waivers[i]
		out.Waivers = append(out.Waivers, rules.Waiver{Entry: w.Key, At: f.at("waivers/"+w.Key+"/at", w.At), Requirement: w.Requirement, By: w.By, Why: w.Why})
	}
	return out
}

func (f *factsBuilder) names(kind string, known []rules.Term, values map[string]string) {
	for _, name := range slices.Sorted(maps.Keys(values)) {
		f.known(kind+"/"+name, "name", known, name, false)
	}
}

func (f *factsBuilder) moments(kind string, values map[string][]string) map[string][]rules.Moment {
	if len(values) == 0 {
		return nil
	}
	out := map[string][]rules.Moment{}
	for name, list := range values {
		for i, s := range list {
			entry := name
			if i > 0 {
				entry += "-" + strconv.Itoa(i+1)
			}
			out[name] = append(out[name], rules.Moment{At: f.at(kind+"/"+name, s), Entry: entry})
		}
	}
	return out
}

func (f *factsBuilder) photo(p *casePhoto) rules.Photo {
	path := "photos/" + p.Key
	f.known(path+"/subject", "photo subject", rules.Subjects(), p.Subject, false)
	f.known(path+"/component", "component", rules.Components(), p.Component, true)
	verdict := func(key string, s *string, usual string) string {
		if s == nil {
			return usual
		}
		if !slices.Contains([]string{"", "yes", "no", "doubt"}, *s) {
			f.fail(path+"/"+key, "%q is no verdict; write yes, no, doubt or an empty text", clip(*s))
		}
		return *s
	}
	if !slices.Contains([]string{"", "before", "after", "cannot-tell", "conflicting"}, p.BeforeWork) {
		f.fail(path+"/before-work", "%q is no answer; write before, after, cannot-tell or conflicting", clip(p.BeforeWork))
	}
	if !slices.Contains([]string{"", "receipt", "sequence", "clocks", "stated"}, p.BeforeBy) {
		f.fail(path+"/before-work-by", "%q is no clock; write receipt, sequence, clocks or stated", clip(p.BeforeBy))
	}
	return rules.Photo{
		Entry: p.Key, BeforeWork: p.BeforeWork, BeforeWorkBy: p.BeforeBy, Subject: p.Subject, Component: p.Component, At: f.at(path+"/at", p.At),
		TimeBasis: or(p.TimeBasis, "corroborated"), Place: or(p.Place, "at-site"),
		Width: or(p.Width, 4000), Height: or(p.Height, 3000),
		Sharp: verdict("sharp", p.Sharp, "yes"), Dark: verdict("dark", p.Dark, "no"), Bright: verdict("bright", p.Bright, "no"),
		UsedBefore: p.UsedBefore, PairedWith: p.PairedWith, Codes: p.Codes, Document: p.Document,
	}
}

func (f *factsBuilder) reading(r *caseReading) rules.Reading {
	path := "readings/" + r.Key
	f.known(path+"/component", "component", rules.Components(), r.Component, false)
	f.known(path+"/quantity", "quantity", rules.Quantities(), r.Quantity, false)
	f.known(path+"/moment", "moment", rules.Moments(), r.Moment, true)
	f.known(path+"/outcome", "verdict of a reading", rules.ReadingOutcomes(), r.Outcome, true)
	return rules.Reading{
		Entry: r.Key, At: f.at(path+"/at", r.At), Component: r.Component, Quantity: r.Quantity, Value: r.Value, Unit: r.Unit,
		State: r.State, Moment: r.Moment, Outcome: r.Outcome, Supports: r.Supports, Says: r.Says, DisplayPhoto: r.Display,
	}
}

func or[T any](p *T, usual T) T {
	if p == nil {
		return usual
	}
	return *p
}
