package readings

import "math"

// supply: the voltage against the limits of one edition of a standard. A supply read with
// nothing running passes too easily; one outside its band weakens every verdict on a load.
func (j *judging) supply() error {
	j.caution(CautionLive)
	b, err := j.limits(VoltageAC)
	if err != nil {
		return err
	}
	b.basis = " by " + j.p.Edition
	if j.v.State != "" {
		j.expect(b)
		j.caution(CautionHigherRange)
		return j.end(NotPlausible, SupportsNeutral, b.words(), "beyond the range of the meter, check the range and the function")
	}
	x, u, err := j.number(b.unit)
	if err != nil {
		return err
	}
	o := j.decide(x, u, b)
	if o != OutOfTolerance && j.c.Load != "under-load" {
		j.caution(CautionUnloaded)
		j.ask("Read the supply again while the appliance runs.")
	}
	switch {
	case x < 0.1*b.lo:
		j.caution(CautionSupply)
		return j.end(OutOfTolerance, SupportsNo, b.words(), "there is no supply, check the breaker and the outlet before any part")
	case o == OutOfTolerance && math.Abs(x-2*nominal(b)) < 0.15*nominal(b) || o == OutOfTolerance && math.Abs(x-nominal(b)/2) < 0.08*nominal(b):
		j.caution(CautionSupply)
		j.ask("Check between which conductors it was read, and whether one leg is missing.")
		return j.end(o, SupportsNo, b.words(), "half or double the voltage due, a missing leg or the wrong pair of conductors")
	case o == OutOfTolerance:
		j.caution(CautionSupply)
		return j.end(o, SupportsNeutral, b.words(), side(x, b)+", which weakens every verdict on a load")
	case o == InTolerance:
		return j.end(o, SupportsNeutral, b.words(), "in tolerance")
	}
	return j.end(o, SupportsNeutral, b.words(), uncertain)
}

func nominal(b band) float64 {
	if !math.IsNaN(b.exp) {
		return b.exp
	}
	return (b.lo + b.hi) / 2
}

// drop: from the voltage with nothing running to the voltage under load, in percent of the former.
func (j *judging) drop() error {
	j.caution(CautionLive)
	b := band{lo: math.Inf(-1), hi: *j.p.High, exp: math.NaN(), unit: "%", basis: " of drop from no load to load"}
	if j.v.State != "" || j.c.NoLoad == nil || j.c.NoLoad.Quantity != VoltageAC || j.c.Load != "under-load" {
		j.expect(b)
		j.ask("Read the supply twice at the same point: with nothing running, and under load.")
		return j.end(CannotDecide, SupportsNeutral, b.words(), "a drop takes the voltage with no load and the voltage under load")
	}
	loaded, u, err := j.number("V")
	if err != nil {
		return err
	}
	free, err := j.c.NoLoad.float("V")
	if err != nil {
		return err
	}
	if free <= 0 {
		return j.end(CannotDecide, SupportsNeutral, b.words(), "there is no supply without load either")
	}
	un, _, err := j.in.Uncertainty(*j.c.NoLoad, "V")
	if err != nil {
		return err
	}
	x := (free - loaded) / free * 100
	spread := math.Hypot(u, un*loaded/free) / free * 100
	o := j.decide(x, spread, b)
	says := "a drop of " + figure(x, 1) + " % from " + j.c.NoLoad.String() + ", "
	switch {
	case x < -1 && x+spread < 0:
		return j.end(NotPlausible, SupportsNeutral, b.words(), "the voltage rose under load, check the order of the readings or an open neutral")
	case o == InTolerance:
		return j.end(o, SupportsNeutral, b.words(), says+"in tolerance")
	case o == OutOfTolerance:
		j.caution(CautionSupply)
		j.ask("Look for the drop: outlet, extension cord, terminal block, branch wiring.")
		return j.end(o, SupportsNo, b.words(), says+"the wiring drops too much, which weakens every verdict on a load")
	}
	return j.end(o, SupportsNeutral, b.words(), says+uncertain)
}

