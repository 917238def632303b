package readings

// Outcome is how a reading stands to what its component's model expects.
type Outcome string

// The outcomes.
const (
	InTolerance    Outcome = "in-tolerance"
	OutOfTolerance Outcome = "out-of-tolerance"
	// CannotDecide: the uncertainty covers the limit, or a condition that decides is unknown.
	CannotDecide Outcome = "cannot-decide"
	// NotPlausible: no part reads so; check the unit, the range or the probe.
	NotPlausible Outcome = "not-plausible"
)

// Support is whether a reading speaks for replacing the component.
type Support string

// The three answers.
const (
	SupportsYes     Support = "yes"
	SupportsNo      Support = "no"
	SupportsNeutral Support = "neutral"
)

// Mark is how well a number or a rule is founded.
type Mark string

// The marks.
const (
	Published      Mark = "published"       // the text was seen
	FromMemory     Mark = "from-memory"     // published where Source says, but not seen
	CommonPractice Mark = "common-practice" // no source
	MakersData     Mark = "makers-data"     // from the maker's data for this part, entered by the shop
)

// Caution ids that verdicts carry. The texts are the rule packs' or the app's.
const (
	CautionLive          = "live-voltage"            // measured on live parts
	CautionA3            = "a3-no-ignition"          // flammable refrigerant
	CautionRefrigerant   = "refrigerant-certified"   // opening a circuit takes a certified person
	CautionInstrument    = "instrument-unknown"      // the meter's error is not in the verdict
	CautionCalibration   = "calibration-overdue"     // the meter was past its due day
	CautionCircuit       = "circuit-not-stated"      // nobody said whether the part was disconnected
	CautionLeads         = "lead-resistance-unknown" // low ohms, leads not subtracted
	CautionSupply        = "supply-out-of-band"      // the supply weakens every verdict on a load
	CautionSeaLevel      = "sea-level-assumed"       // gauge made absolute with 101.325 kPa
	CautionUnloaded      = "measure-under-load"      // the supply was read with nothing running
	CautionCharge        = "stored-charge"           // discharge the capacitor first
	CautionFindCause     = "find-the-cause"          // a one-shot fuse opened for a reason
	CautionPartTempError = "part-temperature-error"  // the part's temperature may be off
	CautionHigherRange   = "beyond-meter-range"      // OL on a voltage or current range
)

// Verdict is what a reading proves. All numbers are decimals in Unit.
type Verdict struct {
	Outcome  Outcome `json:"outcome"`
	Supports Support `json:"supports"`
	// Component is what Supports is about.
	Component string `json:"component,omitempty"`
	// Read is the reading in Unit, after the leads were subtracted; empty for a state.
	Read     string `json:"read,omitempty"`
	Expected string `json:"expected,omitempty"`
	Low      string `json:"low,omitempty"`
	High     string `json:"high,omitempty"`
	Unit     Unit   `json:"unit,omitempty"`
	// Uncertainty is the expanded uncertainty (k = 2) of the comparison; Margin the distance to the
	// nearest limit in multiples of it, negative outside. Both are empty when the instrument is unknown.
	Uncertainty string `json:"uncertainty,omitempty"`
	Margin      string `json:"margin,omitempty"`
	// ByCurve is the temperature in °C that a sensor's curve gives for the reading.
	ByCurve string `json:"byCurve,omitempty"`
	// Says is one sentence: what was expected, what was read, what it means.
	Says string `json:"says"`
	// Claim is the sentence for the claim.
	Claim string `json:"claim"`
	// Ask is what would decide or strengthen the verdict, one sentence each.
	Ask []string `json:"ask,omitempty"`
	// Source and Mark say where the expectation comes from and how well it is founded.
	Source   string   `json:"source"`
	Mark     Mark     `json:"mark"`
	Cautions []string `json:"cautions,omitempty"`
	Model    Model    `json:"model"`
	Profile  string   `json:"profile,omitempty"`
}
