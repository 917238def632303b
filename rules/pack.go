package rules

import "encoding/json"

// Severities of a requirement.
const (
	Required = "required" // the claim is not complete without it
	Advised  = "advised"  // good to have: never holds a claim back
)

// What a requirement may be asked once for each of.
const (
	PerReplacedPart = "replaced-part"
	PerDamage       = "damage"
)

// Pack is a checklist for some kinds of payer and of unit. It is data: a pack cannot compute, loop or reach out.
// The keys are the same in YAML and JSON. A Pack given to Compile is whole: what it extends is already merged in.
type Pack struct {
	ID      string `json:"id"`
	Version string `json:"version"`
	Title   string `json:"title"`
	// Note says in a sentence or two what the pack is for and what it defers to.
	Note string `json:"note,omitempty"`
	// Coverage are the coverage kinds and Units the unit kinds that the pack is for; empty means all.
	Coverage []string `json:"coverage,omitempty"`
	Units    []string `json:"units,omitempty"`
	// Extends names the packs that this one builds on, in order: a later one overrides an earlier one by id.
	Extends []string `json:"extends,omitempty"`
	// Abstract packs are only there to be extended: they are never picked for a job.
	Abstract bool `json:"abstract,omitempty"`
	// Drop takes out inherited requirements, cautions or readings, each for a reason.
	Drop         []Drop        `json:"drop,omitempty"`
	Sources      []Source      `json:"sources,omitempty"`
	Cautions     []Caution     `json:"cautions,omitempty"`
	Readings     []ReadingPlan `json:"readings,omitempty"`
	Requirements []Requirement `json:"requirements,omitempty"`
}

// Drop takes an inherited item out of a pack.
type Drop struct {
	ID  string `json:"id"`
	Why string `json:"why"`
}

// Source says where the statements of a pack come from.
type Source struct {
	Mark string `json:"mark"` // published, common-practice, from-memory, computed
	Text string `json:"text"`
}

// Caution is shown to the technician before a step, and its showing is recorded.
type Caution struct {
	ID    string `json:"id"`
	Title string `json:"title"`
	Text  string `json:"text"`
	// Before is the stage at whose start the caution is shown.
	Before string     `json:"before"`
	When   *Condition `json:"when,omitempty"`
	Origin string     `json:"origin,omitempty" load:"-"`
}

// ReadingPlan says how one reading is taken and judged. Profile is passed on, unread, to the component models.
type ReadingPlan struct {
	ID        string `json:"id"`
	Title     string `json:"title"`
	Component string `json:"component"`
	Quantity  string `json:"quantity"`
	// Units are the UCUM codes in which the reading may be given; empty means any.
	Units []string `json:"units,omitempty"`
	// How says in a sentence how to take it.
	How string `json:"how,omitempty"`
	// Cautions are ids of cautions that belong to taking it.
	Cautions []string        `json:"cautions,omitempty"`
	Profile  json.RawMessage `json:"profile,omitempty"`
	Origin   string          `json:"origin,omitempty" load:"-"`
}

// Requirement is one thing that a job must show. Exactly one of the rule fields (Photo … Number) is set.
type Requirement struct {
	ID    string `json:"id"`
	Stage string `json:"stage"`
	Title string `json:"title"`
	// Why says in one sentence why a reviewer or a court cares; Cure says in one sentence what to do.
	Why  string `json:"why"`
	Cure string `json:"cure"`
	// Severity is required (the default) or advised.
	Severity string `json:"severity,omitempty"`
	// Firm requirements can't be waived.
	Firm bool `json:"firm,omitempty"`
	// Per asks the requirement once for each "replaced-part" or "damage".
	Per  string     `json:"per,omitempty"`
	When *Condition `json:"when,omitempty"`

	Photo           *PhotoRule     `json:"photo,omitempty"`
	Reading         *ReadingRule   `json:"reading,omitempty"`
	Field           *FieldRule     `json:"field,omitempty"`
	Agreement       *AgreementRule `json:"agreement,omitempty"`
	Part            *PartRule      `json:"part,omitempty"`
	Acknowledgement *AckRule       `json:"acknowledgement,omitempty"`
	Caution         *CautionRule   `json:"caution,omitempty"`
	Interval        *IntervalRule  `json:"interval,omitempty"`
	Order           *OrderRule     `json:"order,omitempty"`
	Number          *NumberRule    `json:"number,omitempty"`

	// Origin is the pack line that asked, "file:line", set by the loader.
	Origin string `json:"origin,omitempty" load:"-"`
}

