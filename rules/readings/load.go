package readings

import "math"

// heater: R = V²/P cold. Nickel-chromium rises only a few per cent hot (common practice), so
// the cold reading is held against the rating. Current and power follow the supply as read.
func (j *judging) heater() error {
	p := j.p
	r := p.RatedVolts * p.RatedVolts / p.RatedWatts
	t := p.TolerancePercent / 100
	basis := " from " + short(p.RatedWatts) + " W at " + short(p.RatedVolts) + " V"
	if j.v.Quantity == Resistance {
		b := band{lo: r * (1 - t), hi: r * (1 + t), exp: r, unit: "Ohm", basis: basis}
		return j.ohms(part{b: b, openAbove: 10 * b.hi, shortBelow: 1, inSupport: SupportsNo, inMeaning: "in tolerance"})
	}
	j.caution(CautionLive)
	unit := j.v.Unit
	if unit == "" {
		unit = j.v.Quantity.DefaultUnit()
	}
	if j.c.Supply == nil {
		j.ask("Read the supply voltage at the heater while it is on.")
		return j.end(CannotDecide, SupportsNeutral, "what the rating gives at the supply as read", "cannot be decided without the supply voltage")
	}
	volts, err := j.c.Supply.float("V")
	if err != nil {
		return err
	}
	if volts < p.RatedVolts*0.5 {
		j.ask("Find out why the heater is not supplied: control, thermostat, fuse, wiring.")
		return j.end(CannotDecide, SupportsNo, "a supply near "+short(p.RatedVolts)+" V", "the heater is not supplied, "+j.c.Supply.String())
	}
	exp := volts / r
	if j.v.Quantity == Power {
		exp = volts * volts / r
	}
	exp /= span(unit, 1)
	b := band{lo: exp / (1 + t), hi: exp / (1 - t), exp: exp, unit: unit, basis: basis + " on a supply of " + j.c.Supply.String()}
	if t >= 1 {
		b.hi = math.Inf(1)
	}
	if j.v.State != "" {
		j.expect(b)
		j.caution(CautionHigherRange)
		return j.end(CannotDecide, SupportsNeutral, b.words(), "beyond the range of the meter, set a higher range")
	}
	x, u, err := j.number(unit)
	if err != nil {
		return err
	}
	switch o := j.decide(x, u, b); {
	case o == InTolerance:
		return j.end(o, SupportsNo, b.words(), "in tolerance, the heater draws what it should")
	case o == OutOfTolerance && x < 0.05*b.lo:
		j.ask("Read the heater's resistance at its own terminals, disconnected: the connection may be open instead.")
		return j.end(o, SupportsYes, b.words(), "the heater is supplied and draws nothing")
	case o == OutOfTolerance:
		return j.end(o, SupportsYes, b.words(), side(x, b))
	}
	return j.end(CannotDecide, SupportsNeutral, b.words(), uncertain)
}

// coil: a winding has a typical range. A good winding does not prove the rest of the part.
func (j *judging) coil() error {
	k := span(j.p.Unit, 1)
	b := band{lo: *j.p.Low * k, hi: *j.p.High * k, exp: math.NaN(), unit: "Ohm", basis: " for this kind of coil"}
	return j.ohms(part{
		b: b, openAbove: 10 * b.hi, shortBelow: math.Min(1, b.lo/2), inSupport: SupportsNeutral, fixedBand: true,
		inMeaning: "the winding is in tolerance, which does not exclude a seized or blocked mechanism",
	})
}

// startDevice: a PTC is low only when cold. It must have been off and near room temperature
// (above 40 °C it has begun to rise; common practice).
func (j *judging) startDevice() error {
	b := band{lo: *j.p.Low, hi: *j.p.High, exp: math.NaN(), unit: "Ohm", basis: " cold"}
	p := part{b: b, openAbove: math.Inf(1), shortBelow: math.Min(0.5, b.lo/2), inSupport: SupportsNo, inMeaning: "in tolerance when cold"}
	cel, _, ok, err := j.partTemperature()
	if err != nil {
		return err
	}
	hot := ok && cel > 40
	if j.c.SinceOff != nil {
		min, err := j.c.SinceOff.float("min")
		if err != nil {
			return err
		}
		hot = hot || !ok && min < 10
		ok = true
	}
	switch {
	case hot:
		p.unknownPart = "cannot be decided, a start device is high while hot; let it cool and read again"
	case !ok:
		p.unknownPart = "cannot be decided without knowing that the device was cold"
	}
	if p.unknownPart != "" {
		j.ask("Read the start device cold, at room temperature and off for ten minutes or more.")
		if j.v.open() { // hot and open proves nothing either
			u := Unit("Ohm")
			j.expect(b.scaled(1, u))
			return j.end(CannotDecide, SupportsNeutral, b.words(), p.unknownPart)
		}
	}
	return j.ohms(p)
}

// capacitor: the marked microfarads with the marked tolerance.
func (j *judging) capacitor() error {
	j.caution(CautionCharge)
	unit := j.v.Unit
	if unit == "" {
		unit = j.p.Unit
	}
	exp, err := convertFloat(Capacitance, *j.p.Nominal, j.p.Unit, unit)
	if err != nil {
		return err
	}
	t := j.p.TolerancePercent / 100
	b := band{lo: exp * (1 - t), hi: exp * (1 + t), exp: exp, unit: unit, basis: " as marked"}
	if j.v.State != "" {
		j.expect(b)
		return j.end(CannotDecide, SupportsNeutral, b.words(), "beyond the range of the meter, set a higher range or check for a shorted capacitor")
	}
	x, u, err := j.number(unit)
	if err != nil {
		return err
	}
	o := j.decide(x, u, b)
	if j.c.Circuit == "in-circuit" {
		j.ask("Disconnect the capacitor and read again.")
		return j.end(CannotDecide, SupportsNeutral, b.words(), "cannot be decided while the capacitor is wired in")
	}
	j.statedCircuit()
	switch o {
	case InTolerance:
		return j.end(o, SupportsNo, b.words(), "in tolerance")
	case OutOfTolerance:
		return j.end(o, SupportsYes, b.words(), side(x, b))
	}
	return j.end(CannotDecide, SupportsNeutral, b.words(), uncertain)
}

