package claims

// Bill is what a job costs, line by line, and who bears what. Every amount is in minor units of Currency. The amounts of the
// lines add up to Total, and for each line and all together Payer + Customer + Shop = amount.
type Bill struct {
	Currency string `json:"currency"`
	// On is the site's day of the work, by which the rates were picked; Rates names the rate card, empty = none.
	On    Day    `json:"on,omitempty"`
	Rates string `json:"rates,omitempty"`
	// Rounding is the rule for halves; TaxOn says where tax is rounded: line or total.
	Rounding Rounding `json:"rounding"`
	TaxOn    string   `json:"taxOn,omitempty"`
	// Coverage is the verdict that the split follows.
	Coverage string     `json:"coverage,omitempty"`
	Lines    []BillLine `json:"lines,omitempty"`
	Total    int64      `json:"total"`
	Payer    int64      `json:"payer"`
	Customer int64      `json:"customer"`
	// Shop is what the shop bears itself: labour over the payer's allowance, a repair that had to be repeated.
	Shop int64 `json:"shop"`
	// Doubt is the part of Payer that hangs on a question about coverage that is still open.
	Doubt int64 `json:"doubt,omitempty"`
	// Mixed is true when amounts in another currency had to be left out.
	Mixed bool `json:"mixed,omitempty"`
	// Problems are sentences about what could not be priced or put together.
	Problems []string `json:"problems,omitempty"`
	// Bearing is Job.Bearing when the bill was drawn up.
	Bearing int `json:"bearing,omitempty"`
}

// BillLine is one line of a bill. Its ID names it for payments: part:<entry>, handling:<entry>, labour, labour:<entry>, flat:<entry>,
// diagnosis, trip:<entry>, tax; and, moving money between payer, customer and shop without changing the amount, allowance,
// deductible, limit, total-limit.
type BillLine struct {
	ID string `json:"id"`
	// Kind is part, handling, labour, diagnosis, trip, tax or shift.
	Kind      string `json:"kind"`
	Component string `json:"component,omitempty"`
	// Says is how the amount came about, with the numbers; Why is who bears it and for what reason.
	Says     string `json:"says"`
	Why      string `json:"why,omitempty"`
	Amount   int64  `json:"amount"`
	Payer    int64  `json:"payer"`
	Customer int64  `json:"customer"`
	Shop     int64  `json:"shop"`
	// Exact is the amount in major units before it was rounded, with … when its decimals go on; empty when nothing was rounded.
	Exact string `json:"exact,omitempty"`
	// Open is true when the payer's part hangs on a question about coverage that is still open.
	Open    bool      `json:"open,omitempty"`
	Entries []EntryID `json:"entries,omitempty"`
}

// Money is an amount of the bill with its currency.
func (b *Bill) Money(minor int64) Money { return Money{Minor: minor, Currency: b.Currency} }

// Asked is what the bill asks for: of the payer, or of the customer when no payer has a part in it.
func (b *Bill) Asked() Money {
	switch {
	case len(b.Lines) == 0 || b.Currency == "":
		return Money{}
	case b.Payer != 0:
		return b.Money(b.Payer)
	}
	return b.Money(b.Customer)
}
