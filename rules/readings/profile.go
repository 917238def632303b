package readings

import (
	"strings"
	"unicode"
)

// Model is the kind of component that a profile describes.
type Model string

// The models.
const (
	NTCThermistor          Model = "ntc-thermistor"
	PlatinumRTD            Model = "platinum-rtd"
	PTCStartDevice         Model = "ptc-start-device"
	ResistiveHeater        Model = "resistive-heater"
	Coil                   Model = "coil" // motor winding, valve coil: a range of ohms
	DCFan                  Model = "dc-fan"
	DriveVoltage           Model = "drive-voltage" // what the control puts on a part's connector
	CompressorSinglePhase  Model = "compressor-single-phase"
	CompressorInverter     Model = "compressor-inverter"
	RunCapacitor           Model = "run-capacitor"
	Thermostat             Model = "thermostat"
	ThermalFuse            Model = "thermal-fuse"
	Switch                 Model = "switch"
	SupplyVoltage          Model = "supply-voltage"
	VoltageDrop            Model = "voltage-drop"
	CompartmentTemperature Model = "compartment-temperature"
	PullDown               Model = "pull-down"
	Saturation             Model = "saturation"
	Superheat              Model = "superheat"
	Subcooling             Model = "subcooling"
	WaterPressure          Model = "water-pressure"
	VentPressure           Model = "vent-pressure"
	Airflow                Model = "airflow"
	ProtectiveEarth        Model = "protective-earth"
	Leakage                Model = "leakage-current"
	Insulation             Model = "insulation"
	MicrowaveLeakage       Model = "microwave-leakage"
)

// Profile is the data of one component: the model and its parameters, with their source.
// Rule packs and journal entries carry it as JSON. A profile with a Name and no Model
// stands for the catalogue's profile of that name; its Component and Title then win over
// the catalogue's. Which fields a model needs, [Profile.Validate] says.
type Profile struct {
	Name  string `json:"name,omitempty"`
	Title string `json:"title,omitempty"`
	Model Model  `json:"model,omitempty"`
	// Component is the part that the verdict is about, such as "defrost-heater".
	Component string `json:"component,omitempty"`
	Source    string `json:"source,omitempty"`
	Mark      Mark   `json:"mark,omitempty"`
	// Edition of the standard, where limits differ between editions.
	Edition string `json:"edition,omitempty"`

	// Quantity that is read, where the model leaves a choice.
	Quantity Quantity `json:"quantity,omitempty"`
	// Unit of Nominal, Low, High, Opens, Closes and Within.
	Unit             Unit     `json:"unit,omitempty"`
	Nominal          *float64 `json:"nominal,omitempty"`
	Low              *float64 `json:"low,omitempty"`
	High             *float64 `json:"high,omitempty"`
	TolerancePercent float64  `json:"tolerancePercent,omitempty"`

	// RatedVolts and RatedWatts of a heater.
	RatedVolts float64 `json:"ratedVolts,omitempty"`
	RatedWatts float64 `json:"ratedWatts,omitempty"`
	// Curve of a thermistor. R25 alone never identifies one.
	Curve *Curve `json:"curve,omitempty"`
	// R0 of a platinum sensor, in ohms at 0 °C.
	R0 float64 `json:"r0,omitempty"`
	// Opens and Closes of a thermostat (it opens warm), each within ±Within.
	Opens  *float64 `json:"opens,omitempty"`
	Closes *float64 `json:"closes,omitempty"`
	Within float64  `json:"within,omitempty"`
	// Contact of a switch: normally-open or normally-closed.
	Contact string `json:"contact,omitempty"`
	// Refrigerant such as R-600a.
	Refrigerant string `json:"refrigerant,omitempty"`
	// TrendMinutes is after how long a pull-down must show, SettleHours after how long it must be done.
	TrendMinutes float64 `json:"trendMinutes,omitempty"`
	SettleHours  float64 `json:"settleHours,omitempty"`
}

