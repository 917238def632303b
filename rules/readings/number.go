package readings

import (
	"math"
	"math/big"
	"strconv"
)

const (
	maxDigits   = 15 // digits in a typed number
	maxDecimals = 9  // of them after the point
)

// mustRat is for constants of this package.
func mustRat(s string) *big.Rat {
	r, ok := new(big.Rat).SetString(s)
	if !ok {
		panic("readings: bad constant " + s)
	}
	return r
}

// validDecimal reports whether s is the canonical form: optional minus, no leading
// zeros, a digit on both sides of a point, not "-0", at most maxDigits digits.
func validDecimal(s string) bool {
	neg := len(s) > 0 && s[0] == '-'
	if neg {
		s = s[1:]
	}
	digits, point, nonzero := 0, -1, false
	for i := 0; i < len(s); i++ {
		switch c := s[i]; {
		case c >= '0' && c <= '9':
			digits++
			nonzero = nonzero || c != '0'
		case c == '.' && point < 0 && i > 0 && i < len(s)-1:
			point = i
		default:
			return false
		}
	}
	whole := len(s)
	if point >= 0 {
		whole = point
	}
	if digits == 0 || digits > maxDigits || len(s)-whole-1 > maxDecimals {
		return false
	}
	if whole > 1 && s[0] == '0' {
		return false
	}
	return nonzero || !neg
}

// decimals is the number of digits after the point.
func decimals(s string) int {
	for i := 0; i < len(s); i++ {
		if s[i] == '.' {
			return len(s) - i - 1
		}
	}
	return 0
}

// decimal rounds half away from zero, and never says "-0".
func decimal(x *big.Rat, places int) string {
	s := x.FloatString(places)
	if s[0] == '-' {
		zero := true
		for i := 1; i < len(s); i++ {
			if s[i] >= '1' && s[i] <= '9' {
				zero = false
				break
			}
		}
		if zero {
			s = s[1:]
		}
	}
	return s
}

// places is how many decimals show x with so many significant digits.
func places(x float64, significant int) int {
	x = math.Abs(x)
	if x == 0 || math.IsNaN(x) || math.IsInf(x, 0) {
		return 0
	}
	n := significant - 1 - int(math.Floor(math.Log10(x)))
	return max(0, min(n, maxDecimals))
}

// figure writes x with so many decimals. It takes away what the last bits of the
// platform's exp and log may add, so that every platform writes the same.
func figure(x float64, decimals int) string {
	x, _ = strconv.ParseFloat(strconv.FormatFloat(x, 'g', 12, 64), 64)
	s := strconv.FormatFloat(x, 'f', decimals, 64)
	if x <= 0 && x > -1 {
		if f, _ := strconv.ParseFloat(s, 64); f == 0 && s[0] == '-' {
			s = s[1:]
		}
	}
	return s
}

// sig writes x with so many significant digits and no exponent.
func sig(x float64, significant int) string { return figure(x, places(x, significant)) }
