package claims

import (
	"fmt"
	"math/big"
	"testing"

	"github.com/cockroachdb/apd/v3"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	cldr "golang.org/x/text/currency"
	"pgregory.net/rapid"
)

// Distances at published mileage rates, rounded by both rules. The products are exact by hand; half-even is IEEE 754
// roundTiesToEven (from memory), half-up the third-decimal rule of SSUTA section 324 (published).
func TestRounding(t *testing.T) {
	for _, c := range []struct {
		miles, rate     string
		exact           string
		halfUp, halfEvn int64
	}{
		{"1.5", "0.67", "1.005", 101, 100},
		{"3.5", "0.67", "2.345", 235, 234},
		{"1", "0.725", "0.725", 73, 72},
		{"12.5", "0.67", "8.375", 838, 838},
		{"3", "0.725", "2.175", 218, 218},
		{"18.4", "0.67", "12.328", 1233, 1233},
		{"41.3", "0.70", "28.91", 2891, 2891},
	} {
		x := new(big.Rat).Mul(ratOf(c.miles), ratOf(c.rate))
		assert.Equal(t, c.exact, plainDecimal(x))
		up, err := HalfUp.minor(x, "USD")
		require.Nil(t, err)
		assert.Equal(t, c.halfUp, up, "%s × %s half-up", c.miles, c.rate)
		even, err := HalfEven.minor(x, "USD")
		require.Nil(t, err)
		assert.Equal(t, c.halfEvn, even, "%s × %s half-even", c.miles, c.rate)
	}
	assert.Equal(t, int64(-3), HalfUp.round(big.NewRat(-5, 2)).Int64(), "half-up takes a half away from zero, as Go's math.Round does")
	assert.Equal(t, int64(-2), HalfEven.round(big.NewRat(-5, 2)).Int64(), "as Go's math.RoundToEven does")
}

// The rounding of any decimal is that of an independent decimal library (cockroachdb/apd, an implementation of the General
// Decimal Arithmetic specification).
func TestRoundingAgainstDecimalLibrary(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		coeff := rapid.Int64Range(-1e14, 1e14).Draw(t, "coefficient")
		places := rapid.IntRange(0, 9).Draw(t, "places")
		code := rapid.SampledFrom([]string{"USD", "JPY", "BHD", "CLF"}).Draw(t, "currency")
		d := apd.New(coeff, int32(-places))
		digits, ok := Exponent(code)
		require.True(t, ok)
		for rule, mode := range map[Rounding]apd.Rounder{HalfUp: apd.RoundHalfUp, HalfEven: apd.RoundHalfEven} {
			ctx := apd.BaseContext.WithPrecision(40)
			ctx.Rounding = mode
			var want apd.Decimal
			_, err := ctx.Quantize(&want, d, int32(-digits))
			require.NoError(t, err)
			want.Exponent = 0 // minor units
			whole, err := want.Int64()
			require.NoError(t, err)
			got, bad := rule.minor(ratOf(d.Text('f')), code)
			if whole > maxMinor || whole < -maxMinor {
				require.NotNil(t, bad)
				continue
			}
			require.Nil(t, bad)
			require.Equal(t, whole, got, "%s %s %s", d.Text('f'), code, rule)
		}
	})
}

// Minor units against the Unicode CLDR's currency data as golang.org/x/text carries it. CLDR shows fewer digits than ISO 4217 for
// some currencies whose small coins are gone; these are named here, and are 2 in ISO 4217 list one (from memory).
func TestExponentAgainstCLDR(t *testing.T) {
	fewerInCLDR := map[string]bool{}
	for _, code := range []string{"AFN", "ALL", "IRR", "KPW", "LAK", "LBP", "MGA", "MMK", "RSD", "SLE", "SOS", "SYP", "YER", "PKR", "MRU", "IQD", "UYW", "CLF", "COP", "CRC", "CZK", "DKK", "HUF", "IDR", "NOK", "SEK", "TWD", "TZS", "UZS", "AMD", "GYD", "MNT", "MUR"} {
		fewerInCLDR[code] = true
	}
	compared := 0
	for _, group := range minorUnits {
		for i := 0; i+3 <= len(group.codes); i += 4 {
			code := group.codes[i : i+3]
			unit, err := cldr.ParseISO(code)
			if err != nil {
				continue // younger than the library's data
			}
			digits, _ := cldr.Standard.Rounding(unit)
			got, ok := Exponent(code)
			require.True(t, ok, code)
			require.Equal(t, group.digits, got)
			if digits != got {
				assert.True(t, fewerInCLDR[code] && digits < got, "%s: %d digits here, %d in CLDR", code, got, digits)
				continue
			}
			compared++
		}
	}
	assert.Greater(t, compared, 120)
	for code, digits := range map[string]int{"USD": 2, "EUR": 2, "MXN": 2, "JPY": 0, "KRW": 0, "ISK": 0, "XAF": 0, "BHD": 3, "TND": 3, "IQD": 3, "CLF": 4, "UYW": 4} { // ISO 4217, from memory
		got, ok := Exponent(code)
		assert.True(t, ok, code)
		assert.Equal(t, digits, got, code)
	}
	for _, code := range []string{"", "usd", "XXQ", "SD ", "D A", "USDA"} {
		_, ok := Exponent(code)
		assert.False(t, ok, "%q", code)
	}
}

func TestParseMoney(t *testing.T) {
	for in, want := range map[string]int64{"12.34": 1234, "0": 0, "-3.5": -350, " 7 ": 700, "1.500": 150} {
		m, err := ParseMoney(in, "USD")
		require.NoError(t, err, in)
		assert.Equal(t, Money{Minor: want, Currency: "USD"}, m)
	}
	for _, c := range []struct{ in, code, where string }{
		{"12.345", "USD", "amount"}, {"1.5", "JPY", "amount"}, {"1,50", "USD", "amount"}, {"1e3", "USD", "amount"}, {"", "USD", "amount"},
		{"99999999999999999999", "USD", "amount"}, {"5", "XXQ", "currency"},
	} {
		_, err := ParseMoney(c.in, c.code)
		require.Equal(t, Invalid, CodeOf(err), "%q", c.in)
		assert.Equal(t, c.where, asError(err).Where)
	}
	rapid.Check(t, func(t *rapid.T) {
		m := Money{Minor: rapid.Int64Range(-maxMinor, maxMinor).Draw(t, "minor"), Currency: rapid.SampledFrom([]string{"USD", "JPY", "BHD", "CLF"}).Draw(t, "code")}
		plain := m.Plain()
		back, err := ParseMoney(plain[:len(plain)-4], m.Currency)
		require.NoError(t, err, plain)
		require.Equal(t, m, back)
	})
	assert.Equal(t, "-0.05 USD", Money{Minor: -5, Currency: "USD"}.Plain())
	assert.Equal(t, "900 JPY", Money{Minor: 900, Currency: "JPY"}.Plain())
	assert.Equal(t, "0.001 BHD", fmt.Sprint(Money{Minor: 1, Currency: "BHD"}.Plain()))
}
