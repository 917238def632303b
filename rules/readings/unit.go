package readings

import "math/big"

// Unit is a UCUM code, case sensitive. A Fahrenheit difference is UCUM's Rankine
// degree [degR], because a difference of temperatures has no zero point.
type Unit string

type unitDef struct {
	code     Unit
	symbol   string // as shown to people
	num, den int64  // base = (value + off) · num/den
	off      string // exact decimal added before scaling, for °F and °C
	aliases  []string
}

// units gives each unit in its dimension's base (Ohm, V, A, W, F, Hz, K, Pa, L/min,
// m/s, s, g, 1). Factors are the exact definitions of the UCUM specification
// (pound 0.45359237 kg and standard gravity 9.80665 m/s² for the psi, metre of mercury
// 133.3220 kPa, metre of water 9.80665 kPa, US gallon 231 in³, inch 25.4 mm).
// UCUM's inch of mercury is 3386.3788 Pa; NIST SP 811's conventional one is 3386.389 Pa
// (3 parts in a million more). It is never written to.
var units = []unitDef{
	{"Ohm", "Ω", 1, 1, "", []string{"ohm", "ohms", "Ω", "R", "r"}},
	{"kOhm", "kΩ", 1000, 1, "", []string{"k", "K", "kohm", "kohms", "kΩ", "kilohm", "kilohms"}},
	{"MOhm", "MΩ", 1000000, 1, "", []string{"M", "Mohm", "Mohms", "MΩ", "meg", "megohm", "megohms"}},
	{"GOhm", "GΩ", 1000000000, 1, "", []string{"G", "Gohm", "GΩ", "gig", "gigohm"}},
	{"mOhm", "mΩ", 1, 1000, "", []string{"mohm", "mohms", "mΩ", "milliohm", "milliohms"}},
	{"V", "V", 1, 1, "", []string{"v", "volt", "volts", "VAC", "vac", "VDC", "vdc"}},
	{"mV", "mV", 1, 1000, "", []string{"millivolt", "millivolts"}},
	{"kV", "kV", 1000, 1, "", []string{"kilovolt", "kilovolts"}},
	{"A", "A", 1, 1, "", []string{"a", "amp", "amps", "ampere"}},
	{"mA", "mA", 1, 1000, "", []string{"m", "ma", "milliamp", "milliamps"}},
	{"uA", "µA", 1, 1000000, "", []string{"u", "μ", "μA", "ua", "microamp", "microamps"}},
	{"W", "W", 1, 1, "", []string{"w", "watt", "watts"}},
	{"kW", "kW", 1000, 1, "", []string{"k", "K", "kw", "KW", "kilowatt", "kilowatts"}},
	{"uF", "µF", 1, 1000000, "", []string{"u", "μ", "μF", "uf", "MFD", "mfd", "microfarad"}},
	{"nF", "nF", 1, 1000000000, "", []string{"n", "nf"}},
	{"pF", "pF", 1, 1000000000000, "", []string{"p", "pf"}},
	{"Hz", "Hz", 1, 1, "", []string{"hz", "hertz"}},
	{"kHz", "kHz", 1000, 1, "", []string{"k", "K", "khz"}},
	{"/min", "rpm", 1, 60, "", []string{"rpm", "RPM", "r/min"}},
	{"/s", "1/s", 1, 1, "", []string{"1/s", "rps"}},
	{"Cel", "°C", 1, 1, "273.15", []string{"C", "c", "°C", "°c", "degC", "deg C", "celsius"}},
	{"[degF]", "°F", 5, 9, "459.67", []string{"F", "f", "°F", "°f", "degF", "deg F", "fahrenheit"}},
	{"K", "K", 1, 1, "", []string{"k", "kelvin"}},
	{"[degR]", "°F difference", 5, 9, "", []string{"F", "f", "°F", "degF", "deg F", "F°"}},
	{"Pa", "Pa", 1, 1, "", []string{"pa", "pascal"}},
	{"kPa", "kPa", 1000, 1, "", []string{"kpa", "KPA", "kPag", "kPaa"}},
	{"bar", "bar", 100000, 1, "", []string{"Bar", "BAR", "barg", "bara"}},
	{"mbar", "mbar", 100, 1, "", []string{"millibar", "hPa", "hpa"}},
	{"[psi]", "psi", 44482216152605, 6451600000, "", []string{"psi", "PSI", "psig", "PSIG", "psia", "PSIA", "lb/in2"}},
	{"[in_i'Hg]", "inHg", 33863788, 10000, "", []string{"inHg", "inhg", "in Hg", "in. Hg", "inches Hg", "\"Hg"}},
	{"[in_i'H2O]", "inH2O", 24908891, 100000, "", []string{"inH2O", "inh2o", "in H2O", "inWC", "in WC", "in. WC", "inwc", "inwg", "\"WC", "in w.c.", "iwc"}},
	{"mm[Hg]", "mmHg", 133322, 1000, "", []string{"mmHg", "mmhg", "torr", "Torr"}},
	{"um[Hg]", "micron", 133322, 1000000, "", []string{"micron", "microns", "Micron", "μm", "um", "μmHg", "umHg", "mTorr"}},
	{"L/min", "L/min", 1, 1, "", []string{"l/min", "lpm", "LPM"}},
	{"mL/min", "mL/min", 1, 1000, "", []string{"ml/min"}},
	{"L/s", "L/s", 60, 1, "", []string{"l/s"}},
	{"[gal_us]/min", "gpm", 3785411784, 1000000000, "", []string{"gpm", "GPM", "gal/min"}},
	{"m3/h", "m³/h", 50, 3, "", []string{"m³/h", "cmh"}},
	{"[cft_i]/min", "cfm", 28316846592, 1000000000, "", []string{"cfm", "CFM", "ft3/min"}},
	{"m/s", "m/s", 1, 1, "", nil},
	{"[ft_i]/min", "ft/min", 3048, 600000, "", []string{"fpm", "FPM", "ft/min"}},
	{"%", "%", 1, 100, "", []string{"percent", "%RH", "%rh", "RH"}},
	{"1", "", 1, 1, "", nil},
	{"s", "s", 1, 1, "", []string{"sec", "secs", "second", "seconds"}},
	{"min", "min", 60, 1, "", []string{"m", "mins", "minute", "minutes"}},
	{"h", "h", 3600, 1, "", []string{"hr", "hrs", "hour", "hours"}},
	{"g", "g", 1, 1, "", []string{"gram", "grams"}},
	{"kg", "kg", 1000, 1, "", []string{"kilo", "kilos"}},
	{"[oz_av]", "oz", 28349523125, 1000000000, "", []string{"oz", "ounce", "ounces"}},
	{"[lb_av]", "lb", 45359237, 100000, "", []string{"lb", "lbs", "pound", "pounds"}},
	{"mW/cm2", "mW/cm²", 1, 1, "", []string{"mW/cm²", "mw/cm2"}},
}

