package claims

import (
	"fmt"
	"strings"
	"time"
)

// TimeBasis says when a photo was taken and how well that is supported. Four clocks may speak: the EXIF time in the
// file, the phone's clock (with its offset as measured against the server), the phone's own sequence of entries,
// and the server's receipt. EXIF and phone clock are usually the same clock, so only together with a measured
// offset and a receipt that fits do they corroborate each other.
type TimeBasis struct {
	// Basis is corroborated, consistent, single-source or conflicting.
	Basis string `json:"basis"`
	// At is the best supported moment; zero when nothing says so.
	At time.Time `json:"at,omitzero"`
	// Says is one plain sentence with the numbers.
	Says string `json:"says"`
}

// The four answers.
const (
	Corroborated = "corroborated"
	Consistent   = "consistent"
	SingleSource = "single-source"
	Conflicting  = "conflicting"
)

const (
	// sameMoment is how far two clocks may stand apart and still mean the same moment (common practice, no source):
	// the shutter, the file and the entry are written within seconds, clocks of phones drift by seconds.
	sameMoment = 2 * time.Minute
	// promptReceipt is how soon after the capture a receipt still speaks for the moment itself.
	promptReceipt = 10 * time.Minute
	// clockStep is the smallest step between time zones in use (15 minutes); widest is the largest distance of two (UTC-12 to UTC+14).
	clockStep = 15 * time.Minute
	widest    = 26 * time.Hour
)

// timeWitness gathers what speaks about one photo's moment.
type timeWitness struct {
	item  *Item[Photo]
	facts *PhotoFacts
	// before and after are the corrected times of the neighbouring entries of the same device on this job; zero = none.
	before, after time.Time
}

// corrected is a device time as the server's clock would have shown it.
func corrected(at time.Time, c *Clock) time.Time {
	if c == nil {
		return at
	}
	return at.Add(-time.Duration(c.OffsetMs) * time.Millisecond)
}

func (w timeWitness) judge() TimeBasis {
	b := w.item.Body
	if b.From != "" || b.Source == "file" {
		return w.received("It came from somebody else, or as a file")
	}
	exif := w.exif()
	if exif.wrong != "" {
		return TimeBasis{Basis: Conflicting, At: time.Time{}, Says: exif.wrong}
	}
	if b.Source == "gallery" {
		return w.chosen(exif)
	}
	return w.taken(exif)
}

// exifClock is the EXIF time as far as it goes.
type exifClock struct {
	instant time.Time // known only with an offset or GPS time
	local   time.Time // the local time, as if it were UTC
	has     bool
	gps     bool // the GPS clock agrees
	wrong   string
}

func (w timeWitness) exif() exifClock {
	var c exifClock
	if w.facts == nil || w.facts.Taken == nil {
		return c
	}
	for _, d := range w.facts.Disagreements {
		if strings.Contains(d, "Date") || strings.Contains(d, "Offset") {
			c.wrong = "Two readers of the file's EXIF block understand its time differently: " + d
			return c
		}
	}
	t := w.facts.Taken
	var err error
	if c.local, err = time.Parse("2006-01-02T15:04:05", t.Local); err != nil {
		return exifClock{}
	}
	if f := t.Fraction; digits(f) && len(f) <= 9 {
		if frac, err := time.ParseDuration("0." + f + "s"); err == nil {
			c.local = c.local.Add(frac)
		}
	}
	c.has = true
	if t.Offset != "" {
		if at, err := time.Parse("2006-01-02T15:04:05.999999999Z07:00", c.local.Format("2006-01-02T15:04:05.999999999")+t.Offset); err == nil {
			c.instant = at
		}
	}
	gps, err := time.Parse(time.RFC3339, t.GPSUTC)
	switch {
	case t.GPSUTC == "" || err != nil:
	case c.instant.IsZero():
		// The GPS clock fixes the zone when the difference is one that zones have.
		if off := c.local.Sub(gps); zoneLike(off) {
			zone := off.Round(clockStep)
			c.instant, c.gps = c.local.Add(-zone).In(time.FixedZone("", int(zone/time.Second))), true
		}
	case apart(c.instant, gps) <= sameMoment:
		c.gps = true
	default:
		// A GPS fix may be minutes old when a camera writes it; hours are a contradiction.
		if apart(c.instant, gps) > time.Hour {
			c.wrong = fmt.Sprintf("The file's own clocks contradict each other: EXIF says %s, its GPS clock %s.", stamp(c.instant), stamp(gps))
		}
	}
	return c
}

