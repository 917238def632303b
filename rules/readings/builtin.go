package readings

func at(x float64) *float64 { return &x }

const (
	practice   = "common practice, no source"
	c84        = "ANSI C84.1"
	ntcSource  = "component data sheet NTCLE100E3, constants as quoted in public code"
	euClasses  = "Delegated Regulation (EU) 2019/2016, Annex IV, Table 3"
	iec335     = "IEC 60335-1, 13.2, as quoted in public"
	vde701     = "EN 50678 (VDE 0701), from memory"
	typical    = "typical value, common practice, no source; the maker's data for the model come first"
	coldRating = "P = V²/R from the rating; ±10 % is common practice"
)

// curveB3977 is one ratio curve for the parts of 2.2 to 10 kΩ; the forward constants are from
// memory and agree with the inverse ones within 0.02 °C.
func curveB3977(r25 float64) *Curve {
	return &Curve{
		Kind: "four-term", R25: r25, Min: -40, Max: 125, BetaTolerance: 29.8,
		Inverse: []float64{3.354016e-3, 2.569850e-4, 2.620131e-6, 6.383091e-8},
		Forward: []float64{-14.6337, 4791.842, -115334, -3.730535e6},
	}
}

func steinhart(a, b, c, min, max float64) *Curve {
	return &Curve{Kind: "steinhart-hart", Inverse: []float64{a, b, c}, Min: min, Max: max}
}

func ntc(name, title, source string, m Mark, percent float64, c *Curve) Profile {
	return Profile{Name: name, Title: title, Model: NTCThermistor, Component: "compartment-sensor", Source: source, Mark: m, TolerancePercent: percent, Curve: c}
}

func heaterOf(name, title, component string, watts, volts float64) Profile {
	return Profile{Name: name, Title: title, Model: ResistiveHeater, Component: component, RatedWatts: watts, RatedVolts: volts, TolerancePercent: 10, Source: coldRating, Mark: CommonPractice}
}

func typicalRange(name, title string, m Model, component string, u Unit, lo, hi float64) Profile {
	return Profile{Name: name, Title: title, Model: m, Component: component, Unit: u, Low: at(lo), High: at(hi), Source: typical, Mark: CommonPractice}
}

func supplyRange(name, title, edition, source string, m Mark, nominal, lo, hi float64) Profile {
	return Profile{Name: name, Title: title, Model: SupplyVoltage, Component: "supply", Edition: edition, Source: source, Mark: m, Unit: "V", Nominal: at(nominal), Low: at(lo), High: at(hi)}
}

func compartment(name, title, component, source string, m Mark, u Unit, lo, hi *float64) Profile {
	return Profile{Name: name, Title: title, Model: CompartmentTemperature, Component: component, Source: source, Mark: m, Unit: u, Low: lo, High: hi}
}

