package rules

import (
	"strings"
	"time"
)

// when is a parsed reference to a moment: "now", "first arrived", "last work-finished", "arrived", "coverage.start".
type when struct {
	event string // index into Facts.Events, or the stand-ins "reading" and "photo"
	last  bool
	date  string
	now   bool
}

// parseWhen reads a reference. An event without first or last takes lastByDefault.
func parseWhen(s string, lastByDefault bool) (when, bool) {
	switch word, rest, two := strings.Cut(s, " "); {
	case s == "now":
		return when{now: true}, true
	case two && (word == "first" || word == "last"):
		return when{event: rest, last: word == "last"}, has(events, rest)
	case !two && strings.Contains(s, "."):
		return when{date: s}, true
	default:
		return when{event: s, last: lastByDefault}, has(events, s)
	}
}

func (w when) words() string {
	switch {
	case w.now:
		return "now"
	case w.date != "":
		return "the " + lowerFirst(fieldTitle(w.date))
	case w.last:
		return "the last " + eventNoun(w.event)
	default:
		return "the first " + eventNoun(w.event)
	}
}

// say names the moment; first and last are left out when there was only one.
func (c *checker) say(w when) string {
	if len(c.facts.Events[w.event]) > 1 {
		return w.words()
	}
	return w.short()
}

// short names the moment when there is only one of its kind.
func (w when) short() string {
	if w.now || w.date != "" || w.event == "reading" || w.event == "photo" {
		return w.words()
	}
	return "the " + eventNoun(w.event)
}

// instant finds the moment; ok is false when it has not happened. A date has no instant.
func (c *checker) instant(w when) (at time.Time, entry string, ok bool) {
	switch {
	case w.now:
		return c.facts.Now, "", !c.facts.Now.IsZero()
	case w.event == "reading":
		for i := range c.facts.Readings {
			at, entry, ok = better(w.last, at, entry, ok, c.facts.Readings[i].At, c.facts.Readings[i].Entry)
		}
		return at, entry, ok
	case w.event == "photo":
		for i := range c.facts.Photos {
			at, entry, ok = better(w.last, at, entry, ok, c.facts.Photos[i].At, c.facts.Photos[i].Entry)
		}
		return at, entry, ok
	case w.event != "":
		for _, m := range c.facts.Events[w.event] {
			at, entry, ok = better(w.last, at, entry, ok, m.At, m.Entry)
		}
		return at, entry, ok
	}
	return time.Time{}, "", false
}

// better keeps the earlier (or later) of two moments; a zero moment never counts.
func better(last bool, at time.Time, entry string, ok bool, otherAt time.Time, otherEntry string) (time.Time, string, bool) {
	switch {
	case otherAt.IsZero():
		return at, entry, ok
	case !ok, last && otherAt.After(at), !last && otherAt.Before(at):
		return otherAt, otherEntry, true
	}
	return at, entry, ok
}

// day is a calendar day counted from 1970-01-01.
type day int

func (d day) String() string {
	return time.Unix(int64(d)*86400, 0).UTC().Format(time.DateOnly)
}

func parseDay(s string) (day, bool) {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil || t.Year() < 1 {
		return 0, false
	}
	return dayOf(t), true
}

// dayOf is the calendar day that t shows in its own zone.
func dayOf(t time.Time) day {
	y, m, d := t.Date()
	return day(floorDiv(time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Unix(), 86400))
}

func floorDiv(a, b int64) int64 {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}

// siteDay finds the calendar day of a moment at the site. known is false when the moment has not happened;
// problem says why a day can't be told although the moment is known.
func (c *checker) siteDay(w when) (d day, entry string, known bool, problem string) {
	if w.date != "" {
		s, there := c.facts.Dates[w.date]
		if !there || s == "" {
			return 0, "", false, ""
		}
		d, ok := parseDay(s)
		if !ok {
			return 0, "", true, fieldTitle(w.date) + " is “" + clip(s) + "”, which is not a date (YYYY-MM-DD)."
		}
		return d, "", true, ""
	}
	at, entry, ok := c.instant(w)
	if !ok {
		return 0, "", false, ""
	}
	zone := c.zone()
	if zone == nil {
		return 0, entry, true, "The time zone “" + clip(c.facts.Zone) + "” of the site is not known here, so the local date can't be told."
	}
	return dayOf(at.In(zone)), entry, true, ""
}

// zone is the site's time zone, or nil when its name is not known on this machine.
func (c *checker) zone() *time.Location {
	if !c.zoneKnown {
		c.zoneKnown = true
		c.site = c.pack.zones.find(c.facts.Zone)
	}
	return c.site
}

// visit is one stay at the site; an open visit has no end.
type visit struct {
	from, to time.Time
	entry    string
}

func (v visit) holds(t time.Time) bool {
	return !t.Before(v.from) && (v.to.IsZero() || !t.After(v.to))
}

// visitsOf pairs each arrival with the first departure that follows it before the next arrival.
func visitsOf(arrived, left []Moment) []visit {
	visits := make([]visit, 0, len(arrived))
	for i, a := range arrived {
		if a.At.IsZero() {
			continue
		}
		v := visit{from: a.At, entry: a.Entry}
		for _, l := range left {
			if l.At.Before(a.At) || (i+1 < len(arrived) && l.At.After(arrived[i+1].At)) {
				continue
			}
			v.to = l.At
			break
		}
		visits = append(visits, v)
	}
	return visits
}