// earth: the resistance of the protective conductor. The leads are of the limit's own size.
func (j *judging) earth() error {
	b := band{lo: math.Inf(-1), hi: *j.p.High, exp: math.NaN(), unit: "Ohm", basis: " from the earth pin to the accessible metal"}
	yes := SupportsNeutral
	if j.p.Component != "" {
		yes = SupportsYes
	}
	switch {
	case j.v.open():
		j.expect(b)
		return j.end(OutOfTolerance, yes, b.words(), "no protective earth, do not use the appliance")
	case j.v.closed():
		j.expect(b)
		j.ask("Measure the resistance, with the leads subtracted: a beep sounds up to tens of ohms.")
		return j.end(CannotDecide, SupportsNeutral, b.words(), "a continuity beep is no measurement of a protective earth")
	}
	ohm, u, err := j.number("Ohm")
	if err != nil {
		return err
	}
	if ohm, err = j.leads(ohm); err != nil {
		return err
	}
	if ohm < -1e-9 {
		j.expect(b)
		return j.end(NotPlausible, SupportsNeutral, b.words(), "less than the meter's own leads, zero the leads and measure again")
	}
	b = b.scaled(1/span(j.v.Unit, 1), j.v.Unit)
	o := j.decide(ohm/span(j.v.Unit, 1), u/span(j.v.Unit, 1), b)
	switch o {
	case InTolerance:
		return j.end(o, SupportsNo, b.words(), "in tolerance")
	case OutOfTolerance:
		if j.c.LeadResistance == nil && ohm < b.hi*span(j.v.Unit, 1)+0.5 {
			j.ask("Read the leads with the probes together and subtract them.")
			return j.end(CannotDecide, SupportsNeutral, b.words(), "cannot be decided, the meter's leads may make up the difference")
		}
		return j.end(o, yes, b.words(), "above the limit")
	}
	return j.end(o, SupportsNeutral, b.words(), uncertain)
}

// insulation: from the windings to the metal. An ordinary ohmmeter can prove a fault, but its
// OL does not prove insulation: that takes an insulation tester at its test voltage.
func (j *judging) insulation() error {
	b, err := j.limits(InsulationResistance)
	if j.v.Quantity == Resistance {
		b = band{lo: *j.p.Low * span(j.p.Unit, 1), hi: math.Inf(1), exp: math.NaN(), unit: "Ohm"}
		if j.v.Unit != "" {
			b = b.scaled(1/span(j.v.Unit, 1), j.v.Unit)
		} else {
			b = b.scaled(1e-6, "MOhm")
		}
	} else if err != nil {
		return err
	}
	b.hi = math.Inf(1)
	b.basis = " from the live parts to the metal"
	weak := func() error {
		j.ask("Measure with an insulation tester at its test voltage.")
		return j.end(CannotDecide, SupportsNeutral, b.words(), "an ohmmeter's few volts do not prove insulation")
	}
	if j.v.State != "" {
		j.expect(b)
		switch {
		case j.v.closed():
			return j.end(OutOfTolerance, SupportsYes, b.words(), "short circuit to the metal")
		case j.v.Quantity == Resistance:
			return weak()
		}
		return j.end(InTolerance, SupportsNo, b.words(), "above the range of the tester")
	}
	x, u, err := j.number(j.v.Unit)
	if err != nil {
		return err
	}
	switch o := j.decide(x, u, b); {
	case o == OutOfTolerance:
		return j.end(o, SupportsYes, b.words(), "below the limit")
	case j.v.Quantity == Resistance:
		return weak()
	case o == InTolerance:
		return j.end(o, SupportsNo, b.words(), "in tolerance")
	}
	return j.end(CannotDecide, SupportsNeutral, b.words(), uncertain)
}
