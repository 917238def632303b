package bundle

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"kickplate/claims"
)

// EvidenceBalance holds the bill against what was paid, in minor units of the bill's currency.
type EvidenceBalance struct {
	Payer       claims.Owing        `json:"payer"`
	Customer    claims.Owing        `json:"customer"`
	Lines       []claims.LineState  `json:"lines,omitempty"`
	Differences []claims.Difference `json:"differences,omitempty"`
	Problems    []string            `json:"problems,omitempty"`
}

// balanceOf is nil while no money has come in.
func balanceOf(j *claims.Job, b claims.Bill) *EvidenceBalance {
	if len(j.Payments) == 0 {
		return nil
	}
	a := claims.AccountOf(j, b)
	return &EvidenceBalance{a.Payer, a.Customer, a.Lines, a.Differences, a.Problems}
}

func reasonTitle(id string) string {
	for _, r := range claims.RefusalReasons() {
		if r.ID == id {
			return r.Title
		}
	}
	return id
}

// coverReply is the reply whose letter goes with this bundle: the last one, while it answers the payer's last refusal, nothing was
// paid in full since, and the claim is not closed.
func (pl *plan) coverReply() *claims.Item[claims.Reply] {
	replies, answers := pl.job.Replies, pl.job.Answers
	if len(replies) == 0 || len(pl.job.Settlements) > 0 {
		return nil
	}
	r := &replies[len(replies)-1]
	for i := len(answers) - 1; i >= 0; i-- {
		switch a := &answers[i]; {
		case a.Body.Outcome != "paid":
			if a.Entry == r.Body.Answer {
				return r
			}
			return nil
		case a.Number > r.Number: // in the order of the account
			return nil
		}
	}
	return nil
}

// letter is the first page of a bundle that answers a refusal. The numbers it names are those of the account; the list below says
// where each stands in this file.
func (pl *plan) letter() Section {
	r := pl.coverReply()
	if r == nil {
		return Section{}
	}
	from := strings.Join(nonEmpty(pl.parcel.Shop.Name, pl.parcel.Shop.Address, pl.parcel.Shop.Contact), "\n")
	blocks := []Block{Text{Quiet, from}, Text{Plain, strings.TrimSpace(r.Body.Letter)}, Text{Quiet, r.By + ", " + minute(r.At)}}
	at := Points{Label: "Where the numbers of this letter stand"}
	for _, id := range r.Body.Leans {
		n := pl.numbers[id]
		if n == 0 {
			continue
		}
		where := pl.evidenceWords([]string{string(id)})
		if pl.byEntry[id] == nil {
			where += ", in the order of events"
		}
		at.Items = append(at.Items, Point{fmt.Sprintf("No. %d", n), where})
	}
	if len(at.Items) > 0 {
		blocks = append(blocks, at)
	}
	return Section{ID: "letter", Title: "Letter", Blocks: blocks}
}

