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