// Condition decides whether a requirement applies. All members that are set must hold. Asked per replaced part
// or per damage, Replaced and Damage look only at the one in turn.
type Condition struct {
	All []Condition `json:"all,omitempty"`
	Any []Condition `json:"any,omitempty"`
	Not *Condition  `json:"not,omitempty"`

	Unit     []string `json:"unit,omitempty"`     // unit.kind is one of
	Coverage []string `json:"coverage,omitempty"` // coverage.kind is one of
	Replaced []string `json:"replaced,omitempty"` // one of these components was replaced; "any" = any part
	// Damage was seen: on-arrival, during-work, on-leaving; "any" = at any time.
	Damage     []string `json:"damage,omitempty"`
	DamageKind []string `json:"damage-kind,omitempty"`
	// Held says where the old part of a replaced part is: one of these places.
	Held     []string `json:"held,omitempty"`
	Happened []string `json:"happened,omitempty"` // one of these events happened
	Measured []string `json:"measured,omitempty"` // a reading of one of these components exists
	Pictured []string `json:"pictured,omitempty"` // a photo of one of these subjects exists

	Field string   `json:"field,omitempty"`
	Is    []string `json:"is,omitempty"`    // the field is one of; case, spaces and dashes don't matter
	Known *bool    `json:"known,omitempty"` // the field (or number) is known

	Number  string `json:"number,omitempty"`
	Above   string `json:"above,omitempty"`    // the number is greater than
	AtLeast string `json:"at-least,omitempty"` // the number is at least
}

// PhotoRule asks for pictures. Before and After name an event, optionally with "first" or "last" in front
// (before means before the first, after means after the last, unless said).
type PhotoRule struct {
	Subject []string `json:"subject"` // any of these; "any" = every subject
	// Component is a component, or "replaced-part": the part in turn.
	Component string `json:"component,omitempty"`
	AtLeast   int    `json:"at-least,omitempty"` // default 1
	// Every demands the rest of each matching picture, not only of at-least ones; none at all is then fine.
	Every bool `json:"every,omitempty"`
	// Pair names the subject of the other half: a close picture for each wide one.
	Pair        string `json:"pair,omitempty"`
	Before      string `json:"before,omitempty"`
	After       string `json:"after,omitempty"`
	DuringVisit bool   `json:"during-visit,omitempty"`
	NearSite    bool   `json:"near-site,omitempty"`
	// LongSide is the least length of the long side in pixels.
	LongSide      int  `json:"long-side,omitempty"`
	Sharp         bool `json:"sharp,omitempty"`
	NotDark       bool `json:"not-dark,omitempty"`
	NotBright     bool `json:"not-bright,omitempty"`
	NotUsedBefore bool `json:"not-used-before,omitempty"`
	// TimeBasis is the weakest acceptable support of the time: single-source, consistent, corroborated.
	TimeBasis string `json:"time-basis,omitempty"`
	// Documents lets a PDF count as a picture.
	Documents bool `json:"documents,omitempty"`
}

// ReadingRule asks for a measurement.
type ReadingRule struct {
	// Of names the reading plans that count, any of them. Without it, Component and Quantity say what counts.
	Of        []string `json:"of,omitempty"`
	Component string   `json:"component,omitempty"` // a component or "replaced-part"
	Quantity  []string `json:"quantity,omitempty"`
	Units     []string `json:"units,omitempty"`
	Moment    string   `json:"moment,omitempty"`
	AtLeast   int      `json:"at-least,omitempty"`
	// Plausible refuses a reading whose verdict is not-plausible.
	Plausible bool `json:"plausible,omitempty"`
	// Outcome lists the verdicts that satisfy; cannot-decide and no verdict are then doubts.
	Outcome []string `json:"outcome,omitempty"`
	// Supports demands that the reading supports replacing its component.
	Supports bool `json:"supports,omitempty"`
	// DisplayPhoto demands a picture of the instrument's display.
	DisplayPhoto bool   `json:"display-photo,omitempty"`
	Before       string `json:"before,omitempty"`
	After        string `json:"after,omitempty"`
}

