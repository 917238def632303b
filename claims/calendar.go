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

// AddMonths goes n calendar months on. Where the month has no such day it takes the month's last (the rule of Regulation
// (EEC, Euratom) 1182/71 art. 3 and of java.time); time.AddDate would run over into the next month instead.
func (d Day) AddMonths(n int) Day {
	y, m, day := d.time().Date()
	first := time.Date(y, m+time.Month(n), 1, 0, 0, 0, 0, time.UTC)
	last := first.AddDate(0, 1, -1).Day()
	return Day(first.AddDate(0, 0, min(day, last)-1).Format(time.DateOnly))
}

// AddDays goes n calendar days on; the day itself is not counted.
func (d Day) AddDays(n int) Day { return Day(d.time().AddDate(0, 0, n).Format(time.DateOnly)) }

// DayAt is the calendar day of an instant in a zone.
func DayAt(t time.Time, zone *time.Location) Day { return Day(t.In(zone).Format(time.DateOnly)) }

// end is the last instant of the day in the zone.
func (d Day) end(zone *time.Location) time.Time {
	y, m, day := d.time().Date()
	return time.Date(y, m, day+1, 0, 0, 0, 0, zone).Add(-time.Second)
}

// zone is the site's time zone, or UTC when it is not known.
func (j *Job) zone() *time.Location {
	if j.Site.Zone != "" {
		if z, err := time.LoadLocation(j.Site.Zone); err == nil {
			return z
		}
	}
	return time.UTC
}
