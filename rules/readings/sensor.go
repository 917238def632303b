package readings

import "math"

// partTemperature is the part's temperature in °C and how far it may be off (expanded), ok
// when it is known.
func (j *judging) partTemperature() (cel, spread float64, ok bool, err error) {
	if j.c.PartTemperature == nil {
		return 0, 0, false, nil
	}
	if cel, err = j.c.PartTemperature.float("Cel"); err != nil {
		return 0, 0, false, err
	}
	if j.c.PartTemperatureError == nil {
		j.caution(CautionPartTempError)
		return cel, 0, true, nil
	}
	e, err := j.c.PartTemperatureError.float("K")
	return cel, 2 * math.Abs(e) / math.Sqrt(3), true, err
}

// thermistor: far above the curve's cold end is open, far below its hot end is shorted
// (factor 10; common practice). In between only the part's temperature decides.
func (j *judging) thermistor() error {
	c := j.p.Curve
	cold, hot := c.ohm(c.Min), c.ohm(c.Max)
	p := part{openAbove: 10 * cold, shortBelow: hot / 10, inSupport: SupportsNo, inMeaning: "in tolerance, the sensor follows its curve at this temperature"}
	if j.v.State == "" {
		if ohm, err := j.v.float("Ohm"); err == nil {
			if t, err := c.Celsius(ohm); err == nil {
				j.out.ByCurve = figure(t, 1)
			}
		}
	}
	cel, spread, ok, err := j.partTemperature()
	if err != nil {
		return err
	}
	if !ok {
		p.b = band{lo: hot, hi: cold, exp: math.NaN(), unit: "Ohm", basis: " over " + short(c.Min) + " to " + short(c.Max) + " °C by its curve"}
		p.unknownPart = "cannot be decided without the sensor's temperature"
		if j.out.ByCurve != "" {
			p.unknownPart += ", by its curve it would be at " + j.out.ByCurve + " °C"
		}
		j.ask("Read the sensor's temperature: crushed ice and water for five minutes is 0 °C.")
		return j.ohms(p)
	}
	r, err := c.Resistance(cel)
	if err != nil {
		return err
	}
	t := c.tolerance(cel, j.p.TolerancePercent)
	p.b = band{lo: r * (1 - t), hi: r * (1 + t), exp: r, unit: "Ohm", basis: " at " + j.c.PartTemperature.String() + " by its curve"}
	p.spread = spread * math.Abs(c.ohm(cel+0.05)-c.ohm(cel-0.05)) / 0.1
	if err := j.ohms(p); err != nil {
		return err
	}
	if j.out.Outcome == InTolerance {
		j.ask("Read a second temperature, for example the ice bath and the room: one point does not prove the whole curve.")
	}
	return nil
}

// platinum: R = R0·(1 + A·t + B·t² [+ C·(t-100)·t³ below 0 °C]), IEC 60751, from memory.
func (j *judging) platinum() error {
	const a, b, c = 3.9083e-3, -5.775e-7, -4.183e-12
	p := part{openAbove: 10 * j.p.R0, shortBelow: j.p.R0 / 10, inSupport: SupportsNo, inMeaning: "in tolerance, the sensor follows its curve at this temperature"}
	cel, spread, ok, err := j.partTemperature()
	if err != nil {
		return err
	}
	if !ok {
		p.b = band{lo: j.p.R0 * 0.8, hi: j.p.R0 * 3.2, exp: math.NaN(), unit: "Ohm", basis: " between freezing and the hottest oven"}
		p.unknownPart = "cannot be decided without the sensor's temperature"
		j.ask("Read the sensor's temperature.")
		return j.ohms(p)
	}
	if cel < -200 || cel > 850 {
		return fail(CodeOutsideRange, "partTemperature", "the platinum curve holds from -200 to 850 °C and says nothing at %s °C", short(cel))
	}
	r := platinumRatio(cel, a, b, c) * j.p.R0
	t := j.p.TolerancePercent / 100
	p.b = band{lo: r * (1 - t), hi: r * (1 + t), exp: r, unit: "Ohm", basis: " at " + j.c.PartTemperature.String() + " for platinum"}
	p.spread = spread * j.p.R0 * math.Abs(a+2*b*cel)
	return j.ohms(p)
}

func platinumRatio(t, a, b, c float64) float64 {
	r := 1 + a*t + b*t*t
	if t < 0 {
		r += c * (t - 100) * t * t * t
	}
	return r
}
