package readings

import "math"

// absolute is a pressure in kPa absolute with its expanded uncertainty. A gauge pressure
// needs the barometer; without one the standard atmosphere is taken and the verdict says so.
func (j *judging) absolute(v Value) (kPa, spread float64, err error) {
	if v.State != "" {
		return 0, 0, fail(CodeState, "value", "a pressure must be a number, not %q", v.State)
	}
	u, ok, err := j.in.Uncertainty(v, "kPa")
	if err != nil {
		return 0, 0, err
	}
	if !ok {
		j.caution(CautionInstrument)
	}
	if v.Quantity == PressureAbsolute {
		kPa, err = v.float("kPa")
		return kPa, u, err
	}
	air := StandardAtmosphere()
	if j.c.Barometer != nil {
		air = *j.c.Barometer
	} else {
		j.caution(CautionSeaLevel)
	}
	p, err := Absolute(v, air)
	if err != nil {
		return 0, 0, err
	}
	pa, _ := p.Float64()
	return pa / 1000, u, nil
}

func (j *judging) fluid() (*fluid, error) {
	f, err := fluidOf(j.p.Refrigerant)
	if err != nil {
		return nil, err
	}
	j.caution(CautionRefrigerant)
	if f.class == "A3" {
		j.caution(CautionA3)
	}
	return f, nil
}

// gauge names a pressure in words the trade uses: R-600a's low side is a vacuum.
func gaugeWords(kPa float64) string {
	g := (kPa - 101.325) * 1000
	if g < 0 {
		return figure(-g/3386.3788, 1) + " inHg of vacuum"
	}
	return figure(g*6451600000/44482216152605, 1) + " psi gauge"
}

// saturation: at rest the pressure must be the saturation pressure of the circuit's own
// temperature. While running, the low side must evaporate colder than the compartment it cools
// and the high side condense warmer than the room; Low and High may give the evaporating
// temperatures to expect.
func (j *judging) saturation() error {
	f, err := j.fluid()
	if err != nil {
		return err
	}
	if j.v.State != "" {
		return j.end(CannotDecide, SupportsNeutral, "a pressure", "beyond the range of the gauge")
	}
	kPa, u, err := j.absolute(j.v)
	if err != nil {
		return err
	}
	switch {
	case j.c.Compressor == "off":
		return j.atRest(f, kPa, u)
	case j.c.Compressor == "running" && j.c.Side == "low":
		return j.lowSide(f, kPa, u)
	case j.c.Compressor == "running" && j.c.Side == "high":
		return j.highSide(f, kPa)
	}
	j.ask("Say whether the compressor was running and on which side the gauge sat.")
	return j.end(CannotDecide, SupportsNeutral, "the pressure to fit the side and the state of the compressor", "cannot be decided without knowing the side and whether the compressor ran")
}

func (j *judging) atRest(f *fluid, kPa, u float64) error {
	cel, spread, ok, err := j.partTemperature()
	if err != nil {
		return err
	}
	if !ok {
		j.ask("Let the circuit come to one temperature and read it.")
		return j.end(CannotDecide, SupportsNeutral, "the saturation pressure of "+f.name+" at the circuit's temperature", "cannot be decided without that temperature")
	}
	if j.c.SinceOff != nil {
		if min, err := j.c.SinceOff.float("min"); err != nil {
			return err
		} else if min < 60 { // common practice: an hour to equalise and settle
			j.ask("Read again when the compressor has been off for an hour or more.")
			return j.end(CannotDecide, SupportsNeutral, "the saturation pressure of "+f.name+" at rest", "too early, the circuit is not at rest")
		}
	}
	p, err := SaturationPressure(f.name, cel, Dew)
	if err != nil {
		return err
	}
	t := j.p.TolerancePercent / 100
	if t == 0 {
		t = 0.05 // common practice
	}
	air := 101.325
	if j.c.Barometer != nil {
		if air, err = j.c.Barometer.float("kPa"); err != nil {
			return err
		}
	}
	if j.v.Quantity == PressureAbsolute {
		air = 0
	}
	k := 1000 / span(j.v.Unit, 1)
	b := band{lo: (p*(1-t) - air) * k, hi: (p*(1+t) - air) * k, exp: (p - air) * k, unit: j.v.Unit, basis: " for " + f.name + " at rest at " + j.c.PartTemperature.String()}
	slope := f.pressure(cel+0.05, Dew)/f.pressure(cel-0.05, Dew) - 1
	all := math.Hypot(u, spread*p*slope/0.1) * k
	x := (kPa - air) * k
	switch o := j.decide(x, all, b); {
	case o == InTolerance:
		return j.end(o, SupportsNo, b.words(), "liquid and gas are in balance; this does not show the amount of the charge")
	case o == OutOfTolerance && x < b.lo:
		return j.end(o, SupportsYes, b.words(), "below saturation, no liquid is left in the circuit")
	case o == OutOfTolerance:
		return j.end(o, SupportsYes, b.words(), "above saturation, another gas is in the circuit or it is not at rest")
	}
	return j.end(CannotDecide, SupportsNeutral, b.words(), uncertain)
}

