package rules

import "slices"

// Term is one word of the closed vocabulary: the id that packs, entries and the phone share, and its title for people.
type Term struct {
	ID    string `json:"id"`
	Title string `json:"title"`
}

// Vocabulary is every list of words that loader, phone and server share. The order of a list is the order in
// which people are shown it. All lists are fresh copies: a caller may keep and change them.
type Vocabulary struct {
	Stages        []Term `json:"stages"`
	UnitKinds     []Term `json:"unitKinds"`
	CoverageKinds []Term `json:"coverageKinds"`
	Subjects      []Term `json:"subjects"`
	Components    []Term `json:"components"`
	Quantities    []Term `json:"quantities"`
	Moments       []Term `json:"moments"`
	Events        []Term `json:"events"`
	DamageKinds   []Term `json:"damageKinds"`
	DamageSeen    []Term `json:"damageSeen"`
	About         []Term `json:"about"`
	AckOutcomes   []Term `json:"acknowledgementOutcomes"`
	PartHeld      []Term `json:"partHeld"`
	Fields        []Term `json:"fields"`
	Dates         []Term `json:"dates"`
	Numbers       []Term `json:"numbers"`

	Areas           []Term `json:"areas"`
	LookAround      []Term `json:"lookAround"`
	DamageScales    []Term `json:"damageScales"`
	AllegationHow   []Term `json:"allegationHow"`
	AllegationWants []Term `json:"allegationWants"`
	DisputeFindings []Term `json:"disputeFindings"`
	StatementFrom   []Term `json:"statementFrom"`
	OfferWhat       []Term `json:"offerWhat"`
	OfferOutcomes   []Term `json:"offerOutcomes"`
	ReleaseOutcomes []Term `json:"releaseOutcomes"`
	DisputeEnds     []Term `json:"disputeEnds"`
	FileExtras      []Term `json:"fileExtras"`
}

// Words gives the whole vocabulary.
func Words() Vocabulary {
	return Vocabulary{
		Stages: Stages(), UnitKinds: UnitKinds(), CoverageKinds: CoverageKinds(), Subjects: Subjects(),
		Components: Components(), Quantities: Quantities(), Moments: Moments(), Events: Events(),
		DamageKinds: DamageKinds(), DamageSeen: DamageSeen(), About: AckAbout(), AckOutcomes: AckOutcomes(),
		PartHeld: PartHeld(), Fields: FieldNames(), Dates: DateNames(), Numbers: NumberNames(),
		Areas: Areas(), LookAround: LookAround(), DamageScales: DamageScales(), AllegationHow: slices.Clone(allegationHow), AllegationWants: slices.Clone(allegationWants),
		DisputeFindings: DisputeFindings(), StatementFrom: StatementFrom(), OfferWhat: OfferWhat(), OfferOutcomes: OfferOutcomes(),
		ReleaseOutcomes: ReleaseOutcomes(), DisputeEnds: DisputeEnds(), FileExtras: FileExtras(),
	}
}

// The lists of the vocabulary are never written to; callers get copies.

var stages = []Term{
	{"book", "Book the job"},
	{"arrive", "Arrive"},
	{"look", "Look before touching"},
	{"measure", "Measure"},
	{"repair", "Repair"},
	{"prove", "Prove the result"},
	{"leave", "Before the van leaves"},
	{"claim", "Claim"},
}

// Stages are the steps of a visit and its claim, in order. Each requirement belongs to one.
func Stages() []Term { return slices.Clone(stages) }

var unitKinds = []Term{
	{"refrigerator", "Refrigerator"},
	{"freezer", "Freezer"},
	{"dishwasher", "Dishwasher"},
	{"washer", "Washer"},
	{"dryer-electric", "Electric dryer"},
	{"dryer-gas", "Gas dryer"},
	{"range-electric", "Electric range or oven"},
	{"range-gas", "Gas range or oven"},
	{"microwave", "Microwave oven"},
}

// UnitKinds are the kinds of appliance that packs are written for.
func UnitKinds() []Term { return slices.Clone(unitKinds) }

var coverageKinds = []Term{
	{"maker-warranty", "Maker's warranty"},
	{"service-contract", "Service contract"},
	{"part-warranty", "Part warranty"},
	{"customer-pays", "Customer pays"},
}

// CoverageKinds say who pays.
func CoverageKinds() []Term { return slices.Clone(coverageKinds) }

