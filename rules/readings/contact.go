package readings

import "math"

// A closed contact reads less than 1 Ω, an open one OL or more than 10 kΩ; between them is a
// burnt contact or a parallel path (common practice).
const (
	closedBelow = 1.0
	openAbove   = 10e3
)

// contact is the state of a contact: "closed", "open", "poor", or "" when the reading was
// finished already.
func (j *judging) contact(expected string) (string, error) {
	switch {
	case j.v.open():
		return "open", nil
	case j.v.closed():
		return "closed", nil
	}
	ohm, _, err := j.number("Ohm")
	if err != nil {
		return "", err
	}
	if ohm, err = j.leads(ohm); err != nil {
		return "", err
	}
	j.out.Read, j.out.Unit = j.v.Value, j.v.Unit
	switch {
	case ohm < 0:
		return "", j.end(NotPlausible, SupportsNeutral, expected, "less than the meter's own leads, zero the leads and measure again")
	case ohm < closedBelow:
		return "closed", nil
	case ohm > openAbove:
		return "open", nil
	}
	return "poor", nil
}

// wiredContact: a parallel path can make an open contact look closed, never the reverse.
func (j *judging) wiredContact(state, expected string) bool {
	if j.c.Circuit != "in-circuit" || state == "open" {
		if j.c.Circuit == "" {
			j.statedCircuit()
		}
		return false
	}
	j.ask("Disconnect at least one lead of the part and read again.")
	_ = j.end(CannotDecide, SupportsNeutral, expected, "cannot be decided while the part is wired in, a parallel path looks like a closed contact")
	return true
}

const poorContact = "neither closed (below 1 Ω) nor open, a contact with resistance"

// thermostat: below its closing point it must be closed, above its opening point open, and
// between them its history decides. An open thermostat while warm does what it should, and a
// broken one reads the same: it proves nothing.
func (j *judging) thermostat() error {
	unit := j.p.Unit
	opens, closes := short(*j.p.Opens)+" "+unit.Symbol(), short(*j.p.Closes)+" "+unit.Symbol()
	expected := "closed below " + closes + " and open above " + opens
	state, err := j.contact(expected)
	if err != nil || state == "" {
		return err
	}
	if j.wiredContact(state, expected) {
		return nil
	}
	if state == "poor" {
		return j.end(OutOfTolerance, SupportsYes, expected, poorContact)
	}
	if j.c.PartTemperature == nil {
		j.ask("Read the temperature of the thermostat's body.")
		return j.end(CannotDecide, SupportsNeutral, expected, state+", which proves nothing without the temperature of its body")
	}
	cel, err := j.c.PartTemperature.float(unit)
	if err != nil {
		return err
	}
	_, spread, _, err := j.partTemperature()
	if err != nil {
		return err
	}
	near := math.Hypot(spread/span(unit, 1), j.p.Within)
	at := " at " + j.c.PartTemperature.String()
	const eps = 1e-9
	switch {
	case cel <= *j.p.Closes-near+eps:
		if state == "open" {
			return j.end(OutOfTolerance, SupportsYes, expected, "open"+at+", below its closing point")
		}
		return j.end(InTolerance, SupportsNo, expected, "closed"+at+", as it should be; that it opens again is not shown")
	case cel >= *j.p.Opens+near-eps:
		if state == "closed" {
			return j.end(OutOfTolerance, SupportsYes, expected, "closed"+at+", above its opening point")
		}
		j.ask("Cool the thermostat below " + closes + " and read again: open while warm proves nothing.")
		return j.end(CannotDecide, SupportsNeutral, expected, "open"+at+" while warm, which proves nothing")
	case cel > *j.p.Closes+near && cel < *j.p.Opens-near && j.c.History == "from-above" && state == "open",
		cel > *j.p.Closes+near && cel < *j.p.Opens-near && j.c.History == "from-below" && state == "closed":
		return j.end(InTolerance, SupportsNo, expected, state+at+", as its history asks for; below "+closes+" is not shown")
	case cel > *j.p.Closes+near && cel < *j.p.Opens-near && j.c.History != "":
		return j.end(OutOfTolerance, SupportsYes, expected, state+at+", against its history ("+j.c.History+")")
	}
	j.ask("Cool the thermostat below " + closes + " and read again.")
	return j.end(CannotDecide, SupportsNeutral, expected, state+at+", between its two points, where its history decides")
}

// fuse: closed always; it opens once.
func (j *judging) fuse() error {
	const expected = "closed, below 1 Ω, at any temperature of use"
	state, err := j.contact(expected)
	if err != nil || state == "" || j.wiredContact(state, expected) {
		return err
	}
	switch state {
	case "closed":
		return j.end(InTolerance, SupportsNo, expected, "closed, as it should be")
	case "open":
		j.caution(CautionFindCause)
		j.ask("Find out what overheated it: a new fuse alone opens again.")
		return j.end(OutOfTolerance, SupportsYes, expected, "open, it has opened once and for all")
	}
	return j.end(OutOfTolerance, SupportsYes, expected, poorContact)
}

func (j *judging) contactSwitch() error {
	want := "open when released and closed when actuated"
	if j.p.Contact == "normally-closed" {
		want = "closed when released and open when actuated"
	}
	state, err := j.contact(want)
	if err != nil || state == "" || j.wiredContact(state, want) {
		return err
	}
	if j.c.Position == "" {
		j.ask("Say whether the switch was actuated, and read both positions.")
		return j.end(CannotDecide, SupportsNeutral, want, state+", which proves nothing without the position of the switch")
	}
	closed := (j.p.Contact == "normally-closed") == (j.c.Position == "released")
	due := "open"
	if closed {
		due = "closed"
	}
	switch {
	case state == "poor":
		return j.end(OutOfTolerance, SupportsYes, want, poorContact)
	case state == due:
		j.ask("Read the other position as well.")
		return j.end(InTolerance, SupportsNo, want, state+" while "+j.c.Position+", as it should be")
	}
	return j.end(OutOfTolerance, SupportsYes, want, state+" while "+j.c.Position)
}
