package claims

// Open begins a job: one complaint about one unit at one site.
type Open struct {
	// Number is the shop's own job number.
	Number string `json:"number"`
	// Complaint is what the customer reports, in the customer's words.
	Complaint string `json:"complaint"`
	// Appointment is the agreed day or moment, RFC 3339 or YYYY-MM-DD.
	Appointment string `json:"appointment,omitempty"`
	// Dispatched is when the payer or the office gave out the job.
	Dispatched string `json:"dispatched,omitempty"`
	Technician string `json:"technician,omitempty"`
	// Currency of the job's amounts, ISO 4217.
	Currency string `json:"currency,omitempty"`
}

func (b *Open) validate() *Error {
	return first(
		line("number", b.Number, true), text("complaint", b.Complaint, true), when("appointment", b.Appointment),
		when("dispatched", b.Dispatched), line("technician", b.Technician, false), currency("currency", b.Currency))
}

// Customer is the person the job is for. Fields given later fill in or replace earlier ones.
type Customer struct {
	Name  string `json:"name,omitempty"`
	Phone string `json:"phone,omitempty"`
	Email string `json:"email,omitempty"`
}

func (b *Customer) validate() *Error {
	return first(line("name", b.Name, false), line("phone", b.Phone, false), line("email", b.Email, false))
}

// Site is where the unit stands.
type Site struct {
	Address string `json:"address,omitempty"`
	// Country is the ISO 3166-1 alpha-2 code; it picks limits that differ by jurisdiction.
	Country string `json:"country,omitempty"`
	// Zone is the IANA time zone of the site: its local date decides warranty questions.
	Zone string `json:"zone,omitempty"`
	// Position of the site; Accuracy is how well the address was placed, in metres.
	Position *Position `json:"position,omitempty"`
	// Radius around Position that still counts as "at the site", in metres; 0 = 150.
	Radius float64 `json:"radius,omitempty"`
}

func (b *Site) validate() *Error {
	if b.Radius < 0 || b.Radius > 100_000 {
		return Errorf(Invalid, "The radius must lie between 0 and 100000 metres.").At("radius")
	}
	return first(text("address", b.Address, false), country("country", b.Country), line("zone", b.Zone, false), position("position", b.Position))
}

// Unit is the appliance.
type Unit struct {
	// Kind is refrigerator, freezer, dishwasher, washer, ... (see rules).
	Kind   string `json:"kind,omitempty"`
	Maker  string `json:"maker,omitempty"`
	Model  string `json:"model,omitempty"`
	Serial string `json:"serial,omitempty"`
	// Manufactured is the date on the plate: YYYY-MM-DD, YYYY-MM or YYYY.
	Manufactured string `json:"manufactured,omitempty"`
	// Usage is household or commercial.
	Usage       string `json:"usage,omitempty"`
	Refrigerant string `json:"refrigerant,omitempty"`
	// SupplyVolts is the rated supply voltage on the plate, a decimal.
	SupplyVolts string `json:"supplyVolts,omitempty"`
	// Unreadable says why the plate can't be read, when it can't.
	Unreadable string `json:"unreadable,omitempty"`
}

func (b *Unit) validate() *Error {
	return first(
		word("kind", b.Kind, false), line("maker", b.Maker, false), line("model", b.Model, false), line("serial", b.Serial, false),
		partialDate("manufactured", b.Manufactured), oneOf("usage", b.Usage, "household", "commercial"), line("refrigerant", b.Refrigerant, false),
		decimal("supplyVolts", b.SupplyVolts, false), text("unreadable", b.Unreadable, false))
}

// Coverage is who is to pay and under what terms, as stated on the papers.
type Coverage struct {
	// Kind is maker-warranty, service-contract, part-warranty or customer-pays.
	Kind  string `json:"kind,omitempty"`
	Payer string `json:"payer,omitempty"`
	// Pack is the id of the rule pack to check against; empty = chosen by kind of coverage and unit.
	Pack string `json:"pack,omitempty"`
	// Number is the claim, contract or dispatch number of the payer; Authorisation the approval number.
	Number        string `json:"number,omitempty"`
	Authorisation string `json:"authorisation,omitempty"`
	// Serial and Model are as the payer's papers have them, to be compared with the plate.
	Serial string `json:"serial,omitempty"`
	Model  string `json:"model,omitempty"`
	// StartEvent is what starts the term: purchase, installation or manufacture; Start its date; Purchased and
	// Installed the dates as proven.
	StartEvent string `json:"startEvent,omitempty"`
	Start      string `json:"start,omitempty"`
	Purchased  string `json:"purchased,omitempty"`
	Installed  string `json:"installed,omitempty"`
	// TermMonths and PartMonths are the terms in calendar months, for the whole unit and for named components.
	TermMonths int            `json:"termMonths,omitempty"`
	PartMonths map[string]int `json:"partMonths,omitempty"`
	// SubmitDays and ReturnDays are the windows for the claim and for the old part, in calendar days.
	SubmitDays int    `json:"submitDays,omitempty"`
	ReturnDays int    `json:"returnDays,omitempty"`
	Limit      *Money `json:"limit,omitempty"`
	Deductible *Money `json:"deductible,omitempty"`
	// LabourMinutes is the payer's allowance.
	LabourMinutes int `json:"labourMinutes,omitempty"`
}

func (b *Coverage) validate() *Error {
	for c, m := range b.PartMonths {
		if err := first(word("partMonths", c, true), count("partMonths", m, 1200)); err != nil {
			return err
		}
	}
	return first(
		oneOf("kind", b.Kind, "maker-warranty", "service-contract", "part-warranty", "customer-pays"), line("payer", b.Payer, false), word("pack", b.Pack, false),
		line("number", b.Number, false), line("authorisation", b.Authorisation, false), line("serial", b.Serial, false), line("model", b.Model, false),
		oneOf("startEvent", b.StartEvent, "purchase", "installation", "manufacture"), date("start", b.Start), date("purchased", b.Purchased), date("installed", b.Installed),
		count("termMonths", b.TermMonths, 1200), count("submitDays", b.SubmitDays, 3660), count("returnDays", b.ReturnDays, 3660),
		count("labourMinutes", b.LabourMinutes, 100_000), money("limit", b.Limit), money("deductible", b.Deductible))
}
