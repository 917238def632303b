package readings

import (
	"math"
	"strings"
)

// Judge holds one reading against a component's profile. inst may be nil: then the verdict
// carries [CautionInstrument] and takes the number as exact.
//
// It returns an [Error] when the profile, the value, the conditions or the instrument are
// unusable, when the model does not judge that quantity, or when the reading lies outside
// what the model's source covers. A missing condition is no error: the verdict is
// cannot-decide and Ask says what would decide.
//
// With an expanded uncertainty U (k = 2) a reading is in tolerance when reading ± U lies
// inside the limits, out when it lies outside, and undecided between (the rule of
// ISO 14253-1, from memory). A reading exactly on a limit, known exactly, is inside.
func Judge(p Profile, v Value, c Conditions, inst *Instrument) (Verdict, error) {
	j, err := begin(p, v, c, inst)
	if err != nil {
		return Verdict{}, err
	}
	if err := j.judge(); err != nil {
		return Verdict{}, err
	}
	return j.out, nil
}

func begin(p Profile, v Value, c Conditions, inst *Instrument) (*judging, error) {
	p, err := p.Resolve()
	if err != nil {
		return nil, err
	}
	if err := v.Validate(); err != nil {
		return nil, err
	}
	if err := c.Validate(); err != nil {
		return nil, err
	}
	if err := inst.Validate(); err != nil {
		return nil, err
	}
	m, _ := p.Model.def()
	if !oneQuantity(v.Quantity, m.reads) || p.Quantity != "" && p.Quantity != v.Quantity {
		want := p.Quantity
		if want == "" {
			want = m.reads[0]
		}
		return nil, fail(CodeWrongQuantity, "quantity", "%s is judged by %s, not by %s", m.title, want.Title(), v.Quantity.Title())
	}
	j := &judging{p: p, v: v, c: c, in: inst, what: inWords(p.Component)}
	if j.what == "" {
		j.what = strings.TrimPrefix(strings.TrimPrefix(strings.TrimPrefix(m.title, "a "), "an "), "the ")
	}
	j.out = Verdict{Supports: SupportsNeutral, Component: p.Component, Source: p.Source, Mark: p.Mark, Model: p.Model, Profile: p.Name}
	if p.Edition != "" {
		j.out.Source += ", " + p.Edition
	}
	if inst != nil && inst.Due != "" && c.On != "" && c.On > inst.Due {
		j.caution(CautionCalibration)
	}
	return j, nil
}

func (j *judging) judge() error {
	switch j.p.Model {
	case NTCThermistor:
		return j.thermistor()
	case PlatinumRTD:
		return j.platinum()
	case PTCStartDevice:
		return j.startDevice()
	case ResistiveHeater:
		return j.heater()
	case Coil:
		return j.coil()
	case DCFan:
		return j.dcFan()
	case DriveVoltage:
		return j.driveVoltage()
	case CompressorSinglePhase:
		return j.windings([3]string{"C-S", "C-R", "R-S"})
	case CompressorInverter:
		return j.windings([3]string{"U-V", "V-W", "W-U"})
	case RunCapacitor:
		return j.capacitor()
	case Thermostat:
		return j.thermostat()
	case ThermalFuse:
		return j.fuse()
	case Switch:
		return j.contactSwitch()
	case SupplyVoltage:
		return j.supply()
	case VoltageDrop:
		return j.drop()
	case CompartmentTemperature:
		return j.compartment()
	case PullDown:
		return j.pullDown()
	case Saturation:
		return j.saturation()
	case Superheat, Subcooling:
		return j.lineTemperature()
	case Insulation:
		return j.insulation()
	case ProtectiveEarth:
		return j.earth()
	}
	return j.plainBand()
}

// judging is one reading being judged.
type judging struct {
	p    Profile
	v    Value
	c    Conditions
	in   *Instrument
	what string // the component in words
	out  Verdict
}

func (j *judging) caution(id string) {
	for _, x := range j.out.Cautions {
		if x == id {
			return
		}
	}
	j.out.Cautions = append(j.out.Cautions, id)
}

func (j *judging) ask(sentence string) { j.out.Ask = append(j.out.Ask, sentence) }

// number is the reading in unit with the instrument's expanded uncertainty.
func (j *judging) number(unit Unit) (x, u float64, err error) {
	if x, err = j.v.float(unit); err != nil {
		return 0, 0, err
	}
	u, ok, err := j.in.Uncertainty(j.v, unit)
	if err != nil {
		return 0, 0, err
	}
	if !ok {
		j.caution(CautionInstrument)
	}
	return x, u, nil
}

