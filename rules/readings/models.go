package readings

// ModelInfo describes a model for the catalogue.
type ModelInfo struct {
	Model Model      `json:"model"`
	Title string     `json:"title"`
	Reads []Quantity `json:"reads"`
	// Needs are the conditions that the model cannot decide without.
	Needs []string `json:"needs,omitempty"`
}

type modelDef struct {
	model Model
	title string
	reads []Quantity
	units []Unit // of the profile's plain numbers; the first is the default
	needs []string
}

// models is never written to.
var models = []modelDef{
	{NTCThermistor, "an NTC thermistor", []Quantity{Resistance}, []Unit{"Ohm"}, []string{"partTemperature", "circuit"}},
	{PlatinumRTD, "a platinum temperature sensor", []Quantity{Resistance}, []Unit{"Ohm"}, []string{"partTemperature", "circuit"}},
	{PTCStartDevice, "a PTC start device", []Quantity{Resistance}, []Unit{"Ohm"}, []string{"partTemperature", "circuit"}},
	{ResistiveHeater, "a resistive heater", []Quantity{Resistance, CurrentAC, Power}, []Unit{"Ohm"}, []string{"circuit"}},
	{Coil, "a winding or coil", []Quantity{Resistance}, []Unit{"Ohm", "kOhm"}, []string{"circuit"}},
	{DCFan, "a DC fan motor", []Quantity{VoltageDC, Frequency, RotationSpeed}, []Unit{"V"}, []string{"command", "rotation", "blade"}},
	{DriveVoltage, "the voltage that a control puts on a part", []Quantity{VoltageAC, VoltageDC}, []Unit{"V"}, []string{"command"}},
	{CompressorSinglePhase, "a single-phase compressor's windings", []Quantity{Resistance}, []Unit{"Ohm"}, []string{"circuit", "between", "also"}},
	{CompressorInverter, "an inverter compressor's windings", []Quantity{Resistance}, []Unit{"Ohm"}, []string{"circuit", "between", "also"}},
	{RunCapacitor, "a run or start capacitor", []Quantity{Capacitance}, []Unit{"uF"}, []string{"circuit"}},
	{Thermostat, "a thermostat that opens warm", []Quantity{Resistance}, []Unit{"Cel", "[degF]"}, []string{"partTemperature", "circuit", "history"}},
	{ThermalFuse, "a thermal fuse", []Quantity{Resistance}, []Unit{"Ohm"}, []string{"circuit"}},
	{Switch, "a switch", []Quantity{Resistance}, []Unit{"Ohm"}, []string{"position", "circuit"}},
	{SupplyVoltage, "the supply voltage", []Quantity{VoltageAC}, []Unit{"V"}, []string{"load"}},
	{VoltageDrop, "the voltage drop under load", []Quantity{VoltageAC}, []Unit{"%"}, []string{"noLoad", "load"}},
	{CompartmentTemperature, "a compartment's temperature", []Quantity{Temperature}, []Unit{"Cel", "[degF]"}, nil},
	{PullDown, "a pull-down", []Quantity{Temperature}, []Unit{"Cel", "[degF]"}, []string{"start", "sinceStart"}},
	{Saturation, "a refrigerant's saturation", []Quantity{PressureGauge, PressureAbsolute}, []Unit{"Cel", "[degF]"}, []string{"compressor", "side", "partTemperature"}},
	{Superheat, "superheat", []Quantity{Temperature}, []Unit{"K", "[degR]"}, []string{"pressure", "compressor"}},
	{Subcooling, "subcooling", []Quantity{Temperature}, []Unit{"K", "[degR]"}, []string{"pressure", "compressor"}},
	{WaterPressure, "the water inlet pressure", []Quantity{PressureGauge}, []Unit{"kPa", "bar", "[psi]"}, []string{"load"}},
	{VentPressure, "the back-pressure of a dryer vent", []Quantity{PressureGauge}, []Unit{"Pa", "[in_i'H2O]"}, nil},
	{Airflow, "the airflow", []Quantity{AirFlow, AirVelocity}, []Unit{"m3/h", "[cft_i]/min", "L/s", "m/s", "[ft_i]/min"}, nil},
	{ProtectiveEarth, "the protective earth", []Quantity{Resistance}, []Unit{"Ohm"}, []string{"leadResistance"}},
	{Leakage, "the leakage current", []Quantity{LeakageCurrent}, []Unit{"mA"}, nil},
	{Insulation, "the insulation", []Quantity{InsulationResistance, Resistance}, []Unit{"MOhm"}, []string{"circuit"}},
	{MicrowaveLeakage, "the microwave leakage", []Quantity{RadiationLeakage}, []Unit{"mW/cm2"}, nil},
}

func (m Model) def() (*modelDef, bool) {
	for i := range models {
		if models[i].model == m {
			return &models[i], true
		}
	}
	return nil, false
}

// unit is the default unit of a profile's plain numbers.
func (m Model) unit() Unit {
	d, ok := m.def()
	if !ok {
		return ""
	}
	return d.units[0]
}

func (d *modelDef) hasUnit(u Unit) bool {
	for _, x := range d.units {
		if x == u {
			return true
		}
	}
	return false
}
