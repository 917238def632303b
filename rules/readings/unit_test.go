package readings

import (
	"errors"
	"math/big"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func rat(t *testing.T, s string) *big.Rat {
	t.Helper()
	r, ok := new(big.Rat).SetString(s)
	require.True(t, ok, s)
	return r
}

func TestConvertIsExact(t *testing.T) {
	for _, c := range []struct {
		q        Quantity
		value    string
		from, to Unit
		want     string // exact; a fraction where the decimal does not end
		source   string
	}{
		{Resistance, "4.7", "kOhm", "Ohm", "4700", "SI prefixes (SI brochure, from memory)"},
		{Resistance, "10", "Ohm", "MOhm", "1/100000", "SI prefixes"},
		{Temperature, "0", "Cel", "[degF]", "32", "NIST SP 811, from memory"},
		{Temperature, "100", "Cel", "[degF]", "212", "NIST SP 811, from memory"},
		{Temperature, "-40", "[degF]", "Cel", "-40", "NIST SP 811, from memory"},
		{Temperature, "40", "[degF]", "Cel", "40/9", "published: 40 °F is 4.44 °C (USDA FSIS)"},
		{Temperature, "0", "[degF]", "Cel", "-160/9", "published: 0 °F is -17.78 °C (USDA FSIS)"},
		{Temperature, "0", "Cel", "K", "273.15", "NIST SP 811, from memory"},
		{TemperatureDifference, "9", "[degR]", "K", "5", "NIST SP 811, from memory: a difference has no zero point"},
		{PressureGauge, "1", "bar", "kPa", "100", "NIST SP 811, from memory"},
		{PressureGauge, "1", "[in_i'H2O]", "Pa", "249.08891", "published: UCUM metre of water 9.80665 kPa, inch 25.4 mm"},
		{Vacuum, "1000", "mm[Hg]", "Pa", "133322", "published: UCUM functional tests, case 3-125 (one metre of mercury)"},
		{Vacuum, "1000", "um[Hg]", "mm[Hg]", "1", "SI prefixes"},
		{PressureGauge, "1", "[in_i'Hg]", "Pa", "3386.3788", "published: UCUM metre of mercury 133.3220 kPa, inch 25.4 mm"},
		{WaterFlow, "1", "[gal_us]/min", "L/min", "3.785411784", "NIST SP 811, from memory: 231 cubic inches"},
		{AirFlow, "1", "[cft_i]/min", "L/s", "28.316846592/60", "NIST SP 811, from memory: cubic foot 28.316846592 L"},
		{AirVelocity, "1", "[ft_i]/min", "m/s", "0.00508", "NIST SP 811, from memory"},
		{Mass, "1", "[lb_av]", "g", "453.59237", "NIST SP 811, from memory"},
		{Mass, "2", "[oz_av]", "g", "56.69904625", "published: 2 oz is the 57 g household limit (EPA SNAP 2011, trade press)"},
		{Duration, "24", "h", "min", "1440", "SI brochure, from memory"},
		{Humidity, "50", "%", "%", "50", "identity"},
	} {
		t.Run(c.value+string(c.from)+">"+string(c.to), func(t *testing.T) {
			x, err := Convert(Value{Quantity: c.q, Value: c.value, Unit: c.from}, c.to)
			require.NoError(t, err)
			want := new(big.Rat)
			if n, d, ok := cut(c.want); ok {
				want.Quo(rat(t, n), rat(t, d))
			} else {
				want = rat(t, c.want)
			}
			assert.Zero(t, want.Cmp(x), "%s: got %s, want %s", c.source, x.RatString(), want.RatString())
		})
	}
}

func cut(s string) (string, string, bool) {
	for i := range s {
		if s[i] == '/' {
			return s[:i], s[i+1:], true
		}
	}
	return s, "", false
}

func TestPoundPerSquareInch(t *testing.T) {
	// Published beside the refrigerant table: psig = (kPa - 101.325) / 6.894757.
	v, err := In(Value{Quantity: PressureGauge, Value: "1", Unit: "[psi]"}, "kPa", 6)
	require.NoError(t, err)
	assert.Equal(t, "6.894757", v.Value)
	// 3.386389 kPa is NIST's conventional inch of mercury; UCUM's is 3 ppm less.
	v, err = In(Value{Quantity: PressureGauge, Value: "-10", Unit: "[in_i'Hg]"}, "kPa", 3)
	require.NoError(t, err)
	assert.Equal(t, "-33.864", v.Value)
}

func TestEveryUnitReturnsExactly(t *testing.T) {
	for _, d := range quantities {
		for _, from := range d.units {
			for _, to := range d.units {
				v := Value{Quantity: d.quantity, Value: "37.25", Unit: from}
				x, err := Convert(v, to)
				require.NoError(t, err)
				back, err := convert(d.quantity, x, to, from)
				require.NoError(t, err)
				assert.Zero(t, back.Cmp(rat(t, "37.25")), "%s %s", from, to)
			}
		}
	}
}

func TestNothingIsMixed(t *testing.T) {
	for _, c := range []struct {
		v    Value
		to   Unit
		code Code
	}{
		{Value{Quantity: Temperature, Value: "5", Unit: "Cel"}, "[degR]", CodeWrongUnit},
		{Value{Quantity: TemperatureDifference, Value: "5", Unit: "K"}, "Cel", CodeWrongUnit},
		{Value{Quantity: Resistance, Value: "5", Unit: "Ohm"}, "V", CodeWrongUnit},
		{Value{Quantity: Resistance, Value: "5", Unit: "Ohm"}, "furlong", CodeUnknownUnit},
		{Value{Quantity: Resistance, State: OverRange}, "Ohm", CodeState},
	} {
		_, err := Convert(c.v, c.to)
		var e *Error
		require.True(t, errors.As(err, &e), "%v", c.v)
		assert.Equal(t, c.code, e.Code, e.Sentence)
	}
	gauge := Value{Quantity: PressureGauge, Value: "10", Unit: "[psi]"}
	_, err := Absolute(gauge, gauge)
	assert.ErrorIs(t, err, &Error{Code: CodeGaugeAbsolute})
	p, err := Absolute(Value{Quantity: PressureGauge, Value: "0", Unit: "kPa"}, StandardAtmosphere())
	require.NoError(t, err)
	assert.Zero(t, p.Cmp(big.NewRat(101325, 1)))
	_, err = Absolute(Value{Quantity: PressureGauge, Value: "-105", Unit: "kPa"}, StandardAtmosphere())
	assert.ErrorIs(t, err, &Error{Code: CodeImpossible})
}

func TestValidate(t *testing.T) {
	for _, c := range []struct {
		v    Value
		code Code // "" is valid
	}{
		{Value{Quantity: Resistance, Value: "32.1", Unit: "Ohm"}, ""},
		{Value{Quantity: Resistance, State: OverRange}, ""},
		{Value{}, CodeUnknownQuantity},
		{Value{Quantity: Resistance}, CodeUnknownUnit},
		{Value{Quantity: Resistance, Value: "32.1"}, CodeUnknownUnit},
		{Value{Quantity: Resistance, Value: "", Unit: "Ohm"}, CodeNotANumber},
		{Value{Quantity: Resistance, Value: "1e3", Unit: "Ohm"}, CodeNotANumber},
		{Value{Quantity: Resistance, Value: "01", Unit: "Ohm"}, CodeNotANumber},
		{Value{Quantity: Resistance, Value: "1.", Unit: "Ohm"}, CodeNotANumber},
		{Value{Quantity: VoltageDC, Value: "-0", Unit: "V"}, CodeNotANumber},
		{Value{Quantity: Resistance, Value: "1", Unit: "Ohm", State: OverRange}, CodeState},
		{Value{Quantity: TemperatureDifference, State: OverRange}, CodeState},
		{Value{Quantity: Temperature, Value: "-273.16", Unit: "Cel"}, CodeImpossible},
		{Value{Quantity: Temperature, Value: "-273.15", Unit: "Cel"}, ""},
	} {
		err := c.v.Validate()
		if c.code == "" {
			assert.NoError(t, err)
			continue
		}
		var e *Error
		require.True(t, errors.As(err, &e), "%#v", c.v)
		assert.Equal(t, c.code, e.Code, e.Sentence)
	}
}

func TestRounded(t *testing.T) {
	for _, c := range []struct{ value, resolution, want string }{
		{"32.149", "0.1", "32.1"},
		{"33.1", "0.5", "33.0"},
		{"33.3", "0.5", "33.5"},
		{"-0.04", "0.1", "0.0"},
		{"1234", "10", "1230"},
		{"0.05", "0.1", "0.1"}, // half away from zero
	} {
		v, err := Value{Quantity: VoltageDC, Value: c.value, Unit: "V"}.Rounded(c.resolution)
		require.NoError(t, err)
		assert.Equal(t, c.want, v.Value)
	}
	_, err := Value{Quantity: VoltageDC, Value: "1", Unit: "V"}.Rounded("0")
	assert.ErrorIs(t, err, &Error{Code: CodeBadInstrument})
}
