package packs

import (
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"kickplate/rules"
)

// fullJob is a job with 60 photos and 40 readings on the refrigerator pack.
func fullJob(tb testing.TB) (*Pack, *rules.Facts) {
	set, err := Default()
	require.NoError(tb, err)
	p, ok := set.Get("generic-maker-warranty-refrigerator")
	require.True(tb, ok)
	var f rules.Facts
	for i := range p.Cases {
		if p.Cases[i].Name == "heater replaced" {
			f = p.Cases[i].Facts
		}
	}
	require.NotEmpty(tb, f.Photos)
	subjects := rules.Subjects()
	start := f.Events["arrived"][0].At
	for i := 0; len(f.Photos) < 60; i++ {
		f.Photos = append(f.Photos, rules.Photo{
			Entry: fmt.Sprintf("photo-%d", i), Subject: subjects[i%len(subjects)].ID, At: start.Add(time.Duration(i) * time.Minute),
			TimeBasis: "corroborated", Place: "at-site", Width: 4000, Height: 3000, Sharp: "yes", Dark: "no", Bright: "no",
			Codes: []string{"0123456789012"},
		})
	}
	components := rules.Components()
	for i := 0; len(f.Readings) < 40; i++ {
		f.Readings = append(f.Readings, rules.Reading{
			Entry: fmt.Sprintf("reading-%d", i), Component: components[i%len(components)].ID, Quantity: "resistance", Value: "32.1", Unit: "Ohm",
			Moment: "as-found", At: start.Add(time.Duration(i) * time.Minute), Outcome: "in-tolerance", Supports: "no",
		})
	}
	return p, &f
}

// A check of 60 photos and 40 readings is to take at most 100 µs on a desktop machine; the benchmark reports it.
func BenchmarkCheck(b *testing.B) {
	p, f := fullJob(b)
	b.ReportAllocs()
	for b.Loop() {
		r := rules.Check(p.Compiled, f)
		if len(r.Findings) < 80 {
			b.Fatal("the pack is not full")
		}
	}
}

func BenchmarkWanted(b *testing.B) {
	p, f := fullJob(b)
	for b.Loop() {
		rules.Wanted(p.Compiled, f)
	}
}

func BenchmarkReportJSON(b *testing.B) {
	p, f := fullJob(b)
	r := rules.Check(p.Compiled, f)
	for b.Loop() {
		if _, err := json.Marshal(r); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkDefault(b *testing.B) {
	for b.Loop() {
		if _, err := Default(); err != nil {
			b.Fatal(err)
		}
	}
}