// catalogue is never written to; profiles leave it as copies.
var catalogue = []Profile{
	ntc("ntc-10k-b3977", "NTC 10 kΩ, B25/85 3977 K", ntcSource, Published, 5, curveB3977(10000)),
	ntc("ntc-5k-b3977", "NTC 5 kΩ, B25/85 3977 K", ntcSource, Published, 5, curveB3977(5000)),
	ntc("ntc-2k7-b3977", "NTC 2.7 kΩ, B25/85 3977 K", ntcSource, Published, 5, curveB3977(2700)),
	ntc("ntc-10k-44006", "NTC 10 kΩ, 44006/44031 curve", "Steinhart-Hart constants as quoted in public code; tolerance common practice", Published, 5, steinhart(1.032e-3, 2.387e-4, 1.580e-7, -40, 100)),
	ntc("ntc-5k-44007", "NTC 5 kΩ, 44007/44034 curve", "Steinhart-Hart constants, from memory; tolerance common practice", FromMemory, 5, steinhart(1.285e-3, 2.362e-4, 9.285e-8, -40, 100)),
	ntc("ntc-3k-44005", "NTC 3 kΩ, 44005 curve", "Steinhart-Hart constants, from memory; tolerance common practice", FromMemory, 5, steinhart(1.403e-3, 2.373e-4, 9.827e-8, -40, 100)),
	ntc("ntc-10k-103at", "NTC 10 kΩ, 103AT table (B25/85 3435 K)", "component data sheet table as transcribed in public; tolerance common practice", Published, 5, &Curve{
		Kind: "table", Min: -40, Max: 50, Table: []CurvePoint{{-40, 188500}, {-20, 67770}, {0, 27280}, {25, 10000}, {50, 4160}},
	}),
	{Name: "rtd-pt1000-oven", Title: "oven sensor, platinum 1000 Ω", Model: PlatinumRTD, Component: "oven-sensor", R0: 1000, TolerancePercent: 2, Source: "IEC 60751, from memory; ±2 % is common practice", Mark: FromMemory},
	typicalRange("ptc-start-device", "PTC start device, cold", PTCStartDevice, "start-device", "Ohm", 3, 12),
	heaterOf("heater-350w-120v", "defrost heater 350 W, 120 V", "defrost-heater", 350, 120),
	heaterOf("heater-450w-120v", "defrost heater 450 W, 120 V", "defrost-heater", 450, 120),
	heaterOf("heater-450w-115v", "defrost heater 450 W, 115 V", "defrost-heater", 450, 115),
	heaterOf("heater-600w-120v", "defrost heater 600 W, 120 V", "defrost-heater", 600, 120),
	heaterOf("heater-1300w-120v", "dishwasher heater 1300 W, 120 V", "wash-heater", 1300, 120),
	heaterOf("heater-2400w-240v", "bake element 2400 W, 240 V", "bake-element", 2400, 240),
	heaterOf("heater-5400w-240v", "dryer element 5400 W, 240 V", "dryer-element", 5400, 240),
	heaterOf("heater-5600w-240v", "dryer element 5600 W, 240 V", "dryer-element", 5600, 240),
	typicalRange("fan-ac-120v", "AC fan motor winding, 120 V", Coil, "evaporator-fan", "Ohm", 50, 400),
	typicalRange("valve-120v-refrigerator", "water valve coil, refrigerator, 120 V", Coil, "water-valve", "Ohm", 150, 500),
	typicalRange("valve-120v-washer", "water valve coil, washer or dishwasher, 120 V", Coil, "water-valve", "Ohm", 500, 1500),
	typicalRange("valve-dc", "valve coil, low voltage DC", Coil, "water-valve", "Ohm", 10, 100),
	typicalRange("pump-washer-120v", "washer drain pump, 120 V", Coil, "drain-pump", "Ohm", 5, 20),
	typicalRange("pump-dishwasher-120v", "dishwasher drain pump, 120 V", Coil, "drain-pump", "Ohm", 10, 30),
	{Name: "fan-dc-12v", Title: "DC fan motor, 12 V", Model: DCFan, Component: "evaporator-fan", Unit: "V", Nominal: at(12), Low: at(8), High: at(14), Source: typical, Mark: CommonPractice},
	{Name: "fan-dc-12v-speed", Title: "DC fan motor, 12 V, speed controlled", Model: DCFan, Component: "evaporator-fan", Unit: "V", Low: at(6), High: at(14), Source: typical, Mark: CommonPractice},
	{Name: "drive-120v", Title: "120 V on a commanded part", Model: DriveVoltage, Component: "control-board", Quantity: VoltageAC, Unit: "V", Low: at(104), High: at(127), Source: practice + "; limits of " + c84 + " range B utilisation, from memory", Mark: CommonPractice},
	{Name: "drive-12v", Title: "12 V on a commanded part", Model: DriveVoltage, Component: "control-board", Quantity: VoltageDC, Unit: "V", Low: at(8), High: at(14), Source: practice, Mark: CommonPractice},
	{Name: "compressor-single-phase", Title: "compressor windings, single phase", Model: CompressorSinglePhase, Component: "compressor", TolerancePercent: 10, Source: practice, Mark: CommonPractice},
	{Name: "compressor-inverter", Title: "compressor windings, inverter", Model: CompressorInverter, Component: "compressor", TolerancePercent: 10, Source: practice, Mark: CommonPractice},
	{Name: "compressor-insulation", Title: "compressor, windings to the shell", Model: Insulation, Component: "compressor", Unit: "MOhm", Low: at(2), Source: practice, Mark: CommonPractice},
	{Name: "thermostat-defrost", Title: "defrost thermostat, opens 50 °F, closes 20 °F", Model: Thermostat, Component: "defrost-thermostat", Unit: "[degF]", Opens: at(50), Closes: at(20), Within: 5, Source: typical + "; the pair on the part's body comes first", Mark: CommonPractice},
	{Name: "thermostat-dryer", Title: "dryer cycling thermostat, opens 155 °F, closes 130 °F", Model: Thermostat, Component: "dryer-thermostat", Unit: "[degF]", Opens: at(155), Closes: at(130), Within: 7, Source: typical + "; the pair on the part's body comes first", Mark: CommonPractice},
	{Name: "fuse-defrost", Title: "defrost thermal fuse", Model: ThermalFuse, Component: "defrost-fuse", Source: practice, Mark: CommonPractice},
	{Name: "fuse-dryer", Title: "dryer thermal fuse", Model: ThermalFuse, Component: "dryer-fuse", Source: practice, Mark: CommonPractice},
	{Name: "switch-no", Title: "switch, normally open", Model: Switch, Component: "door-switch", Contact: "normally-open", Source: practice, Mark: CommonPractice},
	{Name: "switch-nc", Title: "switch, normally closed", Model: Switch, Component: "door-switch", Contact: "normally-closed", Source: practice, Mark: CommonPractice},
	supplyRange("supply-120v-utilisation-a", "120 V at the outlet, range A", c84+"-2011 and later, range A, utilisation", c84+", from memory", FromMemory, 120, 108, 126),
	supplyRange("supply-120v-utilisation-a-2006", "120 V at the outlet, range A, older editions", c84+"-1995 and -2006, range A, utilisation", c84+", from memory", FromMemory, 120, 110, 126),
	supplyRange("supply-120v-utilisation-b", "120 V at the outlet, range B", c84+"-2011 and later, range B, utilisation", c84+", from memory", FromMemory, 120, 104, 127),
	supplyRange("supply-120v-utilisation-b-2006", "120 V at the outlet, range B, older editions", c84+"-1995 and -2006, range B, utilisation", c84+", from memory", FromMemory, 120, 106, 127),
	supplyRange("supply-120v-service-a", "120 V at the service, range A", c84+", range A, service", c84+", from memory", FromMemory, 120, 114, 126),
	supplyRange("supply-120v-service-b", "120 V at the service, range B", c84+", range B, service", c84+", from memory", FromMemory, 120, 110, 127),
	supplyRange("supply-240v-utilisation-a", "240 V at the outlet, range A", c84+"-2011 and later, range A, utilisation", c84+", from memory", FromMemory, 240, 216, 252),
	supplyRange("supply-240v-utilisation-b", "240 V at the outlet, range B", c84+"-2011 and later, range B, utilisation", c84+", from memory", FromMemory, 240, 208, 254),
	supplyRange("supply-240v-service-a", "240 V at the service, range A", c84+", range A, service", c84+", from memory", FromMemory, 240, 228, 252),
	supplyRange("supply-240v-service-b", "240 V at the service, range B", c84+", range B, service", c84+", from memory", FromMemory, 240, 220, 254),
	supplyRange("supply-230v-eu", "230 V ±10 %", "Regulation (EU) 2019/2019, article 2", "Regulation (EU) 2019/2019, article 2(1)", Published, 230, 207, 253),
	{Name: "drop-branch", Title: "voltage drop of the branch under load", Model: VoltageDrop, Component: "supply", Unit: "%", High: at(3), Source: "NEC informational note (advisory), from memory", Mark: FromMemory},
	{Name: "drop-total", Title: "voltage drop of feeder and branch under load", Model: VoltageDrop, Component: "supply", Unit: "%", High: at(5), Source: "NEC informational note (advisory), from memory", Mark: FromMemory},
	compartment("us-refrigerator", "fresh food, US", "fresh-food-compartment", "USDA FSIS and FDA: 40 °F or below", Published, "[degF]", nil, at(40)),
	compartment("us-freezer", "freezer, US", "freezer-compartment", "USDA FSIS and FDA: 0 °F or below", Published, "[degF]", nil, at(0)),
	compartment("us-retail-cold-holding", "cold holding, US retail", "fresh-food-compartment", "FDA Food Code 3-501.16, from memory", FromMemory, "[degF]", nil, at(41)),
	compartment("eu-pantry", "pantry, EU class", "fresh-food-compartment", euClasses, Published, "Cel", at(14), at(20)),
	compartment("eu-wine", "wine storage, EU class", "fresh-food-compartment", euClasses, Published, "Cel", at(5), at(20)),
	compartment("eu-cellar", "cellar, EU class", "fresh-food-compartment", euClasses, Published, "Cel", at(2), at(14)),
	compartment("eu-fresh-food", "fresh food, EU class (average)", "fresh-food-compartment", euClasses, Published, "Cel", at(0), at(8)),
	compartment("eu-chill", "chill, EU class", "fresh-food-compartment", euClasses, Published, "Cel", at(-3), at(3)),
	compartment("eu-zero-star", "zero star and ice making, EU class", "freezer-compartment", euClasses, Published, "Cel", nil, at(0)),
	compartment("eu-one-star", "one star, EU class", "freezer-compartment", euClasses, Published, "Cel", nil, at(-6)),
	compartment("eu-two-star", "two stars, EU class", "freezer-compartment", euClasses, Published, "Cel", nil, at(-12)),
	compartment("eu-three-star", "three and four stars, EU class", "freezer-compartment", euClasses, Published, "Cel", nil, at(-18)),
	{Name: "pull-down-refrigerator-us", Title: "pull-down to 40 °F", Model: PullDown, Component: "fresh-food-compartment", Unit: "[degF]", High: at(40), TrendMinutes: 60, SettleHours: 12, Source: "USDA FSIS 40 °F; times common practice", Mark: CommonPractice},
	{Name: "pull-down-freezer-us", Title: "pull-down to 0 °F", Model: PullDown, Component: "freezer-compartment", Unit: "[degF]", High: at(0), TrendMinutes: 60, SettleHours: 24, Source: "USDA FSIS 0 °F; times common practice", Mark: CommonPractice},
	{Name: "pull-down-refrigerator-eu", Title: "pull-down to 8 °C", Model: PullDown, Component: "fresh-food-compartment", Unit: "Cel", High: at(8), TrendMinutes: 60, SettleHours: 12, Source: euClasses + "; times common practice", Mark: CommonPractice},
	{Name: "pull-down-freezer-eu", Title: "pull-down to -18 °C", Model: PullDown, Component: "freezer-compartment", Unit: "Cel", High: at(-18), TrendMinutes: 60, SettleHours: 24, Source: euClasses + "; times common practice", Mark: CommonPractice},
	sealed("R-134a"), sealed("R-600a"), sealed("R-290"), sealed("R-410A"),
	{Name: "water-inlet", Title: "water inlet pressure", Model: WaterPressure, Component: "water-line", Unit: "[psi]", Low: at(20), High: at(120), Source: typical, Mark: CommonPractice},
	{Name: "dryer-vent-pressure", Title: "dryer vent back-pressure", Model: VentPressure, Component: "dryer-vent", Unit: "[in_i'H2O]", Low: at(0), High: at(0.6), Source: typical, Mark: CommonPractice},
	{Name: "dryer-airflow", Title: "dryer airflow at the hood", Model: Airflow, Component: "dryer-vent", Quantity: AirFlow, Unit: "[cft_i]/min", Low: at(100), Source: typical, Mark: CommonPractice},
	{Name: "earth-iec-335", Title: "protective earth, appliance without cord", Model: ProtectiveEarth, Unit: "Ohm", High: at(0.1), Source: "IEC 60335-1, 27.5, from memory", Mark: FromMemory},
	{Name: "earth-after-repair", Title: "protective earth after repair, cord to 5 m", Model: ProtectiveEarth, Unit: "Ohm", High: at(0.3), Source: vde701, Mark: FromMemory},
	leak("leakage-class-2", "class II", 0.25, iec335, Published),
	leak("leakage-class-0", "class 0, 0I and III", 0.5, iec335, Published),
	leak("leakage-class-1-portable", "class I, portable", 0.75, iec335, Published),
	leak("leakage-class-1-motor", "class I, stationary, motor-operated", 3.5, iec335, Published),
	leak("leakage-class-1-heating", "class I, stationary, heating (give ratedWatts: 0.75 mA/kW, at most 5 mA)", 0.75, iec335, Published),
	leak("leakage-refrigerating", "class I, refrigerating", 1.5, "IEC 60335-2-24 as quoted on a public mailing list; check the standard", Published),
	leak("leakage-ul-portable", "portable, North America", 0.5, "ANSI/UL 101, from memory", FromMemory),
	leak("leakage-ul-stationary", "stationary, North America", 0.75, "ANSI/UL 101, from memory", FromMemory),
	{Name: "insulation-class-1", Title: "insulation, class I, 500 V DC", Model: Insulation, Unit: "MOhm", Low: at(1), Source: vde701, Mark: FromMemory},
	{Name: "insulation-class-1-heating", Title: "insulation, class I with heating elements, 500 V DC", Model: Insulation, Unit: "MOhm", Low: at(0.3), Source: vde701, Mark: FromMemory},
	{Name: "insulation-class-2", Title: "insulation, class II, 500 V DC", Model: Insulation, Unit: "MOhm", Low: at(2), Source: vde701, Mark: FromMemory},
	{Name: "microwave-leakage", Title: "microwave leakage in use, 5 cm from the surface", Model: MicrowaveLeakage, Unit: "mW/cm2", High: at(5), Source: "21 CFR 1030.10, from memory", Mark: FromMemory},
}

