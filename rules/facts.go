package rules

import "time"

// Facts are what is known about one job, laid out for checking: plain values, no pointers into a journal,
// no clock. Two equal Facts give two equal reports. claims.FactsOf builds them from a job's journal; a rule
// pack's example cases write them by hand.
//
// Every item carries the id of the entry that says so, so that a finding can point at its evidence.
type Facts struct {
	// Now is the moment of the check. Deadlines and "not in the future" depend on it.
	Now time.Time `json:"now"`
	// Zone is the site's IANA zone; its local date decides date rules. Empty means UTC.
	Zone string `json:"zone,omitempty"`
	// Fields are single values by dotted name: "unit.kind", "unit.model", "unit.serial", "unit.usage",
	// "customer.name", "site.address", "coverage.kind", "coverage.payer", "coverage.number",
	// "coverage.authorisation", "coverage.start-event", "narrative.complaint", "narrative.cause",
	// "narrative.correction", "job.number", "job.technician" ... An absent field is unknown, not empty.
	Fields map[string]string `json:"fields,omitempty"`
	// Dates are calendar days (YYYY-MM-DD) by dotted name: "coverage.start", "coverage.purchased",
	// "unit.manufactured", "part-return.due" ...
	Dates map[string]string `json:"dates,omitempty"`
	// Numbers are exact decimals by dotted name: "trip.distance-km", "labour.minutes",
	// "amount.total-minor" ...
	Numbers map[string]string `json:"numbers,omitempty"`
	// Events are the moments at which something happened on the job, each in time order: "opened",
	// "dispatched", "arrived", "work-started", "part-removed", "part-fitted", "work-finished", "left", "sent", "answered".
	Events   map[string][]Moment `json:"events,omitempty"`
	Photos   []Photo             `json:"photos,omitempty"`
	Readings []Reading           `json:"readings,omitempty"`
	Parts    []Part              `json:"parts,omitempty"`
	Damages  []Damage            `json:"damages,omitempty"`
	Acks     []Acknowledgement   `json:"acknowledgements,omitempty"`
	// Cautions are the ids of the cautions that were shown, with the moment.
	Cautions map[string][]Moment `json:"cautions,omitempty"`
	Waivers  []Waiver            `json:"waivers,omitempty"`
}

// Moment is an instant with the entry that reports it.
type Moment struct {
	At    time.Time `json:"at"`
	Entry string    `json:"entry,omitempty"`
}

// Photo is one picture, clip or document with what was found out about it.
type Photo struct {
	Entry   string `json:"entry"`
	Digest  string `json:"digest,omitempty"`
	Subject string `json:"subject"`
	// Component that the picture concerns; empty when it concerns the whole unit or the site.
	Component string `json:"component,omitempty"`
	// At is the best supported moment of capture; zero when nothing says so.
	At time.Time `json:"at,omitzero"`
	// TimeBasis is how well At is supported: corroborated, consistent, single-source, conflicting; empty = not assessed.
	TimeBasis string `json:"timeBasis,omitempty"`
	// BeforeWork is before, after, cannot-tell or conflicting: whether it was taken before the first work, by the strongest clock that can
	// tell; BeforeWorkBy names that clock: receipt, sequence, clocks, stated. Empty = not assessed, At alone decides.
	BeforeWork   string `json:"beforeWork,omitempty"`
	BeforeWorkBy string `json:"beforeWorkBy,omitempty"`
	// Place is at-site, elsewhere, cannot-tell; empty = no position.
	Place  string  `json:"place,omitempty"`
	Metres float64 `json:"metres,omitempty"`
	Width  int     `json:"width,omitempty"`
	Height int     `json:"height,omitempty"`
	// Sharp, Dark, Bright are the legibility verdicts of the examination: "yes", "no", "doubt"; empty = not examined.
	Sharp  string `json:"sharp,omitempty"`
	Dark   string `json:"dark,omitempty"`
	Bright string `json:"bright,omitempty"`
	// UsedBefore names another job that holds the same bytes ("same:<job>") or a look-alike ("near:<job>").
	UsedBefore string `json:"usedBefore,omitempty"`
	// PairedWith is the entry of the other half of a wide/close or before/after pair.
	PairedWith string `json:"pairedWith,omitempty"`
	// Codes are the texts of bar and QR codes read in the picture.
	Codes []string `json:"codes,omitempty"`
	// Document is true for a PDF: kept whole, not examined as a picture.
	Document bool `json:"document,omitempty"`
}

// Reading is one measurement with the verdict of its component model, if one applied.
type Reading struct {
	Entry     string    `json:"entry"`
	At        time.Time `json:"at,omitzero"`
	Component string    `json:"component,omitempty"`
	Quantity  string    `json:"quantity"`
	// Value is an exact decimal; empty when State holds instead (over-range, closed, ...).
	Value string `json:"value,omitempty"`
	Unit  string `json:"unit,omitempty"`
	State string `json:"state,omitempty"`
	// Moment is "as-found" or "as-left"; empty when not said.
	Moment string `json:"moment,omitempty"`
	// Outcome is in-tolerance, out-of-tolerance, cannot-decide or not-plausible; empty = no model applied.
	Outcome string `json:"outcome,omitempty"`
	// Supports is yes, no or neutral: whether the reading supports replacing Component.
	Supports string `json:"supports,omitempty"`
	// Says is the verdict's sentence.
	Says string `json:"says,omitempty"`
	// DisplayPhoto is the entry of the photo that shows the instrument's display.
	DisplayPhoto string `json:"displayPhoto,omitempty"`
	Instrument   string `json:"instrument,omitempty"`
}

// Part is one part taken out or fitted.
type Part struct {
	Entry     string    `json:"entry"`
	At        time.Time `json:"at,omitzero"`
	Component string    `json:"component"`
	// Action is "removed", "fitted" or "replaced" (both in one entry).
	Action   string `json:"action"`
	Number   string `json:"number,omitempty"`
	Serial   string `json:"serial,omitempty"`
	Quantity string `json:"quantity,omitempty"`
	Invoice  string `json:"invoice,omitempty"`
	// Original is "yes", "no" or empty: whether it is the maker's part.
	Original string `json:"original,omitempty"`
	// Held says where the old part is: held, requested, shipped, received, scrapped; empty = not said.
	Held string `json:"held,omitempty"`
}

// Damage is one thing found wrong that the complaint was not about.
type Damage struct {
	Entry string    `json:"entry"`
	At    time.Time `json:"at,omitzero"`
	Area  string    `json:"area"`
	Kind  string    `json:"kind"`
	// Seen is on-arrival, during-work or on-leaving.
	Seen   string   `json:"seen"`
	Photos []string `json:"photos,omitempty"`
	// Bears is yes, no or unknown: whether it bears on coverage.
	Bears string `json:"bears,omitempty"`
}

// Acknowledgement is a signature, or the recorded reason why there is none.
type Acknowledgement struct {
	Entry string    `json:"entry"`
	At    time.Time `json:"at,omitzero"`
	// About is what was acknowledged: damage-on-arrival, work-done, estimate, ...
	About string `json:"about"`
	// Outcome is signed, declined or absent.
	Outcome string `json:"outcome"`
	// Shown are the entries that the signer had on the screen.
	Shown []string `json:"shown,omitempty"`
}

// Waiver sets one requirement aside, by a person and for a reason.
type Waiver struct {
	Entry       string    `json:"entry"`
	At          time.Time `json:"at,omitzero"`
	Requirement string    `json:"requirement"`
	By          string    `json:"by"`
	Why         string    `json:"why"`
}
