package readings

import "math"

// Instrument is the meter a reading was made with, described without a make.
type Instrument struct {
	// ID is the shop's own, such as "meter-2".
	ID string `json:"id,omitempty"`
	// Description such as "true-RMS clamp meter" or "thermocouple thermometer".
	Description string `json:"description,omitempty"`
	// Specs are its accuracy by quantity and range, from its data sheet.
	Specs []Spec `json:"specs,omitempty"`
	// Calibrated and Due are days, YYYY-MM-DD.
	Calibrated string `json:"calibrated,omitempty"`
	Due        string `json:"due,omitempty"`
}

// Spec is ±(Percent of the reading + Digits of the last place + Plus), in one range.
type Spec struct {
	Quantity Quantity `json:"quantity"`
	// Unit is of UpTo, Resolution and Plus (a span: for a temperature in Cel it means kelvin).
	Unit Unit `json:"unit"`
	// UpTo is the top of the range; 0 means any reading.
	UpTo    float64 `json:"upTo,omitempty"`
	Percent float64 `json:"percent,omitempty"`
	Digits  float64 `json:"digits,omitempty"`
	Plus    float64 `json:"plus,omitempty"`
	// Resolution is the last place of the range; 0 means the decimals as typed.
	Resolution float64 `json:"resolution,omitempty"`
}

// Validate says in one sentence what is wrong with the instrument, or returns nil.
func (in *Instrument) Validate() error {
	if in == nil {
		return nil
	}
	for _, d := range []struct{ field, day string }{{"calibrated", in.Calibrated}, {"due", in.Due}} {
		if d.day != "" && !validDay(d.day) {
			return fail(CodeBadInstrument, d.field, "%q is not a day such as 2025-03-31", clip(d.day))
		}
	}
	if in.Due != "" && in.Calibrated != "" && in.Due < in.Calibrated {
		return fail(CodeBadInstrument, "due", "the calibration is due on %s, before it was made on %s", in.Due, in.Calibrated)
	}
	for _, s := range in.Specs {
		if err := checkUnit(s.Quantity, s.Unit); err != nil {
			return err
		}
		for _, x := range []float64{s.UpTo, s.Percent, s.Digits, s.Plus, s.Resolution} {
			if !(x >= 0) || math.IsInf(x, 0) {
				return fail(CodeBadInstrument, "specs", "the accuracy of %s has a number that is negative or not a number", s.Quantity.Title())
			}
		}
	}
	return nil
}

// Uncertainty is the expanded uncertainty (k = 2) of v in the unit asked for, and whether
// the instrument has a spec for it. Source: JCGM 100:2008 (GUM), from memory: the stated
// limits ±a are a rectangular distribution, a/√3 (4.3.7); a resolution δ adds δ/√12 (F.2.2.1).
func (in *Instrument) Uncertainty(v Value, unit Unit) (expanded float64, ok bool, err error) {
	if err := in.Validate(); err != nil {
		return 0, false, err
	}
	if in == nil {
		return 0, false, nil
	}
	if err := checkUnit(v.Quantity, unit); err != nil {
		return 0, false, err
	}
	best, err := in.spec(v)
	if best == nil || err != nil {
		return 0, false, err
	}
	x, err := v.float(best.Unit)
	if err != nil {
		return 0, false, err
	}
	res := best.Resolution
	if res == 0 {
		u, _ := v.Unit.def()
		b, _ := best.Unit.def()
		res = math.Pow10(-decimals(v.Value)) * ratio(u) / ratio(b)
	}
	a := best.Percent/100*math.Abs(x) + best.Digits*res + best.Plus
	std := math.Sqrt(a*a/3 + res*res/12)
	return 2 * span(best.Unit, std) / span(unit, 1), true, nil
}

// spec is that of the smallest range that holds v, or nil.
func (in *Instrument) spec(v Value) (*Spec, error) {
	var best *Spec
	for i := range in.Specs {
		s := &in.Specs[i]
		if s.Quantity != v.Quantity {
			continue
		}
		x, err := v.float(s.Unit)
		if err != nil {
			return nil, err
		}
		if s.UpTo > 0 && math.Abs(x) > s.UpTo {
			continue
		}
		if best == nil || s.UpTo > 0 && (best.UpTo == 0 || span(s.Unit, s.UpTo) < span(best.Unit, best.UpTo)) {
			best = s
		}
	}
	return best, nil
}

// Rounded is v with the decimals that the instrument shows in v's range; a state, or a
// reading that no spec covers, is returned as it is.
func (in *Instrument) Rounded(v Value) (Value, error) {
	if err := in.Validate(); err != nil {
		return Value{}, err
	}
	if err := v.Validate(); err != nil || in == nil || v.State != "" {
		return v, err
	}
	s, err := in.spec(v)
	if err != nil || s == nil || s.Resolution == 0 {
		return v, err
	}
	return v.Rounded(short(span(s.Unit, s.Resolution) / span(v.Unit, 1)))
}

// ratio is the unit's scale without its zero point.
func ratio(d *unitDef) float64 { return float64(d.num) / float64(d.den) }

func span(u Unit, x float64) float64 {
	d, _ := u.def()
	return x * ratio(d)
}

// validDay accepts a day that is in the Gregorian calendar.
func validDay(s string) bool {
	if len(s) != 10 || s[4] != '-' || s[7] != '-' || !allDigits(s[:4]) || !allDigits(s[5:7]) || !allDigits(s[8:]) {
		return false
	}
	n := func(s string) int {
		x := 0
		for i := 0; i < len(s); i++ {
			x = x*10 + int(s[i]-'0')
		}
		return x
	}
	y, m, d := n(s[:4]), n(s[5:7]), n(s[8:])
	if m < 1 || m > 12 || d < 1 {
		return false
	}
	days := [...]int{31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31}[m-1]
	if m == 2 && y%4 == 0 && (y%100 != 0 || y%400 == 0) {
		days = 29
	}
	return d <= days
}
