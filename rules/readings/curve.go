package readings

import "math"

const zeroC = 273.15

func (c *Curve) validate() error {
	bad := func(what string) error {
		return fail(CodeBadProfile, "curve", "the thermistor's curve %s", what)
	}
	if !(c.Min > -zeroC && c.Max > c.Min && c.Max < 1000) {
		return bad("needs the range in °C over which it holds (min below max)")
	}
	finite := func(xs []float64) bool {
		for _, x := range xs {
			if math.IsNaN(x) || math.IsInf(x, 0) {
				return false
			}
		}
		return true
	}
	if !finite(c.Inverse) || !finite(c.Forward) || !finite([]float64{c.R25, c.Beta, c.BetaTolerance}) || c.BetaTolerance < 0 {
		return bad("has a number that is not usable")
	}
	switch c.Kind {
	case "beta":
		if c.R25 <= 0 || c.Beta <= 0 {
			return bad("of kind beta needs r25 and beta")
		}
	case "steinhart-hart":
		if len(c.Inverse) != 3 {
			return bad("of kind steinhart-hart needs its three coefficients in inverse")
		}
	case "four-term":
		if c.R25 <= 0 || len(c.Inverse) != 4 || len(c.Forward) != 0 && len(c.Forward) != 4 {
			return bad("of kind four-term needs r25 and its four coefficients in inverse")
		}
	case "table":
		if len(c.Table) < 2 || len(c.Table) > 500 {
			return bad("of kind table needs 2 to 500 rows")
		}
		for i, p := range c.Table {
			if !(p.Ohm > 0) || math.IsInf(p.Ohm, 0) || !(p.Cel > -zeroC) || math.IsInf(p.Cel, 0) || i > 0 && (p.Cel <= c.Table[i-1].Cel || p.Ohm >= c.Table[i-1].Ohm) {
				return bad("must have its table in rising temperature and falling resistance")
			}
		}
		if c.Min < c.Table[0].Cel || c.Max > c.Table[len(c.Table)-1].Cel {
			return bad("claims a range that its table does not cover")
		}
	default:
		return bad("is of no known kind; use table, beta, steinhart-hart or four-term")
	}
	lo, hi := c.ohm(c.Max), c.ohm(c.Min)
	if !(lo > 0 && hi > lo && hi < 1e12) {
		return bad("does not fall with temperature over its range; check the coefficients")
	}
	return nil
}

// Resistance is the ohms at so many °C; it refuses outside the curve's range.
func (c *Curve) Resistance(cel float64) (float64, error) {
	if !(cel >= c.Min && cel <= c.Max) {
		return 0, fail(CodeOutsideRange, "partTemperature", "the thermistor's curve holds from %s to %s °C and says nothing at %s °C", short(c.Min), short(c.Max), short(cel))
	}
	return c.ohm(cel), nil
}

// Celsius is the temperature at so many ohms; it refuses outside the curve's range.
func (c *Curve) Celsius(ohm float64) (float64, error) {
	t := c.cel(ohm)
	// The inverse and the forward coefficients of a part may differ by a few hundredths.
	if !(ohm > 0) || !(t >= c.Min-0.05 && t <= c.Max+0.05) {
		return 0, fail(CodeOutsideRange, "value", "%s Ω lies outside the thermistor's curve, which holds from %s to %s °C", short(ohm), short(c.Min), short(c.Max))
	}
	return t, nil
}

// ohm and cel do not look at the range.
func (c *Curve) ohm(cel float64) float64 {
	t := cel + zeroC
	switch {
	case c.Kind == "beta":
		return c.R25 * math.Exp(c.Beta*(1/t-1/(25+zeroC)))
	case c.Kind == "table":
		i := 1
		for i < len(c.Table)-1 && c.Table[i].Cel < cel {
			i++
		}
		a, b := c.Table[i-1], c.Table[i]
		ta, tb := 1/(a.Cel+zeroC), 1/(b.Cel+zeroC)
		f := (1/t - ta) / (tb - ta)
		return math.Exp(math.Log(a.Ohm) + f*(math.Log(b.Ohm)-math.Log(a.Ohm)))
	case len(c.Forward) == 4:
		f := c.Forward
		return c.R25 * math.Exp(f[0]+f[1]/t+f[2]/t/t+f[3]/t/t/t)
	}
	// The inverse equation, turned round by halving: it rises with ln R over any real part.
	lo, hi := -7.0, 25.0 // ln of 1 mΩ and of 72 GΩ
	for range 48 {
		mid := (lo + hi) / 2
		if c.inverse(mid) < 1/t {
			lo = mid
		} else {
			hi = mid
		}
	}
	return math.Exp((lo + hi) / 2)
}

// inverse is 1/T in 1/K at ln R.
func (c *Curve) inverse(lnR float64) float64 {
	k := c.Inverse
	if c.Kind == "steinhart-hart" {
		return k[0] + k[1]*lnR + k[2]*lnR*lnR*lnR
	}
	l := lnR - math.Log(c.R25)
	return k[0] + l*(k[1]+l*(k[2]+l*k[3]))
}

func (c *Curve) cel(ohm float64) float64 {
	switch c.Kind {
	case "beta":
		return 1/(1/(25+zeroC)+math.Log(ohm/c.R25)/c.Beta) - zeroC
	case "table":
		lo, hi := c.Table[0].Cel, c.Table[len(c.Table)-1].Cel
		if ohm > c.Table[0].Ohm || ohm < c.Table[len(c.Table)-1].Ohm {
			return math.NaN()
		}
		for range 48 {
			mid := (lo + hi) / 2
			if c.ohm(mid) > ohm {
				lo = mid
			} else {
				hi = mid
			}
		}
		return (lo + hi) / 2
	}
	return 1/c.inverse(math.Log(ohm)) - zeroC
}

// tolerance is the part's relative tolerance at a temperature: the resistance's at 25 °C plus
// what the tolerance of beta adds away from it.
func (c *Curve) tolerance(cel, percent float64) float64 {
	return percent/100 + c.BetaTolerance*math.Abs(1/(cel+zeroC)-1/(25+zeroC))
}