// zoneLike reports whether d is close to a whole number of quarter hours within the range of time zones.
func zoneLike(d time.Duration) bool {
	return d.Abs() <= widest && (d-d.Round(clockStep)).Abs() <= sameMoment
}

func apart(a, b time.Time) time.Duration { return a.Sub(b).Abs() }

// taken judges a photo taken in or through the app.
func (w timeWitness) taken(exif exifClock) TimeBasis {
	raw := w.item.At
	if w.item.Body.Captured != "" {
		if t, err := time.Parse(time.RFC3339Nano, w.item.Body.Captured); err == nil {
			raw = t
		}
	}
	at, clock, received := corrected(raw, w.item.Clock), w.item.Clock, w.item.Received
	out := TimeBasis{At: at}
	phone := "the phone's clock says " + stamp(raw)
	if clock != nil && clock.offset().Abs() > sameMoment {
		phone += fmt.Sprintf(" and was %s, so it was %s", clock.wrongBy(), stamp(at))
	}
	switch {
	case !received.IsZero() && at.Sub(received) > sameMoment:
		return out.say(Conflicting, "The phone's clock says %s, but the photo had arrived already at %s.", stamp(raw), stamp(received))
	case !w.before.IsZero() && w.before.Sub(at) > sameMoment:
		return out.say(Conflicting, "By the phone's clock it was taken at %s, before the entry that the phone made before it (%s): the clock was changed in between.", stamp(at), stamp(w.before))
	case !w.after.IsZero() && at.Sub(w.after) > sameMoment:
		return out.say(Conflicting, "By the phone's clock it was taken at %s, after the entry that the phone made after it (%s): the clock was changed in between.", stamp(at), stamp(w.after))
	}
	wait := "not sent yet"
	prompt := false
	if !received.IsZero() {
		gap := received.Sub(at)
		prompt = gap <= promptReceipt
		wait = "received " + span(gap) + " later"
	}
	agrees := ""
	switch {
	case !exif.has:
	case !exif.instant.IsZero():
		// The camera and the app read the same clock, right or wrong.
		if d := apart(exif.instant, raw); d > sameMoment {
			return out.say(Conflicting, "EXIF says %s, the phone's clock said %s: %s apart.", stamp(exif.instant), stamp(raw), span(d))
		}
		agrees = "EXIF agrees (" + stamp(exif.instant) + ")"
	default:
		local := time.Date(raw.Year(), raw.Month(), raw.Day(), raw.Hour(), raw.Minute(), raw.Second(), raw.Nanosecond(), time.UTC)
		switch d := exif.local.Sub(local); {
		case d.Abs() <= sameMoment:
			agrees = "EXIF has no zone, its local time agrees"
		case zoneLike(d):
			return out.say(Consistent, "%s; EXIF has no zone and differs by %s, as a journey over a time zone or a change of clocks would make it; %s.", capital(phone), span(d.Abs()), wait)
		default:
			return out.say(Conflicting, "EXIF says %s local time (without zone), the phone's clock said %s: %s apart.", exif.local.Format("2006-01-02 15:04:05"), stamp(raw), span(d.Abs()))
		}
	}
	measured := clock != nil && clock.UncertaintyMs <= int64(sameMoment/time.Millisecond)
	switch {
	case agrees != "" && measured && (prompt || !exif.instant.IsZero()) && !received.IsZero():
		return out.say(Corroborated, "%s, measured against the server to %s; %s; %s.", capital(phone), span(clock.uncertainty()), agrees, wait)
	case agrees != "":
		return out.say(Consistent, "%s; %s; the phone's clock was not measured against the server, or nothing has arrived yet; %s.", capital(phone), agrees, wait)
	case prompt:
		return out.say(Consistent, "%s; the file has no EXIF time; %s.", capital(phone), wait)
	}
	return out.say(SingleSource, "Only %s; the file has no EXIF time; %s.", phone, wait)
}