// expect notes the expectation in the verdict.
func (j *judging) expect(b band) {
	j.out.Unit = b.unit
	if !math.IsNaN(b.exp) {
		j.out.Expected = short(b.exp)
	}
	if !math.IsInf(b.lo, 0) {
		j.out.Low = short(b.lo)
	}
	if !math.IsInf(b.hi, 0) {
		j.out.High = short(b.hi)
	}
}

// decide holds x ± u against the band and notes both.
func (j *judging) decide(x, u float64, b band) Outcome {
	j.expect(b)
	if j.v.State == "" && b.unit == j.v.Unit && mustEqual(j.v, x) {
		j.out.Read = j.v.Value
	} else {
		j.out.Read = short(x)
	}
	eps := 1e-9 * math.Max(math.Abs(b.lo), math.Abs(b.hi))
	if math.IsInf(eps, 0) || math.IsNaN(eps) {
		eps = 1e-9 * math.Abs(x)
	}
	inside := math.Min(x-b.lo, b.hi-x) // distance to the nearest limit, negative outside
	if u > 0 {
		j.out.Uncertainty = sig(u, 2)
		if !math.IsInf(inside, 0) {
			j.out.Margin = figure(math.Max(-999, math.Min(inside/u, 999)), 1)
		}
	}
	switch {
	case x-u >= b.lo-eps && x+u <= b.hi+eps:
		j.out.Outcome = InTolerance
	case x+u < b.lo-eps || x-u > b.hi+eps:
		j.out.Outcome = OutOfTolerance
	default:
		j.out.Outcome = CannotDecide
	}
	return j.out.Outcome
}

// mustEqual reports whether x is v's own number (no lead resistance was taken off).
func mustEqual(v Value, x float64) bool {
	f, err := v.float(v.Unit)
	return err == nil && f == x
}

// end fills the sentences. meaning says what the comparison means, without a full stop.
func (j *judging) end(o Outcome, s Support, expected, meaning string) error {
	j.out.Outcome, j.out.Supports = o, s
	if meaning == uncertain || strings.HasSuffix(meaning, ", "+uncertain) {
		j.ask("Read again with a more exact instrument, or with the conditions better known.")
	}
	switch {
	case len(j.out.Ask) > 0:
	case o == CannotDecide:
		j.ask("Read again on a range that shows a number.")
	case o == NotPlausible:
		j.ask("Check the unit, the range and the probe, and read again.")
	}
	read := j.v.String()
	j.out.Says = "Expected " + expected + "; read " + read + ": " + meaning + "."
	j.out.Claim = capital(j.what) + ": " + j.v.Quantity.Title() + " " + read + " read" + j.circumstances() + "; expected " + expected + "; " + outcomeWords(o, meaning) + "."
	return nil
}

func outcomeWords(o Outcome, meaning string) string {
	switch o {
	case InTolerance:
		if strings.Contains(meaning, "in tolerance") {
			return meaning
		}
		return "in tolerance, " + meaning
	case OutOfTolerance:
		return "out of tolerance, " + meaning
	case CannotDecide:
		return "not decided by this reading"
	}
	return "not plausible, to be measured again"
}

// circumstances are what the claim's reader wants to know about the reading.
func (j *judging) circumstances() string {
	s := ""
	switch j.c.Moment {
	case "as-found":
		s += " as found"
	case "as-left":
		s += " as left"
	}
	if j.c.Between != "" {
		s += " between " + clip(j.c.Between)
	}
	switch j.c.Circuit {
	case "isolated":
		s += ", part disconnected"
	case "in-circuit":
		s += ", part still wired in"
	}
	if j.c.PartTemperature != nil {
		s += ", part at " + j.c.PartTemperature.String()
	}
	if j.c.Supply != nil {
		s += ", supply " + j.c.Supply.String()
	}
	if j.c.Load == "under-load" {
		s += ", under load"
	}
	if j.c.Command == "on" {
		s += ", commanded on"
	}
	return s
}

// inWords is a component's name as said: "defrost heater", "fresh-food compartment".
func inWords(component string) string {
	return strings.Replace(strings.ReplaceAll(component, "-", " "), "fresh food", "fresh-food", 1)
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// side says on which side of the band x lies.
func side(x float64, b band) string {
	if x < b.lo {
		return "below the range"
	}
	return "above the range"
}

const uncertain = "cannot be decided, the uncertainty reaches over the limit"
