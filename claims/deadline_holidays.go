package claims

import (
	"slices"
	"time"
)

// holiday is one rule of a calendar, as data. Exactly one of the ways to find the day is used: a fixed month and day, the nth
// weekday of a month (-1 = the last), or a distance from Easter Sunday.
type holiday struct {
	name       string
	month      time.Month
	day        int
	weekday    time.Weekday
	nth        int
	easter     int
	isEaster   bool
	from, till int // first and last year; 0 = no bound
	// observed says where a holiday on a weekend goes: "nearest" (Saturday to Friday, Sunday to Monday), "next" (to the next day
	// that is neither weekend nor holiday), "" (nowhere).
	observed string
}

// HolidayCalendars names the calendars there are.
func HolidayCalendars() []string {
	return []string{"none", "us-federal", "eu-target", "england-wales"}
}

// holidays gives the rules of a calendar.
//
// us-federal: 5 USC 6103(a), with the shift of (b) and Executive Order 11582; inauguration days are left out (from memory).
// eu-target: the closing days of TARGET since 2002, as decided by the European Central Bank (from memory).
// england-wales: Banking and Financial Dealings Act 1971 schedule 1 and the days proclaimed every year; one-off days are left
// out: name them as closed days (from memory). All three are held against an independent calendar in the tests.
func holidays(calendar string) []holiday {
	switch calendar {
	case "us-federal":
		return []holiday{
			{name: "New Year's Day", month: time.January, day: 1, observed: "nearest"},
			{name: "Birthday of Martin Luther King, Jr.", month: time.January, weekday: time.Monday, nth: 3, from: 1986},
			{name: "Washington's Birthday", month: time.February, weekday: time.Monday, nth: 3},
			{name: "Memorial Day", month: time.May, weekday: time.Monday, nth: -1},
			{name: "Juneteenth", month: time.June, day: 19, observed: "nearest", from: 2021},
			{name: "Independence Day", month: time.July, day: 4, observed: "nearest"},
			{name: "Labor Day", month: time.September, weekday: time.Monday, nth: 1},
			{name: "Columbus Day", month: time.October, weekday: time.Monday, nth: 2},
			{name: "Veterans Day", month: time.November, day: 11, observed: "nearest"},
			{name: "Thanksgiving Day", month: time.November, weekday: time.Thursday, nth: 4},
			{name: "Christmas Day", month: time.December, day: 25, observed: "nearest"},
		}
	case "eu-target":
		return []holiday{
			{name: "New Year's Day", month: time.January, day: 1},
			{name: "Good Friday", isEaster: true, easter: -2},
			{name: "Easter Monday", isEaster: true, easter: 1},
			{name: "1 May", month: time.May, day: 1},
			{name: "Christmas Day", month: time.December, day: 25},
			{name: "26 December", month: time.December, day: 26},
		}
	case "england-wales":
		return []holiday{
			{name: "New Year's Day", month: time.January, day: 1, observed: "next"},
			{name: "Good Friday", isEaster: true, easter: -2},
			{name: "Easter Monday", isEaster: true, easter: 1},
			{name: "Early May bank holiday", month: time.May, weekday: time.Monday, nth: 1},
			{name: "Spring bank holiday", month: time.May, weekday: time.Monday, nth: -1},
			{name: "Summer bank holiday", month: time.August, weekday: time.Monday, nth: -1},
			{name: "Christmas Day", month: time.December, day: 25, observed: "next"},
			{name: "Boxing Day", month: time.December, day: 26, observed: "next"},
		}
	}
	return nil
}

