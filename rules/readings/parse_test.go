package readings

import (
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestParse(t *testing.T) {
	// How people write readings: common practice, no source.
	for _, c := range []struct {
		text  string
		q     Quantity
		unit  Unit
		value string
		want  Unit
	}{
		{"32.1", Resistance, "", "32.1", "Ohm"},
		{"4.7k", Resistance, "Ohm", "4.7", "kOhm"},
		{"4.70k", Resistance, "Ohm", "4.70", "kOhm"},
		{"4k7", Resistance, "Ohm", "4.7", "kOhm"},
		{"4R7", Resistance, "Ohm", "4.7", "Ohm"},
		{"2M2", Resistance, "Ohm", "2.2", "MOhm"},
		{"10 kΩ", Resistance, "Ohm", "10", "kOhm"},
		{"10 k\u2126", Resistance, "Ohm", "10", "kOhm"},
		{"10KOHM", Resistance, "Ohm", "10", "kOhm"},
		{"16.3", Resistance, "kOhm", "16.3", "kOhm"},
		{"-2,5", Temperature, "", "-2.5", "Cel"},
		{"\u22122.5 °C", Temperature, "[degF]", "-2.5", "Cel"},
		{"33 F", Temperature, "Cel", "33", "[degF]"},
		{"33F", Temperature, "Cel", "33", "[degF]"},
		{"9 F", TemperatureDifference, "K", "9", "[degR]"},
		{"5 C", TemperatureDifference, "K", "5", "K"},
		{"1/2 psi", PressureGauge, "kPa", "0.5", "[psi]"},
		{"1 1/2", PressureGauge, "[psi]", "1.5", "[psi]"},
		{"1-1/2 psig", PressureGauge, "kPa", "1.5", "[psi]"},
		{"8 inHg vac", PressureGauge, "kPa", "-8", "[in_i'Hg]"},
		{"0.6 \"WC", PressureGauge, "kPa", "0.6", "[in_i'H2O]"},
		{"14.7 psia", PressureAbsolute, "kPa", "14.7", "[psi]"},
		{"0.3 mA", LeakageCurrent, "", "0.3", "mA"},
		{"12 V", VoltageDC, "", "12", "V"},
		{"3V3", VoltageDC, "", "3.3", "V"},
		{"120 vac", VoltageAC, "", "120", "V"},
		{"300m", CurrentAC, "A", "300", "mA"},
		{"15 µF", Capacitance, "", "15", "uF"},
		{"4u7", Capacitance, "", "4.7", "uF"},
		{"12 /min", RotationSpeed, "", "12", "/min"},
		{"2.5 gpm", WaterFlow, "L/min", "2.5", "[gal_us]/min"},
		{".5", VoltageDC, "", "0.5", "V"},
		{"5.", VoltageDC, "", "5", "V"},
		{"007", VoltageDC, "", "7", "V"},
		{"-0.0", VoltageDC, "", "0.0", "V"},
		{"1,234.5", Resistance, "", "1234.5", "Ohm"},
		{"1.234,5", Resistance, "", "1234.5", "Ohm"},
		{"1,234,567", Resistance, "", "1234567", "Ohm"},
		{"0,123", VoltageDC, "", "0.123", "V"},
		{"550 microns", Vacuum, "", "550", "um[Hg]"},
		{"45 min", Duration, "", "45", "min"},
		{"55%", Humidity, "", "55", "%"},
	} {
		t.Run(c.text, func(t *testing.T) {
			v, err := Parse(c.text, c.q, c.unit)
			require.NoError(t, err)
			assert.Equal(t, Value{Quantity: c.q, Value: c.value, Unit: c.want}, v)
		})
	}
}

func TestParseStates(t *testing.T) {
	for _, c := range []struct {
		text string
		q    Quantity
		want State
	}{
		{"OL", Resistance, OverRange},
		{"0.L", Resistance, OverRange},
		{"open", Resistance, Open},
		{"∞", Resistance, Open},
		{" o.l. ", Resistance, OverRange},
		{"OL", InsulationResistance, OverRange},
		{"OL", VoltageAC, OverRange},
		{"short", Resistance, Closed},
		{"Beep", Resistance, Closed},
	} {
		v, err := Parse(c.text, c.q, "")
		require.NoError(t, err, c.text)
		assert.Equal(t, Value{Quantity: c.q, State: c.want}, v, c.text)
	}
}

func TestParseRefuses(t *testing.T) {
	for _, c := range []struct {
		text string
		q    Quantity
		code Code
		says string // a part of the sentence that helps
	}{
		{"", Resistance, CodeNotANumber, "no reading"},
		{"abc", Resistance, CodeNotANumber, "OL"},
		{"12x", Resistance, CodeUnknownUnit, "kOhm"},
		{"1,200", Resistance, CodeAmbiguous, "1200 or 1.200"},
		{"2m", Resistance, CodeAmbiguous, "mΩ or MΩ"},
		{"1.2.3", Resistance, CodeNotANumber, "decimal point"},
		{"1,2,3", Resistance, CodeNotANumber, "separators"},
		{"1 234", Resistance, CodeUnknownUnit, ""},
		{"5-6", Resistance, CodeUnknownUnit, ""},
		{">20", Resistance, CodeNotANumber, "OL"},
		{"1/3", PressureGauge, CodeNotANumber, "exact"},
		{"1/0", PressureGauge, CodeNotANumber, "fraction"},
		{"1 3/2", PressureGauge, CodeAmbiguous, ""},
		{"1e3", Resistance, CodeUnknownUnit, ""},
		{"NaN", Resistance, CodeNotANumber, ""},
		{"-5", Resistance, CodeImpossible, "negative"},
		{"-300", Temperature, CodeImpossible, "absolute zero"},
		{"-500 F", Temperature, CodeImpossible, "absolute zero"},
		{"-20 psig", PressureGauge, CodeImpossible, "vacuum"},
		{"12 psia", PressureGauge, CodeGaugeAbsolute, "absolute"},
		{"12 psig", PressureAbsolute, CodeGaugeAbsolute, "gauge"},
		{"12 vdc", VoltageAC, CodeWrongUnit, "voltage-dc"},
		{"12 V", Resistance, CodeWrongUnit, "not a unit of resistance"},
		{"12 Cel", TemperatureDifference, CodeWrongUnit, "not a unit of temperature difference"},
		{"open", VoltageAC, CodeState, "number"},
		{"closed", Temperature, CodeState, "number"},
		{"-5 inHg vac", PressureGauge, CodeAmbiguous, ""},
		{"101 %", Humidity, CodeImpossible, "100 %"},
		{"1234567890123456", Resistance, CodeNotANumber, "digits"},
		{strings.Repeat("9", 100), Resistance, CodeNotANumber, "characters"},
		{"5", Quantity("weight"), CodeUnknownQuantity, "catalogue"},
	} {
		t.Run(c.text, func(t *testing.T) {
			v, err := Parse(c.text, c.q, "")
			require.Error(t, err)
			var e *Error
			require.True(t, errors.As(err, &e))
			assert.Equal(t, c.code, e.Code, e.Sentence)
			assert.Contains(t, e.Sentence, c.says)
			assert.True(t, v.IsZero(), "a refused reading leaves nothing behind")
		})
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"4.7k", "4k7", "OL", "open", "-2,5", "1/2 psi", "12 V", "1 1/2", "0.3 mA", "33 F", "8 inHg vac", "1,234.5", "∞", "-0", "0.6 \"WC", "1-1/2"} {
		for i := range quantities {
			f.Add(s, i)
		}
	}
	f.Fuzz(func(t *testing.T, text string, i int) {
		q := quantities[((i%len(quantities))+len(quantities))%len(quantities)].quantity
		v, err := Parse(text, q, "")
		if err != nil {
			var e *Error
			if !errors.As(err, &e) || e.Sentence == "" {
				t.Fatalf("no sentence for %q: %v", text, err)
			}
			return
		}
		if err := v.Validate(); err != nil {
			t.Fatalf("%q was accepted as %v, which is invalid: %v", text, v, err)
		}
		back, err := Parse(v.Text(), q, "")
		if err != nil || back != v {
			t.Fatalf("%q reads as %#v, its text %q as %#v (%v)", text, v, v.Text(), back, err)
		}
	})
}