// Curve is the resistance of a thermistor against temperature. Outside Min…Max (°C) it refuses.
type Curve struct {
	// Kind is table, beta, steinhart-hart or four-term.
	Kind string `json:"kind"`
	// R25 in ohms (beta, four-term).
	R25 float64 `json:"r25,omitempty"`
	// Beta in kelvin, valid only over the span Min…Max it was given for: B25/85 is not B0/25.
	Beta float64 `json:"beta,omitempty"`
	// BetaTolerance in kelvin widens the tolerance away from 25 °C.
	BetaTolerance float64 `json:"betaTolerance,omitempty"`
	// Inverse: steinhart-hart 1/T = a + b·ln R + c·(ln R)³, R in ohms; four-term
	// 1/T = a + b·L + c·L² + d·L³, L = ln(R/R25). T in kelvin.
	Inverse []float64 `json:"inverse,omitempty"`
	// Forward (four-term, optional): R/R25 = exp(a + b/T + c/T² + d/T³).
	Forward []float64 `json:"forward,omitempty"`
	// Table in rising temperature; between two points ln R is linear in 1/T.
	Table []CurvePoint `json:"table,omitempty"`
	Min   float64      `json:"min"`
	Max   float64      `json:"max"`
}

// CurvePoint is one row of a thermistor's table.
type CurvePoint struct {
	Cel float64 `json:"cel"`
	Ohm float64 `json:"ohm"`
}

// Resolve gives the profile that p stands for, complete and checked.
func (p Profile) Resolve() (Profile, error) {
	if p.Model == "" {
		b, ok := builtin(p.Name)
		if !ok {
			return Profile{}, fail(CodeBadProfile, "name", "there is no profile %q in the catalogue, and no model is given", clip(p.Name))
		}
		if p.Component != "" {
			b.Component = p.Component
		}
		if p.Title != "" {
			b.Title = p.Title
		}
		p = b
	}
	if p.Unit == "" {
		p.Unit = p.Model.unit()
	}
	if p.Mark == "" {
		p.Mark = MakersData
	}
	if p.Source == "" {
		p.Source = "entered by the shop"
	}
	return p, p.Validate()
}

// Validate says in one sentence what is missing in the profile or contradicts itself, or returns nil.
func (p Profile) Validate() error {
	m, ok := p.Model.def()
	if !ok {
		return fail(CodeUnknownModel, "model", "there is no component model %q; the catalogue lists the models", clip(string(p.Model)))
	}
	if !validWord(p.Component) {
		return fail(CodeBadProfile, "component", "the component %q is not lower-case words with hyphens such as defrost-heater", clip(p.Component))
	}
	for _, x := range []struct{ field, text string }{{"name", p.Name}, {"title", p.Title}, {"source", p.Source}, {"edition", p.Edition}} {
		if len(x.text) > 400 || strings.ContainsFunc(x.text, unicode.IsControl) {
			return fail(CodeBadProfile, x.field, "the %s of the profile is longer than 400 bytes or holds control characters", x.field)
		}
	}
	switch p.Mark {
	case "", Published, FromMemory, CommonPractice, MakersData:
	default:
		return fail(CodeBadProfile, "mark", "the mark %q is not published, from-memory, common-practice or makers-data", clip(string(p.Mark)))
	}
	for _, x := range []struct {
		field string
		v     *float64
	}{{"nominal", p.Nominal}, {"low", p.Low}, {"high", p.High}, {"opens", p.Opens}, {"closes", p.Closes},
		{"tolerancePercent", &p.TolerancePercent}, {"ratedVolts", &p.RatedVolts}, {"ratedWatts", &p.RatedWatts}, {"r0", &p.R0},
		{"within", &p.Within}, {"trendMinutes", &p.TrendMinutes}, {"settleHours", &p.SettleHours}} {
		if x.v == nil {
			continue
		}
		if !(*x.v > -1e12 && *x.v < 1e12) {
			return fail(CodeBadProfile, x.field, "%s of the profile is not a usable number", x.field)
		}
	}
	if p.TolerancePercent < 0 || p.TolerancePercent > 100 || p.Within < 0 || p.RatedVolts < 0 || p.RatedWatts < 0 || p.R0 < 0 {
		return fail(CodeBadProfile, "tolerancePercent", "tolerances and ratings of a profile cannot be negative, and a tolerance is at most 100 %%")
	}
	unit := p.Unit
	if unit == "" {
		unit = p.Model.unit()
	}
	if !m.hasUnit(unit) {
		return fail(CodeBadProfile, "unit", "%q is not a unit for the limits of %s", clip(string(unit)), m.title)
	}
	if p.Quantity != "" && !oneQuantity(p.Quantity, m.reads) {
		return fail(CodeBadProfile, "quantity", "%s does not judge %q", m.title, clip(string(p.Quantity)))
	}
	if p.Low != nil && p.High != nil && *p.Low > *p.High {
		return fail(CodeBadProfile, "low", "the low limit of the profile is above the high limit")
	}
	return p.checkNeeds(m)
}

