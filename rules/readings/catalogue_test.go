package readings

import (
	"bytes"
	"encoding/json"
	"os"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestCatalogue(t *testing.T) {
	c := List()
	require.NotEmpty(t, c.Quantities)
	require.NotEmpty(t, c.Profiles)
	names := map[string]bool{}
	kebab := regexp.MustCompile(`^[a-z0-9]+(-[A-Za-z0-9]+)*$`)
	for _, p := range c.Profiles {
		assert.False(t, names[p.Name], "two profiles are called %s", p.Name)
		names[p.Name] = true
		assert.Regexp(t, kebab, p.Name)
		assert.NotEmpty(t, p.Title, p.Name)
		assert.NotEmpty(t, p.Source, p.Name)
		assert.NotEmpty(t, p.Mark, p.Name)
		full, err := Profile{Name: p.Name}.Resolve()
		require.NoError(t, err, p.Name)
		assert.Equal(t, p.Model, full.Model)
		// As JSON and back, strictly: rule packs and entries carry it so.
		b, err := json.Marshal(full)
		require.NoError(t, err)
		var back Profile
		d := json.NewDecoder(bytes.NewReader(b))
		d.DisallowUnknownFields()
		require.NoError(t, d.Decode(&back))
		again, err := json.Marshal(back)
		require.NoError(t, err)
		assert.Equal(t, string(b), string(again))
	}
	for _, q := range c.Quantities {
		assert.Len(t, q.Symbols, len(q.Units))
		assert.Equal(t, q.Units[0], q.Quantity.DefaultUnit())
		assert.NotEmpty(t, q.Title)
	}
	source, err := os.ReadFile("conditions.go")
	require.NoError(t, err)
	for _, m := range c.Models {
		assert.NotEmpty(t, m.Reads, m.Model)
		assert.NotEmpty(t, m.Holds, m.Model)
		for _, n := range m.Needs {
			assert.Contains(t, string(source), "json:\""+n+",omitempty\"", "%s needs an unknown condition", m.Model)
		}
	}
}

func TestCatalogueIsACopy(t *testing.T) {
	p := List().Profiles[0]
	p.Curve.Inverse[0] = 1
	q, ok := builtin(p.Name)
	require.True(t, ok)
	assert.NotEqual(t, 1.0, q.Curve.Inverse[0])
	for _, p := range List().Profiles {
		if p.Low != nil {
			*p.Low = -1e6
		}
	}
	for _, p := range List().Profiles {
		if p.Low != nil {
			assert.Greater(t, *p.Low, -1e5, p.Name)
		}
	}
}

func TestEveryUnitIsUsedAndUnique(t *testing.T) {
	used := map[Unit]bool{}
	for _, d := range quantities {
		for _, u := range d.units {
			used[u] = true
			_, ok := u.def()
			assert.True(t, ok, "%s of %s is not defined", u, d.quantity)
		}
	}
	seen := map[Unit]bool{}
	for _, u := range units {
		assert.False(t, seen[u.code], "unit %s is defined twice", u.code)
		seen[u.code] = true
		assert.True(t, used[u.code], "unit %s belongs to no quantity", u.code)
	}
}

func TestProfileRefusals(t *testing.T) {
	for _, c := range []struct {
		name string
		p    Profile
		code Code
		says string
	}{
		{"no model", Profile{}, CodeBadProfile, "catalogue"},
		{"unknown name", Profile{Name: "heater-1w"}, CodeBadProfile, "heater-1w"},
		{"unknown model", Profile{Model: "flux-capacitor"}, CodeUnknownModel, "flux-capacitor"},
		{"supply without its edition", Profile{Model: SupplyVoltage, Low: at(108), High: at(126)}, CodeBadProfile, "edition"},
		{"heater without watts", Profile{Model: ResistiveHeater, RatedVolts: 120, TolerancePercent: 10}, CodeBadProfile, "watts"},
		{"thermostat that opens cold", Profile{Model: Thermostat, Unit: "Cel", Opens: at(-5), Closes: at(10)}, CodeBadProfile, "opens warm"},
		{"low above high", Profile{Model: Coil, Low: at(10), High: at(5)}, CodeBadProfile, "above"},
		{"limits in a foreign unit", Profile{Model: Coil, Unit: "V", Low: at(1), High: at(5)}, CodeBadProfile, "unit"},
		{"unknown refrigerant", Profile{Model: Saturation, Refrigerant: "R-12"}, CodeUnknownFluid, "R-600a"},
		{"component that is no word", Profile{Name: "heater-450w-120v", Component: `a"><b>`}, CodeBadProfile, "hyphens"},
		{"title with a control character", Profile{Name: "heater-450w-120v", Title: "a\x00b"}, CodeBadProfile, "control"},
		{"unknown mark", Profile{Model: Coil, Mark: "certain", Low: at(1), High: at(5)}, CodeBadProfile, "mark"},
		{"table that rises", Profile{Model: NTCThermistor, TolerancePercent: 5, Curve: &Curve{Kind: "table", Min: 0, Max: 25, Table: []CurvePoint{{0, 10}, {25, 20}}}}, CodeBadProfile, "falling"},
		{"table too short for its range", Profile{Model: NTCThermistor, TolerancePercent: 5, Curve: &Curve{Kind: "table", Min: -20, Max: 25, Table: []CurvePoint{{0, 30}, {25, 20}}}}, CodeBadProfile, "range"},
		{"beta without r25", Profile{Model: NTCThermistor, TolerancePercent: 5, Curve: &Curve{Kind: "beta", Beta: 3977, Min: 25, Max: 85}}, CodeBadProfile, "r25"},
		{"curve without a range", Profile{Model: NTCThermistor, TolerancePercent: 5, Curve: &Curve{Kind: "beta", R25: 1e4, Beta: 3977}}, CodeBadProfile, "range"},
		{"coefficients that do not fall", Profile{Model: NTCThermistor, TolerancePercent: 5, Curve: &Curve{Kind: "steinhart-hart", Inverse: []float64{1e-3, -2e-4, 0}, Min: 0, Max: 50}}, CodeBadProfile, "fall"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := c.p.Resolve()
			require.ErrorIs(t, err, &Error{Code: c.code})
			assert.Contains(t, err.Error(), c.says)
		})
	}
}