// dcFan: supply at the connector, or the tach pulse. A supplied fan whose free blade stands
// still is the fan; an unsupplied one is not (common practice).
func (j *judging) dcFan() error {
	if j.v.Quantity != VoltageDC {
		return j.tach()
	}
	b := band{lo: *j.p.Low, hi: *j.p.High, exp: math.NaN(), unit: "V", basis: " at the fan's connector"}
	if j.p.Nominal != nil {
		b.exp = *j.p.Nominal
	}
	if j.v.State != "" {
		j.expect(b)
		return j.end(NotPlausible, SupportsNeutral, b.words(), "beyond the range of the meter, check the range and the function")
	}
	x, u, err := j.number(j.v.Unit)
	if err != nil {
		return err
	}
	b = b.scaled(1/span(j.v.Unit, 1), j.v.Unit)
	if x < 0 {
		j.decide(x, u, b)
		return j.end(NotPlausible, SupportsNeutral, b.words(), "negative, swap the probes and measure again")
	}
	switch o := j.decide(x, u, b); {
	case j.c.Command != "on":
		j.ask("Command the fan on and say so: without the command no voltage is due.")
		return j.end(CannotDecide, SupportsNeutral, b.words(), "cannot be decided without knowing that the fan was commanded on")
	case o == OutOfTolerance && x < b.lo:
		j.ask("Follow the supply back: door switch, harness, control board.")
		return j.end(o, SupportsNo, b.words(), "the fan is not supplied as it should be, which points away from the fan")
	case o != InTolerance:
		if o == OutOfTolerance {
			return j.end(o, SupportsNeutral, b.words(), side(x, b))
		}
		return j.end(o, SupportsNeutral, b.words(), uncertain)
	case j.c.Rotation == "turning":
		return j.end(o, SupportsNo, b.words(), "the fan is supplied and turns")
	case j.c.Rotation == "stopped" && j.c.Blade == "free":
		return j.end(o, SupportsYes, b.words(), "the fan is supplied, its blade is free and it does not turn")
	case j.c.Rotation == "stopped" && j.c.Blade == "blocked":
		j.ask("Clear the blade (ice, harness) and read again; find out why it was blocked.")
		return j.end(o, SupportsNo, b.words(), "the fan is supplied and its blade is blocked, which is not the motor's fault")
	}
	j.ask("Say whether the fan turns and whether its blade is free.")
	return j.end(CannotDecide, SupportsNeutral, b.words(), "the supply is there, whether the fan turns is not said")
}

func (j *judging) tach() error {
	expected := "a tach signal above zero while the fan turns"
	if j.v.State != "" {
		return j.end(CannotDecide, SupportsNeutral, expected, "beyond the range of the meter, set a higher range")
	}
	x, _, err := j.number(j.v.Unit)
	if err != nil {
		return err
	}
	j.out.Read, j.out.Unit = j.v.Value, j.v.Unit
	switch {
	case j.c.Rotation == "":
		j.ask("Say whether the fan turns.")
		return j.end(CannotDecide, SupportsNeutral, expected, "cannot be decided without knowing whether the fan turns")
	case j.c.Rotation == "turning" && x == 0:
		return j.end(OutOfTolerance, SupportsYes, expected, "the fan turns and reports no speed")
	case j.c.Rotation == "stopped" && x > 0:
		return j.end(NotPlausible, SupportsNeutral, expected, "a speed is read from a fan that stands still, check the probe")
	case j.c.Rotation == "stopped":
		j.ask("Read the supply at the fan's connector.")
		return j.end(CannotDecide, SupportsNeutral, expected, "no signal from a fan that stands still proves nothing about the tach")
	}
	return j.end(InTolerance, SupportsNo, expected, "the fan turns and reports its speed")
}

// driveVoltage: what the control puts on a part's connector when it is told to. The verdict
// is about the control, so Component is the control board.
func (j *judging) driveVoltage() error {
	j.caution(CautionLive)
	b, err := j.limits(j.v.Quantity)
	if err != nil {
		return err
	}
	b.basis = " at the part's connector while it is commanded on"
	if j.c.Command != "on" {
		j.expect(b)
		j.ask("Command the part on (forced defrost, fan test) and read again.")
		return j.end(CannotDecide, SupportsNeutral, b.words(), "cannot be decided without the command")
	}
	if j.v.State != "" {
		j.expect(b)
		j.caution(CautionHigherRange)
		return j.end(NotPlausible, SupportsNeutral, b.words(), "beyond the range of the meter, check the range and the function")
	}
	x, u, err := j.number(b.unit)
	if err != nil {
		return err
	}
	switch o := j.decide(x, u, b); {
	case o == InTolerance:
		j.ask("Look at the part itself: it is supplied.")
		return j.end(o, SupportsNo, b.words(), "the control does its part")
	case o == OutOfTolerance && x < 0.2*b.lo:
		j.ask("Check the harness and the contacts between the control and the part before the control.")
		return j.end(o, SupportsYes, b.words(), "commanded and not supplied, which points to the control or the wiring")
	case o == OutOfTolerance:
		return j.end(o, SupportsNeutral, b.words(), side(x, b))
	}
	return j.end(CannotDecide, SupportsNeutral, b.words(), uncertain)
}