// history is what passed between shop, payer and customer about the claim, in order, and what is still owed.
func (pl *plan) history() Section {
	j := &pl.job
	type event struct {
		at   time.Time
		cell []Cell
	}
	var list []event
	add := func(at time.Time, by string, no int, what string, m *claims.Money, words ...string) {
		list = append(list, event{at, []Cell{{Text: minute(at) + "\n" + by}, {Text: fmt.Sprintf("%s, no. %d", what, no)}, {Text: strings.Join(nonEmpty(words...), "\n")}, {Text: amount(m), Right: true}}})
	}
	for _, s := range j.Sends {
		version := ""
		if s.Body.Version > 0 {
			version = fmt.Sprintf("bundle version %d", s.Body.Version)
		}
		add(s.At, s.By, s.Number, "Claim sent", s.Body.Asked, strings.Join(nonEmpty("to "+s.Body.To, s.Body.How, version), ", "), corrected(s.Corrected))
	}
	for _, a := range j.Answers {
		add(a.At, a.By, a.Number, "Payer's answer: "+strings.ReplaceAll(a.Body.Outcome, "-", " "), a.Body.Paid, reasonTitle(a.Body.Reason), quoted(a.Body.Words), ifNot("answer by ", a.Body.ReplyBy), corrected(a.Corrected))
	}
	for _, p := range j.Payments {
		words := []string{strings.Join(nonEmpty(ifNot("value of ", p.Body.On), p.Body.Reference, p.Body.Says), ", ")}
		for _, l := range p.Body.Lines {
			paid := ""
			if p.Body.Amount != nil {
				paid = amount(&claims.Money{Minor: l.Minor, Currency: p.Body.Amount.Currency})
			}
			words = append(words, strings.Join(nonEmpty(pl.lineWords(l.Line)+": "+paid, reasonTitle(l.Reason), quoted(l.Words)), "; "))
		}
		add(p.At, p.By, p.Number, "Payment by the "+p.Body.From, p.Body.Amount, append(words, corrected(p.Corrected))...)
	}
	first := pl.coverReply()
	for i := range j.Replies {
		r := &j.Replies[i]
		words := r.Body.Letter
		if r == first {
			words = "The letter stands at the beginning."
		}
		add(r.At, r.By, r.Number, "Reply to the answer", nil, "Reason given: "+reasonTitle(r.Body.Reason), words, ifNot("leans on ", pl.evidenceWords(entryTexts(r.Body.Leans))))
	}
	for _, s := range j.LinkStatements {
		words := []string{quoted(s.Body.Words)}
		for _, p := range s.Body.Pictures {
			words = append(words, "with a picture that is not in this file, SHA-256 "+string(p.Digest))
		}
		add(s.At, s.By, s.Number, "Said by the other side ("+s.Body.From+"), over a link", nil, append(words, corrected(s.Corrected))...)
	}
	for _, s := range j.Settlements {
		add(s.At, s.By, s.Number, "Closed: "+strings.ReplaceAll(s.Body.Outcome, "-", " "), nil, s.Body.Reason, corrected(s.Corrected))
	}
	if len(list) == 0 {
		return Section{}
	}
	slices.SortStableFunc(list, func(a, b event) int { return a.at.Compare(b.at) })
	t := Table{Head: []string{"When, by", "What", "Words", "Amount"}, Widths: []float64{22, 20, 44, 14}}
	for _, e := range list {
		t.Rows = append(t.Rows, e.cell)
	}
	return Section{ID: "history", Title: "Claim, answers and payments", Blocks: append([]Block{t}, pl.balanceBlocks()...)}
}

func (pl *plan) balanceBlocks() []Block {
	b := pl.balance
	if b == nil {
		return nil
	}
	money := func(n int64) string { return pl.bill.Money(n).Plain() }
	var pairs Pairs
	for _, side := range []struct {
		name string
		o    claims.Owing
	}{{"Payer", b.Payer}, {"Customer", b.Customer}} {
		if side.o == (claims.Owing{}) {
			continue
		}
		left := "left " + money(side.o.Left)
		if side.o.Left < 0 {
			left = "paid " + money(-side.o.Left) + " too much"
		}
		pairs.Rows = append(pairs.Rows, Pair{Label: side.name, Value: fmt.Sprintf("share %s, paid %s, %s", money(side.o.Owed), money(side.o.Paid), left)})
	}
	blocks := []Block{Text{Head, "The bill against the payments"}, pairs}
	for _, d := range b.Differences {
		sure := " (only the amounts fit; not certain)"
		if d.Sure {
			sure = " (the payer named the line)"
		}
		blocks = append(blocks, Text{Plain, "• " + d.Says + sure})
	}
	for _, p := range b.Problems {
		blocks = append(blocks, Text{Warn, p})
	}
	return blocks
}

// lineWords names a line of the bill.
func (pl *plan) lineWords(id string) string {
	for _, l := range pl.bill.Lines {
		if l.ID == id {
			return l.Says
		}
	}
	return id
}

func quoted(s string) string {
	if s == "" {
		return ""
	}
	return "“" + s + "”"
}
