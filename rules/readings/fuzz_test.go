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
		holds(t, r.Profile, r.Value, r.Conditions, r.Instrument)
	})
}

// FuzzJudgeNumbers keeps the cases and changes their numbers, which random JSON seldom does.
func FuzzJudgeNumbers(f *testing.F) {
	cases := verdictCases(f)
	for i, c := range cases {
		f.Add(i, c.Value.Value, "-18.5", 5.0)
	}
	f.Add(0, "0", "-273.15", 0.0)
	f.Add(30, "999999999999999", "1000000", -1.0)
	f.Fuzz(func(t *testing.T, i int, value, cel string, x float64) {
		c := cases[((i%len(cases))+len(cases))%len(cases)]
		if c.Value.State == "" {
			c.Value.Value = value
		}
		c.Conditions.PartTemperature = temp(cel, "Cel")
		if p, err := c.Profile.Resolve(); err == nil {
			p.TolerancePercent = x
			p.RatedWatts += x
			if p.High != nil {
				*p.High += x
			}
			holds(t, p, c.Value, c.Conditions, c.Instrument)
		}
		holds(t, c.Profile, c.Value, c.Conditions, c.Instrument)
	})
}

// holds is what is true of every reading that is judged, and of every one that is refused.
func holds(t *testing.T, p Profile, value Value, conditions Conditions, inst *Instrument) {
	t.Helper()
	v, err := Judge(p, value, conditions, inst)
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
	again, err := Judge(p, value, conditions, inst)
	if err != nil || again.Says != v.Says {
		t.Fatalf("not deterministic: %v", err)
	}
	if _, err := Plot(p, value, conditions, inst); err != nil {
		t.Fatalf("judged but not drawn: %v", err)
	}
	if got := Conflicts([]Observed{{ID: "a", Component: v.Component, Value: value, Conditions: conditions, Verdict: &v}}, v.Component); len(got) > len(conflictChecks)+3 {
		t.Fatalf("%d conflicts from one reading", len(got))
	}
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
