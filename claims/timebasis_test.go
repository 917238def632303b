package claims

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Each case is a story that happens to phones; the expected answer follows from the rules stated at TimeBasis.
func TestTimeBasis(t *testing.T) {
	taken := time.Date(2026, 3, 4, 9, 12, 33, 0, time.FixedZone("", -5*3600))
	measured := &Clock{OffsetMs: -400, UncertaintyMs: 60}
	exif := func(local, offset, gps string) *PhotoFacts {
		return &PhotoFacts{Taken: &ExifTime{Local: local, Fraction: "12", Offset: offset, GPSUTC: gps}}
	}
	good := exif("2026-03-04T09:12:33", "-05:00", "")
	for _, c := range []struct {
		name     string
		at       time.Time
		clock    *Clock
		facts    *PhotoFacts
		source   string
		received time.Duration // after at; 0 = not received
		before   time.Duration // the entry before, relative to at
		want     string
		says     []string
	}{
		{"AllAgree", taken, measured, good, "camera", 3 * time.Second, 0, Corroborated, []string{"EXIF agrees", "measured against the server to 60 ms"}},
		{"SentTwoDaysLater", taken, measured, good, "camera", 49 * time.Hour, 0, Corroborated, []string{"received 2 days 1 h later"}},
		{"ClockNeverMeasured", taken, nil, good, "camera", 3 * time.Second, 0, Consistent, []string{"not measured"}},
		{"NotSentYet", taken, measured, good, "camera", 0, 0, Consistent, []string{"not sent yet"}},
		{"ExifWithoutZone", taken, measured, exif("2026-03-04T09:12:33", "", ""), "camera", 3 * time.Second, 0, Corroborated, []string{"EXIF has no zone, its local time agrees"}},
		{"ExifWithoutZoneSentLate", taken, measured, exif("2026-03-04T09:12:33", "", ""), "camera", 30 * time.Hour, 0, Consistent, []string{"EXIF has no zone"}},
		{"TravelledOverAZone", taken, measured, exif("2026-03-04T08:12:33", "", ""), "camera", 3 * time.Second, 0, Consistent, []string{"differs by 60 min", "time zone"}},
		{"ClocksWentForward", taken, measured, exif("2026-03-04T10:12:33", "", ""), "camera", 3 * time.Second, 0, Consistent, []string{"change of clocks"}},
		{"ExifOffByMinutes", taken, measured, exif("2026-03-04T08:40:00", "", ""), "camera", 3 * time.Second, 0, Conflicting, []string{"33 min apart"}},
		{"ExifOffByDays", taken, measured, exif("2026-02-27T09:12:33", "-05:00", ""), "camera", 3 * time.Second, 0, Conflicting, []string{"5 days"}},
		{"PhoneThreeHoursFastAndKnown", taken, &Clock{OffsetMs: 3 * 3600_000, UncertaintyMs: 80}, good, "camera", -3*time.Hour + 3*time.Second, 0, Corroborated, []string{"3 h 0 min fast"}},
		{"PhoneThreeHoursFastAndUnknown", taken, nil, good, "camera", -3 * time.Hour, 0, Conflicting, []string{"had arrived already"}},
		{"NoExif", taken, measured, &PhotoFacts{}, "camera", 3 * time.Second, 0, Consistent, []string{"no EXIF time"}},
		{"NoExifSentLate", taken, measured, &PhotoFacts{}, "camera", 3 * time.Hour, 0, SingleSource, []string{"Only the phone's clock"}},
		{"ClockSetBackBetweenEntries", taken, measured, good, "camera", 3 * time.Second, time.Hour, Conflicting, []string{"the clock was changed in between"}},
		{"GalleryDaysOld", taken, measured, exif("2026-03-01T18:00:00", "-05:00", ""), "gallery", 3 * time.Second, 0, SingleSource, []string{"Only EXIF", "chosen from the gallery 2 days 15 h later"}},
		{"GalleryWithGPSClock", taken, measured, exif("2026-03-01T18:00:00", "-05:00", "2026-03-01T22:59:58Z"), "gallery", 3 * time.Second, 0, Consistent, []string{"GPS clock"}},
		{"GalleryGPSFixesTheZone", taken, measured, exif("2026-03-01T18:00:00", "", "2026-03-01T22:59:58Z"), "gallery", 3 * time.Second, 0, Consistent, []string{"18:00:00 -05:00"}},
		{"GalleryNoZone", taken, measured, exif("2026-03-01T18:00:00", "", ""), "gallery", 3 * time.Second, 0, SingleSource, []string{"without a zone, so the moment is not known"}},
		{"Screenshot", taken, measured, &PhotoFacts{}, "gallery", 3 * time.Second, 0, SingleSource, []string{"screenshots", "only that it was here"}},
		{"GalleryFromTheFuture", taken, measured, exif("2026-03-05T18:00:00", "-05:00", ""), "gallery", 3 * time.Second, 0, Conflicting, []string{"chosen from the gallery already"}},
		{"GPSContradicts", taken, measured, exif("2026-03-04T09:12:33", "-05:00", "2026-03-03T02:00:00Z"), "camera", 3 * time.Second, 0, Conflicting, []string{"contradict each other"}},
		{"ReadersDisagree", taken, measured, &PhotoFacts{Taken: good.Taken, Disagreements: []string{"DateTimeOriginal: A, B"}}, "camera", 3 * time.Second, 0, Conflicting, []string{"Two readers"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			it := &Item[Photo]{At: c.at, Clock: c.clock, Body: Photo{Source: c.source}}
			if c.received != 0 {
				it.Received = c.at.Add(c.received)
			}
			w := timeWitness{item: it, facts: c.facts}
			if c.before != 0 {
				w.before = c.at.Add(c.before)
			}
			got := w.judge()
			assert.Equal(t, c.want, got.Basis, got.Says)
			for _, s := range c.says {
				assert.Contains(t, got.Says, s)
			}
		})
	}
}

// Documents from others are received, neither trusted nor doubted.
func TestTimeBasisOfOthers(t *testing.T) {
	it := &Item[Photo]{At: nineOClock, Received: nineOClock, Body: Photo{From: "customer"}}
	got := timeWitness{item: it}.judge()
	assert.Equal(t, SingleSource, got.Basis)
	assert.True(t, got.At.IsZero())
	require.Contains(t, got.Says, "somebody else")
}
