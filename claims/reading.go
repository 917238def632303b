package claims

import "encoding/json"

// Reading is one measurement.
type Reading struct {
	// Component that was measured (see rules.Components); "supply" is the outlet.
	Component string `json:"component,omitempty"`
	// Quantity as in rules/readings: resistance, voltage-ac, temperature ...
	Quantity string `json:"quantity"`
	// Value is an exact decimal in Unit (a UCUM code). State stands instead of it: over-range, open, closed ...
	Value string `json:"value,omitempty"`
	Unit  string `json:"unit,omitempty"`
	State string `json:"state,omitempty"`
	// Moment is as-found or as-left.
	Moment string `json:"moment,omitempty"`
	// Where says where the probes sat, in words.
	Where string `json:"where,omitempty"`
	// Conditions under which it was taken, by the names of rules/readings.Conditions.
	Conditions json.RawMessage `json:"conditions,omitempty"`
	// Profile is the component model to judge it by (rules/readings.Profile); empty = the pack's.
	Profile    json.RawMessage `json:"profile,omitempty"`
	Instrument json.RawMessage `json:"instrument,omitempty"`
	// Photo is the entry of the picture of the display.
	Photo EntryID `json:"photo,omitempty"`
	Says  string  `json:"says,omitempty"`
}

func (b *Reading) validate() *Error {
	if (b.Value == "") == (b.State == "") {
		return Errorf(Invalid, "A reading has either a value with its unit, or a state such as over-range, open or closed.").At("value")
	}
	if b.Value != "" && b.Unit == "" {
		return Errorf(Invalid, "Give the unit of the reading.").At("unit")
	}
	for name, raw := range map[string]json.RawMessage{"conditions": b.Conditions, "profile": b.Profile, "instrument": b.Instrument} {
		if len(raw) > 0 && raw[0] != '{' {
			return Errorf(Invalid, "This must be an object.").At(name)
		}
	}
	return first(word("component", b.Component, false), word("quantity", b.Quantity, true), decimal("value", b.Value, false), line("unit", b.Unit, false),
		word("state", b.State, false), oneOf("moment", b.Moment, "as-found", "as-left"), line("where", b.Where, false), maybe("photo", b.Photo), text("says", b.Says, false))
}

// Sign is something seen, heard or found that is no number: even frost over the whole coil, a fan that stands still.
type Sign struct {
	Component string `json:"component,omitempty"`
	// Sign is one of the words of rules/readings.Sign.
	Sign  string  `json:"sign"`
	Photo EntryID `json:"photo,omitempty"`
	Says  string  `json:"says,omitempty"`
}

func (b *Sign) validate() *Error {
	return first(word("component", b.Component, false), word("sign", b.Sign, true), maybe("photo", b.Photo), text("says", b.Says, false))
}

// Narrative is a cause or a correction, in words.
type Narrative struct {
	Component string    `json:"component,omitempty"`
	Text      string    `json:"text"`
	Evidence  []EntryID `json:"evidence,omitempty"`
	// Excluded is one of Exclusions() when the cause found is one that the papers leave out, such as misuse or power.
	Excluded string `json:"excluded,omitempty"`
}

func (b *Narrative) validate() *Error {
	return first(word("component", b.Component, false), text("text", b.Text, true), ids("evidence", b.Evidence), oneOf("excluded", b.Excluded, Exclusions()...))
}
