package claims

// Offer is what one side offers to settle allegations. It admits nothing.
type Offer struct {
	Allegations []EntryID `json:"allegations"`
	// From is shop, customer or insurer; What is money, repair, replacement, discount or other.
	From     string `json:"from"`
	What     string `json:"what"`
	Amount   *Money `json:"amount,omitempty"`
	Terms    string `json:"terms,omitempty"`
	How      string `json:"how,omitempty"`
	AnswerBy string `json:"answerBy,omitempty"`
}

func (b *Offer) validate() *Error {
	if (b.What == "money" || b.What == "discount") && b.Amount == nil {
		return Errorf(Invalid, "Say how much is offered.").At("amount")
	}
	if b.Amount != nil && b.Amount.Minor < 0 {
		return Errorf(Invalid, "What is offered is not below nought.").At("amount")
	}
	return first(atLeastOne("allegations", b.Allegations), required("from", b.From), oneOf("from", b.From, "shop", "customer", "insurer"),
		required("what", b.What), oneOf("what", b.What, "money", "repair", "replacement", "discount", "other"), money("amount", b.Amount),
		text("terms", b.Terms, b.What == "other"), line("how", b.How, false), date("answerBy", b.AnswerBy))
}

// OfferAnswer is what the other side says to an offer. A counter-offer is an Offer of its own.
type OfferAnswer struct {
	Offer EntryID `json:"offer"`
	// Outcome is accepted, declined or countered.
	Outcome string `json:"outcome"`
	Words   string `json:"words,omitempty"`
	How     string `json:"how,omitempty"`
	On      string `json:"on,omitempty"`
}

func (b *OfferAnswer) validate() *Error {
	return first(one("offer", b.Offer), required("outcome", b.Outcome), oneOf("outcome", b.Outcome, "accepted", "declined", "countered"),
		text("words", b.Words, false), line("how", b.How, false), when("on", b.On))
}

// Release is the text by which the other side lets the matter rest, from the shop's own template (Shop.Release).
type Release struct {
	Offer EntryID `json:"offer,omitempty"`
	Text  string  `json:"text"`
	// Outcome is sent, signed or declined.
	Outcome string `json:"outcome"`
	Name    string `json:"name,omitempty"`
	Reason  string `json:"reason,omitempty"`
	// Strokes are the pen's paths as in Acknowledge; Photos the signed paper.
	Strokes [][]int   `json:"strokes,omitempty"`
	Photos  []EntryID `json:"photos,omitempty"`
}

func (b *Release) validate() *Error {
	if b.Outcome == "signed" && (b.Name == "" || len(b.Strokes) == 0 && len(b.Photos) == 0) {
		return Errorf(Invalid, "A signed release needs the name, and the pen strokes or a picture of the paper.").At("name")
	}
	return first(maybe("offer", b.Offer), text("text", b.Text, true), required("outcome", b.Outcome), oneOf("outcome", b.Outcome, "sent", "signed", "declined"),
		line("name", b.Name, false), text("reason", b.Reason, false), strokes("strokes", b.Strokes), ids("photos", b.Photos))
}

// PaidOut is what was paid, or done, to settle.
type PaidOut struct {
	Offer EntryID `json:"offer,omitempty"`
	// By is shop or insurer; To whom.
	By        string `json:"by"`
	To        string `json:"to,omitempty"`
	Amount    *Money `json:"amount"`
	On        string `json:"on,omitempty"`
	How       string `json:"how,omitempty"`
	Reference string `json:"reference,omitempty"`
}

func (b *PaidOut) validate() *Error {
	if b.Amount == nil || b.Amount.Minor <= 0 {
		return Errorf(Invalid, "Say how much was paid.").At("amount")
	}
	return first(maybe("offer", b.Offer), required("by", b.By), oneOf("by", b.By, "shop", "insurer"), line("to", b.To, false), money("amount", b.Amount),
		date("on", b.On), line("how", b.How, false), line("reference", b.Reference, false))
}

// InsurerNotice records that the shop's insurer was told, or what it said.
type InsurerNotice struct {
	Allegations []EntryID `json:"allegations,omitempty"`
	Insurer     string    `json:"insurer"`
	Policy      string    `json:"policy,omitempty"`
	// Reference is the insurer's own number of the matter.
	Reference string `json:"reference,omitempty"`
	On        string `json:"on,omitempty"`
	How       string `json:"how,omitempty"`
	Says      string `json:"says,omitempty"`
	ReplyBy   string `json:"replyBy,omitempty"`
}

func (b *InsurerNotice) validate() *Error {
	return first(ids("allegations", b.Allegations), line("insurer", b.Insurer, true), line("policy", b.Policy, false), line("reference", b.Reference, false),
		when("on", b.On), line("how", b.How, false), text("says", b.Says, false), date("replyBy", b.ReplyBy))
}

// strokes are the pen's paths.
func strokes(field string, list [][]int) *Error {
	for _, s := range list {
		if len(s)%2 != 0 || len(s) > 20_000 {
			return Errorf(Invalid, "A stroke is a list of x,y pairs.").At(field)
		}
	}
	return nil
}