// on is the day of the holiday in a year, before it is moved; ok is false when the year has none.
func (h holiday) on(year int) (Day, bool) {
	if h.from > 0 && year < h.from || h.till > 0 && year > h.till {
		return "", false
	}
	switch {
	case h.isEaster:
		return easter(year).AddDays(h.easter), true
	case h.nth > 0:
		first := time.Date(year, h.month, 1, 0, 0, 0, 0, time.UTC)
		return dayOf(first.AddDate(0, 0, (int(h.weekday-first.Weekday())+7)%7+7*(h.nth-1))), true
	case h.nth < 0:
		last := time.Date(year, h.month+1, 0, 0, 0, 0, 0, time.UTC)
		return dayOf(last.AddDate(0, 0, -((int(last.Weekday()-h.weekday) + 7) % 7))), true
	}
	return dayOf(time.Date(year, h.month, h.day, 0, 0, 0, 0, time.UTC)), true
}

// easter is Easter Sunday of the Gregorian calendar (the anonymous algorithm as printed in Meeus, Astronomical Algorithms, ch. 8; from memory).
func easter(y int) Day {
	a, b, c := y%19, y/100, y%100
	h := (19*a + b - b/4 - (b-(b+8)/25+1)/3 + 15) % 30
	l := (32 + 2*(b%4) + 2*(c/4) - h - c%4) % 7
	m := (a + 11*h + 22*l) / 451
	n := h + l - 7*m + 114
	return dayOf(time.Date(y, time.Month(n/31), n%31+1, 0, 0, 0, 0, time.UTC))
}

// BusinessDays knows the days without business: Saturdays, Sundays, a calendar's holidays, and days named one by one.
type BusinessDays struct {
	rules  []holiday
	closed []string
	years  map[int]map[Day]string
}

// NewBusinessDays takes the name of a calendar (unknown or empty = none) and further closed days.
func NewBusinessDays(calendar string, closed []string) *BusinessDays {
	return &BusinessDays{rules: holidays(calendar), closed: closed, years: map[int]map[Day]string{}}
}

// Why names what keeps a day from being one of business, or "".
func (b *BusinessDays) Why(d Day) string {
	switch d.time().Weekday() {
	case time.Saturday:
		return "a Saturday"
	case time.Sunday:
		return "a Sunday"
	}
	if slices.Contains(b.closed, string(d)) {
		return "a closed day"
	}
	return b.year(d.time().Year())[d]
}

// year lists the holidays that fall into a year or are moved into it.
func (b *BusinessDays) year(y int) map[Day]string {
	if have, ok := b.years[y]; ok {
		return have
	}
	all := map[Day]string{}
	b.years[y] = all
	for _, of := range []int{y, y + 1} { // 1 January on a Saturday is kept on 31 December
		for _, h := range b.rules {
			day, ok := h.on(of)
			if ok && h.observed == "" {
				all[day] = h.name
			}
		}
		for _, h := range b.rules {
			day, ok := h.on(of)
			if !ok || h.observed == "" {
				continue
			}
			switch wd := day.time().Weekday(); {
			case h.observed == "nearest" && wd == time.Saturday:
				day = day.AddDays(-1)
			case h.observed == "nearest" && wd == time.Sunday:
				day = day.AddDays(1)
			case h.observed == "next":
				for wd := day.time().Weekday(); wd == time.Saturday || wd == time.Sunday || all[day] != ""; wd = day.time().Weekday() {
					day = day.AddDays(1)
				}
			}
			all[day] = h.name
		}
	}
	return all
}

// LastDay is the last day of a window of n days after day, which is not counted itself. rule is calendar, roll or business
// (see Coverage.DayRule); says tells what was done. Rolling is the rule of FRCP 6(a)(1)(C) and of Reg. 1182/71 art. 3(4).
func (b *BusinessDays) LastDay(day Day, n int, rule string) (last Day, says string) {
	switch rule {
	case "business":
		last = day
		for left := n; left > 0; {
			if last = last.AddDays(1); b.Why(last) == "" {
				left--
			}
		}
		return last, "business days only"
	case "roll":
		last, says = day.AddDays(n), "every day counts"
		for why := b.Why(last); why != ""; why = b.Why(last) {
			if len(says) < 200 {
				says += "; " + string(last) + " is " + why
			}
			last = last.AddDays(1)
		}
		return last, says
	}
	return day.AddDays(n), "every day counts"
}
