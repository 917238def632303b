package readings

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// load reads one file of check values, strictly.
func load(t testing.TB, name string, into any) {
	t.Helper()
	b, err := os.ReadFile("../../testdata/readings/" + name)
	require.NoError(t, err)
	d := json.NewDecoder(bytes.NewReader(b))
	d.DisallowUnknownFields()
	require.NoError(t, d.Decode(into), name)
}

func profile(t testing.TB, name string) Profile {
	t.Helper()
	p, ok := builtin(name)
	require.True(t, ok, "no profile %s", name)
	return p
}

type points [][2]float64

func TestThermistorTables(t *testing.T) {
	var f struct {
		About string
		Sets  []struct {
			Profile, Mark, Source string
			Percent, Kelvin       float64
			Points                points
		}
		Inverse struct {
			About, Mark, Profile string
			Kelvin               float64
			Points               points
		}
	}
	load(t, "thermistors.json", &f)
	require.NotEmpty(t, f.Sets)
	for _, s := range f.Sets {
		require.NotEmpty(t, s.Points)
		c := profile(t, s.Profile).Curve
		for _, p := range s.Points {
			r, err := c.Resistance(p[0])
			require.NoError(t, err)
			// The sources give whole ohms, half an ohm is their rounding.
			assert.InDelta(t, p[1], r, p[1]*s.Percent/100+0.5, "%s at %v °C (%s)", s.Profile, p[0], s.Source)
			cel, err := c.Celsius(p[1])
			require.NoError(t, err)
			assert.InDelta(t, p[0], cel, s.Kelvin+0.5/(p[1]*0.03), "%s at %v Ω", s.Profile, p[1])
		}
	}
	require.NotEmpty(t, f.Inverse.Points)
	c := profile(t, f.Inverse.Profile).Curve
	for _, p := range f.Inverse.Points {
		cel, err := c.Celsius(p[0])
		require.NoError(t, err)
		assert.InDelta(t, p[1], cel, f.Inverse.Kelvin)
	}
}

func TestSteinhartHartThreePointFit(t *testing.T) {
	// Computed outside this project: fit through -20/96358, 0/32554, 25/10000.
	c := steinhart(1.130578126e-3, 2.336293008e-4, 9.168233392e-8, -40, 100)
	for _, p := range (points{{96358, -20}, {32554, 0}, {10000, 25}, {55046, -10.000}, {85900, -18.000}, {20000, 9.865}, {5000, 41.603}}) {
		cel, err := c.Celsius(p[0])
		require.NoError(t, err)
		assert.InDelta(t, p[1], cel, 0.001, "%v Ω", p[0])
	}
}

func TestBetaEquation(t *testing.T) {
	// Computed outside this project with R = R25·exp(B(1/T - 1/298.15)), B = 3977.
	c := &Curve{Kind: "beta", R25: 10000, Beta: 3977, Min: 25, Max: 85}
	for _, p := range (points{{0, 33900.4}, {-18, 94686.5}, {50, 3563.1}}) {
		assert.InDelta(t, p[1], c.ohm(p[0]), 0.1)
	}
	for _, p := range (points{{32554, 0.762}, {20000, 10.272}, {12488, 20.115}, {5000, 41.342}}) {
		assert.InDelta(t, p[1], c.cel(p[0]), 0.001)
	}
}

// A beta for 25/85 °C says nothing about a freezer: at 85900 Ω it is 1.6 K wrong. The raw
// equation shows the error, and the model refuses to use it there.
func TestBetaOutsideItsSpanIsRefused(t *testing.T) {
	beta := &Curve{Kind: "beta", R25: 10000, Beta: 3977, Min: 25, Max: 85}
	true18, err := profile(t, "ntc-10k-b3977").Curve.Celsius(85900)
	require.NoError(t, err)
	assert.InDelta(t, -18.01, true18, 0.01)          // published inverse constants
	assert.InDelta(t, -16.40, beta.cel(85900), 0.01) // computed outside this project
	assert.Greater(t, beta.cel(85900)-true18, 1.5)

	_, err = beta.Resistance(-18)
	assert.ErrorIs(t, err, &Error{Code: CodeOutsideRange})
	_, err = beta.Celsius(85900)
	assert.ErrorIs(t, err, &Error{Code: CodeOutsideRange})
	p := Profile{Model: NTCThermistor, Component: "defrost-sensor", TolerancePercent: 5, Curve: beta}
	_, err = Judge(p, Value{Quantity: Resistance, Value: "85.9", Unit: "kOhm"}, Conditions{PartTemperature: temp("-18", "Cel")}, nil)
	assert.ErrorIs(t, err, &Error{Code: CodeOutsideRange})
}

