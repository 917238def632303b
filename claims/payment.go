package claims

// Payment is money that came in for a job.
type Payment struct {
	// From is payer or customer.
	From   string `json:"from"`
	Amount *Money `json:"amount"`
	// On is the day of value; Reference what the remittance or receipt bears.
	On        string `json:"on,omitempty"`
	Reference string `json:"reference,omitempty"`
	// Lines say what was paid for which line of the bill, when the payer says so.
	Lines []PaidLine `json:"lines,omitempty"`
	Says  string     `json:"says,omitempty"`
}

// PaidLine is what was paid for one line of the bill, and why it is not all.
type PaidLine struct {
	Line string `json:"line"`
	// Minor is in the currency of the payment.
	Minor int64 `json:"minor"`
	// Reason is one of RefusalReasons when the line was cut; Words are the payer's own.
	Reason string `json:"reason,omitempty"`
	Words  string `json:"words,omitempty"`
}

func (b *Payment) validate() *Error {
	if b.Amount == nil || b.Amount.Minor == 0 {
		return Errorf(Invalid, "Say how much came in; money that was taken back is an amount below nought.").At("amount")
	}
	if len(b.Lines) > 500 {
		return Errorf(TooLarge, "At most 500 lines can be named.").At("lines")
	}
	seen := map[string]bool{}
	var sum int64
	for _, l := range b.Lines {
		if err := first(line("lines", l.Line, true), word("lines", l.Reason, false), text("lines", l.Words, false)); err != nil {
			return err
		}
		if seen[l.Line] {
			return Errorf(Invalid, "The line %q is named twice. Add the two up.", clip(l.Line)).At("lines")
		}
		if l.Minor < -1e12 || l.Minor > 1e12 {
			return Errorf(Invalid, "The amount of the line %q is out of range.", clip(l.Line)).At("lines")
		}
		seen[l.Line] = true
		sum += l.Minor
	}
	if len(b.Lines) > 0 && sum != b.Amount.Minor {
		return Errorf(Invalid, "The lines add up to %s, the payment is %s. Correct one of them, or leave out the lines.",
			Money{Minor: sum, Currency: b.Amount.Currency}.Plain(), b.Amount.Plain()).At("lines")
	}
	return first(required("from", b.From), oneOf("from", b.From, "payer", "customer"), money("amount", b.Amount), date("on", b.On),
		line("reference", b.Reference, false), text("says", b.Says, false))
}

// Settle closes a claim: nothing more is expected, and why.
type Settle struct {
	// Outcome is paid, paid-short-accepted, charged-to-customer, written-off or withdrawn.
	Outcome string `json:"outcome"`
	Reason  string `json:"reason,omitempty"`
}

func (b *Settle) validate() *Error {
	if b.Outcome != "paid" && b.Reason == "" && b.Outcome != "" {
		return Errorf(Invalid, "Say why the claim is closed without being paid in full.").At("reason")
	}
	return first(required("outcome", b.Outcome), oneOf("outcome", b.Outcome, "paid", "paid-short-accepted", "charged-to-customer", "written-off", "withdrawn"),
		text("reason", b.Reason, false))
}