func (u Unit) def() (*unitDef, bool) {
	for i := range units {
		if units[i].code == u {
			return &units[i], true
		}
	}
	return nil, false
}

// Symbol is the unit as people write it ("kΩ", "°F"), or the bare code when unknown.
func (u Unit) Symbol() string {
	d, ok := u.def()
	if !ok {
		return string(u)
	}
	return d.symbol
}

// toBase and fromBase are exact.
func (d *unitDef) toBase(x *big.Rat) *big.Rat {
	y := new(big.Rat).Set(x)
	if d.off != "" {
		y.Add(y, mustRat(d.off))
	}
	return y.Mul(y, big.NewRat(d.num, d.den))
}

func (d *unitDef) fromBase(x *big.Rat) *big.Rat {
	y := new(big.Rat).Mul(x, big.NewRat(d.den, d.num))
	if d.off != "" {
		y.Sub(y, mustRat(d.off))
	}
	return y
}

// convert changes an exact number from one unit of q to another.
func convert(q Quantity, x *big.Rat, from, to Unit) (*big.Rat, error) {
	if err := checkUnit(q, from); err != nil {
		return nil, err
	}
	if err := checkUnit(q, to); err != nil {
		return nil, err
	}
	if from == to {
		return new(big.Rat).Set(x), nil
	}
	f, _ := from.def()
	t, _ := to.def()
	return t.fromBase(f.toBase(x)), nil
}

// Convert gives the exact number of v in another unit of the same quantity: nothing is
// rounded. It refuses a state, and a unit that the quantity does not have. A gauge
// pressure becomes an absolute one only through [Absolute].
func Convert(v Value, to Unit) (*big.Rat, error) {
	x, err := v.Rat()
	if err != nil {
		return nil, err
	}
	return convert(v.Quantity, x, v.Unit, to)
}

// In gives v in another unit, rounded half away from zero to so many decimals (0 to 9).
func In(v Value, to Unit, decimals int) (Value, error) {
	x, err := Convert(v, to)
	if err != nil {
		return Value{}, err
	}
	w := Value{Quantity: v.Quantity, Value: decimal(x, max(0, min(decimals, maxDecimals))), Unit: to}
	return w, w.Validate()
}

// StandardAtmosphere is 101.325 kPa, the pressure gauge readings are turned absolute
// with when nobody read a barometer. At 1500 m above the sea it is 16 kPa too much.
func StandardAtmosphere() Value {
	return Value{Quantity: PressureAbsolute, Value: "101.325", Unit: "kPa"}
}

// Absolute turns a gauge pressure into an absolute one, given the air pressure at the
// place (see [StandardAtmosphere]). The result is in Pa, exact.
func Absolute(gauge, barometer Value) (*big.Rat, error) {
	if gauge.Quantity != PressureGauge || barometer.Quantity != PressureAbsolute {
		return nil, fail(CodeGaugeAbsolute, "quantity", "an absolute pressure is made from a gauge pressure and the absolute air pressure, not from %s and %s", gauge.Quantity.Title(), barometer.Quantity.Title())
	}
	g, err := Convert(gauge, "Pa")
	if err != nil {
		return nil, err
	}
	b, err := Convert(barometer, "Pa")
	if err != nil {
		return nil, err
	}
	p := new(big.Rat).Add(g, b)
	if p.Sign() < 0 {
		return nil, fail(CodeImpossible, "value", "%s below an air pressure of %s is less than a perfect vacuum; check the gauge's zero", gauge, barometer)
	}
	return p, nil
}
