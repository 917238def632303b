package rules

import "slices"

// The words about places, condition and disputes.

var areas = []Term{
	{"way-in", "Way in"},
	{"floor", "Floor before the unit"},
	{"left-side", "Left side"},
	{"right-side", "Right side"},
	{"front", "Front"},
	{"top", "Top"},
	{"back", "Back"},
	{"kick-plate", "Kick plate"},
	{"wall", "Wall"},
	{"cabinets-beside", "Cabinets beside"},
	{"worktop", "Worktop"},
	{"door-outside", "Door, outside"},
	{"door-inside", "Door, inside"},
	{"door-glass", "Door glass"},
	{"handle", "Handle"},
	{"hinge", "Hinge"},
	{"gasket", "Gasket"},
	{"control-panel", "Control panel"},
	{"trim", "Trim"},
	{"liner-left-wall", "Liner, left wall"},
	{"liner-right-wall", "Liner, right wall"},
	{"liner-back-wall", "Liner, back wall"},
	{"liner-floor", "Liner, floor"},
	{"freezer-liner-left-wall", "Freezer liner, left wall"},
	{"freezer-liner-right-wall", "Freezer liner, right wall"},
	{"freezer-liner-back-wall", "Freezer liner, back wall"},
	{"freezer-liner-floor", "Freezer liner, floor"},
	{"evaporator-cover", "Evaporator cover"},
	{"drain-trough", "Drain trough"},
	{"shelf", "Shelf"},
	{"drawer", "Drawer"},
	{"tub", "Tub"},
	{"drum", "Drum"},
	{"rack", "Rack"},
	{"cooktop", "Cooktop"},
	{"oven-cavity", "Oven cavity"},
	{"water-line", "Water line"},
	{"gas-line", "Gas line"},
	{"power-cord", "Power cord"},
	{"vent", "Vent"},
}

// Areas are places on the unit and in the room. Entries may use other words as well.
func Areas() []Term { return slices.Clone(areas) }

var lookAround = []Term{
	{"way-in", "Way in"}, {"floor", "Floor before the unit"}, {"left-side", "Left side and what stands beside it"},
	{"right-side", "Right side and what stands beside it"}, {"front", "Whole front"},
}

// LookAround are the areas of the five pictures on arrival, and again on leaving. A photo's subject is floor for the floor, whole-unit
// for the front, surroundings for the others; its area is the id.
func LookAround() []Term { return slices.Clone(lookAround) }

var damageScales = []Term{{"ruler", "Ruler in the picture"}, {"tape", "Tape measure"}, {"scale-card", "Scale card in the picture"}, {"caliper", "Caliper"},
	{"known-part", "Beside a part of known size"}, {"estimated", "Estimated"}}

// DamageScales are what the extent of damage is measured with.
func DamageScales() []Term { return slices.Clone(damageScales) }

var allegationHow = []Term{{"letter", "Letter"}, {"e-mail", "E-mail"}, {"telephone", "Telephone"}, {"message", "Message"}, {"in-person", "In person"},
	{"payer", "Through the payer"}, {"insurer", "Through an insurer"}, {"lawyer", "Through a lawyer"}, {"form", "Form or portal"}}

var allegationWants = []Term{{"answer", "An answer"}, {"repair", "Repair"}, {"replacement", "Replacement"}, {"money", "Money"}, {"other", "Something else"}}

var disputeFindings = []Term{{"shown-before", "Shown before work"}, {"shown-after", "Shown after work only"}, {"not-shown", "Not shown either way"}, {"conflicting", "Conflicting"}}

// DisputeFindings are what the items on record can say about an allegation.
func DisputeFindings() []Term { return slices.Clone(disputeFindings) }

var statementFrom = []Term{{"customer", "Customer"}, {"technician", "Technician"}, {"witness", "Witness"}, {"payer", "Payer"}, {"insurer", "Insurer"}, {"other", "Somebody else"}}

// StatementFrom says who makes a statement.
func StatementFrom() []Term { return slices.Clone(statementFrom) }

var offerWhat = []Term{{"money", "Money"}, {"repair", "Repair"}, {"replacement", "Replacement"}, {"discount", "Discount"}, {"other", "Something else"}}

// OfferWhat is what an offer consists of.
func OfferWhat() []Term { return slices.Clone(offerWhat) }

var offerOutcomes = []Term{{"accepted", "Accepted"}, {"declined", "Declined"}, {"countered", "Answered with another offer"}}

// OfferOutcomes are the answers to an offer.
func OfferOutcomes() []Term { return slices.Clone(offerOutcomes) }

var releaseOutcomes = []Term{{"sent", "Sent"}, {"signed", "Signed"}, {"declined", "Declined"}}

// ReleaseOutcomes are what became of a release.
func ReleaseOutcomes() []Term { return slices.Clone(releaseOutcomes) }

var disputeEnds = []Term{{"agreed", "Agreed"}, {"withdrawn", "Withdrawn"}, {"refused", "Refused by the shop"}, {"decided", "Decided by somebody else"}, {"lapsed", "Lapsed"}}

// DisputeEnds are the ways in which an allegation ends.
func DisputeEnds() []Term { return slices.Clone(disputeEnds) }

var fileExtras = []Term{{"contact", "Customer's contact and the site"}, {"papers", "Papers with personal data"}, {"readings", "Readings and signs"}, {"notes", "Notes"},
	{"claim", "Claim, amounts and payer"}, {"settlement", "Offers, releases and payments"}}

// FileExtras are what goes into a dispute file only when chosen.
func FileExtras() []Term { return slices.Clone(fileExtras) }