var subjects = []Term{
	{"whole-unit", "Whole unit"},
	{"surroundings", "Surroundings"},
	{"floor", "Floor"},
	{"rating-plate", "Rating plate"},
	{"proof-of-purchase", "Proof of purchase"},
	{"symptom", "Symptom"},
	{"meter-display", "Meter display"},
	{"failed-part", "Failed part"},
	{"part-label", "Part label"},
	{"fitted-part", "Fitted part"},
	{"work-area", "Work area"},
	{"after-repair", "After the repair"},
	{"as-left-display", "Display as left"},
	{"damage-wide", "Damage, wide"},
	{"damage-close", "Damage, close"},
	{"customer-document", "Customer's document"},
	{"other", "Other"},
}

// Subjects are what a photo is meant to show.
func Subjects() []Term { return slices.Clone(subjects) }

var components = []Term{
	{"evaporator-coil", "Evaporator coil"},
	{"evaporator-fan", "Evaporator fan"},
	{"condenser-coil", "Condenser coil"},
	{"condenser-fan", "Condenser fan"},
	{"defrost-heater", "Defrost heater"},
	{"defrost-thermostat", "Defrost thermostat"},
	{"defrost-sensor", "Defrost sensor"},
	{"defrost-fuse", "Defrost thermal fuse"},
	{"control-board", "Control board"},
	{"drain-heater", "Drain heater"},
	{"drain-trough", "Drain trough"},
	{"damper", "Damper"},
	{"gasket", "Gasket"},
	{"compressor", "Compressor"},
	{"start-device", "Start device"},
	{"run-capacitor", "Run capacitor"},
	{"sealed-system", "Sealed system"},
	{"filter-drier", "Filter drier"},
	{"water-valve", "Water valve"},
	{"water-filter", "Water filter"},
	{"ice-maker", "Ice maker"},
	{"door-switch", "Door switch"},
	{"compartment-sensor", "Compartment sensor"},
	{"liner", "Liner"},
	{"door", "Door"},
	{"hinge", "Hinge"},
	{"display", "Display"},
	{"main-harness", "Main harness"},
	{"power-cord", "Power cord"},
	{"terminal-block", "Terminal block"},
	{"bake-element", "Bake element"},
	{"broil-element", "Broil element"},
	{"surface-element", "Surface element"},
	{"oven-sensor", "Oven sensor"},
	{"dryer-element", "Dryer element"},
	{"dryer-thermostat", "Dryer thermostat"},
	{"dryer-fuse", "Dryer thermal fuse"},
	{"dryer-vent", "Dryer vent"},
	{"belt", "Belt"},
	{"drive-motor", "Drive motor"},
	{"drain-pump", "Drain pump"},
	{"circulation-pump", "Circulation pump"},
	{"wash-heater", "Wash heater"},
	{"wash-sensor", "Wash temperature sensor"},
	{"pressure-switch", "Pressure switch"},
	{"door-lock", "Door lock"},
	{"igniter", "Igniter"},
	{"flame-sensor", "Flame sensor"},
	{"gas-valve", "Gas valve"},
	{"gas-line", "Gas line"},
	{"water-line", "Water line"},
	{"magnetron", "Magnetron"},
	{"turntable-motor", "Turntable motor"},
	{"supply", "Supply (the outlet)"},
	{"fresh-food-compartment", "Fresh-food compartment"},
	{"freezer-compartment", "Freezer compartment"},
}

// Components are the parts and places that a photo, a reading or a replaced part concerns.
func Components() []Term { return slices.Clone(components) }

var quantities = []Term{
	{"resistance", "Resistance"},
	{"insulation-resistance", "Insulation resistance"},
	{"voltage-ac", "Voltage AC"},
	{"voltage-dc", "Voltage DC"},
	{"current-ac", "Current AC"},
	{"current-dc", "Current DC"},
	{"leakage-current", "Leakage current"},
	{"power", "Power"},
	{"capacitance", "Capacitance"},
	{"frequency", "Frequency"},
	{"rotation-speed", "Rotation speed"},
	{"temperature", "Temperature"},
	{"temperature-difference", "Temperature difference"},
	{"pressure-gauge", "Gauge pressure"},
	{"pressure-absolute", "Absolute pressure"},
	{"vacuum", "Vacuum"},
	{"water-flow", "Water flow"},
	{"airflow", "Airflow"},
	{"air-velocity", "Air velocity"},
	{"humidity", "Relative humidity"},
	{"duration", "Duration"},
	{"mass", "Mass"},
	{"ratio", "Ratio"},
	{"radiation-leakage", "Microwave leakage"},
}

