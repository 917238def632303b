package claims

import "time"

// Day is a calendar day without a zone, written YYYY-MM-DD.
type Day string

// ParseDay accepts a day that exists.
func ParseDay(s string) (Day, bool) {
	_, err := time.Parse(time.DateOnly, s)
	return Day(s), err == nil
}

func (d Day) time() time.Time {
	t, _ := time.Parse(time.DateOnly, string(d))
	return t
}

func dayOf(t time.Time) Day { return Day(t.Format(time.DateOnly)) }

// AddMonths goes n calendar months on. Where the month has no such day it takes the month's last (the rule of Regulation
// (EEC, Euratom) 1182/71 art. 3 and of java.time); time.AddDate would run over into the next month instead.
func (d Day) AddMonths(n int) Day {
	y, m, day := d.time().Date()
	return dayIn(y, m+time.Month(n), day)
}

// dayIn is the day-th of a month, or the month's last when it has no such day; month may lie outside 1..12.
func dayIn(year int, month time.Month, day int) Day {
	first := time.Date(year, month, 1, 0, 0, 0, 0, time.UTC)
	last := first.AddDate(0, 1, -1).Day()
	return dayOf(first.AddDate(0, 0, min(day, last)-1))
}

// AddDays goes n calendar days on; the day itself is not counted.
func (d Day) AddDays(n int) Day { return dayOf(d.time().AddDate(0, 0, n)) }

// DaysTo is the number of days from d to later; negative when later is the earlier.
func (d Day) DaysTo(later Day) int {
	return int(later.time().Sub(d.time()) / (24 * time.Hour)) // both are midnights in UTC: whole days, no clocks put forward
}

// How the day of the start counts in a term of months.
const (
	// StartNotCounted is the usual rule: the last day covered bears the number of the start (Reg. 1182/71 art. 3; Dodds v Walker).
	StartNotCounted = "exclusive"
	// StartCounts makes the day of the start the first of the term, so the last is the day before that number.
	StartCounts = "inclusive"
)

// LastDay is the last day of a term of n months that begins on d. With the start counted it is the day before the one with the
// start's number, or the last of the month that lacks that day (BGB section 187(2), 188(2) and (3); from memory): a year from
// 29 February, counted, ends on 28 February, as it does uncounted.
func (d Day) LastDay(n int, rule string) Day {
	if rule != StartCounts {
		return d.AddMonths(n)
	}
	y, m, day := d.time().Date()
	if day == 1 {
		return dayIn(y, m+time.Month(n)-1, 31)
	}
	return dayIn(y, m+time.Month(n), day-1)
}

// DayAt is the calendar day of an instant in a zone.
func DayAt(t time.Time, zone *time.Location) Day { return dayOf(t.In(zone)) }

// end is the last second of the day in the zone. Where the clocks are changed at midnight, the hour that is skipped or comes
// twice is minded: the day ends when its last second has passed for good.
func (d Day) end(zone *time.Location) time.Time {
	y, m, day := d.time().Date()
	from, to := time.Date(y, m, day, 12, 0, 0, 0, zone), time.Date(y, m, day+1, 12, 0, 0, 0, zone)
	midnight := time.Date(y, m, day+1, 0, 0, 0, 0, time.UTC)
	at := func(noon time.Time) time.Time { // midnight by the offset that holds at noon
		_, offset := noon.Zone()
		return midnight.Add(-time.Duration(offset) * time.Second).In(zone)
	}
	end := at(to)
	if _, change := from.ZoneBounds(); !change.IsZero() && change.Before(to) {
		if !end.After(change) { // by the later offset the day was over before that offset began
			end = at(from)
			if change.Before(end) {
				end = change.In(zone)
			}
		}
	}
	return end.Add(-time.Second)
}

// zone is the site's time zone, or UTC when it is not known.
func (j *Job) zone() *time.Location {
	if z, ok := j.siteZone(); ok {
		return z
	}
	return time.UTC
}

func (j *Job) siteZone() (*time.Location, bool) {
	if j.Site.Zone == "" {
		return nil, false
	}
	z, err := time.LoadLocation(j.Site.Zone)
	return z, err == nil
}

// localDay is the site's date at an instant; while the site's zone is not known, the date on the device that noted it down.
func (j *Job) localDay(t time.Time) Day {
	if z, ok := j.siteZone(); ok {
		return DayAt(t, z)
	}
	return dayOf(t)
}
