package claims

import (
	"encoding/json"
	"fmt"

	"kickplate/rules"
	"kickplate/rules/readings"
)

// ReadingCase is a reading made ready for the component models: what is judged, by what, under which conditions.
type ReadingCase struct {
	Profile    readings.Profile
	Value      readings.Value
	Conditions readings.Conditions
	Instrument *readings.Instrument
}

// CaseOf makes a reading ready. The profile is the reading's own, else that of the pack's plan for the same component and
// quantity. ok is false when there is none: the reading then stands on its own, without a verdict.
func CaseOf(r Reading, pack *rules.Pack) (c ReadingCase, ok bool, err error) {
	c.Value = readings.Value{Quantity: readings.Quantity(r.Quantity), Value: r.Value, Unit: readings.Unit(r.Unit), State: readings.State(r.State)}
	if err := c.Value.Validate(); err != nil {
		return c, false, err
	}
	raw := r.Profile
	if len(raw) == 0 && pack != nil {
		for i := range pack.Readings {
			if p := &pack.Readings[i]; p.Component == r.Component && p.Quantity == r.Quantity && len(p.Profile) > 0 {
				raw = p.Profile
				break
			}
		}
	}
	if len(raw) == 0 {
		return c, false, nil
	}
	for _, part := range []struct {
		what string
		raw  json.RawMessage
		into any
	}{{"profile", raw, &c.Profile}, {"conditions", r.Conditions, &c.Conditions}, {"instrument", r.Instrument, &c.Instrument}} {
		if len(part.raw) == 0 {
			continue
		}
		if err := strict(part.raw, part.into); err != nil {
			return c, false, fmt.Errorf("%s: %w", part.what, err)
		}
	}
	if c.Profile.Component == "" {
		c.Profile.Component = r.Component
	}
	if c.Conditions.Moment == "" {
		c.Conditions.Moment = r.Moment
	}
	return c, true, nil
}

// Judge gives the verdict on a reading, or ok = false when no component model applies.
func Judge(r Reading, pack *rules.Pack) (v readings.Verdict, ok bool, err error) {
	c, ok, err := CaseOf(r, pack)
	if err != nil || !ok {
		return v, false, err
	}
	v, err = readings.Judge(c.Profile, c.Value, c.Conditions, c.Instrument)
	return v, err == nil, err
}

// ConflictsOf looks at all readings and signs of a job together: what does not fit, which replaced part they do not support, and
// which reading would decide.
func ConflictsOf(j *Job, pack *rules.Pack) []readings.Conflict {
	var seen []readings.Observed
	for _, it := range j.Readings {
		c, ok, err := CaseOf(it.Body, pack)
		if err != nil {
			continue
		}
		o := readings.Observed{ID: string(it.Entry), Component: it.Body.Component, Value: c.Value, Conditions: c.Conditions}
		o.Conditions.Moment = it.Body.Moment
		if ok {
			if v, err := readings.Judge(c.Profile, c.Value, c.Conditions, c.Instrument); err == nil {
				o.Verdict = &v
			}
		}
		seen = append(seen, o)
	}
	for _, it := range j.Signs {
		seen = append(seen, readings.Observed{ID: string(it.Entry), Component: it.Body.Component, Sign: readings.Sign(it.Body.Sign)})
	}
	var replaced []string
	for _, p := range j.Parts {
		if p.Body.Action != "removed" {
			replaced = append(replaced, p.Body.Component)
		}
	}
	return readings.Conflicts(seen, replaced...)
}

func readingFacts(f *rules.Facts, j *Job, pack *rules.Pack) {
	for _, it := range j.Readings {
		b := it.Body
		r := rules.Reading{Entry: string(it.Entry), At: corrected(it.At, it.Clock), Component: b.Component, Quantity: b.Quantity, Value: b.Value, Unit: b.Unit,
			State: b.State, Moment: b.Moment, DisplayPhoto: string(b.Photo), Says: b.Says}
		switch v, ok, err := Judge(b, pack); {
		case err != nil:
			r.Says = "This reading can't be judged: " + err.Error()
		case ok:
			r.Outcome, r.Supports, r.Says = string(v.Outcome), string(v.Supports), v.Says
		}
		var inst struct {
			ID          string `json:"id"`
			Description string `json:"description"`
		}
		if json.Unmarshal(b.Instrument, &inst) == nil {
			r.Instrument = inst.ID
			if r.Instrument == "" {
				r.Instrument = inst.Description
			}
		}
		f.Readings = append(f.Readings, r)
	}
}
