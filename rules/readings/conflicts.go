package readings

// Sign is something seen, heard or found that is no number. The words are a closed list.
type Sign string

// The signs that the checks know.
const (
	SignEvenFrost        Sign = "coil-even-frost"    // the whole coil under thick, even frost
	SignPartialFrost     Sign = "coil-partial-frost" // frost on the first passes only, the rest bare
	SignNoFrost          Sign = "coil-bare"          // no frost at all
	SignFanStopped       Sign = "fan-stopped"        // the fan stands still while it should run
	SignBladeOnIce       Sign = "blade-on-ice"       // the blade strikes ice
	SignDoorAjar         Sign = "door-ajar"          // the door did not close
	SignGasketGap        Sign = "gasket-gap"         // light or paper passes the gasket
	SignDrainBlocked     Sign = "drain-blocked"      // the defrost drain was blocked
	SignFloorIce         Sign = "floor-ice"          // sheet ice on the freezer floor, water below
	SignItemsFreeze      Sign = "items-freeze"       // fresh food freezes
	SignDamperIced       Sign = "damper-iced"        // ice at the duct or the damper
	SignDefrostEndsEarly Sign = "defrost-ends-early" // the defrost stops before the coil is clear
	SignHeaterCold       Sign = "heater-cold"        // commanded on, and no heat
	SignVentRestricted   Sign = "vent-restricted"    // lint, crushed or too long
	SignCompressorSilent Sign = "compressor-silent"  // called for and does not start
	SignNotDraining      Sign = "not-draining"       // water stays
	SignBlockageFound    Sign = "blockage-found"     // something in the pump or the hose
	SignNotFilling       Sign = "not-filling"        // no water comes
)

// Observed is one reading with its verdict, or one sign, about a component.
type Observed struct {
	// ID is the entry that says so.
	ID        string `json:"id"`
	Component string `json:"component"`
	// Sign stands instead of a reading.
	Sign       Sign       `json:"sign,omitempty"`
	Value      Value      `json:"value,omitzero"`
	Conditions Conditions `json:"conditions,omitzero"`
	// Verdict is nil when no model applied.
	Verdict *Verdict `json:"verdict,omitempty"`
}

// Conflict is something in the readings that does not fit, or a replaced part that they do
// not support. It never says that a part was wrong: it names what would decide.
type Conflict struct {
	// ID of the check, such as "heater-good-defrost-ends-early".
	ID string `json:"id"`
	// Component it is about; for a replaced part without support, that part.
	Component string `json:"component"`
	// Readings are the ids of what does not fit; empty when something is missing.
	Readings []string `json:"readings,omitempty"`
	// Says is what does not fit, Ask the deciding reading. One sentence each.
	Says string `json:"says"`
	Ask  string `json:"ask"`
	// Unsupported is set when a replaced part has no reading that supports it:
	// contradicted, indeterminate or not-measured.
	Unsupported string `json:"unsupported,omitempty"`
	Source      string `json:"source"`
	Mark        Mark   `json:"mark"`
}

// Conflicts looks at all readings and signs of a job together, and at the components that
// were replaced. As-left readings are of the new part and support nothing; they are held
// against the result only. The answer is in the order of the checks, then of replaced.
// Every check is common practice without a source: it asks, it does not decide.
func Conflicts(seen []Observed, replaced ...string) []Conflict {
	w := &whole{seen: seen, replaced: unique(replaced)}
	var out []Conflict
	for _, check := range conflictChecks {
		c, ok := check.find(w)
		if !ok {
			continue
		}
		c.ID, c.Source, c.Mark = check.id, practice, CommonPractice
		c.Readings = unique(c.Readings)
		out = append(out, c)
	}
	out = append(out, w.disputed()...)
	out = append(out, w.notCured()...)
	for _, r := range w.replaced {
		if c, ok := w.unsupported(r); ok {
			out = append(out, c)
		}
	}
	return out
}

// whole is everything that is known, with the questions that the checks ask of it.
type whole struct {
	seen     []Observed
	replaced []string
}

func unique(in []string) []string {
	var out []string
	for _, s := range in {
		if s != "" && !contains(out, s) {
			out = append(out, s)
		}
	}
	return out
}

func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

func (w *whole) wasReplaced(components ...string) bool {
	for _, c := range components {
		if contains(w.replaced, c) {
			return true
		}
	}
	return false
}

// signs are the ids of the first of these signs that was seen.
func (w *whole) signs(any ...Sign) []string {
	var ids []string
	for i := range w.seen {
		o := &w.seen[i]
		for _, s := range any {
			if o.Sign == s {
				ids = append(ids, o.ID)
			}
		}
	}
	return ids
}

