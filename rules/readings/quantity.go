package readings

// Quantity is what was measured. Gauge and absolute pressure, a temperature and a
// difference of temperatures, AC and DC are different quantities and never mixed.
type Quantity string

// The quantities.
const (
	Resistance            Quantity = "resistance"
	InsulationResistance  Quantity = "insulation-resistance"
	VoltageAC             Quantity = "voltage-ac"
	VoltageDC             Quantity = "voltage-dc"
	CurrentAC             Quantity = "current-ac"
	CurrentDC             Quantity = "current-dc"
	LeakageCurrent        Quantity = "leakage-current"
	Power                 Quantity = "power"
	Capacitance           Quantity = "capacitance"
	Frequency             Quantity = "frequency"
	RotationSpeed         Quantity = "rotation-speed"
	Temperature           Quantity = "temperature"
	TemperatureDifference Quantity = "temperature-difference"
	PressureGauge         Quantity = "pressure-gauge"
	PressureAbsolute      Quantity = "pressure-absolute"
	Vacuum                Quantity = "vacuum"
	WaterFlow             Quantity = "water-flow"
	AirFlow               Quantity = "airflow"
	AirVelocity           Quantity = "air-velocity"
	Humidity              Quantity = "humidity"
	Duration              Quantity = "duration"
	Mass                  Quantity = "mass"
	Ratio                 Quantity = "ratio"
	RadiationLeakage      Quantity = "radiation-leakage"
)

// QuantityInfo describes a quantity for a reading pad: the units offered (the first
// is the default) and the states that are readings of it although they are no numbers.
type QuantityInfo struct {
	Quantity Quantity `json:"quantity"`
	Title    string   `json:"title"`
	Units    []Unit   `json:"units"`
	Symbols  []string `json:"symbols"`
	States   []State  `json:"states,omitempty"`
}

// floor says below which value a quantity cannot be, in its base unit.
type floor int

const (
	anyValue    floor = iota // may be negative
	notNegative              // zero is the least
	aboveZeroK               // not below absolute zero
	aboveVacuum              // gauge: not below a perfect vacuum
)

type quantityDef struct {
	quantity Quantity
	title    string
	units    []Unit
	floor    floor
	states   []State
}

// quantities is never written to.
var quantities = []quantityDef{
	{Resistance, "resistance", []Unit{"Ohm", "kOhm", "MOhm", "mOhm"}, notNegative, []State{OverRange, Open, Closed}},
	{VoltageAC, "AC voltage", []Unit{"V", "mV", "kV"}, notNegative, []State{OverRange}},
	{VoltageDC, "DC voltage", []Unit{"V", "mV", "kV"}, anyValue, []State{OverRange}},
	{CurrentAC, "AC current", []Unit{"A", "mA", "uA"}, notNegative, []State{OverRange}},
	{CurrentDC, "DC current", []Unit{"A", "mA", "uA"}, anyValue, []State{OverRange}},
	{Power, "power", []Unit{"W", "kW"}, notNegative, []State{OverRange}},
	{Temperature, "temperature", []Unit{"Cel", "[degF]", "K"}, aboveZeroK, []State{OverRange}},
	{TemperatureDifference, "temperature difference", []Unit{"K", "[degR]"}, anyValue, nil},
	{PressureGauge, "gauge pressure", []Unit{"kPa", "[psi]", "bar", "mbar", "Pa", "[in_i'Hg]", "[in_i'H2O]"}, aboveVacuum, []State{OverRange}},
	{PressureAbsolute, "absolute pressure", []Unit{"kPa", "[psi]", "bar", "mbar", "Pa", "[in_i'Hg]"}, notNegative, []State{OverRange}},
	{Vacuum, "vacuum (absolute, while evacuating)", []Unit{"um[Hg]", "Pa", "mbar", "mm[Hg]"}, notNegative, []State{OverRange}},
	{LeakageCurrent, "leakage current", []Unit{"mA", "uA"}, notNegative, []State{OverRange}},
	{InsulationResistance, "insulation resistance", []Unit{"MOhm", "GOhm", "kOhm"}, notNegative, []State{OverRange}},
	{Capacitance, "capacitance", []Unit{"uF", "nF", "pF"}, notNegative, []State{OverRange}},
	{Frequency, "frequency", []Unit{"Hz", "kHz"}, notNegative, []State{OverRange}},
	{RotationSpeed, "rotation speed", []Unit{"/min", "/s"}, notNegative, []State{OverRange}},
	{WaterFlow, "water flow", []Unit{"L/min", "[gal_us]/min", "mL/min"}, notNegative, nil},
	{AirFlow, "airflow", []Unit{"m3/h", "[cft_i]/min", "L/s"}, notNegative, nil},
	{AirVelocity, "air velocity", []Unit{"m/s", "[ft_i]/min"}, notNegative, nil},
	{Humidity, "relative humidity", []Unit{"%"}, notNegative, nil},
	{Duration, "duration", []Unit{"min", "s", "h"}, notNegative, nil},
	{Mass, "mass", []Unit{"g", "kg", "[oz_av]", "[lb_av]"}, notNegative, nil},
	{Ratio, "ratio", []Unit{"%", "1"}, anyValue, nil},
	{RadiationLeakage, "microwave leakage", []Unit{"mW/cm2"}, notNegative, []State{OverRange}},
}

func (q Quantity) def() (*quantityDef, error) {
	for i := range quantities {
		if quantities[i].quantity == q {
			return &quantities[i], nil
		}
	}
	return nil, fail(CodeUnknownQuantity, "quantity", "there is no quantity %q; the catalogue lists the quantities", clip(string(q)))
}

// Title is the quantity in words, or the bare code when it is unknown.
func (q Quantity) Title() string {
	d, err := q.def()
	if err != nil {
		return string(q)
	}
	return d.title
}

// DefaultUnit is the unit a reading pad offers first, or "" for an unknown quantity.
func (q Quantity) DefaultUnit() Unit {
	d, err := q.def()
	if err != nil {
		return ""
	}
	return d.units[0]
}

// Has reports whether u is a unit of q.
func (q Quantity) Has(u Unit) bool {
	d, err := q.def()
	if err != nil {
		return false
	}
	for _, x := range d.units {
		if x == u {
			return true
		}
	}
	return false
}

func (d *quantityDef) hasState(s State) bool {
	for _, x := range d.states {
		if x == s {
			return true
		}
	}
	return false
}

// checkUnit returns a sentence-bearing error unless u is a unit of q.
func checkUnit(q Quantity, u Unit) error {
	if _, err := q.def(); err != nil {
		return err
	}
	if q.Has(u) {
		return nil
	}
	if _, ok := u.def(); ok {
		return fail(CodeWrongUnit, "unit", "%s is not a unit of %s; use %s", u, q.Title(), unitList(q))
	}
	return fail(CodeUnknownUnit, "unit", "there is no unit %q; for %s use %s", clip(string(u)), q.Title(), unitList(q))
}

func unitList(q Quantity) string {
	d, err := q.def()
	if err != nil {
		return ""
	}
	s := ""
	for i, u := range d.units {
		if i > 0 {
			s += ", "
		}
		s += string(u)
	}
	return s
}

// clip shortens foreign text that is quoted in a sentence.
func clip(s string) string {
	r := []rune(s)
	if len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return s
}
