package rules

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func wantedPack(t *testing.T) *Compiled {
	text := func(r Requirement, id, stage string) Requirement {
		r.ID, r.Stage, r.Title, r.Why, r.Cure, r.Origin = id, stage, "T "+id, "Why.", "Cure.", "x.yaml:7"
		return r
	}
	c, err := Compile(&Pack{
		ID: "p", Version: "2", Title: "P",
		Cautions: []Caution{
			{ID: "mains", Title: "Mains", Text: "Unplug.", Before: "measure"},
			{ID: "refrigerant", Title: "Refrigerant", Text: "Certified people only.", Before: "repair", When: &Condition{Replaced: []string{"compressor"}}},
		},
		Readings: []ReadingPlan{
			{ID: "heater-ohms", Title: "Heater", Component: "defrost-heater", Quantity: "resistance", Units: []string{"Ohm"}, Profile: json.RawMessage(`{"name":"x","volts":120.0}`)},
			{ID: "fan-volts", Title: "Fan", Component: "evaporator-fan", Quantity: "voltage-dc"},
		},
		Requirements: []Requirement{
			text(Requirement{Field: &FieldRule{Name: "narrative.cause"}}, "cause", "repair"),
			text(Requirement{Photo: &PhotoRule{Subject: []string{"surroundings", "floor"}, Before: "first work-started"}}, "floor", "arrive"),
			text(Requirement{Photo: &PhotoRule{Subject: []string{"after-repair"}, After: "last work-finished"}}, "after", "prove"),
			text(Requirement{Per: PerReplacedPart, Reading: &ReadingRule{Component: PerReplacedPart, Moment: "as-found", Supports: true}}, "reading", "measure"),
			text(Requirement{Per: PerReplacedPart, Severity: Advised, Photo: &PhotoRule{Subject: []string{"failed-part"}, Component: PerReplacedPart}}, "failed", "repair"),
			text(Requirement{Acknowledgement: &AckRule{About: "work-done"}}, "sign", "leave"),
			text(Requirement{Caution: &CautionRule{ID: "mains"}}, "mains", "measure"),
			text(Requirement{When: &Condition{Unit: []string{"washer"}}, Field: &FieldRule{Name: "unit.serial"}}, "serial", "look"),
		},
	})
	require.NoError(t, err)
	return c
}

func TestWanted(t *testing.T) {
	c := wantedPack(t)
	at := time.Date(2025, 6, 12, 9, 0, 0, 0, time.UTC)
	f := &Facts{Now: at.Add(time.Hour), Events: map[string][]Moment{"work-started": {{At: at, Entry: "s"}}}}
	var ids []string
	by := map[string]Want{}
	for _, w := range Wanted(c, f) {
		ids = append(ids, w.ID)
		by[w.ID] = w
	}
	assert.Equal(t, []string{"floor", "mains", "cause", "after", "sign"}, ids, "by stage; what is not needed is not wanted")
	assert.Equal(t, WantPhoto, by["floor"].Kind)
	assert.Equal(t, []string{"surroundings", "floor"}, by["floor"].Subjects)
	assert.True(t, by["floor"].TooLate, "work has started")
	assert.True(t, by["after"].NotYet, "work has not finished")
	assert.Equal(t, "narrative.cause", by["cause"].Field)
	assert.Equal(t, WantSignature, by["sign"].Kind)
	assert.Equal(t, WantCaution, by["mains"].Kind)
	assert.Equal(t, "mains", by["mains"].Caution)

	f.Fields = map[string]string{"narrative.cause": "Open."}
	f.Acks = []Acknowledgement{{Entry: "a", About: "work-done", Outcome: "signed"}}
	f.Cautions = map[string][]Moment{"mains": {{At: at}}}
	f.Photos = []Photo{{Entry: "p", Subject: "floor", At: at.Add(-time.Minute)}, {Entry: "q", Subject: "after-repair", At: at.Add(time.Hour)}}
	f.Events["work-finished"] = []Moment{{At: at.Add(30 * time.Minute)}}
	assert.Empty(t, Wanted(c, f))
	assert.True(t, Check(c, f).Complete)
}