func temp(v string, u Unit) *Value { return &Value{Quantity: Temperature, Value: v, Unit: u} }

// Three parts of "10 kΩ" differ by a fifth at 0 °C, so R25 alone is refused.
func TestThreePartsOfTenKiloohm(t *testing.T) {
	var at0 []float64
	for _, n := range []string{"ntc-10k-b3977", "ntc-10k-44006", "ntc-10k-103at"} {
		c := profile(t, n).Curve
		r25, err := c.Resistance(25)
		require.NoError(t, err)
		assert.InDelta(t, 10000, r25, 5, n)
		r, err := c.Resistance(0)
		require.NoError(t, err)
		at0 = append(at0, r)
	}
	assert.InDelta(t, 32555, at0[0], 33)
	assert.InDelta(t, 29500, at0[1], 3)
	assert.InDelta(t, 27280, at0[2], 1)
	assert.Greater(t, at0[0]/at0[2], 1.19)

	err := Profile{Model: NTCThermistor, Nominal: at(10000), TolerancePercent: 5}.Validate()
	require.ErrorIs(t, err, &Error{Code: CodeBadProfile})
	assert.Contains(t, err.Error(), "25 °C alone")
}

func TestToleranceAwayFrom25(t *testing.T) {
	// Computed outside this project: R25 ±5 %, ΔB 29.8 K.
	c := profile(t, "ntc-10k-b3977").Curve
	for _, p := range (points{{4, 5.76}, {0, 5.92}, {-18, 6.69}, {25, 5}}) {
		assert.InDelta(t, p[1], c.tolerance(p[0], 5)*100, 0.01)
	}
}

func TestPlatinum(t *testing.T) {
	// IEC 60751, from memory; values computed outside this project.
	for _, p := range (points{{0, 1000.0}, {20, 1077.9}, {21.1111, 1082.2}, {25, 1097.3}, {100, 1385.1}, {176.6667, 1672.4}, {204.4444, 1774.9}}) {
		v, err := Judge(profile(t, "rtd-pt1000-oven"), Value{Quantity: Resistance, Value: "1000", Unit: "Ohm"},
			Conditions{PartTemperature: temp(figure(p[0], 4), "Cel"), Circuit: "isolated"}, nil)
		require.NoError(t, err)
		var got float64
		require.NoError(t, json.Unmarshal([]byte(v.Expected), &got))
		assert.InDelta(t, p[1], got, 0.56, "%v °C", p[0]) // four digits are shown
		assert.InDelta(t, p[1], 1000*platinumRatio(p[0], 3.9083e-3, -5.775e-7, -4.183e-12), 0.06)
	}
	// -50 °C: 80.31 Ω of a Pt100 (IEC 60751 table, from memory).
	assert.InDelta(t, 0.8031, platinumRatio(-50, 3.9083e-3, -5.775e-7, -4.183e-12), 0.0001)
}

func TestSaturationTables(t *testing.T) {
	var f struct {
		About string
		Sets  []struct {
			Refrigerant, Phase, Mark, Source string
			Percent                          float64
			Points                           points
		}
	}
	load(t, "saturation.json", &f)
	require.NotEmpty(t, f.Sets)
	seen := map[string]bool{}
	for _, s := range f.Sets {
		require.NotEmpty(t, s.Points)
		seen[s.Refrigerant] = true
		for _, p := range s.Points {
			kPa, err := SaturationPressure(s.Refrigerant, p[0], Phase(s.Phase))
			require.NoError(t, err)
			assert.InEpsilon(t, p[1], kPa, s.Percent/100, "%s at %v °C (%s)", s.Refrigerant, p[0], s.Source)
			cel, err := SaturationTemperature(s.Refrigerant, kPa, Phase(s.Phase))
			require.NoError(t, err)
			assert.InDelta(t, p[0], cel, 1e-6)
		}
	}
	for _, r := range List().Refrigerants {
		assert.True(t, seen[r], "%s has no outside check", r)
	}
	_, err := SaturationPressure("R-12", 0, Dew)
	assert.ErrorIs(t, err, &Error{Code: CodeUnknownFluid})
	_, err = SaturationPressure("R-134a", 66, Dew)
	assert.ErrorIs(t, err, &Error{Code: CodeOutsideRange})
	_, err = SaturationPressure("R-134a", math.NaN(), Dew)
	assert.ErrorIs(t, err, &Error{Code: CodeOutsideRange})
	_, err = SaturationTemperature("R-134a", 1e9, Dew)
	assert.ErrorIs(t, err, &Error{Code: CodeOutsideRange})
}
