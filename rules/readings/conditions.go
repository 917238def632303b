package readings

import "sort"

// Conditions are under what a reading was taken. What is not known stays empty: a model
// that needs it says so in the verdict instead of guessing.
type Conditions struct {
	// On is the day of the reading, YYYY-MM-DD; the instrument's calibration is held against it.
	On string `json:"on,omitempty"`
	// PartTemperature is of the part itself, and PartTemperatureError how far it may be off (±).
	PartTemperature      *Value `json:"partTemperature,omitempty"`
	PartTemperatureError *Value `json:"partTemperatureError,omitempty"`
	// Ambient is the room's temperature.
	Ambient *Value `json:"ambient,omitempty"`
	// Supply is the voltage at the load while it was read; NoLoad the voltage with nothing running.
	Supply *Value `json:"supply,omitempty"`
	NoLoad *Value `json:"noLoad,omitempty"`
	// LeadResistance is the meter's own leads, read with the probes together.
	LeadResistance *Value `json:"leadResistance,omitempty"`
	// Barometer is the absolute air pressure at the place.
	Barometer *Value `json:"barometer,omitempty"`
	// Pressure goes with a line temperature (superheat, subcooling), gauge or absolute.
	Pressure *Value `json:"pressure,omitempty"`
	// Start is the temperature when the pull-down began; SinceStart how long ago that was.
	Start      *Value `json:"start,omitempty"`
	SinceStart *Value `json:"sinceStart,omitempty"`
	// SinceOff is how long the part or the compressor has been off.
	SinceOff *Value `json:"sinceOff,omitempty"`
	// Circuit is isolated (at least one lead off) or in-circuit (still wired in).
	Circuit string `json:"circuit,omitempty"`
	// Load is no-load or under-load; for water pressure under-load means flowing.
	Load string `json:"load,omitempty"`
	// Compressor is running or off.
	Compressor string `json:"compressor,omitempty"`
	// Command is on or off: what the control was told to do with the part (forced defrost, fan test).
	Command string `json:"command,omitempty"`
	// Rotation is turning or stopped; Blade is free or blocked.
	Rotation string `json:"rotation,omitempty"`
	Blade    string `json:"blade,omitempty"`
	// Position of a switch is actuated or released.
	Position string `json:"position,omitempty"`
	// History of a thermostat is from-above (it came down from above its opening point) or
	// from-below (it warmed up from below its closing point).
	History string `json:"history,omitempty"`
	// Side of the sealed system is low or high.
	Side string `json:"side,omitempty"`
	// Moment is as-found or as-left.
	Moment string `json:"moment,omitempty"`
	// Between names the terminals of this reading ("C-S"); Also holds the readings that belong
	// to it by the same kind of name ("C-R", "R-S"; "U-V", "V-W", "W-U").
	Between string           `json:"between,omitempty"`
	Also    map[string]Value `json:"also,omitempty"`
}

// Validate says in one sentence what is wrong with the conditions, or returns nil.
func (c Conditions) Validate() error {
	if c.On != "" && !validDay(c.On) {
		return fail(CodeBadConditions, "on", "%q is not a day such as 2025-03-31", clip(c.On))
	}
	for _, x := range []struct {
		field string
		v     *Value
		q     []Quantity
	}{
		{"partTemperature", c.PartTemperature, []Quantity{Temperature}},
		{"partTemperatureError", c.PartTemperatureError, []Quantity{TemperatureDifference}},
		{"ambient", c.Ambient, []Quantity{Temperature}},
		{"supply", c.Supply, []Quantity{VoltageAC, VoltageDC}},
		{"noLoad", c.NoLoad, []Quantity{VoltageAC, VoltageDC}},
		{"leadResistance", c.LeadResistance, []Quantity{Resistance}},
		{"barometer", c.Barometer, []Quantity{PressureAbsolute}},
		{"pressure", c.Pressure, []Quantity{PressureGauge, PressureAbsolute}},
		{"start", c.Start, []Quantity{Temperature}},
		{"sinceStart", c.SinceStart, []Quantity{Duration}},
		{"sinceOff", c.SinceOff, []Quantity{Duration}},
	} {
		if x.v == nil {
			continue
		}
		if err := x.v.Validate(); err != nil {
			return fail(CodeBadConditions, x.field, "the condition %s is unusable: %s", x.field, err)
		}
		if !oneQuantity(x.v.Quantity, x.q) {
			return fail(CodeBadConditions, x.field, "the condition %s is a %s, but must be %s", x.field, x.v.Quantity.Title(), x.q[0].Title())
		}
		if x.v.State != "" {
			return fail(CodeBadConditions, x.field, "the condition %s must be a number, not %q", x.field, x.v.State)
		}
	}
	for _, x := range []struct{ field, got, a, b string }{
		{"circuit", c.Circuit, "isolated", "in-circuit"},
		{"load", c.Load, "no-load", "under-load"},
		{"compressor", c.Compressor, "running", "off"},
		{"command", c.Command, "on", "off"},
		{"rotation", c.Rotation, "turning", "stopped"},
		{"blade", c.Blade, "free", "blocked"},
		{"position", c.Position, "actuated", "released"},
		{"history", c.History, "from-above", "from-below"},
		{"side", c.Side, "low", "high"},
		{"moment", c.Moment, "as-found", "as-left"},
	} {
		if x.got != "" && x.got != x.a && x.got != x.b {
			return fail(CodeBadConditions, x.field, "the condition %s is %q, but must be %s or %s", x.field, clip(x.got), x.a, x.b)
		}
	}
	if len(c.Also) > 16 {
		return fail(CodeBadConditions, "also", "%d readings belong to this one; at most 16 can", len(c.Also))
	}
	names := make([]string, 0, len(c.Also))
	for n := range c.Also {
		names = append(names, n)
	}
	sort.Strings(names)
	for _, n := range names {
		if err := c.Also[n].Validate(); err != nil {
			return fail(CodeBadConditions, "also", "the reading %q that belongs to this one is unusable: %s", clip(n), err)
		}
	}
	return nil
}

func oneQuantity(q Quantity, of []Quantity) bool {
	for _, x := range of {
		if x == q {
			return true
		}
	}
	return false
}
