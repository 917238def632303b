package claims

// Part is a part taken out, fitted, or both (replaced).
type Part struct {
	Component   string `json:"component"`
	Action      string `json:"action"` // removed, fitted, replaced
	Number      string `json:"number,omitempty"`
	Description string `json:"description,omitempty"`
	// Serial of the new part; OldSerial of the old.
	Serial    string `json:"serial,omitempty"`
	OldSerial string `json:"oldSerial,omitempty"`
	// Quantity is a whole number; 0 = 1.
	Quantity int `json:"quantity,omitempty"`
	// Invoice and InvoiceDate prove where it was bought.
	Invoice     string `json:"invoice,omitempty"`
	InvoiceDate string `json:"invoiceDate,omitempty"`
	Price       *Money `json:"price,omitempty"` // for one
	// Original is yes or no: whether it is the maker's part.
	Original string `json:"original,omitempty"`
	// Held says where the old part is: held, requested, shipped, received, scrapped, left-with-customer.
	Held   string    `json:"held,omitempty"`
	Photos []EntryID `json:"photos,omitempty"`
}

func (b *Part) validate() *Error {
	return first(word("component", b.Component, true), required("action", b.Action), oneOf("action", b.Action, "removed", "fitted", "replaced"),
		line("number", b.Number, false), line("description", b.Description, false), line("serial", b.Serial, false), line("oldSerial", b.OldSerial, false),
		count("quantity", b.Quantity, 10_000), line("invoice", b.Invoice, false), date("invoiceDate", b.InvoiceDate), money("price", b.Price),
		oneOf("original", b.Original, "yes", "no"), oneOf("held", b.Held, heldStates...), ids("photos", b.Photos))
}

var heldStates = []string{"held", "requested", "shipped", "received", "scrapped", "left-with-customer"}

// PartReturn says what became of an old part.
type PartReturn struct {
	Part     EntryID `json:"part"`
	Held     string  `json:"held"`
	Tracking string  `json:"tracking,omitempty"`
	Photo    EntryID `json:"photo,omitempty"`
}

func (b *PartReturn) validate() *Error {
	return first(one("part", b.Part), required("held", b.Held), oneOf("held", b.Held, heldStates...), line("tracking", b.Tracking, false), maybe("photo", b.Photo))
}

// Refrigerant is what was taken out of or put into the sealed system.
type Refrigerant struct {
	Type string `json:"type"`
	// Action is recovered, charged, vented-as-permitted.
	Action string `json:"action"`
	Grams  string `json:"grams"`
	// Method of recovery, and the certificate of the person who did it.
	Method      string `json:"method,omitempty"`
	Certificate string `json:"certificate,omitempty"`
}

func (b *Refrigerant) validate() *Error {
	return first(line("type", b.Type, true), required("action", b.Action), oneOf("action", b.Action, "recovered", "charged", "vented-as-permitted"),
		decimal("grams", b.Grams, true), line("method", b.Method, false), line("certificate", b.Certificate, false))
}

// Damage is something found damaged; with Kind "none" it records that an area was looked at and nothing was seen.
type Damage struct {
	// Area is a place on the unit or in the room.
	Area string `json:"area"`
	Kind string `json:"kind"` // melted, cut, chipped, cracked, dented, scratched, stained, corroded, missing, wet, none
	// Seen is on-arrival, during-work or on-leaving.
	Seen string `json:"seen"`
	// Extent in millimetres, decimals.
	WidthMM  string `json:"widthMm,omitempty"`
	HeightMM string `json:"heightMm,omitempty"`
	// Scale is what the extent was measured with: ruler, tape, scale-card, caliper, known-part or estimated.
	Scale  string    `json:"scale,omitempty"`
	Words  string    `json:"words,omitempty"`
	Photos []EntryID `json:"photos,omitempty"`
	// SaidBy and Said record what somebody said about it.
	SaidBy string `json:"saidBy,omitempty"`
	Said   string `json:"said,omitempty"`
	// Bears is yes, no or unknown: whether it bears on coverage.
	Bears string `json:"bears,omitempty"`
	// X and Y pick the place on the drawn view named by View, in thousandths.
	View string `json:"view,omitempty"`
	X    int    `json:"x,omitempty"`
	Y    int    `json:"y,omitempty"`
}

func (b *Damage) validate() *Error {
	if b.X < 0 || b.X > 1000 || b.Y < 0 || b.Y > 1000 {
		return Errorf(Invalid, "The place on the drawing lies between 0 and 1000.").At("x")
	}
	return first(line("area", b.Area, true), required("kind", b.Kind),
		oneOf("kind", b.Kind, "melted", "cut", "chipped", "cracked", "dented", "scratched", "stained", "corroded", "missing", "wet", "none"),
		required("seen", b.Seen), oneOf("seen", b.Seen, "on-arrival", "during-work", "on-leaving"), decimal("widthMm", b.WidthMM, false), decimal("heightMm", b.HeightMM, false),
		text("words", b.Words, false), ids("photos", b.Photos), line("saidBy", b.SaidBy, false), text("said", b.Said, false),
		oneOf("bears", b.Bears, "yes", "no", "unknown"), word("view", b.View, false), word("scale", b.Scale, false))
}
