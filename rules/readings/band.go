package readings

import (
	"math"
	"strings"
)

// band is what is expected, in one unit. Infinite limits are open ends.
type band struct {
	lo, hi float64
	exp    float64 // NaN when there is no single expected value
	unit   Unit
	basis  string // " from 450 W at 120 V"
}

func (b band) scaled(k float64, u Unit) band {
	b.lo, b.hi, b.exp, b.unit = b.lo*k, b.hi*k, b.exp*k, u
	return b
}

// words is the expectation for a sentence: "32 Ω (28.8 to 35.2 Ω) from 450 W at 120 V".
func (b band) words() string {
	s := b.unit.Symbol()
	if s != "" {
		s = " " + s
	}
	var r string
	switch {
	case math.IsInf(b.lo, 0) && math.IsInf(b.hi, 0):
		return "no limit"
	case math.IsInf(b.lo, 0):
		r = "at most " + short(b.hi) + s
	case math.IsInf(b.hi, 0):
		r = "at least " + short(b.lo) + s
	default:
		r = short(b.lo) + " to " + short(b.hi) + s
	}
	if !math.IsNaN(b.exp) {
		r = short(b.exp) + s + " (" + r + ")"
	}
	return r + b.basis
}

// short is four significant digits without trailing zeros.
func short(x float64) string {
	s := sig(x, 4)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

// plainBand judges a number against fixed limits. It supports nothing: the models that use
// it are about the surroundings of a part, not about a part.
func (j *judging) plainBand() error {
	b, err := j.limits(j.v.Quantity)
	if err != nil {
		return err
	}
	if j.p.Model == WaterPressure && j.c.Load == "" {
		j.ask("Say whether water was flowing: the static pressure hides a closed-down supply.")
	}
	if j.v.State != "" {
		j.expect(b)
		j.caution(CautionHigherRange)
		if !math.IsInf(b.hi, 0) {
			return j.end(CannotDecide, SupportsNeutral, b.words(), "beyond the range of the meter, set a higher range")
		}
		return j.end(InTolerance, SupportsNeutral, b.words(), "above the range of the meter")
	}
	x, u, err := j.number(b.unit)
	if err != nil {
		return err
	}
	switch j.decide(x, u, b) {
	case InTolerance:
		return j.end(InTolerance, SupportsNeutral, b.words(), "in tolerance")
	case OutOfTolerance:
		return j.end(OutOfTolerance, SupportsNeutral, b.words(), side(x, b))
	}
	return j.end(CannotDecide, SupportsNeutral, b.words(), uncertain)
}

// limits is the profile's Low, High and Nominal in the reading's unit.
func (j *judging) limits(q Quantity) (band, error) {
	unit := j.v.Unit
	if unit == "" {
		unit = j.p.Unit
	}
	b := band{lo: math.Inf(-1), hi: math.Inf(1), exp: math.NaN(), unit: unit}
	high := j.p.High
	if j.p.Model == Leakage && j.p.RatedWatts > 0 {
		// IEC 60335-1, 13.2, class I stationary heating appliances: so much per kilowatt,
		// never less than the fixed limit nor more than 5 mA.
		high = at(math.Max(*high, math.Min(5, *high*j.p.RatedWatts/1000)))
	}
	for _, x := range []struct {
		from *float64
		to   *float64
	}{{j.p.Low, &b.lo}, {high, &b.hi}, {j.p.Nominal, &b.exp}} {
		if x.from == nil {
			continue
		}
		f, err := convertFloat(q, *x.from, j.p.Unit, unit)
		if err != nil {
			return band{}, err
		}
		*x.to = f
	}
	return b, nil
}

// convertFloat converts without the exactness that numbers of a profile do not have.
func convertFloat(q Quantity, x float64, from, to Unit) (float64, error) {
	if err := checkUnit(q, from); err != nil {
		return 0, err
	}
	if err := checkUnit(q, to); err != nil {
		return 0, err
	}
	if from == to {
		return x, nil
	}
	f, _ := from.def()
	t, _ := to.def()
	return (x+offset(f))*ratio(f)/ratio(t) - offset(t), nil
}

func offset(d *unitDef) float64 {
	switch d.code {
	case "Cel":
		return 273.15
	case "[degF]":
		return 459.67
	}
	return 0
}
