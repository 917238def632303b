package readings

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// seen judges the value by the profile, as the product does.
func seen(t *testing.T, id, component, prof string, v Value, c Conditions) Observed {
	t.Helper()
	o := Observed{ID: id, Component: component, Value: v, Conditions: c}
	if prof != "" {
		verdict, err := Judge(Profile{Name: prof, Component: component}, v, c, nil)
		require.NoError(t, err)
		o.Verdict = &verdict
	}
	return o
}

func sign(id, component string, s Sign) Observed {
	return Observed{ID: id, Component: component, Sign: s}
}

func volts(v string) Value   { return Value{Quantity: VoltageAC, Value: v, Unit: "V"} }
func voltsDC(v string) Value { return Value{Quantity: VoltageDC, Value: v, Unit: "V"} }
func ohms(v string) Value    { return Value{Quantity: Resistance, Value: v, Unit: "Ohm"} }
func cels(v string) Value    { return Value{Quantity: Temperature, Value: v, Unit: "Cel"} }

// The table of refrigerator icing: which readings point to which part. Common practice, no source.
func TestConflicts(t *testing.T) {
	iso := Conditions{Circuit: "isolated"}
	on := Conditions{Command: "on"}
	openWarm := Conditions{Circuit: "isolated", PartTemperature: temp("72", "[degF]")}
	closedCold := Conditions{Circuit: "isolated", PartTemperature: temp("5", "[degF]")}
	stopped := Conditions{Command: "on", Rotation: "stopped"}
	ol := Value{Quantity: Resistance, State: OverRange}
	goodHeater := seen(t, "h", "defrost-heater", "heater-450w-120v", ohms("32.1"), iso)
	openHeater := seen(t, "h", "defrost-heater", "heater-450w-120v", ol, iso)
	goodStop := seen(t, "b", "defrost-thermostat", "thermostat-defrost", ohms("0.3"), closedCold)
	live := seen(t, "v", "control-board", "drive-120v", volts("119.5"), on)
	dead := seen(t, "v", "control-board", "drive-120v", volts("0.2"), on)
	sensorCold := Conditions{Circuit: "isolated", PartTemperature: temp("-18", "Cel")}
	winding := Conditions{Circuit: "isolated", Between: "R-S", Also: map[string]Value{"C-S": ohms("6.5"), "C-R": ohms("3.3")}}
	cold := Conditions{Circuit: "isolated", PartTemperature: temp("23", "Cel")}
	left := Conditions{Moment: "as-left"}

	for _, c := range []struct {
		name     string
		seen     []Observed
		replaced []string
		want     []string // ids of the conflicts, in order
	}{
		{"nothing known", nil, nil, nil},
		{"open heater replaced", []Observed{sign("f", "evaporator-coil", SignEvenFrost), openHeater}, []string{"defrost-heater"}, nil},
		{"good heater replaced", []Observed{goodHeater}, []string{"defrost-heater"}, []string{"unsupported-part"}},
		{"gasket needs no meter", nil, []string{"gasket"}, nil},
		{"cold coil, warm sensor", []Observed{
			seen(t, "c", "evaporator-coil", "", cels("-25"), Conditions{}),
			seen(t, "s", "defrost-sensor", "ntc-10k-b3977", Value{Quantity: Resistance, Value: "25.3", Unit: "kOhm"}, iso),
		}, nil, []string{"cold-coil-warm-sensor"}},
		{"cold coil, sensor follows", []Observed{
			seen(t, "c", "evaporator-coil", "", cels("-20"), Conditions{}),
			seen(t, "s", "defrost-sensor", "ntc-10k-b3977", Value{Quantity: Resistance, Value: "85.9", Unit: "kOhm"}, iso),
		}, nil, nil},
		{"sensor proven off its curve explains itself", []Observed{
			seen(t, "c", "evaporator-coil", "", cels("-25"), Conditions{}),
			seen(t, "s", "defrost-sensor", "ntc-10k-b3977", Value{Quantity: Resistance, Value: "25.3", Unit: "kOhm"}, sensorCold),
		}, []string{"defrost-sensor"}, nil},
		{"fan with voltage and no rotation", []Observed{seen(t, "f", "evaporator-fan", "fan-dc-12v", voltsDC("12.1"), stopped)}, nil, []string{"fan-supplied-blade-unknown"}},
		{"AC fan with voltage and no rotation", []Observed{seen(t, "f", "condenser-fan", "", volts("118"), stopped)}, nil, []string{"fan-supplied-blade-unknown"}},
		{"fan without voltage, replaced", []Observed{seen(t, "f", "evaporator-fan", "fan-dc-12v", voltsDC("0.1"), stopped)}, []string{"evaporator-fan"}, []string{"unsupported-part"}},
		{"fan struck ice", []Observed{sign("i", "evaporator-fan", SignBladeOnIce)}, []string{"evaporator-fan"}, []string{"fan-on-ice", "unsupported-part"}},
		{"good heater, defrost ends early", []Observed{sign("e", "evaporator-coil", SignDefrostEndsEarly), goodHeater}, nil, []string{"heater-good-defrost-ends-early"}},
		{"good heater without voltage, replaced", []Observed{goodHeater, dead}, []string{"defrost-heater"}, []string{"heater-good-and-replaced-with-voltage-missing", "unsupported-part"}},
		{"same, and the board replaced", []Observed{goodHeater, dead}, []string{"control-board"}, nil},
		{"good heater, live and cold", []Observed{goodHeater, live, sign("k", "defrost-heater", SignHeaterCold)}, nil, []string{"heater-good-supplied-and-cold"}},
		{"even frost and a sealed system repair", []Observed{sign("f", "evaporator-coil", SignEvenFrost)}, []string{"sealed-system"}, []string{"even-frost-sealed-system", "unsupported-part"}},
		{"partial frost and a heater", []Observed{sign("f", "evaporator-coil", SignPartialFrost), openHeater}, []string{"defrost-heater"}, []string{"partial-frost-defrost-parts"}},
		{"all defrost parts good, door ajar", []Observed{sign("f", "evaporator-coil", SignEvenFrost), sign("d", "door", SignDoorAjar), goodHeater, goodStop, live}, nil, []string{"all-defrost-parts-good"}},
		{"drain under a frosted coil", []Observed{sign("f", "evaporator-coil", SignEvenFrost), sign("d", "drain-trough", SignDrainBlocked)}, nil, []string{"drain-with-frosted-coil"}},
		{"food freezes, sensor good and replaced", []Observed{sign("z", "fresh-food-compartment", SignItemsFreeze),
			seen(t, "s", "compartment-sensor", "ntc-10k-b3977", Value{Quantity: Resistance, Value: "85.9", Unit: "kOhm"}, sensorCold)},
			[]string{"compartment-sensor"}, []string{"sensor-good-items-freeze", "unsupported-part"}},
		{"thermostat open while warm, replaced", []Observed{seen(t, "b", "defrost-thermostat", "thermostat-defrost", ol, openWarm)},
			[]string{"defrost-thermostat"}, []string{"thermostat-open-while-warm", "unsupported-part"}},
		{"sound windings, bad start device, compressor replaced", []Observed{
			seen(t, "w", "compressor", "compressor-single-phase", ohms("9.8"), winding),
			seen(t, "p", "start-device", "ptc-start-device", ol, cold)}, []string{"compressor"}, []string{"windings-sound-start-device-not", "unsupported-part"}},
		{"silent compressor, start device not judged", []Observed{sign("q", "compressor", SignCompressorSilent)}, []string{"compressor"}, []string{"compressor-silent-untested", "unsupported-part"}},
		{"low supply under a load verdict", []Observed{
			seen(t, "u", "supply", "supply-120v-utilisation-a", volts("99"), Conditions{Load: "under-load"}),
			seen(t, "t", "fresh-food-compartment", "us-refrigerator", cels("9"), Conditions{})}, nil, []string{"supply-weakens-load"}},
		{"restricted vent and a fuse", []Observed{sign("x", "dryer-vent", SignVentRestricted), seen(t, "f", "dryer-fuse", "fuse-dryer", ol, iso)}, []string{"dryer-fuse"}, []string{"vent-restricted-element-good"}},
		{"blocked pump replaced", []Observed{sign("x", "drain-pump", SignBlockageFound)}, []string{"drain-pump"}, []string{"pump-blocked", "unsupported-part"}},
		{"no water pressure and a valve", []Observed{seen(t, "w", "water-line", "water-inlet", Value{Quantity: PressureGauge, Value: "8", Unit: "[psi]"}, Conditions{Load: "under-load"})},
			[]string{"water-valve"}, []string{"valve-without-pressure", "unsupported-part"}},
		{"two readings of one part disagree", []Observed{goodHeater, {ID: "h2", Component: "defrost-heater", Value: ol, Conditions: iso, Verdict: openHeater.Verdict}},
			[]string{"defrost-heater"}, []string{"readings-disagree"}},
		{"left warm", []Observed{seen(t, "t", "freezer-compartment", "us-freezer", cels("-10"), left)}, nil, []string{"not-cured"}},
		{"a reading of the new part supports nothing", []Observed{{ID: "h", Component: "defrost-heater", Value: ol, Conditions: left, Verdict: openHeater.Verdict}},
			[]string{"defrost-heater"}, []string{"not-cured", "unsupported-part"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := Conflicts(c.seen, c.replaced...)
			var ids []string
			for _, x := range got {
				ids = append(ids, x.ID)
				assert.NotEmpty(t, x.Says)
				assert.NotEmpty(t, x.Ask)
				assert.NotEmpty(t, x.Component)
				assert.Equal(t, CommonPractice, x.Mark)
				assert.Equal(t, "common practice, no source", x.Source)
				if x.Unsupported != "not-measured" {
					assert.NotEmpty(t, x.Readings, x.ID)
				}
			}
			assert.Equal(t, c.want, ids)
		})
	}
}

