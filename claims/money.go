package claims

import (
	"math/big"
	"strconv"
	"strings"
)

// Money is an amount in the minor unit of a currency (ISO 4217 code): 1234 USD is $12.34. No floats, ever.
type Money struct {
	Minor    int64  `json:"minor"`
	Currency string `json:"currency"`
}

// IsZero reports whether there is no amount at all.
func (m Money) IsZero() bool { return m == Money{} }

// Plain writes the amount in major units with all digits of its currency, the code behind it: "12.34 USD", "900 JPY".
func (m Money) Plain() string { return plainMinor(m.Minor, m.Currency) + " " + m.Currency }

func plainMinor(minor int64, code string) string {
	digits, _ := Exponent(code)
	s := strconv.FormatInt(minor, 10)
	sign := ""
	if minor < 0 {
		sign, s = "-", s[1:]
	}
	if digits == 0 {
		return sign + s
	}
	for len(s) <= digits {
		s = "0" + s
	}
	return sign + s[:len(s)-digits] + "." + s[len(s)-digits:]
}

// Exponent is the number of decimal digits of a currency's minor unit (ISO 4217 list one); ok is false for a code that is not on
// the list, with 2 as the guess.
func Exponent(code string) (digits int, ok bool) {
	if len(code) != 3 {
		return 2, false
	}
	for _, group := range minorUnits {
		if strings.Contains(group.codes, code) && !strings.Contains(code, " ") {
			return group.digits, true
		}
	}
	return 2, false
}

// minorUnits is ISO 4217 list one, current tender without funds, metals and test codes (from memory; held against the Unicode
// CLDR's list in the test). The codes stand apart by blanks, so that no code can be found across two.
var minorUnits = []struct {
	digits int
	codes  string
}{
	{0, "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF"},
	{2, "AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BMD BND BOB BRL BSD BTN BWP BYN BZD CAD CDF CHF CNY COP CRC CUP CVE CZK " +
		"DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GTQ GYD HKD HNL HTG HUF IDR ILS INR IRR JMD KES KGS KHR KPW KYD KZT " +
		"LAK LBP LKR LRD LSL MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MYR MZN NAD NGN NIO NOK NPR NZD PAB PEN PGK PHP PKR PLN " +
		"QAR RON RSD RUB SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TOP TRY TTD TWD TZS UAH USD UYU UZS " +
		"VES WST XCD YER ZAR ZMW"},
	{3, "BHD IQD JOD KWD LYD OMR TND"},
	{4, "CLF UYW"},
}

// Rounding says what becomes of the fraction of a minor unit. Each line of a bill is rounded once, at its end.
type Rounding string

const (
	// HalfUp takes a half away from zero, as Streamlined Sales and Use Tax Agreement section 324 has it for tax (published).
	HalfUp Rounding = "half-up"
	// HalfEven takes a half to the even neighbour (roundTiesToEven of IEEE 754; from memory).
	HalfEven Rounding = "half-even"
)

// round gives the whole number nearest to x, a half by the rule.
func (r Rounding) round(x *big.Rat) *big.Int {
	whole, rest := new(big.Int).QuoRem(x.Num(), x.Denom(), new(big.Int))
	twice := new(big.Int).Abs(rest)
	twice.Lsh(twice, 1)
	c := twice.Cmp(x.Denom())
	if c > 0 || c == 0 && (r != HalfEven || whole.Bit(0) == 1) {
		whole.Add(whole, big.NewInt(int64(x.Sign())))
	}
	return whole
}

// maxMinor bounds every amount and every sum, in minor units: exact in a JavaScript number, far from the end of an int64.
const maxMinor = 1_000_000_000_000_000

var errTooMuch = Errorf(Invalid, "The amounts add up to more than can be reckoned with. Look for a price or a quantity with too many digits.")

// minor rounds an amount in major units of the currency to its minor unit.
func (r Rounding) minor(major *big.Rat, code string) (int64, *Error) {
	digits, _ := Exponent(code)
	n := r.round(new(big.Rat).Mul(major, new(big.Rat).SetInt(tenTo(digits))))
	if !n.IsInt64() || n.Int64() > maxMinor || n.Int64() < -maxMinor {
		return 0, errTooMuch
	}
	return n.Int64(), nil
}

// major is an amount in minor units as an exact number of major units.
func major(minor int64, code string) *big.Rat {
	digits, _ := Exponent(code)
	return new(big.Rat).SetFrac(big.NewInt(minor), tenTo(digits))
}

func tenTo(n int) *big.Int { return new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(n)), nil) }

// ratOf reads a decimal that validate has let through; the empty text is nought.
func ratOf(s string) *big.Rat {
	r, ok := new(big.Rat).SetString(s)
	if !ok || !isDecimal(s) {
		return new(big.Rat)
	}
	return r
}

// ParseMoney reads an amount in major units such as "12.34" exactly: more digits than the currency has are refused, not rounded.
func ParseMoney(s, code string) (Money, error) {
	s = strings.TrimSpace(s)
	digits, ok := Exponent(code)
	if !ok {
		return Money{}, Errorf(Invalid, "%q is not a currency of ISO 4217; write three capitals such as USD.", clip(code)).At("currency")
	}
	if !isDecimal(s) {
		return Money{}, Errorf(Invalid, "An amount looks like 12.34, with a point and without the currency; this is %q.", clip(s)).At("amount")
	}
	if _, frac, _ := strings.Cut(s, "."); len(strings.TrimRight(frac, "0")) > digits {
		return Money{}, Errorf(Invalid, "%s has %d digits after the point; %q has more.", code, digits, clip(s)).At("amount")
	}
	n, err := HalfUp.minor(ratOf(s), code)
	if err != nil {
		return Money{}, err.At("amount")
	}
	return Money{Minor: n, Currency: code}, nil
}
