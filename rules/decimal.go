package rules

// maxDecimal bounds the length of a decimal: longer ones are refused, not computed.
const maxDecimal = 40

// decimal is a plain decimal taken apart: sign, digits before the point without leading zeros, digits after it
// without trailing zeros. Comparing the digits compares the numbers exactly; no binary float is involved.
type decimal struct {
	negative bool
	whole    string
	fraction string
}

// parseDecimal reads an optional sign, digits and an optional fraction ("-12.50"). No exponent, no separators.
func parseDecimal(s string) (decimal, bool) {
	var d decimal
	if len(s) == 0 || len(s) > maxDecimal {
		return d, false
	}
	if s[0] == '-' || s[0] == '+' {
		d.negative = s[0] == '-'
		s = s[1:]
	}
	point := len(s)
	for i := 0; i < len(s); i++ {
		switch {
		case s[i] >= '0' && s[i] <= '9':
		case s[i] == '.' && point == len(s):
			point = i
		default:
			return decimal{}, false
		}
	}
	if point == 0 || point == len(s)-1 {
		return decimal{}, false
	}
	d.whole = s[:point]
	if point < len(s) {
		d.fraction = s[point+1:]
	}
	for len(d.whole) > 0 && d.whole[0] == '0' {
		d.whole = d.whole[1:]
	}
	for len(d.fraction) > 0 && d.fraction[len(d.fraction)-1] == '0' {
		d.fraction = d.fraction[:len(d.fraction)-1]
	}
	if d.whole == "" && d.fraction == "" {
		d.negative = false
	}
	return d, true
}

// compare is -1, 0 or 1 as a is less than, equal to or greater than b.
func (a decimal) compare(b decimal) int {
	if a.negative != b.negative {
		if a.negative {
			return -1
		}
		return 1
	}
	size := compareSize(a, b)
	if a.negative {
		return -size
	}
	return size
}

func compareSize(a, b decimal) int {
	switch {
	case len(a.whole) < len(b.whole):
		return -1
	case len(a.whole) > len(b.whole):
		return 1
	case a.whole < b.whole:
		return -1
	case a.whole > b.whole:
		return 1
	case a.fraction < b.fraction: // no trailing zeros: a shorter equal beginning is smaller
		return -1
	case a.fraction > b.fraction:
		return 1
	}
	return 0
}
