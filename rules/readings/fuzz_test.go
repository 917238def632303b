package readings

import (
	"encoding/json"
	"errors"
	"testing"

	"github.com/stretchr/testify/require"
)

// FuzzJudge feeds whole readings as JSON, as they come from a journal or a rule pack. What is
// judged has one of the four outcomes, decimal numbers that read back, and a picture; what is
// refused has a sentence.
func FuzzJudge(f *testing.F) {
	type reading struct {
		Profile    Profile
		Value      Value
		Conditions Conditions
		Instrument *Instrument
	}
	cases := verdictCases(f)
	require.NotEmpty(f, cases)
	for _, c := range cases {
		b, err := json.Marshal(reading{c.Profile, c.Value, c.Conditions, c.Instrument})
		require.NoError(f, err)
		f.Add(b)
	}
	for _, p := range List().Profiles {
		b, err := json.Marshal(reading{Profile: p, Value: Value{Quantity: models[0].reads[0], Value: "12.5", Unit: "kOhm"}})
		require.NoError(f, err)
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		var r reading
		if json.Unmarshal(b, &r) != nil {
			return
		}
		v, err := Judge(r.Profile, r.Value, r.Conditions, r.Instrument)
		if err != nil {
			var e *Error
			if !errors.As(err, &e) || e.Sentence == "" || e.Code == "" {
				t.Fatalf("no sentence: %v", err)
			}
			return
		}
		switch v.Outcome {
		case InTolerance, OutOfTolerance, CannotDecide, NotPlausible:
		default:
			t.Fatalf("no outcome: %+v", v)
		}
		if v.Supports != SupportsYes && v.Supports != SupportsNo && v.Supports != SupportsNeutral {
			t.Fatalf("no support: %+v", v)
		}
		for _, s := range []string{v.Expected, v.Low, v.High, v.Read, v.Uncertainty, v.Margin} {
			if _, ok := number(s); s != "" && !ok {
				t.Fatalf("%q is no number: %+v", s, v)
			}
		}
		again, err := Judge(r.Profile, r.Value, r.Conditions, r.Instrument)
		if err != nil || again.Says != v.Says {
			t.Fatalf("not deterministic: %v", err)
		}
		if _, err := Plot(r.Profile, r.Value, r.Conditions, r.Instrument); err != nil {
			t.Fatalf("judged but not drawn: %v", err)
		}
		if got := Conflicts([]Observed{{ID: "a", Component: v.Component, Value: r.Value, Conditions: r.Conditions, Verdict: &v}}, v.Component); len(got) > len(conflictChecks)+3 {
			t.Fatalf("%d conflicts from one reading", len(got))
		}
	})
}

func BenchmarkParse(b *testing.B) {
	for b.Loop() {
		if _, err := Parse("4k7", Resistance, ""); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkJudge(b *testing.B) {
	for _, name := range []string{"sensor on its curve at 0 °C", "heater well inside with a real meter", "R-600a low side in vacuum"} {
		for _, c := range verdictCases(b) {
			if c.Name != name {
				continue
			}
			b.Run(c.Name, func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					if _, err := Judge(c.Profile, c.Value, c.Conditions, c.Instrument); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}

func BenchmarkConflicts(b *testing.B) {
	var seen []Observed
	for _, c := range verdictCases(b)[:40] {
		v, err := Judge(c.Profile, c.Value, c.Conditions, c.Instrument)
		if err != nil {
			b.Fatal(err)
		}
		seen = append(seen, Observed{ID: c.Name, Component: v.Component, Value: c.Value, Conditions: c.Conditions, Verdict: &v})
	}
	for b.Loop() {
		Conflicts(seen, "defrost-heater", "evaporator-fan")
	}
}
