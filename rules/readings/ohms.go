package readings

import "math"

// part says how a resistance reading of one kind of part is understood. All in ohms.
type part struct {
	b           band    // expectation, in ohms
	spread      float64 // expanded uncertainty of the expectation itself
	openAbove   float64 // more is an open circuit
	shortBelow  float64 // less is a short circuit
	inSupport   Support // what a reading in tolerance says about replacing the part
	inMeaning   string
	fixedBand   bool   // the limits are typical values, not a rating
	unknownPart string // set when the expectation lacks a condition: why it cannot be decided
}

// ohms judges a resistance. The physics of a part that is still wired in: anything in
// parallel can only lower the reading. So too high is too high anyway, and everything
// else decides nothing until a lead is off.
func (j *judging) ohms(p part) error {
	if j.v.open() {
		u := showUnit(p.b)
		b := p.b.scaled(1/span(u, 1), u)
		j.expect(b)
		return j.end(OutOfTolerance, SupportsYes, b.words(), "open circuit")
	}
	if j.v.closed() {
		u := showUnit(p.b)
		b := p.b.scaled(1/span(u, 1), u)
		j.expect(b)
		if j.c.Circuit == "in-circuit" {
			return j.wiredIn(b)
		}
		j.statedCircuit()
		return j.end(OutOfTolerance, SupportsYes, b.words(), "short circuit")
	}
	ohm, u, err := j.number("Ohm")
	if err != nil {
		return err
	}
	if ohm, err = j.leads(ohm); err != nil {
		return err
	}
	unit := j.v.Unit
	k := 1 / span(unit, 1)
	b := p.b.scaled(k, unit)
	if ohm < 0 {
		j.expect(b)
		return j.end(NotPlausible, SupportsNeutral, b.words(), "less than the meter's own leads, zero the leads and measure again")
	}
	if slip := slipOf(ohm, p.b); slip != "" && p.unknownPart == "" {
		j.expect(b)
		j.ask("Check the unit on the display: a thousand times " + slip + " would be in the range.")
		return j.end(NotPlausible, SupportsNeutral, b.words(), "off by a thousand, check the unit (Ω, kΩ, MΩ)")
	}
	spread := math.Hypot(u, p.spread)
	o := j.decide(ohm*k, spread*k, b)
	switch {
	case ohm-spread > p.openAbove:
		return j.end(OutOfTolerance, SupportsYes, b.words(), "open circuit")
	case j.c.Circuit == "in-circuit" && !(o == OutOfTolerance && ohm*k > b.hi && p.unknownPart == ""):
		return j.wiredIn(b)
	case ohm+spread < p.shortBelow:
		j.statedCircuit()
		return j.end(OutOfTolerance, SupportsYes, b.words(), "short circuit")
	case p.unknownPart != "":
		return j.end(CannotDecide, SupportsNeutral, b.words(), p.unknownPart)
	}
	j.statedCircuit()
	switch o {
	case InTolerance:
		return j.end(o, p.inSupport, b.words(), p.inMeaning)
	case OutOfTolerance:
		return j.end(o, SupportsYes, b.words(), side(ohm*k, b))
	}
	return j.end(CannotDecide, SupportsNeutral, b.words(), uncertain)
}

func (j *judging) wiredIn(b band) error {
	j.ask("Disconnect at least one lead of the part and read again.")
	return j.end(CannotDecide, SupportsNeutral, b.words(), "cannot be decided while the part is wired in, a parallel path lowers the reading")
}

// statedCircuit notes when nobody said whether the part was disconnected.
func (j *judging) statedCircuit() {
	if j.c.Circuit == "" {
		j.caution(CautionCircuit)
		j.ask("Say whether the part was disconnected.")
	}
}

// leads takes off the meter's leads, and warns where they matter (below about 20 Ω; common practice).
func (j *judging) leads(ohm float64) (float64, error) {
	if j.c.LeadResistance == nil {
		if ohm < 20 {
			j.caution(CautionLeads)
		}
		return ohm, nil
	}
	l, err := j.c.LeadResistance.float("Ohm")
	if err != nil {
		return 0, err
	}
	return ohm - l, nil
}

// slipOf recognises Ω for kΩ and the reverse: only the factor of a thousand would bring the
// reading near the range. Readings below 1 Ω are left alone: they are short circuits.
func slipOf(ohm float64, b band) string {
	near := func(x float64) bool { return x >= b.lo*0.7 && x <= b.hi*1.3 }
	if ohm < 1 || math.IsInf(b.hi, 0) || math.IsInf(b.lo, 0) || near(ohm) {
		return ""
	}
	switch {
	case near(ohm * 1000):
		return "more"
	case near(ohm / 1000):
		return "less"
	}
	return ""
}

// showUnit is the unit that an expectation in ohms is shown in when the reading has none.
func showUnit(b band) Unit {
	x := b.exp
	if math.IsNaN(x) {
		x = b.hi
	}
	if math.IsInf(x, 0) || math.IsNaN(x) {
		x = b.lo
	}
	switch {
	case x >= 1e6:
		return "MOhm"
	case x >= 1e4:
		return "kOhm"
	}
	return "Ohm"
}