func TestJudgeRefusals(t *testing.T) {
	heater := Profile{Name: "heater-450w-120v"}
	ohm32 := ohms("32")
	for _, c := range []struct {
		name string
		p    Profile
		v    Value
		c    Conditions
		in   *Instrument
		code Code
	}{
		{"volts on a thermistor", Profile{Name: "ntc-10k-b3977"}, volts("5"), Conditions{}, nil, CodeWrongQuantity},
		{"DC on an AC drive", Profile{Name: "drive-120v"}, voltsDC("12"), Conditions{}, nil, CodeWrongQuantity},
		{"invalid value", heater, Value{Quantity: Resistance, Value: "x", Unit: "Ohm"}, Conditions{}, nil, CodeNotANumber},
		{"part temperature as a difference", heater, ohm32, Conditions{PartTemperature: &Value{Quantity: TemperatureDifference, Value: "5", Unit: "K"}}, nil, CodeBadConditions},
		{"unknown circuit", heater, ohm32, Conditions{Circuit: "maybe"}, nil, CodeBadConditions},
		{"no such day", heater, ohm32, Conditions{On: "2025-02-29"}, nil, CodeBadConditions},
		{"sensor colder than its curve", Profile{Name: "ntc-10k-b3977"}, ohm32, Conditions{PartTemperature: temp("-60", "Cel")}, nil, CodeOutsideRange},
		{"refrigerant beyond its line", Profile{Name: "freezer-low-side-R-134a"}, Value{Quantity: PressureAbsolute, Value: "1", Unit: "kPa"}, Conditions{Compressor: "running", Side: "low"}, nil, CodeOutsideRange},
		{"terminals of another compressor", Profile{Name: "compressor-single-phase"}, ohm32, Conditions{Between: "U-V"}, nil, CodeBadConditions},
		{"due before calibrated", heater, ohm32, Conditions{}, &Instrument{Calibrated: "2025-05-01", Due: "2024-05-01"}, CodeBadInstrument},
		{"spec of a foreign unit", heater, ohm32, Conditions{}, &Instrument{Specs: []Spec{{Quantity: Resistance, Unit: "V"}}}, CodeWrongUnit},
		{"negative spec", heater, ohm32, Conditions{}, &Instrument{Specs: []Spec{{Quantity: Resistance, Unit: "Ohm", Percent: -1}}}, CodeBadInstrument},
	} {
		t.Run(c.name, func(t *testing.T) {
			v, err := Judge(c.p, c.v, c.c, c.in)
			require.ErrorIs(t, err, &Error{Code: c.code})
			assert.Empty(t, v.Says)
		})
	}
}

