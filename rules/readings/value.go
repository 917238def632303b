package readings

import (
	"math/big"
	"strconv"
)

// State is a reading that is no number.
type State string

// The states.
const (
	// OverRange is a meter's "OL": open circuit on resistance, more than the range else.
	OverRange State = "over-range"
	// Open is an open circuit said in words; it is judged as OverRange is.
	Open State = "open"
	// Closed is the beep of a continuity test: a closed contact, a short circuit.
	Closed State = "closed"
)

// Value is one reading: either a decimal with its unit, exactly as typed (the number of
// decimals is the resolution that was read), or a state. The zero Value is no reading.
type Value struct {
	Quantity Quantity `json:"quantity"`
	Value    string   `json:"value,omitempty"`
	Unit     Unit     `json:"unit,omitempty"`
	State    State    `json:"state,omitempty"`
}

// Validate says in one sentence what is wrong with v, or returns nil.
func (v Value) Validate() error {
	d, err := v.Quantity.def()
	if err != nil {
		return err
	}
	if v.State != "" {
		if v.Value != "" || v.Unit != "" {
			return fail(CodeState, "state", "a reading is either a number with a unit or a state, not both (%s and %s)", clip(v.Value), clip(string(v.State)))
		}
		if !d.hasState(v.State) {
			return fail(CodeState, "state", "%q is not a state of %s", clip(string(v.State)), d.title)
		}
		return nil
	}
	if err := checkUnit(v.Quantity, v.Unit); err != nil {
		return err
	}
	if !validDecimal(v.Value) {
		return fail(CodeNotANumber, "value", "%q is not a plain decimal of at most %d digits such as -2.5", clip(v.Value), maxDigits)
	}
	return d.checkFloor(v)
}

func (d *quantityDef) checkFloor(v Value) error {
	u, _ := v.Unit.def()
	if d.floor != anyValue || d.quantity == Humidity {
		// Far from the floor no exact number is needed; this is the path of nearly all readings.
		f, err := strconv.ParseFloat(v.Value, 64)
		if base := (f + offset(u)) * ratio(u); err == nil && base > 1e-9 && d.quantity != Humidity {
			return nil
		}
	}
	x := u.toBase(mustRat(v.Value))
	switch d.floor {
	case notNegative:
		if x.Sign() < 0 {
			return fail(CodeImpossible, "value", "%s cannot be negative (%s); zero the meter's leads or check the sign", d.title, v)
		}
	case aboveZeroK:
		if x.Sign() < 0 {
			return fail(CodeImpossible, "value", "%s is below absolute zero; check the unit", v)
		}
	case aboveVacuum:
		// The highest air pressure ever recorded at ground is about 108.4 kPa (from memory).
		if x.Cmp(big.NewRat(-110000, 1)) < 0 {
			return fail(CodeImpossible, "value", "%s gauge is less than a perfect vacuum; check the unit", v)
		}
	}
	if d.quantity == Humidity && x.Cmp(big.NewRat(1, 1)) > 0 {
		return fail(CodeImpossible, "value", "relative humidity is at most 100 %%, not %s", v)
	}
	return nil
}

// Rat is the exact number in v's own unit; a state has none.
func (v Value) Rat() (*big.Rat, error) {
	if err := v.Validate(); err != nil {
		return nil, err
	}
	if v.State != "" {
		return nil, fail(CodeState, "state", "%q is a state, not a number", v.State)
	}
	return mustRat(v.Value), nil
}

// open and closed report the states of a circuit.
func (v Value) open() bool   { return v.State == OverRange || v.State == Open }
func (v Value) closed() bool { return v.State == Closed }

// float is v in another unit of its quantity, for the models, which are not exact.
func (v Value) float(to Unit) (float64, error) {
	if err := v.Validate(); err != nil {
		return 0, err
	}
	if v.State != "" {
		return 0, fail(CodeState, "state", "%q is a state, not a number", v.State)
	}
	x, err := strconv.ParseFloat(v.Value, 64)
	if err != nil {
		return 0, fail(CodeNotANumber, "value", "%q is not a number", clip(v.Value))
	}
	return convertFloat(v.Quantity, x, v.Unit, to)
}

// IsZero reports whether v is no reading at all.
func (v Value) IsZero() bool { return v == Value{} }

// String is v as shown to people: "32.1 Ω", "OL", "closed".
func (v Value) String() string {
	switch v.State {
	case "":
	case OverRange:
		return "OL"
	default:
		return string(v.State)
	}
	s := v.Unit.Symbol()
	if s == "" {
		return clip(v.Value)
	}
	return clip(v.Value) + " " + s
}

// Text is v as [Parse] reads it back to the same Value.
func (v Value) Text() string {
	if v.State != "" {
		return string(v.State)
	}
	return v.Value + " " + string(v.Unit)
}

// Rounded is v with the decimals that a resolution shows (both in v's unit): 32.149
// at a resolution of 0.1 is 32.1, and 33.1 at 0.5 is 33.0. States are returned as they are.
func (v Value) Rounded(resolution string) (Value, error) {
	if err := v.Validate(); err != nil || v.State != "" {
		return v, err
	}
	if !validDecimal(resolution) || mustRat(resolution).Sign() <= 0 {
		return Value{}, fail(CodeBadInstrument, "resolution", "the resolution %q is not a positive decimal such as 0.1", clip(resolution))
	}
	step := mustRat(resolution)
	n := new(big.Rat).Quo(mustRat(v.Value), step)
	whole := mustRat(decimal(n, 0))
	v.Value = decimal(whole.Mul(whole, step), decimals(resolution))
	return v, v.Validate()
}