// chosen judges a photo picked from the phone's gallery: the entry's time is that of the choice.
func (w timeWitness) chosen(exif exifClock) TimeBasis {
	received := w.item.Received
	picked := corrected(w.item.At, w.item.Clock)
	switch {
	case !exif.has:
		return w.received("It was chosen from the gallery and has no EXIF time, as screenshots and pictures from messengers have none")
	case exif.instant.IsZero():
		return TimeBasis{Basis: SingleSource, Says: fmt.Sprintf("EXIF says %s local time, without a zone, so the moment is not known; chosen from the gallery at %s.", exif.local.Format("2006-01-02 15:04:05"), stamp(picked))}
	}
	out := TimeBasis{At: exif.instant}
	if exif.instant.Sub(picked) > sameMoment || !received.IsZero() && exif.instant.Sub(received) > sameMoment {
		return out.say(Conflicting, "EXIF says %s, but it was chosen from the gallery already at %s.", stamp(exif.instant), stamp(picked))
	}
	later := span(picked.Sub(exif.instant))
	if exif.gps {
		return out.say(Consistent, "EXIF says %s and the GPS clock in the file agrees; chosen from the gallery %s later.", stamp(exif.instant), later)
	}
	return out.say(SingleSource, "Only EXIF says %s; chosen from the gallery %s later.", stamp(exif.instant), later)
}

// received is all that can be said when no clock of the capture can be used.
func (w timeWitness) received(why string) TimeBasis {
	if w.item.Received.IsZero() {
		return TimeBasis{Basis: SingleSource, Says: why + "; when it was taken is not shown."}
	}
	return TimeBasis{Basis: SingleSource, Says: fmt.Sprintf("%s; when it was taken is not shown, only that it was here at %s.", why, stamp(w.item.Received))}
}

func (t TimeBasis) say(basis, format string, args ...any) TimeBasis {
	t.Basis, t.Says = basis, fmt.Sprintf(format, args...)
	return t
}

func (c *Clock) offset() time.Duration { return time.Duration(c.OffsetMs) * time.Millisecond }
func (c *Clock) uncertainty() time.Duration {
	return time.Duration(c.UncertaintyMs) * time.Millisecond
}

func (c *Clock) wrongBy() string {
	if c.OffsetMs > 0 {
		return span(c.offset()) + " fast"
	}
	return span(-c.offset()) + " slow"
}

func stamp(t time.Time) string { return t.Format("2006-01-02 15:04:05 -07:00") }

// span writes a duration for a person: the two largest units.
func span(d time.Duration) string {
	if d < 0 {
		d = -d
	}
	switch {
	case d < time.Second:
		return fmt.Sprintf("%d ms", d.Milliseconds())
	case d < 2*time.Minute:
		return fmt.Sprintf("%d s", int(d.Round(time.Second).Seconds()))
	case d < 2*time.Hour:
		return fmt.Sprintf("%d min", int(d.Round(time.Minute).Minutes()))
	case d < 48*time.Hour:
		d = d.Round(time.Minute)
		return fmt.Sprintf("%d h %d min", int(d.Hours()), int(d.Minutes())%60)
	}
	d = d.Round(time.Hour)
	return fmt.Sprintf("%d days %d h", int(d.Hours())/24, int(d.Hours())%24)
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