func sealed(fluid string) Profile {
	return Profile{
		Name: "freezer-low-side-" + fluid, Title: fluid + ", low side of a freezer circuit", Model: Saturation, Component: "sealed-system", Refrigerant: fluid,
		Unit: "Cel", Low: at(-35), High: at(-15), TolerancePercent: 5, Source: sourceOf(fluid) + "; evaporating range common practice", Mark: CommonPractice,
	}
}

func sourceOf(name string) string {
	f, err := fluidOf(name)
	if err != nil {
		return ""
	}
	return f.source
}

func leak(name, class string, mA float64, source string, m Mark) Profile {
	return Profile{Name: name, Title: "leakage current, " + class, Model: Leakage, Unit: "mA", High: at(mA), Source: source, Mark: m}
}

func builtin(name string) (Profile, bool) {
	for i := range catalogue {
		if catalogue[i].Name == name {
			return catalogue[i].clone(), true
		}
	}
	return Profile{}, false
}

// clone keeps the catalogue's own numbers out of a caller's reach.
func (p Profile) clone() Profile {
	for _, x := range []**float64{&p.Nominal, &p.Low, &p.High, &p.Opens, &p.Closes} {
		if *x != nil {
			*x = at(**x)
		}
	}
	if p.Curve != nil {
		c := *p.Curve
		c.Inverse = append([]float64(nil), c.Inverse...)
		c.Forward = append([]float64(nil), c.Forward...)
		c.Table = append([]CurvePoint(nil), c.Table...)
		p.Curve = &c
	}
	return p
}