// validWord accepts "" and lower-case words with hyphens.
func validWord(s string) bool {
	for i := 0; i < len(s); i++ {
		c := s[i]
		if !(c >= 'a' && c <= 'z' || isDigit(c) || c == '-' && i > 0 && i < len(s)-1) {
			return false
		}
	}
	return len(s) <= 60
}

func (p Profile) checkNeeds(m *modelDef) error {
	need := func(ok bool, field, what string) error {
		if ok {
			return nil
		}
		return fail(CodeBadProfile, field, "a profile of %s needs %s", m.title, what)
	}
	switch p.Model {
	case NTCThermistor:
		if p.Curve == nil {
			return need(false, "curve", "the curve; a resistance at 25 °C alone fits several parts")
		}
		if p.TolerancePercent == 0 {
			return need(false, "tolerancePercent", "the tolerance in percent of the resistance at 25 °C")
		}
		return p.Curve.validate()
	case PlatinumRTD:
		return need(p.R0 > 0 && p.TolerancePercent > 0, "r0", "the resistance at 0 °C and the tolerance in percent")
	case ResistiveHeater:
		return need(p.RatedVolts > 0 && p.RatedWatts > 0 && p.TolerancePercent > 0, "ratedWatts", "the rated volts and watts and the tolerance in percent")
	case RunCapacitor:
		return need(p.Nominal != nil && *p.Nominal > 0 && p.TolerancePercent > 0, "nominal", "the rated microfarads and the tolerance in percent")
	case CompressorSinglePhase, CompressorInverter:
		return need(p.TolerancePercent > 0, "tolerancePercent", "the tolerance in percent")
	case Thermostat:
		if p.Opens == nil || p.Closes == nil {
			return need(false, "opens", "the temperatures at which it opens and closes")
		}
		return need(*p.Opens > *p.Closes, "opens", "an opening temperature above the closing one; it opens warm")
	case Switch:
		return need(p.Contact == "normally-open" || p.Contact == "normally-closed", "contact", "the contact: normally-open or normally-closed")
	case SupplyVoltage:
		if p.Edition == "" {
			return need(false, "edition", "the edition of the standard; the utilisation minimum differs between editions")
		}
		return need(p.Low != nil && p.High != nil, "low", "both limits")
	case PTCStartDevice, Coil, DCFan, DriveVoltage:
		return need(p.Low != nil && p.High != nil, "low", "both limits")
	case Superheat, Subcooling:
		if _, err := fluidOf(p.Refrigerant); err != nil {
			return err
		}
		return need(p.Low != nil && p.High != nil, "low", "both limits")
	case ThermalFuse:
		return nil
	case Saturation:
		_, err := fluidOf(p.Refrigerant)
		return err
	case PullDown:
		return need(p.High != nil && p.TrendMinutes > 0 && p.SettleHours > 0, "high", "the temperature to reach, when a trend must show and when it must be reached")
	case ProtectiveEarth, Leakage, MicrowaveLeakage, VentPressure, VoltageDrop:
		return need(p.High != nil, "high", "the upper limit")
	case Insulation:
		return need(p.Low != nil, "low", "the lower limit")
	}
	return need(p.Low != nil || p.High != nil, "low", "a limit")
}