func (j *judging) lowSide(f *fluid, kPa, u float64) error {
	cel, err := SaturationTemperature(f.name, kPa, Dew)
	if err != nil {
		return err
	}
	unit := j.p.Unit
	show, err := convertFloat(Temperature, cel, "Cel", unit)
	if err != nil {
		return err
	}
	evaporates := f.name + " evaporates at " + figure(show, 1) + " " + unit.Symbol() + " at this pressure"
	b, err := j.evaporating(unit)
	if err != nil {
		return err
	}
	expected := b.words()
	if math.IsInf(b.lo, 0) && math.IsInf(b.hi, 0) {
		expected = "an evaporating temperature below the compartment's"
	}
	if j.c.PartTemperature != nil {
		comp, err := j.c.PartTemperature.float("Cel")
		if err != nil {
			return err
		}
		if cel >= comp {
			if p, err := SaturationPressure(f.name, comp, Dew); err == nil {
				expected = "less than " + gaugeWords(p) + ", the saturation pressure at the compartment's " + j.c.PartTemperature.String()
			}
			j.ask("Check the refrigerant on the plate, the gauge's zero and whether the compressor was cooling.")
			return j.end(NotPlausible, SupportsNeutral, expected, evaporates+", warmer than the compartment it cools")
		}
	} else {
		j.ask("Read the temperature of the compartment that the evaporator cools.")
	}
	slope := math.Abs(f.pressure(cel+0.05, Dew)-f.pressure(cel-0.05, Dew)) / 0.1
	spread := u / slope / span(unit, 1)
	if math.IsInf(b.lo, 0) && math.IsInf(b.hi, 0) {
		j.ask("Show the superheat: the suction line's temperature at the same moment, and the frost pattern.")
		return j.end(CannotDecide, SupportsNeutral, expected, evaporates+", the pressure alone decides nothing")
	}
	o := j.decide(show, spread, b)
	switch {
	case o == InTolerance:
		return j.end(o, SupportsNo, expected, evaporates+", as expected")
	case o == OutOfTolerance && show > b.hi+10/span(unit, 1):
		j.ask("Check the refrigerant on the plate, the gauge's zero and whether the compressor was cooling.")
		return j.end(NotPlausible, SupportsNeutral, expected, evaporates+", far warmer than any low side that cools here")
	case o == OutOfTolerance && show < b.lo:
		return j.end(o, SupportsYes, expected, evaporates+", too low: a restriction, little charge, or an evaporator without air")
	case o == OutOfTolerance:
		return j.end(o, SupportsYes, expected, evaporates+", too high: a weak compressor, or a heavy heat load")
	}
	return j.end(o, SupportsNeutral, expected, uncertain)
}

// evaporating is the profile's range of evaporating temperatures.
func (j *judging) evaporating(unit Unit) (band, error) {
	b := band{lo: math.Inf(-1), hi: math.Inf(1), exp: math.NaN(), unit: unit, basis: " of evaporation"}
	if j.p.Low != nil {
		b.lo = *j.p.Low
	}
	if j.p.High != nil {
		b.hi = *j.p.High
	}
	return b, nil
}

func (j *judging) highSide(f *fluid, kPa float64) error {
	cel, err := SaturationTemperature(f.name, kPa, Bubble)
	if err != nil {
		return err
	}
	condenses := f.name + " condenses at " + figure(cel, 1) + " °C at this pressure"
	const expected = "a condensing temperature above the room's"
	if j.c.Ambient == nil {
		j.ask("Read the room's temperature.")
		return j.end(CannotDecide, SupportsNeutral, expected, condenses+", without the room's temperature this decides nothing")
	}
	room, err := j.c.Ambient.float("Cel")
	if err != nil {
		return err
	}
	if cel <= room {
		j.ask("Check the refrigerant on the plate, the gauge's zero and whether the compressor was pumping.")
		return j.end(NotPlausible, SupportsNeutral, expected, condenses+", no warmer than the room at "+j.c.Ambient.String())
	}
	j.ask("Show the subcooling: the liquid line's temperature at the same moment.")
	return j.end(CannotDecide, SupportsNeutral, expected, condenses+", "+figure(cel-room, 1)+" K above the room; the pressure alone decides nothing")
}

// lineTemperature: superheat is the suction line above the dew point, subcooling the liquid
// line below the bubble point, both at the pressure read with it.
func (j *judging) lineTemperature() error {
	f, err := j.fluid()
	if err != nil {
		return err
	}
	unit := j.p.Unit
	b := band{lo: *j.p.Low, hi: *j.p.High, exp: math.NaN(), unit: unit, basis: " of superheat"}
	phase, sign, name := Dew, 1.0, "superheat"
	if j.p.Model == Subcooling {
		b.basis, phase, sign, name = " of subcooling", Bubble, -1, "subcooling"
	}
	if j.v.State != "" || j.c.Pressure == nil || j.c.Compressor != "running" {
		j.expect(b)
		j.ask("Read the line's temperature and its pressure at the same time, with the compressor running.")
		return j.end(CannotDecide, SupportsNeutral, b.words(), "cannot be decided without the pressure at the same time and a running compressor")
	}
	line, u, err := j.number("Cel")
	if err != nil {
		return err
	}
	kPa, up, err := j.absolute(*j.c.Pressure)
	if err != nil {
		return err
	}
	sat, err := SaturationTemperature(f.name, kPa, phase)
	if err != nil {
		return err
	}
	slope := (f.pressure(sat+0.05, phase) - f.pressure(sat-0.05, phase)) / 0.1
	spread := math.Hypot(u, up/slope) / span(unit, 1)
	x := sign * (line - sat) / span(unit, 1)
	o := j.decide(x, spread, b)
	meaning := name + " is " + figure(x, 1) + " " + unit.Symbol() + " (" + f.name + " saturates at " + figure(sat, 1) + " °C), "
	switch {
	case x+spread < -1:
		j.ask("Check the refrigerant, the gauge's zero and where the probe sat.")
		return j.end(NotPlausible, SupportsNeutral, b.words(), meaning+"which a flowing line cannot be")
	case o == InTolerance:
		return j.end(o, SupportsNo, b.words(), meaning+"in tolerance")
	case o == OutOfTolerance:
		return j.end(o, SupportsYes, b.words(), meaning+side(x, b))
	}
	return j.end(o, SupportsNeutral, b.words(), meaning+uncertain)
}
