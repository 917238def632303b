package claims

// Waive sets a requirement of the rule pack aside.
type Waive struct {
	Requirement string `json:"requirement"`
	Reason      string `json:"reason"`
}

func (b *Waive) validate() *Error {
	return first(line("requirement", b.Requirement, true), text("reason", b.Reason, true))
}

// Strike takes an entry out of the account. The entry stays in the journal and the log.
type Strike struct {
	Entry  EntryID `json:"entry"`
	Reason string  `json:"reason"`
}

func (b *Strike) validate() *Error {
	return first(one("entry", b.Entry), text("reason", b.Reason, true))
}

// Built records a bundle: its bytes are kept under Digest.
type Built struct {
	Version int    `json:"version"`
	Digest  Digest `json:"digest"`
	Bytes   int64  `json:"bytes"`
	Name    string `json:"name"`
	// Upto is the number of the job's entries that went in.
	Upto Head `json:"upto"`
	// Held names what was held back: customer, position.
	Held []string `json:"held,omitempty"`
	// Pack and Complete say which rule pack it was checked against and whether nothing was missing.
	Pack     string `json:"pack,omitempty"`
	Complete bool   `json:"complete"`
	// Dispute is set when it is a dispute file: which allegations it answers, and what was added by choice.
	Dispute *DisputeParcel `json:"dispute,omitempty"`
}

// Fetched records that somebody took a bundle.
type Fetched struct {
	Version int    `json:"version"`
	Digest  Digest `json:"digest"`
	How     string `json:"how"`
}

// Send records that a claim went to the payer.
type Send struct {
	// Version of the bundle that was sent; 0 = none.
	Version int    `json:"version,omitempty"`
	To      string `json:"to"`
	How     string `json:"how,omitempty"`
	Asked   *Money `json:"asked,omitempty"`
}

func (b *Send) validate() *Error {
	return first(count("version", b.Version, 100_000), line("to", b.To, true), line("how", b.How, false), money("asked", b.Asked))
}

// Answer is what the payer said.
type Answer struct {
	Outcome string `json:"outcome"` // paid, paid-short, refused, question
	Paid    *Money `json:"paid,omitempty"`
	// Reason is one of our neutral refusal reasons; Words are the payer's own.
	Reason string `json:"reason,omitempty"`
	Words  string `json:"words,omitempty"`
	// ReplyBy is the last day for an answer.
	ReplyBy string `json:"replyBy,omitempty"`
}

func (b *Answer) validate() *Error {
	return first(required("outcome", b.Outcome), oneOf("outcome", b.Outcome, "paid", "paid-short", "refused", "question"), money("paid", b.Paid),
		word("reason", b.Reason, false), text("words", b.Words, false), date("replyBy", b.ReplyBy))
}
