package readings

import (
	"math/big"
	"strings"
)

const maxText = 64 // bytes of a typed reading

// Parse reads what a technician types: "4.7k", "4k7", "32.1", "OL", "open", "-2,5",
// "1/2 psi", "1 1/2", "0.3 mA", "33 F", "12V", "8 inHg vac". Without a unit in the text,
// unit is taken; with unit "" the quantity's default unit is. The unit that was typed and
// the number of decimals are kept: "4.70k" is 4.70 kΩ, not 4700 Ω.
//
// Text with two meanings is refused with the two meanings in the sentence; a state
// ("OL", "open", "closed") is no number. The result is valid and reads back from its
// own Text.
func Parse(text string, q Quantity, unit Unit) (Value, error) {
	d, err := q.def()
	if err != nil {
		return Value{}, err
	}
	if unit == "" {
		unit = d.units[0]
	}
	if err := checkUnit(q, unit); err != nil {
		return Value{}, err
	}
	if len(text) > maxText {
		return Value{}, fail(CodeNotANumber, "value", "a reading has at most %d characters", maxText)
	}
	s := tidy(text)
	if s == "" {
		return Value{}, fail(CodeNotANumber, "value", "no reading was typed")
	}
	if v, ok, err := parseState(s, d); ok {
		return v, err
	}
	num, rest, err := splitNumber(s, d)
	if err != nil {
		return Value{}, err
	}
	vacuum := false
	if q == PressureGauge {
		rest, vacuum = cutVacuum(rest)
	}
	if rest != "" {
		if unit, err = d.unitFor(rest); err != nil {
			return Value{}, err
		}
	}
	v := Value{Quantity: q, Value: num, Unit: unit}
	if vacuum {
		if strings.HasPrefix(num, "-") {
			return Value{}, fail(CodeAmbiguous, "value", "%q is both negative and a vacuum; type one of them", clip(text))
		}
		if mustRat(num).Sign() != 0 {
			v.Value = "-" + num
		}
	}
	if err := v.Validate(); err != nil {
		return Value{}, err
	}
	return v, nil
}

// tidy brings the many spellings of the same sign to one.
func tidy(s string) string {
	s = strings.Map(func(r rune) rune {
		switch r {
		case '\u2126':
			return 'Ω'
		case '\u00b5':
			return 'μ'
		case '\u00ba':
			return '°'
		case '\u2033', '\u201c', '\u201d':
			return '"'
		case '\u2212', '\u2013':
			return '-'
		case '\u2044':
			return '/'
		case '\u00a0', '\u2009', '\u202f', '\t':
			return ' '
		}
		return r
	}, s)
	return strings.Join(strings.Fields(s), " ")
}

// parseState reports ok when s is a state's word, whether or not the quantity has it.
func parseState(s string, d *quantityDef) (Value, bool, error) {
	var state State
	switch strings.ToLower(s) {
	case "ol", "o.l", "o.l.", ".ol", "0l", "0.l", "0.l.", ".0l", "over-range", "over range", "overrange", "overload", "over load":
		state = OverRange
	case "open", "open circuit", "open line", "oc", "o/c", "inf", "infinite", "infinity", "∞":
		state = Open
		if d.quantity == InsulationResistance {
			state = OverRange
		}
	case "closed", "close", "short", "shorted", "short circuit", "sc", "s/c", "continuity", "beep", "beeps":
		state = Closed
	default:
		return Value{}, false, nil
	}
	if !d.hasState(state) {
		return Value{}, true, fail(CodeState, "state", "%q is not a reading of %s; type the number that the meter shows", clip(s), d.title)
	}
	return Value{Quantity: d.quantity, State: state}, true, nil
}

