package claims_test

import (
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
	"kickplate/rules"
	"kickplate/rules/packs"
	"kickplate/rules/readings"
)

// What a pack says about judging a reading must be something the component models understand.
func TestPacksNameProfilesThatExist(t *testing.T) {
	set, err := packs.Default()
	require.NoError(t, err)
	for _, p := range set.All() {
		for _, plan := range p.Pack().Readings {
			if len(plan.Profile) == 0 {
				continue
			}
			t.Run(p.Pack().ID+"/"+plan.ID, func(t *testing.T) {
				var profile readings.Profile
				require.NoError(t, json.Unmarshal(plan.Profile, &profile), plan.Origin)
				_, err := profile.Resolve()
				require.NoError(t, err, plan.Origin)
				unit := readings.Quantity(plan.Quantity).DefaultUnit()
				if len(plan.Units) > 0 {
					unit = readings.Unit(plan.Units[0])
				}
				// Some verdict or a refusal in words, never a profile that can't be used.
				_, _, err = claims.Judge(claims.Reading{Component: plan.Component, Quantity: plan.Quantity, Value: "1", Unit: string(unit)}, p.Pack())
				if e, ok := err.(*readings.Error); ok {
					assert.NotEqual(t, readings.CodeBadProfile, e.Code, plan.Origin)
					assert.NotEqual(t, readings.CodeUnknownModel, e.Code, plan.Origin)
				}
			})
		}
	}
}

func TestJudge(t *testing.T) {
	heater := json.RawMessage(`{"model":"resistive-heater","ratedVolts":120,"ratedWatts":450,"tolerancePercent":10}`)
	isolated := json.RawMessage(`{"circuit":"isolated"}`)
	for _, c := range []struct {
		name     string
		reading  claims.Reading
		outcome  readings.Outcome
		supports readings.Support
	}{
		// V²/P = 120²/450 = 32 Ω (Ohm's law); ±10 % is common practice, no source.
		{"Good", claims.Reading{Component: "defrost-heater", Quantity: "resistance", Value: "32.1", Unit: "Ohm", Profile: heater, Conditions: isolated}, readings.InTolerance, readings.SupportsNo},
		{"Open", claims.Reading{Component: "defrost-heater", Quantity: "resistance", State: "over-range", Profile: heater, Conditions: isolated}, readings.OutOfTolerance, readings.SupportsYes},
	} {
		t.Run(c.name, func(t *testing.T) {
			v, ok, err := claims.Judge(c.reading, nil)
			require.NoError(t, err)
			require.True(t, ok)
			assert.Equal(t, c.outcome, v.Outcome)
			assert.Equal(t, c.supports, v.Supports)
		})
	}
	_, ok, err := claims.Judge(claims.Reading{Quantity: "resistance", Value: "1", Unit: "Ohm"}, nil)
	require.NoError(t, err)
	assert.False(t, ok, "no profile, no verdict")
	_, _, err = claims.Judge(claims.Reading{Quantity: "resistance", Value: "1", Unit: "V"}, nil)
	require.Error(t, err, "a resistance in volts")
}