func TestEveryConflictCheckFires(t *testing.T) {
	// The table above names each check; this keeps a new check from going untested.
	known := map[string]bool{}
	for _, id := range []string{"cold-coil-warm-sensor", "fan-supplied-blade-unknown", "fan-on-ice", "heater-good-defrost-ends-early",
		"heater-good-and-replaced-with-voltage-missing", "heater-good-supplied-and-cold", "even-frost-sealed-system", "partial-frost-defrost-parts",
		"all-defrost-parts-good", "drain-with-frosted-coil", "sensor-good-items-freeze", "thermostat-open-while-warm", "windings-sound-start-device-not",
		"compressor-silent-untested", "supply-weakens-load", "vent-restricted-element-good", "pump-blocked", "valve-without-pressure"} {
		known[id] = true
	}
	require.Len(t, conflictChecks, len(known))
	for _, c := range conflictChecks {
		assert.True(t, known[c.id], c.id)
	}
}

func TestUnsupportedKinds(t *testing.T) {
	iso := Conditions{Circuit: "isolated"}
	for _, c := range []struct {
		want string
		seen []Observed
	}{
		{"not-measured", nil},
		{"contradicted", []Observed{seen(t, "h", "defrost-heater", "heater-450w-120v", ohms("32"), iso)}},
		{"indeterminate", []Observed{seen(t, "h", "defrost-heater", "heater-450w-120v", ohms("32"), Conditions{Circuit: "in-circuit"})}},
	} {
		got := Conflicts(c.seen, "defrost-heater", "defrost-heater")
		require.Len(t, got, 1)
		assert.Equal(t, c.want, got[0].Unsupported)
		assert.Contains(t, got[0].Ask, "at its own terminals")
	}
}

func TestConflictsAreDeterministic(t *testing.T) {
	list := []Observed{sign("f", "evaporator-coil", SignEvenFrost), seen(t, "h", "defrost-heater", "heater-450w-120v", ohms("32"), Conditions{})}
	a, err := json.Marshal(Conflicts(list, "sealed-system", "defrost-heater"))
	require.NoError(t, err)
	b, err := json.Marshal(Conflicts(list, "sealed-system", "defrost-heater"))
	require.NoError(t, err)
	assert.Equal(t, string(a), string(b))
}
