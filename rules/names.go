package rules

import "slices"

var fieldNames = []Term{
	{"job.number", "Job number"},
	{"job.technician", "Technician"},
	{"unit.kind", "Kind of unit"},
	{"unit.maker", "Maker"},
	{"unit.model", "Model number"},
	{"unit.serial", "Serial number"},
	{"unit.usage", "Use of the unit"},
	{"unit.refrigerant", "Refrigerant on the plate"},
	{"unit.unreadable", "Reason why the plate cannot be read"},
	{"customer.name", "Customer's name"},
	{"customer.phone", "Customer's phone number"},
	{"site.address", "Address of the site"},
	{"coverage.kind", "Kind of coverage"},
	{"coverage.payer", "Payer"},
	{"coverage.number", "Coverage or contract number"},
	{"coverage.authorisation", "Authorisation number"},
	{"coverage.start-event", "What starts the coverage"},
	{"coverage.serial", "Serial number on the claim"},
	{"coverage.model", "Model number on the claim"},
	{"coverage.pack", "Rule pack chosen for the job"},
	{"narrative.complaint", "Complaint"},
	{"narrative.cause", "Cause"},
	{"narrative.correction", "Correction"},
	{"refrigerant.type", "Refrigerant handled"},
	{"refrigerant.recovery-method", "Way the refrigerant was recovered"},
	{"refrigerant.certificate", "Certificate number for refrigerant work"},
}

// FieldNames are the dotted names that Facts.Fields may hold and packs may ask for. A pack that asks for any other
// is refused: nobody would ever fill it.
func FieldNames() []Term { return slices.Clone(fieldNames) }

var dateNames = []Term{
	{"coverage.start", "Start of coverage"},
	{"coverage.end", "End of coverage"},
	{"coverage.purchased", "Date of purchase"},
	{"coverage.installed", "Date of installation"},
	{"unit.manufactured", "Date of manufacture"},
	{"part-return.due", "Day on which the old part is due back"},
	{"claim.reply-by", "Day by which the payer wants an answer"},
}

// DateNames are the dotted names that Facts.Dates may hold, as calendar days.
func DateNames() []Term { return slices.Clone(dateNames) }

var numberNames = []Term{
	{"labour.minutes", "Labour in minutes"},
	{"coverage.labour-minutes", "Labour that the coverage allows, in minutes"},
	{"coverage.submit-days", "Time that the coverage allows for sending the claim, in days"},
	{"coverage.return-days", "Time that the coverage allows for returning the old part, in days"},
	{"coverage.limit-minor", "Limit of the coverage, in cents"},
	{"amount.total-minor", "Amount of the claim, in cents"},
	{"trip.distance-km", "Distance travelled, in kilometres"},
	{"refrigerant.recovered-g", "Recovered refrigerant in grams"},
	{"refrigerant.charged-g", "Charged refrigerant in grams"},
}

// NumberNames are the dotted names that Facts.Numbers may hold, as exact decimals.
func NumberNames() []Term { return slices.Clone(numberNames) }

// fieldTitle names a field, date or number for people.
func fieldTitle(name string) string {
	for _, list := range [3][]Term{FieldNames(), DateNames(), NumberNames()} {
		if has(list, name) {
			return titleOf(list, name)
		}
	}
	return name
}