// visit60x40 is a job with 60 photos and 40 readings, folded.
func visit60x40(tb testing.TB) claims.Job {
	var kept []claims.Kept
	add := func(kind claims.Kind, body any) claims.EntryID {
		n := len(kept)
		line := raw(tb, kind, body, func(e *claims.Entry) {
			e.At = nine.Add(time.Duration(n) * time.Minute)
			e.Seq = uint64(n + 1)
		})
		e, err := claims.ParseEntry(line)
		if n > 0 && err != nil {
			var plain claims.Entry
			require.NoError(tb, json.Unmarshal(line, &plain))
			e = plain
		}
		kept = append(kept, claims.Kept{Entry: e, Raw: line, Received: e.At.Add(time.Second)})
		return e.ID
	}
	add(claims.KindOpen, claims.Open{Number: "K-1", Complaint: "warm"})
	add(claims.KindUnit, claims.Unit{Kind: "refrigerator", Model: "M-1", Serial: "SN-0042", Usage: "household"})
	add(claims.KindCoverage, claims.Coverage{Kind: "maker-warranty", Purchased: "2025-06-01", StartEvent: "purchase", TermMonths: 24, SubmitDays: 30})
	add(claims.KindArrive, claims.Step{})
	subjects := rules.Subjects()
	for i := range 60 {
		d := claims.DigestOf(fmt.Appendf(nil, "%d", i))
		add(claims.KindPhoto, claims.Photo{Digest: d, Bytes: 1, Subject: subjects[i%len(subjects)].ID, Component: "defrost-heater", Source: "camera"})
		add(claims.KindExamined, claims.PhotoFacts{Digest: d, Width: 4032, Height: 3024, Type: "image/jpeg", Sharp: "yes", Dark: "no", Bright: "no", Examiner: "b",
			Taken: &claims.ExifTime{Local: "2026-03-04T09:00:00", Offset: "-05:00"}})
	}
	for i := range 40 {
		moment := []string{"as-found", "as-left"}[i%2]
		add(claims.KindReading, claims.Reading{Component: "defrost-heater", Quantity: "resistance", Value: "32.1", Unit: "Ohm", Moment: moment,
			Profile: json.RawMessage(`{"model":"resistive-heater","ratedVolts":120,"ratedWatts":450}`), Conditions: json.RawMessage(`{"circuit":"isolated"}`)})
	}
	add(claims.KindPart, claims.Part{Component: "defrost-heater", Action: "replaced", Number: "P-9", Held: "held"})
	add(claims.KindLeave, claims.Leave{})
	return claims.Fold(kept)
}

func BenchmarkFacts60x40(b *testing.B) {
	set, err := packs.Default()
	require.NoError(b, err)
	p, ok := set.Pick("refrigerator", "maker-warranty")
	require.True(b, ok)
	j := visit60x40(b)
	b.ReportAllocs()
	for b.Loop() {
		claims.FactsOf(&j, p.Pack(), nine)
	}
}

func BenchmarkCheck60x40(b *testing.B) {
	set, err := packs.Default()
	require.NoError(b, err)
	p, ok := set.Pick("refrigerator", "maker-warranty")
	require.True(b, ok)
	j := visit60x40(b)
	f := claims.FactsOf(&j, p.Pack(), nine)
	require.Len(b, f.Photos, 60)
	require.Len(b, f.Readings, 40)
	b.ReportAllocs()
	for b.Loop() {
		rules.Check(p.Compiled, &f)
	}
}

// A heater that reads well does not support replacing it; the part is flagged and the deciding reading asked for
// (common practice, no source).
func TestConflictsOf(t *testing.T) {
	var kept []claims.Kept
	for i, line := range []json.RawMessage{
		raw(t, claims.KindReading, claims.Reading{Component: "defrost-heater", Quantity: "resistance", Value: "32.1", Unit: "Ohm", Moment: "as-found",
			Profile: json.RawMessage(`{"model":"resistive-heater","ratedVolts":120,"ratedWatts":450,"tolerancePercent":10}`), Conditions: json.RawMessage(`{"circuit":"isolated"}`)}),
		raw(t, claims.KindSign, claims.Sign{Component: "evaporator-coil", Sign: string(readings.SignDefrostEndsEarly)}),
		raw(t, claims.KindPart, claims.Part{Component: "defrost-heater", Action: "replaced"}),
	} {
		e, err := claims.ParseEntry(line)
		require.NoError(t, err)
		e.At = nine.Add(time.Duration(i) * time.Minute)
		kept = append(kept, claims.Kept{Entry: e, Raw: line})
	}
	j := claims.Fold(kept)
	require.Len(t, j.Signs, 1)
	ids := map[string]readings.Conflict{}
	for _, c := range claims.ConflictsOf(&j, nil) {
		ids[c.ID] = c
	}
	require.Contains(t, ids, "unsupported-part")
	assert.Equal(t, "contradicted", ids["unsupported-part"].Unsupported)
	assert.NotEmpty(t, ids["unsupported-part"].Ask)
	require.Contains(t, ids, "heater-good-defrost-ends-early")
}

// Packs speak of quantities by the words of rules, readings are judged by those of rules/readings: they must be the same words.
func TestOneVocabularyOfQuantities(t *testing.T) {
	var ours, theirs []string
	for _, q := range rules.Quantities() {
		ours = append(ours, q.ID)
	}
	for _, q := range readings.List().Quantities {
		theirs = append(theirs, string(q.Quantity))
	}
	assert.ElementsMatch(t, theirs, ours)
}