// FieldRule asks for one recorded value.
type FieldRule struct {
	Name string `json:"name"`
	// Kind is text (the default), date (YYYY-MM-DD, from the dates) or number (from the numbers).
	Kind      string   `json:"kind,omitempty"`
	OneOf     []string `json:"one-of,omitempty"`
	MinLength int      `json:"min-length,omitempty"` // in characters
	MaxLength int      `json:"max-length,omitempty"`
	// Digits allows only 0-9; Letters only letters, digits, space, dash, dot and slash.
	Digits  bool `json:"digits,omitempty"`
	Letters bool `json:"letters,omitempty"`
	// NotInFuture refuses a date after today at the site.
	NotInFuture bool `json:"not-in-future,omitempty"`
	// Mentions looks for the name or number of the part in turn in the text; its absence is a doubt.
	Mentions bool `json:"mentions,omitempty"`
}

// AgreementRule compares a typed number with other places that state it. Case, spaces, dashes, dots and slashes
// don't matter; O for 0 or I for 1 is a doubt, never silently equal.
type AgreementRule struct {
	Number string          `json:"number"` // the typed field
	With   []AgreementWith `json:"with"`
	// AtLeast is how many of With must be known, default 1. Fewer is a doubt: somebody must compare by eye.
	AtLeast int `json:"at-least,omitempty"`
}

// AgreementWith is one other place: a field, or the bar and QR codes read on photos of a subject.
type AgreementWith struct {
	Field string `json:"field,omitempty"`
	Codes string `json:"codes,omitempty"`
}

// PartRule asks what is recorded about a replaced part. It is asked per replaced part.
type PartRule struct {
	Number      bool     `json:"number,omitempty"`
	Invoice     bool     `json:"invoice,omitempty"`
	Serial      bool     `json:"serial,omitempty"`
	Original    bool     `json:"original,omitempty"` // it is said to be the maker's part
	Held        []string `json:"held,omitempty"`     // where the old part may be
	FailedPhoto bool     `json:"failed-photo,omitempty"`
	LabelPhoto  bool     `json:"label-photo,omitempty"`
	FittedPhoto bool     `json:"fitted-photo,omitempty"`
	// Cause demands a recorded cause; Reading a reading of the component that supports replacing it.
	Cause   bool `json:"cause,omitempty"`
	Reading bool `json:"reading,omitempty"`
}

// AckRule asks for a signature, or the recorded reason why there is none.
type AckRule struct {
	About   string   `json:"about"`
	Outcome []string `json:"outcome,omitempty"` // outcomes that satisfy; default signed, declined, absent
	Before  string   `json:"before,omitempty"`
	After   string   `json:"after,omitempty"`
	// ShownDamage demands that every photo of damage seen then (on-arrival …) was on the screen when signing.
	ShownDamage string `json:"shown-damage,omitempty"`
	// Shown lists subjects of which at least one photo each was on the screen.
	Shown []string `json:"shown,omitempty"`
}

// CautionRule asks that a caution was shown, before an event if one is named.
type CautionRule struct {
	ID     string `json:"id"`
	Before string `json:"before,omitempty"`
}

// IntervalRule allows at most Days calendar days, by the site's date, from one moment to another. A moment is an event
// ("last work-finished"), a date by its dotted name ("coverage.start") or "now". While To has not happened, now counts.
type IntervalRule struct {
	From string `json:"from"`
	To   string `json:"to"`
	Days int    `json:"days"`
	// DaysFrom names a number of the job that takes the place of Days when it is known (a whole number).
	DaysFrom string `json:"days-from,omitempty"`
	// Warn marks the finding as urgent this many days before the end.
	Warn int `json:"warn,omitempty"`
}

// OrderRule demands that First is not after Then: instants for two events, site-local dates when one is a date.
type OrderRule struct {
	First string `json:"first"`
	Then  string `json:"then"`
	// Both demands that both are known; otherwise an unknown Then makes the rule not needed.
	Both bool `json:"both,omitempty"`
	// Warn marks the finding as urgent when Then is a date fewer than this many days from now.
	Warn int `json:"warn,omitempty"`
}

// NumberRule bounds a number or a count. Limits are exact decimals or the dotted name of another number.
type NumberRule struct {
	Name    string `json:"name,omitempty"`
	Count   string `json:"count,omitempty"` // visits, parts, photos, readings, damages
	AtMost  string `json:"at-most,omitempty"`
	AtLeast string `json:"at-least,omitempty"`
	// Optional makes an unknown number not needed instead of a gap.
	Optional bool `json:"optional,omitempty"`
}
