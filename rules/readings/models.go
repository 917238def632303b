package readings

// ModelInfo describes a model for the catalogue.
type ModelInfo struct {
	Model Model      `json:"model"`
	Title string     `json:"title"`
	Reads []Quantity `json:"reads"`
	// Needs are the conditions that the model cannot decide without.
	Needs []string `json:"needs,omitempty"`
	// Holds says where the model comes from and in which range it holds; outside it refuses
	// or does not decide.
	Holds string `json:"holds"`
}

type modelDef struct {
	model Model
	title string
	reads []Quantity
	units []Unit // of the profile's plain numbers; the first is the default
	needs []string
	holds string
}

// models is never written to.
var models = []modelDef{
	{NTCThermistor, "an NTC thermistor", []Quantity{Resistance}, []Unit{"Ohm"}, []string{"partTemperature", "circuit"}, "the curve of the profile, only within its own range; open and short by a factor of 10 (common practice)"},
	{PlatinumRTD, "a platinum temperature sensor", []Quantity{Resistance}, []Unit{"Ohm"}, []string{"partTemperature", "circuit"}, "IEC 60751 (from memory), -200 to 850 °C"},
	{PTCStartDevice, "a PTC start device", []Quantity{Resistance}, []Unit{"Ohm"}, []string{"partTemperature", "circuit"}, "typical ohms (common practice), cold only: at most 40 °C or off for 10 minutes"},
	{ResistiveHeater, "a resistive heater", []Quantity{Resistance, CurrentAC, Power}, []Unit{"Ohm"}, []string{"circuit"}, "Ohm's law from the rating, cold resistance; current and power at the supply as read, from half the rated voltage"},
	{Coil, "a winding or coil", []Quantity{Resistance}, []Unit{"Ohm", "kOhm"}, []string{"circuit"}, "the range of the profile (typical ranges are common practice), disconnected"},
	{DCFan, "a DC fan motor", []Quantity{VoltageDC, Frequency, RotationSpeed}, []Unit{"V"}, []string{"command", "rotation", "blade"}, "the range of the profile (common practice), commanded on"},
	{DriveVoltage, "the voltage that a control puts on a part", []Quantity{VoltageAC, VoltageDC}, []Unit{"V"}, []string{"command"}, "the range of the profile (common practice), commanded on"},
	{CompressorSinglePhase, "a single-phase compressor's windings", []Quantity{Resistance}, []Unit{"Ohm"}, []string{"circuit", "between", "also"}, "start to run is the sum of the other two (common practice), above 0.1 Ω, disconnected"},
	{CompressorInverter, "an inverter compressor's windings", []Quantity{Resistance}, []Unit{"Ohm"}, []string{"circuit", "between", "also"}, "three equal windings (common practice), above 0.1 Ω, disconnected"},
	{RunCapacitor, "a run or start capacitor", []Quantity{Capacitance}, []Unit{"uF"}, []string{"circuit"}, "the marked value and tolerance, discharged and disconnected"},
	{Thermostat, "a thermostat that opens warm", []Quantity{Resistance}, []Unit{"Cel", "[degF]"}, []string{"partTemperature", "circuit", "history"}, "the opening and closing points of the profile; between them its history decides (common practice)"},
	{ThermalFuse, "a thermal fuse", []Quantity{Resistance}, []Unit{"Ohm"}, []string{"circuit"}, "closed below 1 Ω, open above 10 kΩ (common practice), disconnected"},
	{Switch, "a switch", []Quantity{Resistance}, []Unit{"Ohm"}, []string{"position", "circuit"}, "closed below 1 Ω, open above 10 kΩ (common practice), disconnected, position known"},
	{SupplyVoltage, "the supply voltage", []Quantity{VoltageAC}, []Unit{"V"}, []string{"load"}, "the limits of the named edition of the named standard"},
	{VoltageDrop, "the voltage drop under load", []Quantity{VoltageAC}, []Unit{"%"}, []string{"noLoad", "load"}, "two readings at one point, without and under load"},
	{CompartmentTemperature, "a compartment's temperature", []Quantity{Temperature}, []Unit{"Cel", "[degF]"}, nil, "the limits of the named rule or standard, -60 to 70 °C"},
	{PullDown, "a pull-down", []Quantity{Temperature}, []Unit{"Cel", "[degF]"}, []string{"start", "sinceStart"}, "a temperature to reach and times to reach it in (times are common practice)"},
	{Saturation, "a refrigerant's saturation", []Quantity{PressureGauge, PressureAbsolute}, []Unit{"Cel", "[degF]"}, []string{"compressor", "side", "partTemperature"}, "equations fitted to reference equations of state, -60 to 65 °C, R-134a, R-600a, R-290, R-410A"},
	{Superheat, "superheat", []Quantity{Temperature}, []Unit{"K", "[degR]"}, []string{"pressure", "compressor"}, "the dew line of the refrigerant, -60 to 65 °C, compressor running"},
	{Subcooling, "subcooling", []Quantity{Temperature}, []Unit{"K", "[degR]"}, []string{"pressure", "compressor"}, "the bubble line of the refrigerant, -60 to 65 °C, compressor running"},
	{WaterPressure, "the water inlet pressure", []Quantity{PressureGauge}, []Unit{"kPa", "bar", "[psi]"}, []string{"load"}, "the limits of the profile (typical limits are common practice), flowing"},
	{VentPressure, "the back-pressure of a dryer vent", []Quantity{PressureGauge}, []Unit{"Pa", "[in_i'H2O]"}, nil, "the limits of the profile (typical limits are common practice)"},
	{Airflow, "the airflow", []Quantity{AirFlow, AirVelocity}, []Unit{"m3/h", "[cft_i]/min", "L/s", "m/s", "[ft_i]/min"}, nil, "the limits of the profile (typical limits are common practice)"},
	{ProtectiveEarth, "the protective earth", []Quantity{Resistance}, []Unit{"Ohm"}, []string{"leadResistance"}, "the limit of the named standard, leads subtracted"},
	{Leakage, "the leakage current", []Quantity{LeakageCurrent}, []Unit{"mA"}, nil, "the limit of the named standard for the class"},
	{Insulation, "the insulation", []Quantity{InsulationResistance, Resistance}, []Unit{"MOhm"}, []string{"circuit"}, "the limit of the named standard, by an insulation tester; an ohmmeter only proves a fault"},
	{MicrowaveLeakage, "the microwave leakage", []Quantity{RadiationLeakage}, []Unit{"mW/cm2"}, nil, "the limit of the named rule, 5 cm from the surface"},
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