// splitNumber cuts s into a canonical decimal and the unit's text.
func splitNumber(s string, d *quantityDef) (num, unit string, err error) {
	neg := false
	switch s[0] {
	case '-', '+':
		neg = s[0] == '-'
		s = strings.TrimSpace(s[1:])
	case '<', '>', '~', '=':
		return "", "", fail(CodeNotANumber, "value", "type the number that the meter shows, without %q; type OL when it shows over range", s[:1])
	}
	end := 0
	for end < len(s) && (isDigit(s[end]) || s[end] == '.' || s[end] == ',') {
		end++
	}
	head, tail := s[:end], s[end:]
	if !hasDigit(head) {
		return "", "", fail(CodeNotANumber, "value", "%q is not a reading of %s; type a number such as 12.5, or OL", clip(s), d.title)
	}
	// Mixed and plain fractions: "1 1/2", "1/2".
	if whole, frac, rest, ok := cutFraction(head, tail); ok {
		num, err = fraction(whole, frac, s)
		if err != nil {
			return "", "", err
		}
		return signed(neg, num), strings.TrimSpace(rest), nil
	}
	// The letter as the decimal point: "4k7", "3V3".
	if letter, frac, ok := cutInfix(head, tail); ok {
		num, err = plain(head+"."+frac, s)
		return signed(neg, num), letter, err
	}
	num, err = plain(head, s)
	return signed(neg, num), strings.TrimSpace(tail), err
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

func hasDigit(s string) bool { return strings.ContainsAny(s, "0123456789") }

func allDigits(s string) bool {
	for i := 0; i < len(s); i++ {
		if !isDigit(s[i]) {
			return false
		}
	}
	return s != ""
}

func signed(neg bool, num string) string {
	if neg && strings.ContainsAny(num, "123456789") {
		return "-" + num
	}
	return num
}

// cutFraction finds "w n/d" or "n/d" at the start; rest is the unit's text.
func cutFraction(head, tail string) (whole, frac, rest string, ok bool) {
	if !allDigits(head) || tail == "" {
		return "", "", "", false
	}
	num, after := head, tail
	if tail[0] == ' ' || tail[0] == '-' { // "1 1/2" and "1-1/2"
		t := tail[1:]
		n := 0
		for n < len(t) && isDigit(t[n]) {
			n++
		}
		if n > 0 && n < len(t) && t[n] == '/' {
			whole, num, after = head, t[:n], t[n:]
		}
	}
	if after[0] != '/' {
		return "", "", "", false
	}
	n := 1
	for n < len(after) && isDigit(after[n]) {
		n++
	}
	if n == 1 {
		return "", "", "", false // "12 /min": a unit, not a fraction
	}
	return whole, num + after[:n], after[n:], true
}

// fraction is exact or refused.
func fraction(whole, frac, text string) (string, error) {
	n, d, _ := strings.Cut(frac, "/")
	if len(whole)+len(n)+len(d) > maxDigits || strings.Trim(d, "0") == "" {
		return "", fail(CodeNotANumber, "value", "%q is not a usable fraction; type a decimal such as 0.5", clip(text))
	}
	x := new(big.Rat).Quo(mustRat(n), mustRat(d))
	if whole != "" {
		if x.Cmp(big.NewRat(1, 1)) >= 0 {
			return "", fail(CodeAmbiguous, "value", "%q is a whole number and more than one; type a decimal such as 1.5", clip(text))
		}
		x.Add(x, mustRat(whole))
	}
	for p := 0; p <= maxDecimals; p++ {
		s := x.FloatString(p)
		if mustRat(s).Cmp(x) == 0 {
			return s, nil
		}
	}
	return "", fail(CodeNotANumber, "value", "%q has no exact decimal; type the decimal that was read, such as 0.33", clip(text))
}

// cutInfix finds the digits after a single letter: "k7" after head "4".
func cutInfix(head, tail string) (letter, frac string, ok bool) {
	if !allDigits(head) {
		return "", "", false
	}
	for _, l := range []string{"k", "K", "M", "G", "R", "V", "u", "μ", "n", "p"} {
		if f, found := strings.CutPrefix(tail, l); found && allDigits(f) {
			return l, f, true
		}
	}
	return "", "", false
}

// plain brings "2,5", "1,234.5", "1.234,5", ".5", "5." and "007" to a canonical decimal.
func plain(s, text string) (string, error) {
	dots, commas := strings.Count(s, "."), strings.Count(s, ",")
	switch {
	case dots > 0 && commas > 0:
		group, point := ",", "."
		if strings.LastIndex(s, ",") > strings.LastIndex(s, ".") {
			group, point = ".", ","
		}
		whole, frac, _ := strings.Cut(s, point)
		if strings.Contains(frac, group) || strings.Contains(frac, point) || !grouped(whole, group) {
			return "", fail(CodeNotANumber, "value", "%q is not a number; type it without separators, such as 1234.5", clip(text))
		}
		s = strings.ReplaceAll(whole, group, "") + "." + frac
	case commas > 1:
		if !grouped(s, ",") {
			return "", fail(CodeNotANumber, "value", "%q is not a number; type it without separators, such as 1234.5", clip(text))
		}
		s = strings.ReplaceAll(s, ",", "")
	case commas == 1:
		whole, frac, _ := strings.Cut(s, ",")
		if len(frac) == 3 && grouped(s, ",") {
			return "", fail(CodeAmbiguous, "value", "%q can be %s%s or %s.%s; type one of them", clip(text), whole, frac, whole, frac)
		}
		s = whole + "." + frac
	case dots > 1:
		return "", fail(CodeNotANumber, "value", "%q has more than one decimal point; type it without separators", clip(text))
	}
	whole, frac, _ := strings.Cut(s, ".")
	whole = strings.TrimLeft(whole, "0")
	if whole == "" {
		whole = "0"
	}
	if len(whole)+len(frac) > maxDigits || len(frac) > maxDecimals {
		return "", fail(CodeNotANumber, "value", "%q has more digits than any meter shows; type at most %d, of them %d after the point", clip(text), maxDigits, maxDecimals)
	}
	if frac == "" {
		return whole, nil
	}
	return whole + "." + frac, nil
}

// grouped reports whether s is digits in groups of three that starts with no zero.
func grouped(s, sep string) bool {
	parts := strings.Split(s, sep)
	for i, p := range parts {
		if !allDigits(p) || i > 0 && len(p) != 3 || i == 0 && (len(p) > 3 || p[0] == '0') {
			return false
		}
	}
	return true
}

// cutVacuum takes "vac" or "vacuum" off a gauge pressure's unit.
func cutVacuum(rest string) (string, bool) {
	for _, w := range []string{"vacuum", "vac"} {
		if r, ok := strings.CutSuffix(strings.ToLower(rest), w); ok {
			return strings.TrimSpace(rest[:len(r)]), true
		}
	}
	return rest, false
}

// unitFor finds the unit that s names among the quantity's own: spelled exactly first,
// then in any case if that is still one unit.
func (d *quantityDef) unitFor(s string) (Unit, error) {
	if err := d.pressureKind(s); err != nil {
		return "", err
	}
	if (d.quantity == Resistance || d.quantity == InsulationResistance) && (s == "m" || s == "mohm" || s == "mohms") {
		return "", fail(CodeAmbiguous, "unit", "%q can be mΩ or MΩ; type mOhm or MOhm", s)
	}
	if d.quantity == TemperatureDifference {
		switch strings.TrimPrefix(strings.ToLower(s), "°") {
		case "c", "degc", "deg c":
			return "K", nil
		}
	}
	for _, code := range d.units {
		u, _ := code.def()
		if string(code) == s || u.symbol == s {
			return code, nil
		}
		for _, a := range u.aliases {
			if a == s {
				return code, nil
			}
		}
	}
	var found Unit
	for _, code := range d.units {
		u, _ := code.def()
		match := strings.EqualFold(string(code), s)
		for _, a := range u.aliases {
			match = match || strings.EqualFold(a, s)
		}
		if match && found != "" {
			return "", fail(CodeAmbiguous, "unit", "%q can be %s or %s; type the unit exactly", clip(s), found, code)
		}
		if match {
			found = code
		}
	}
	if found != "" {
		return found, nil
	}
	for i := range units {
		if string(units[i].code) == s {
			return "", fail(CodeWrongUnit, "unit", "%s is not a unit of %s; use %s", s, d.title, unitList(d.quantity))
		}
	}
	return "", fail(CodeUnknownUnit, "unit", "%q is not understood as a unit of %s; use %s", clip(s), d.title, unitList(d.quantity))
}

// pressureKind refuses "psia" for a gauge pressure and "psig" for an absolute one, and
// the AC and DC of a voltage for the other kind.
func (d *quantityDef) pressureKind(s string) error {
	low := strings.ToLower(s)
	switch d.quantity {
	case PressureGauge:
		if low == "psia" || low == "bara" || low == "kpaa" {
			return fail(CodeGaugeAbsolute, "unit", "%s is an absolute pressure, and a gauge pressure was asked for; record it as pressure-absolute", s)
		}
	case PressureAbsolute, Vacuum:
		if low == "psig" || low == "barg" || low == "kpag" {
			return fail(CodeGaugeAbsolute, "unit", "%s is a gauge pressure, and an absolute one was asked for; record it as pressure-gauge", s)
		}
	case VoltageAC:
		if low == "vdc" {
			return fail(CodeWrongUnit, "unit", "V DC was typed and an AC voltage was asked for; record it as voltage-dc")
		}
	case VoltageDC:
		if low == "vac" {
			return fail(CodeWrongUnit, "unit", "V AC was typed and a DC voltage was asked for; record it as voltage-ac")
		}
	}
	return nil
}
