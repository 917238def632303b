package rules

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Day numbers since 1970-01-01: 0 by definition of POSIX time; 2000-03-01 is 11017 and 2038-01-19 is 24855 (2^31 seconds), both
// from memory; 1969-12-31 is the day before day 0.
func TestDays(t *testing.T) {
	for s, want := range map[string]day{"1970-01-01": 0, "1969-12-31": -1, "2000-03-01": 11017, "2038-01-19": 24855} {
		d, ok := parseDay(s)
		require.True(t, ok, s)
		assert.Equal(t, want, d, s)
		assert.Equal(t, s, d.String())
	}
	for _, s := range []string{"", "2025-13-01", "2025-02-30", "2025-2-3", "12.6.2025", "2025-06-12T00:00:00Z", "99999-01-01"} {
		_, ok := parseDay(s)
		assert.False(t, ok, "%q", s)
	}
}

func TestDaysAreNeighbours(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at := time.Unix(rapid.Int64Range(-60_000_000_000, 200_000_000_000).Draw(t, "at"), 0).In(time.FixedZone("", rapid.IntRange(-50000, 50000).Draw(t, "offset")))
		d := dayOf(at)
		assert.Equal(t, at.Format(time.DateOnly), d.String())
		y, m, dd := at.Date()
		assert.Equal(t, d+1, dayOf(time.Date(y, m, dd+1, 12, 0, 0, 0, at.Location())))
	})
}

func TestParseWhen(t *testing.T) {
	for s, want := range map[string]when{
		"now": {now: true}, "arrived": {event: "arrived"}, "last left": {event: "left", last: true}, "first sent": {event: "sent"}, "coverage.start": {date: "coverage.start"},
	} {
		w, ok := parseWhen(s, false)
		assert.True(t, ok, s)
		assert.Equal(t, want, w, s)
	}
	w, ok := parseWhen("work-finished", true)
	assert.True(t, ok)
	assert.True(t, w.last, "the default decides when neither first nor last is said")
	for _, s := range []string{"", "arived", "second arrived", "last", "first coverage.start", "last now"} {
		_, ok := parseWhen(s, false)
		assert.False(t, ok, "%q", s)
	}
}

func TestVisits(t *testing.T) {
	at := func(h int) time.Time { return time.Date(2025, 6, 12, h, 0, 0, 0, time.UTC) }
	m := func(hours ...int) (out []Moment) {
		for _, h := range hours {
			out = append(out, Moment{At: at(h)})
		}
		return out
	}
	assert.Empty(t, visitsOf(nil, m(9)), "leaving alone is no visit")
	v := visitsOf(m(9, 13), m(11, 15))
	require.Len(t, v, 2)
	assert.True(t, v[0].holds(at(9)) && v[0].holds(at(11)) && !v[0].holds(at(12)))
	assert.True(t, v[1].holds(at(13)) && !v[1].holds(at(16)))
	v = visitsOf(m(9, 13), m(15))
	require.Len(t, v, 2)
	assert.True(t, v[0].to.IsZero(), "a departure after the next arrival belongs to that one")
	assert.Equal(t, at(15), v[1].to)
}
