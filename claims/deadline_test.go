package claims

import (
	"strings"
	"testing"
	"time"

	"github.com/emersion/go-ical"
	"github.com/rickar/cal/v2"
	"github.com/rickar/cal/v2/ecb"
	"github.com/rickar/cal/v2/gb"
	"github.com/rickar/cal/v2/us"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Windows that end on a weekend or holiday, by FRCP 6(a)(1): exclude the day of the event, count every day, and go on from a
// Saturday, Sunday or legal holiday (rule published; the days computed with a calendar).
func TestWindows(t *testing.T) {
	us := NewBusinessDays("us-federal", nil)
	for _, c := range []struct {
		from Day
		days int
		rule string
		want Day
	}{
		{"2024-05-16", 30, "roll", "2024-06-17"},     // Saturday 15 June
		{"2024-05-20", 30, "roll", "2024-06-20"},     // Wednesday 19 June, a federal holiday
		{"2026-06-07", 14, "roll", "2026-06-22"},     // Sunday 21 June
		{"2024-05-16", 30, "calendar", "2024-06-15"}, // plain days
		{"2024-05-16", 30, "", "2024-06-15"},
		{"2025-12-24", 1, "business", "2025-12-26"},  // Christmas Day between (counted by hand)
		{"2025-12-24", 10, "business", "2026-01-09"}, // 26, 29, 30, 31, 2, 5, 6, 7, 8, 9 (counted by hand)
		{"2021-12-23", 1, "business", "2021-12-27"},  // Christmas 2021 is a Saturday and kept on Friday 24
		{"2021-12-30", 1, "business", "2022-01-03"},  // New Year's Day 2022 is a Saturday and kept on 31 December 2021
	} {
		got, says := us.LastDay(c.from, c.days, c.rule)
		assert.Equal(t, c.want, got, "%s + %d %s: %s", c.from, c.days, c.rule, says)
	}
	got, says := NewBusinessDays("none", []string{"2024-06-17", "2024-06-18"}).LastDay("2024-05-16", 30, "roll")
	assert.Equal(t, Day("2024-06-19"), got, "the shop's own closed days count too")
	assert.Contains(t, says, "2024-06-18 is a closed day")
}

// Holidays against an independent calendar library, every day of many years.
func TestHolidaysAgainstLibrary(t *testing.T) {
	for _, c := range []struct {
		calendar  string
		days      []*cal.Holiday
		from, til int
	}{
		{"us-federal", us.Holidays, 2021, 2060},
		{"eu-target", ecb.Holidays, 2005, 2060},
		{"england-wales", gb.Holidays, 2024, 2060},
	} {
		t.Run(c.calendar, func(t *testing.T) {
			lib := cal.NewBusinessCalendar()
			lib.AddHoliday(c.days...)
			mine := NewBusinessDays(c.calendar, nil)
			free := 0
			for day := Day(time.Date(c.from, 1, 1, 0, 0, 0, 0, time.UTC).Format(time.DateOnly)); day.time().Year() < c.til; day = day.AddDays(1) {
				y, m, d := day.time().Date()
				want := !lib.IsWorkday(time.Date(y, m, d, 12, 0, 0, 0, time.UTC))
				require.Equal(t, want, mine.Why(day) != "", "%s: %q", day, mine.Why(day))
				if want {
					free++
				}
			}
			assert.Greater(t, free, 104*(c.til-c.from), "weekends and some")
		})
	}
}

// The last second of a day where the clocks are changed at midnight, by the IANA time zone database: in São Paulo midnight of
// 4 November 2018 did not exist and 17 February 2018 had its last hour twice; St. John's went back at one minute past
// midnight; Cairo's midnight of 28 April 2023 did not exist.
func TestEndOfDay(t *testing.T) {
	for _, c := range []struct {
		zone string
		day  Day
		want string
	}{
		{"America/Sao_Paulo", "2018-11-03", "2018-11-03T23:59:59-03:00"},
		{"America/Sao_Paulo", "2018-11-04", "2018-11-04T23:59:59-02:00"},
		{"America/Sao_Paulo", "2018-02-17", "2018-02-17T23:59:59-03:00"},
		{"America/St_Johns", "2010-11-06", "2010-11-06T23:59:59-03:30"},
		{"Africa/Cairo", "2023-04-27", "2023-04-27T23:59:59+02:00"},
		{"America/Nuuk", "2024-03-30", "2024-03-30T22:59:59-02:00"}, // 23:00 was followed by 00:00 of the next day
		{"America/Havana", "2024-11-02", "2024-11-02T23:59:59-04:00"},
		{"America/New_York", "2024-03-10", "2024-03-10T23:59:59-04:00"},
		{"America/New_York", "2024-11-03", "2024-11-03T23:59:59-05:00"},
		{"Asia/Kathmandu", "2026-02-28", "2026-02-28T23:59:59+05:45"},
		{"UTC", "2024-12-31", "2024-12-31T23:59:59Z"},
	} {
		zone, err := time.LoadLocation(c.zone)
		require.NoError(t, err)
		assert.Equal(t, c.want, c.day.end(zone).Format(time.RFC3339), "%s in %s", c.day, c.zone)
	}
	rapid.Check(t, func(t *rapid.T) {
		zone, err := time.LoadLocation(rapid.SampledFrom([]string{"America/Sao_Paulo", "America/St_Johns", "Africa/Cairo", "America/Havana", "Asia/Beirut", "Australia/Lord_Howe", "America/New_York", "Asia/Tehran"}).Draw(t, "zone"))
		require.NoError(t, err)
		day := Day("1995-01-01").AddDays(rapid.IntRange(0, 12000).Draw(t, "day"))
		end := day.end(zone)
		require.Equal(t, day, DayAt(end, zone), "the last second lies on the day")
		for after := time.Second; after < 3*time.Hour; after += 7 * time.Minute {
			require.Greater(t, DayAt(end.Add(after), zone), day, "and the day does not come back")
		}
	})
}

func TestDeadlineList(t *testing.T) {
	c := Coverage{Kind: "maker-warranty", SubmitDays: 30, ReturnDays: 10, DayRule: "roll", Holidays: "us-federal"}
	es := []Kept{
		made(t, 1, KindSite, 0, Site{Zone: "America/New_York"}), made(t, 2, KindCoverage, 1, c), made(t, 3, KindArrive, 2, Step{}),
		made(t, 4, KindPart, 3, Part{Component: "belt", Action: "replaced", Held: "held"}), made(t, 5, KindLeave, 60, Leave{}),
	}
	j := Fold(es)
	list := j.Deadlines()
	require.Len(t, list, 2)
	assert.Equal(t, "return", list[0].Code)
	assert.Equal(t, Day("2026-03-16"), list[0].Day, "14 March 2026 is a Saturday")
	assert.Contains(t, list[0].Says, "2026-03-14 is a Saturday")
	assert.Contains(t, list[0].Entries, testID(4))
	assert.Equal(t, Day("2026-04-03"), list[1].Day, "4 March and 30 days, a Friday")

	asked := made(t, 20, KindPartReturn, 5*24*60, PartReturn{Part: testID(4), Held: "requested"})
	j = Fold(append(es, asked))
	assert.Equal(t, Day("2026-03-19"), j.Deadlines()[0].Day, "10 days from 9 March, when the payer asked for it")
	assert.Contains(t, j.Deadlines()[0].Entries, testID(20))
	until, ok := j.ReturnBy()
	require.True(t, ok)
	assert.Equal(t, Day("2026-03-19"), until)

	shipped := made(t, 6, KindPartReturn, 70, PartReturn{Part: testID(4), Held: "shipped", Tracking: "T-1"})
	sent := made(t, 7, KindSend, 80, Send{To: "payer"})
	refused := made(t, 8, KindAnswer, 90, Answer{Outcome: "refused", Reason: "late", ReplyBy: "2026-05-01"})
	j = Fold(append(es, shipped, sent, refused))
	list = j.Deadlines()
	require.Len(t, list, 1)
	assert.Equal(t, "answer-payer", list[0].Code)
	nameless := made(t, 8, KindAnswer, 90, Answer{Outcome: "refused", Reason: "late"})
	window := made(t, 21, KindCoverage, 1, Coverage{AnswerDays: 30})
	j = Fold(append(es, shipped, sent, nameless, window))
	require.Len(t, j.Deadlines(), 1)
	assert.Equal(t, Day("2026-04-03"), j.Deadlines()[0].Day, "30 days from the answer on 4 March")
	again := made(t, 9, KindSend, 95, Send{To: "payer"})
	j = Fold(append(es, shipped, sent, refused, again))
	assert.Empty(t, j.Deadlines(), "it was answered")
	versions := j.Versions()
	require.Len(t, versions, 2)
	assert.Len(t, versions[0].Answers, 1)
	assert.Empty(t, versions[1].Answers)
	j = Fold(append(es, shipped, sent, refused, made(t, 10, KindSettle, 96, Settle{Outcome: "written-off", Reason: "not worth it"})))
	assert.Equal(t, "settled", j.Stage())
	assert.Empty(t, j.Deadlines())
	j = Fold(append(es, shipped, made(t, 10, KindSettle, 96, Settle{Outcome: "withdrawn", Reason: "the customer pays after all"})))
	assert.Empty(t, j.Deadlines(), "nothing is sent any more")
}

func dueJobs() []DueJob {
	return []DueJob{
		{Due: Due{Code: "submit", Day: "2026-02-28", What: "send the claim"}, Job: testJob, Number: `K-1; "a, b\c"`, UnitKind: "dryer-gas",
			Payer: "Seehaus Verträge, Wärme & Kälte — ein recht langer Name für eine Zeile; mit Strichpunkt\r\nund zweiter Zeile", Amount: Money{Minor: 55803, Currency: "USD"}},
		{Due: Due{Code: "return", Day: "2026-12-31", What: "return the old part"}, Job: testJob, Number: strings.Repeat("長い番号", 40)},
	}
}

// The feed is read by an independent parser (emersion/go-ical) and checked line by line against RFC 5545 section 3.1.
func TestCalendarFeed(t *testing.T) {
	feed := CalendarFeed(testShop, "Corner, Shop", time.Date(2026, 3, 4, 9, 0, 0, 0, time.FixedZone("", -5*3600)), dueJobs())
	// RFC 5545 section 3.3.11: semicolon, comma and backslash are escaped (a lenient parser would not mind).
	unfolded := strings.ReplaceAll(string(feed), "\r\n ", "")
	assert.Contains(t, unfolded, `X-WR-CALNAME:Corner\, Shop: deadlines`)
	assert.Contains(t, unfolded, `SUMMARY:Send the claim: K-1\; "a\, b\\c" dryer gas`)
	for _, line := range strings.SplitAfter(strings.TrimSuffix(string(feed), "\r\n"), "\r\n") {
		body := strings.TrimSuffix(line, "\r\n")
		assert.LessOrEqual(t, len(body), 75, "%q", line)
		assert.NotContains(t, body, "\n")
		assert.Equal(t, body, strings.ToValidUTF8(body, "?"), "folded inside a character")
	}
	c, err := ical.NewDecoder(strings.NewReader(string(feed))).Decode()
	require.NoError(t, err)
	version, err := c.Props.Text(ical.PropVersion)
	require.NoError(t, err)
	assert.Equal(t, "2.0", version)
	events := c.Events()
	require.Len(t, events, 2)
	for i, want := range dueJobs() {
		e := events[i]
		summary, err := e.Props.Text(ical.PropSummary)
		require.NoError(t, err)
		assert.Contains(t, summary, want.Number)
		start, err := e.DateTimeStart(time.UTC)
		require.NoError(t, err)
		assert.Equal(t, string(want.Day), start.Format(time.DateOnly))
		end, err := e.DateTimeEnd(time.UTC)
		require.NoError(t, err)
		assert.Equal(t, 24*time.Hour, end.Sub(start))
		stamp, err := e.Props.DateTime(ical.PropDateTimeStamp, time.UTC)
		require.NoError(t, err)
		assert.Equal(t, time.Date(2026, 3, 4, 14, 0, 0, 0, time.UTC), stamp)
	}
	says, err := events[0].Props.Text(ical.PropDescription)
	require.NoError(t, err)
	assert.Contains(t, says, "Wärme & Kälte — ein recht langer Name für eine Zeile; mit Strichpunkt\nund zweiter Zeile")
	assert.Contains(t, says, "558.03 USD")
	require.NoError(t, ical.NewEncoder(&strings.Builder{}).Encode(c), "what was read is complete enough to be written again")
}

// Any text comes through the feed as it went in, save control characters.
func TestCalendarFeedText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		payer := rapid.String().Draw(t, "payer")
		want := strings.Map(func(r rune) rune {
			if r == '\r' || r == '\n' {
				return '\n'
			}
			if r < ' ' && r != '\t' || r == 0x7f {
				return -1
			}
			return r
		}, strings.ReplaceAll(payer, "\r\n", "\n"))
		d := DueJob{Due: Due{Code: "submit", Day: "2026-02-28", What: "send"}, Job: testJob, Payer: payer}
		c, err := ical.NewDecoder(strings.NewReader(string(CalendarFeed(testShop, "n", nineOClock, []DueJob{d})))).Decode()
		require.NoError(t, err)
		says, err := c.Events()[0].Props.Text(ical.PropDescription)
		require.NoError(t, err)
		if payer != "" {
			require.Equal(t, "Last day at the site.\nPayer: "+want, says)
		}
	})
}