// Quantities are what a reading measures.
func Quantities() []Term { return slices.Clone(quantities) }

var momentsOfReadings = []Term{{"as-found", "As found"}, {"as-left", "As left"}}

// Moments say whether a reading shows the unit as found or as left.
func Moments() []Term { return slices.Clone(momentsOfReadings) }

var events = []Term{
	{"opened", "Job opened"},
	{"dispatched", "Dispatched"},
	{"arrived", "Arrived"},
	{"work-started", "Work started"},
	{"part-removed", "Part removed"},
	{"part-fitted", "Part fitted"},
	{"work-finished", "Work finished"},
	{"left", "Left"},
	{"sent", "Claim sent"},
	{"answered", "Claim answered"},
	{"reading", "Reading taken"},
	{"photo", "Photo taken"},
}

// Events are the moments of a job that rules may refer to. "reading" and "photo" stand for the readings and photos
// themselves: "before reading" is before the first reading was taken.
func Events() []Term { return slices.Clone(events) }

// NoDamage is the kind of a damage entry that says: this area was looked at, and nothing was seen.
const NoDamage = "none"

var damageKinds = []Term{
	{"melted", "Melted"}, {"cut", "Cut"}, {"chipped", "Chipped"}, {"cracked", "Cracked"}, {"dented", "Dented"},
	{"scratched", "Scratched"}, {"stained", "Stained"}, {"corroded", "Corroded"}, {"missing", "Missing"}, {"wet", "Wet"},
}

// DamageKinds are neutral words for what is wrong: they say what is seen, never who did it.
func DamageKinds() []Term { return slices.Clone(damageKinds) }

var damageSeen = []Term{{"on-arrival", "On arrival"}, {"during-work", "During the work"}, {"on-leaving", "On leaving"}}

// DamageSeen says when damage was seen.
func DamageSeen() []Term { return slices.Clone(damageSeen) }

var ackAbout = []Term{
	{"damage-on-arrival", "Damage found on arrival"},
	{"damage-during-work", "Damage during the work"},
	{"estimate", "Estimate"},
	{"work-done", "Work done"},
	{"water-shut-off", "Water shut off or opened again"},
	{"gas-shut-off", "Gas shut off or opened again"},
}

// AckAbout is what a customer may acknowledge.
func AckAbout() []Term { return slices.Clone(ackAbout) }

var ackOutcomes = []Term{{"signed", "Signed"}, {"declined", "Declined"}, {"absent", "Absent"}}

// AckOutcomes are how a request for a signature can end.
func AckOutcomes() []Term { return slices.Clone(ackOutcomes) }

var partHeld = []Term{
	{"held", "Held"}, {"requested", "Requested back"}, {"shipped", "Shipped back"},
	{"received", "Received by the payer"}, {"scrapped", "Scrapped"}, {"left-with-customer", "Left with the customer"},
}

// PartHeld says where an old part is.
func PartHeld() []Term { return slices.Clone(partHeld) }

var marks = []Term{
	{"published", "Published source"},
	{"common-practice", "Common practice of the trade, no published source"},
	{"from-memory", "From memory, not looked up"},
	{"computed", "Computed"},
}

// Marks say how well a statement in a pack is supported.
func Marks() []Term { return slices.Clone(marks) }

var timeBases = []Term{{"single-source", "Single source"}, {"consistent", "Consistent"}, {"corroborated", "Corroborated"}}

var readingOutcomes = []Term{
	{"in-tolerance", "In tolerance"}, {"out-of-tolerance", "Out of tolerance"},
	{"cannot-decide", "Cannot decide"}, {"not-plausible", "Not plausible"},
}

// ReadingOutcomes are the verdicts that a component model may give.
func ReadingOutcomes() []Term { return slices.Clone(readingOutcomes) }

func has(terms []Term, id string) bool {
	for i := range terms {
		if terms[i].ID == id {
			return true
		}
	}
	return false
}

func titleOf(terms []Term, id string) string {
	for i := range terms {
		if terms[i].ID == id {
			return terms[i].Title
		}
	}
	return id
}

func ids(terms []Term) []string {
	out := make([]string, len(terms))
	for i := range terms {
		out[i] = terms[i].ID
	}
	return out
}