func TestInstrumentUncertainty(t *testing.T) {
	// Computed by hand from the GUM (JCGM 100:2008 4.3.7 and F.2.2.1, from memory):
	// U = 2·sqrt(a²/3 + δ²/12), a = percent·x + digits·δ + plus.
	in := &Instrument{Specs: []Spec{
		{Quantity: Resistance, Unit: "Ohm", UpTo: 600, Percent: 0.5, Digits: 3, Resolution: 0.1},
		{Quantity: Resistance, Unit: "kOhm", UpTo: 60, Percent: 1, Digits: 5, Resolution: 0.01},
		{Quantity: Temperature, Unit: "Cel", Plus: 0.5, Resolution: 0.1},
		{Quantity: VoltageAC, Unit: "V", Percent: 1, Digits: 3},
	}}
	for _, c := range []struct {
		v    Value
		unit Unit
		want float64
	}{
		{ohms("32.0"), "Ohm", 0.53429}, // a = 0.16+0.3
		{ohms("32.0"), "mOhm", 534.29}, // the same in another unit
		{Value{Quantity: Resistance, Value: "32.55", Unit: "kOhm"}, "kOhm", 0.43363}, // second range: a = 0.3255+0.05
		{cels("-18.0"), "Cel", 0.58023},                                              // a = 0.5
		{cels("-18.0"), "[degF]", 1.04442},
		{volts("120.0"), "V", 1.73302}, // the typed decimals are the resolution: a = 1.2+0.3
	} {
		u, ok, err := in.Uncertainty(c.v, c.unit)
		require.NoError(t, err)
		require.True(t, ok)
		assert.InEpsilon(t, c.want, u, 2e-5, "%v", c.v)
	}
	_, ok, err := in.Uncertainty(voltsDC("12"), "V")
	require.NoError(t, err)
	assert.False(t, ok, "no spec for DC")
	_, ok, err = in.Uncertainty(Value{Quantity: Resistance, Value: "5", Unit: "MOhm"}, "Ohm")
	require.NoError(t, err)
	assert.False(t, ok, "beyond every range of the meter")

	for _, c := range []struct{ v, want Value }{
		{ohms("32.149"), ohms("32.1")},
		{Value{Quantity: Resistance, Value: "0.032149", Unit: "kOhm"}, Value{Quantity: Resistance, Value: "0.0321", Unit: "kOhm"}},
		{Value{Quantity: Resistance, Value: "16.2771", Unit: "kOhm"}, Value{Quantity: Resistance, Value: "16.28", Unit: "kOhm"}},
		{voltsDC("12.34567"), voltsDC("12.34567")}, // no spec
		{Value{Quantity: Resistance, State: OverRange}, Value{Quantity: Resistance, State: OverRange}},
	} {
		got, err := in.Rounded(c.v)
		require.NoError(t, err)
		assert.Equal(t, c.want, got)
	}

	v, err := Judge(Profile{Name: "heater-450w-120v"}, ohms("32.0"), Conditions{On: "2025-06-02", Circuit: "isolated"},
		&Instrument{Calibrated: "2024-06-01", Due: "2025-06-01", Specs: in.Specs})
	require.NoError(t, err)
	assert.Contains(t, v.Cautions, CautionCalibration)
	assert.NotContains(t, v.Cautions, CautionInstrument)
}

func TestValidDay(t *testing.T) {
	for s, want := range map[string]bool{"2024-02-29": true, "2023-02-29": false, "2000-02-29": true, "1900-02-29": false, "2025-13-01": false, "2025-04-31": false, "2025-4-1": false, "": false, "2025-12-31": true} {
		assert.Equal(t, want, validDay(s), s)
	}
}