// found are the as-found readings of a component that pass a test.
func (w *whole) found(component string, test func(*Observed) bool) []string {
	var ids []string
	for i := range w.seen {
		o := &w.seen[i]
		if o.Sign == "" && o.Component == component && o.Conditions.Moment != "as-left" && test(o) {
			ids = append(ids, o.ID)
		}
	}
	return ids
}

func of(q Quantity, outcome Outcome) func(*Observed) bool {
	return func(o *Observed) bool {
		return o.Value.Quantity == q && o.Verdict != nil && o.Verdict.Outcome == outcome
	}
}

func supporting(s Support) func(*Observed) bool {
	return func(o *Observed) bool { return o.Verdict != nil && o.Verdict.Supports == s }
}

func anyVoltage(o *Observed) bool {
	return o.Value.Quantity == VoltageAC || o.Value.Quantity == VoltageDC
}

// celsius of a temperature reading, or of a sensor's resistance by its curve.
func celsius(o *Observed) (float64, bool) {
	if o.Verdict != nil && o.Verdict.ByCurve != "" {
		return number(o.Verdict.ByCurve)
	}
	if o.Value.Quantity != Temperature || o.Value.State != "" {
		return 0, false
	}
	t, err := o.Value.float("Cel")
	return t, err == nil
}

func join(lists ...[]string) []string {
	var out []string
	for _, l := range lists {
		out = append(out, l...)
	}
	return out
}

// disputed finds components that one as-found reading speaks for and another against.
func (w *whole) disputed() []Conflict {
	var out []Conflict
	for _, c := range w.components() {
		yes, no := w.found(c, supporting(SupportsYes)), w.found(c, supporting(SupportsNo))
		if len(yes) == 0 || len(no) == 0 {
			continue
		}
		out = append(out, Conflict{
			ID: "readings-disagree", Component: c, Readings: unique(join(yes, no)), Source: practice, Mark: CommonPractice,
			Says: "One reading supports replacing the " + inWords(c) + " and another does not.",
			Ask:  "Read again and say which reading stands: " + deciding(c),
		})
	}
	return out
}

// components in the order in which they were first seen.
func (w *whole) components() []string {
	var out []string
	for i := range w.seen {
		o := &w.seen[i]
		if o.Sign == "" && o.Component != "" && !contains(out, o.Component) {
			out = append(out, o.Component)
		}
	}
	return out
}

// notCured finds as-left readings that are out of tolerance.
func (w *whole) notCured() []Conflict {
	var out []Conflict
	for i := range w.seen {
		o := &w.seen[i]
		if o.Sign == "" && o.Conditions.Moment == "as-left" && o.Verdict != nil && o.Verdict.Outcome == OutOfTolerance {
			out = append(out, Conflict{
				ID: "not-cured", Component: o.Component, Readings: unique([]string{o.ID}), Source: practice, Mark: CommonPractice,
				Says: "The " + inWords(o.Component) + " was left out of tolerance.",
				Ask:  "Read it again when the unit has settled, or say why it was left so.",
			})
		}
	}
	return out
}

// unsupported says when no as-found reading supports a replaced part.
func (w *whole) unsupported(r string) (Conflict, bool) {
	if _, measurable := decidingReadings(r); !measurable {
		return Conflict{}, false // a gasket or a liner is shown by photos, not by a meter
	}
	if len(w.found(r, supporting(SupportsYes))) > 0 {
		return Conflict{}, false
	}
	c := Conflict{ID: "unsupported-part", Component: r, Source: practice, Mark: CommonPractice, Ask: "Show " + deciding(r)}
	no := w.found(r, supporting(SupportsNo))
	all := w.found(r, func(*Observed) bool { return true })
	switch {
	case len(no) > 0:
		c.Unsupported, c.Readings = "contradicted", unique(no)
		c.Says = "The " + inWords(r) + " was replaced and the readings speak against it."
	case len(all) > 0:
		c.Unsupported, c.Readings = "indeterminate", unique(all)
		c.Says = "The " + inWords(r) + " was replaced and no reading decides for it."
	default:
		c.Unsupported = "not-measured"
		c.Says = "The " + inWords(r) + " was replaced and was not measured before."
	}
	return c, true
}

func deciding(component string) string {
	s, ok := decidingReadings(component)
	if !ok {
		return "a reading of the " + inWords(component) + " with its conditions."
	}
	return s
}