// Catalogue is what a reading pad offers: the quantities with their units, the models, and
// the named profiles. Typical values are starting points; the maker's data come first.
type Catalogue struct {
	Quantities   []QuantityInfo `json:"quantities"`
	Models       []ModelInfo    `json:"models"`
	Profiles     []Profile      `json:"profiles"`
	Refrigerants []string       `json:"refrigerants"`
}

// List is the catalogue, in a fixed order; the caller may change what it gets.
func List() Catalogue {
	var c Catalogue
	for _, d := range quantities {
		q := QuantityInfo{Quantity: d.quantity, Title: d.title, Units: append([]Unit(nil), d.units...), States: append([]State(nil), d.states...)}
		for _, u := range d.units {
			q.Symbols = append(q.Symbols, u.Symbol())
		}
		c.Quantities = append(c.Quantities, q)
	}
	for _, m := range models {
		c.Models = append(c.Models, ModelInfo{Model: m.model, Title: m.title, Reads: append([]Quantity(nil), m.reads...), Needs: append([]string(nil), m.needs...), Holds: m.holds})
	}
	for i := range catalogue {
		c.Profiles = append(c.Profiles, catalogue[i].clone())
	}
	for i := range fluids {
		c.Refrigerants = append(c.Refrigerants, fluids[i].name)
	}
	return c
}