// Whatever is missing names what closes it: the reading whose display was not pictured, the kind of entry there are too few of, the date.
func TestWantedNamesTheTool(t *testing.T) {
	text := func(r Requirement, id string) Requirement {
		r.ID, r.Stage, r.Title, r.Why, r.Cure, r.Origin = id, "look", "T "+id, "Why.", "Cure.", "x.yaml:7"
		return r
	}
	c, err := Compile(&Pack{ID: "p", Version: "1", Title: "P", Requirements: []Requirement{
		text(Requirement{Per: PerReplacedPart, Reading: &ReadingRule{Component: PerReplacedPart, Moment: "as-found", Supports: true, DisplayPhoto: true}}, "shown"),
		text(Requirement{Number: &NumberRule{Count: "damages", AtLeast: "1"}}, "looked-over"),
		text(Requirement{Order: &OrderRule{First: "first opened", Then: "coverage.end", Both: true}}, "in-term"),
		text(Requirement{Order: &OrderRule{First: "first arrived", Then: "first work-started", Both: true}}, "in-order"),
	}})
	require.NoError(t, err)
	f := &Facts{Parts: []Part{{Entry: "x", Component: "defrost-heater", Action: "replaced"}}, Zone: "UTC"}
	wanted := func() map[string]Want {
		by := map[string]Want{}
		for _, w := range Wanted(c, f) {
			by[w.Requirement] = w
		}
		return by
	}
	by := wanted()
	assert.Equal(t, "damages", by["looked-over"].Count)
	assert.Equal(t, "coverage.end", by["in-term"].Field)
	require.Contains(t, by, "in-order")
	assert.Empty(t, by["in-order"].Field, "events are no field")
	require.Contains(t, by, "shown")
	assert.Empty(t, by["shown"].Reading, "there is no reading at all")

	f.Readings = []Reading{
		{Entry: "neutral", Component: "defrost-heater", Quantity: "resistance", State: "over-range", Moment: "as-found", Supports: "neutral"},
		{Entry: "shows-it", Component: "defrost-heater", Quantity: "resistance", State: "over-range", Moment: "as-found", Supports: "yes"},
	}
	assert.Equal(t, "shows-it", wanted()["shown"].Reading, "only its display is missing")
	f.Readings = f.Readings[:1]
	assert.Empty(t, wanted()["shown"].Reading, "a picture of its display would not be enough")
	f.Readings = []Reading{{Entry: "shows-it", Component: "defrost-heater", Quantity: "resistance", State: "over-range", Moment: "as-found", Supports: "yes", DisplayPhoto: "p"}}
	f.Photos = []Photo{{Entry: "p", Subject: "meter-display", Component: "defrost-heater", Sharp: "no"}}
	assert.Equal(t, "shows-it", wanted()["shown"].Reading, "the picture is blurred")
	f.Photos[0].Sharp = "yes"
	assert.NotContains(t, wanted(), "shown")
}

// While the old part is still in, the phone asks what replacing it would take.
func TestWantedIf(t *testing.T) {
	c := wantedPack(t)
	f := &Facts{}
	more := WantedIf(c, f, "defrost-heater")
	require.Len(t, more, 2)
	assert.Equal(t, "reading:defrost-heater", more[0].ID)
	assert.Equal(t, "defrost-heater", more[0].Component)
	require.Len(t, more[0].Plans, 1, "only the plans of that part")
	assert.Equal(t, "heater-ohms", more[0].Plans[0].ID)
	assert.JSONEq(t, `{"name":"x","volts":120.0}`, string(more[0].Plans[0].Profile))
	assert.Equal(t, "failed:defrost-heater", more[1].ID)
	assert.Equal(t, "failed-part", more[1].Subject)
	assert.Empty(t, f.Parts, "supposing changes nothing")

	f.Parts = []Part{{Entry: "x", Component: "defrost-heater", Action: "replaced"}}
	assert.Empty(t, WantedIf(c, f, "defrost-heater"), "it is already asked for")
	assert.Len(t, WantedIf(c, f, "evaporator-fan"), 2)
}

func TestCautionsAt(t *testing.T) {
	c := wantedPack(t)
	f := &Facts{}
	assert.Len(t, CautionsAt(c, f, "measure"), 1)
	assert.Empty(t, CautionsAt(c, f, "repair"), "no compressor was replaced")
	f.Parts = []Part{{Component: "compressor", Action: "replaced"}}
	assert.Len(t, CautionsAt(c, f, "repair"), 1)
	f.Cautions = map[string][]Moment{"refrigerant": {{}}}
	assert.Empty(t, CautionsAt(c, f, "repair"), "it was shown")
}

func TestExplain(t *testing.T) {
	c := wantedPack(t)
	f := &Facts{Fields: map[string]string{"unit.kind": "washer"}, Parts: []Part{{Entry: "x", Component: "defrost-heater", Action: "replaced"}}}
	by := map[string]Explanation{}
	for _, e := range Explain(c, f) {
		by[e.Finding] = e
		assert.Equal(t, "x.yaml:7", e.Origin)
	}
	assert.Equal(t, "It applies because the unit is a washer.", by["serial"].Because)
	assert.Equal(t, "It is asked on every job.", by["cause"].Because)
	assert.Equal(t, "It applies because the defrost heater was replaced.", by["reading:defrost-heater"].Because)
	assert.Contains(t, by["reading:defrost-heater"].Asks, "supports replacing it")
	assert.Contains(t, by["floor"].Asks, "1 photo of the surroundings or the floor, before the first start of work")
	f.Fields["unit.kind"] = "dryer-gas"
	for _, e := range Explain(c, f) {
		if e.Finding == "serial" {
			assert.Equal(t, NotNeeded, e.Outcome)
			assert.Contains(t, e.Because, "only when the unit is a washer")
		}
	}
}

// The names of the JSON members are what server, bundle and phone read.
func TestReportJSON(t *testing.T) {
	c := wantedPack(t)
	r := Check(c, &Facts{Now: time.Date(2025, 6, 12, 9, 0, 0, 0, time.UTC)})
	out, err := json.Marshal(r)
	require.NoError(t, err)
	var m map[string]any
	require.NoError(t, json.Unmarshal(out, &m))
	for _, key := range []string{"pack", "version", "title", "at", "findings", "counts", "complete"} {
		assert.Contains(t, m, key)
	}
	first := m["findings"].([]any)[0].(map[string]any)
	assert.Equal(t, map[string]any{
		"id": "floor", "requirement": "floor", "stage": "arrive", "title": "T floor", "severity": "required", "outcome": "gap",
		"sentence": "There is no photo of the surroundings or the floor.", "cure": "Cure.", "why": "Why.",
	}, first)
	var back Report
	require.NoError(t, json.Unmarshal(out, &back))
	assert.Equal(t, r, back)
}
