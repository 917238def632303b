package claims

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestAddMonths(t *testing.T) {
	for _, c := range []struct {
		start  Day
		months int
		want   Day
		source string
	}{
		{"2024-02-29", 12, "2025-02-28", "Reg. (EEC, Euratom) 1182/71 art. 3: no such day, so the last of the month"},
		{"2008-02-29", 12, "2009-02-28", "java.time documentation, LocalDate.plusYears"},
		{"2024-02-29", 48, "2028-02-29", "computed: the day exists"},
		{"2024-02-29", 60, "2029-02-28", "Reg. 1182/71 art. 3"},
		{"2023-03-01", 12, "2024-03-01", "computed: the day exists"},
		{"2024-01-31", 1, "2024-02-29", "Reg. 1182/71 art. 3"},
		{"2023-01-31", 1, "2023-02-28", "Reg. 1182/71 art. 3"},
		{"2024-08-31", 6, "2025-02-28", "Reg. 1182/71 art. 3"},
		{"2024-10-31", 1, "2024-11-30", "Reg. 1182/71 art. 3"},
		{"2025-12-31", 2, "2026-02-28", "Reg. 1182/71 art. 3"},
		{"1978-09-30", 4, "1979-01-30", "Dodds v Walker [1981] UKHL, the corresponding-date rule (from memory)"},
	} {
		assert.Equal(t, c.want, c.start.AddMonths(c.months), "%s + %d months: %s", c.start, c.months, c.source)
	}
}

// The site's local date decides: late on 1 March in New York is 2 March in UTC (RFC 3339 arithmetic).
func TestDayAt(t *testing.T) {
	ny, err := time.LoadLocation("America/New_York")
	require.NoError(t, err)
	at, err := time.Parse(time.RFC3339, "2024-03-01T23:30:00-05:00")
	require.NoError(t, err)
	assert.Equal(t, Day("2024-03-01"), DayAt(at, ny))
	assert.Equal(t, Day("2024-03-02"), DayAt(at, time.UTC))
}

func TestDeadlines(t *testing.T) {
	left := made(t, 3, KindLeave, 0, Leave{}, func(e *Entry) { e.At = time.Date(2026, 3, 4, 23, 30, 0, 0, time.FixedZone("", -5*3600)) })
	j := Fold([]Kept{
		made(t, 1, KindSite, 0, Site{Zone: "America/New_York"}),
		made(t, 2, KindCoverage, 1, Coverage{SubmitDays: 30, ReturnDays: 10}),
		made(t, 4, KindArrive, 2, Step{}), left,
		made(t, 5, KindPart, 3, Part{Component: "defrost-heater", Action: "replaced", Held: "held"}),
	})
	submit, ok := j.SubmitBy()
	require.True(t, ok)
	assert.Equal(t, Day("2026-04-03"), submit, "30 days from 4 March at the site, the day itself not counted (FRCP 6(a)(1)(A))")
	due, ok := j.NextDue()
	require.True(t, ok)
	assert.Equal(t, "return the old part", due.What)
	assert.Equal(t, "2026-03-14T23:59:59-04:00", due.At.Format(time.RFC3339), "the end of the day at the site, after the clocks went forward on 8 March")
}
