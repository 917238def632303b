package bundle

import (
	"strconv"
	"strings"
	"time"

	"kickplate/claims"
)

// rowAdder adds a row of the evidence index; what is left out at the end stays empty.
type rowAdder func(item, no string, entry claims.EntryID, at time.Time, by string, rest ...string)

// disputeRows are the rows of what was said and done between the sides.
func (pl *plan) disputeRows(add rowAdder) {
	j := &pl.job
	row := func(item string, no int, entry claims.EntryID, at time.Time, by, what string, m *claims.Money, verdict, words string, c []claims.Change) {
		add(item, strconv.Itoa(no), entry, at, by, what, "", money(m), currencyOf(m), verdict, words, "", "", "", "", corrected(c))
	}
	for _, x := range j.Allegations {
		row("allegation", x.Number, x.Entry, x.At, x.By, x.Body.Kind, x.Body.Amount, "", strings.Join(nonEmpty(x.Body.Area, x.Body.Words, x.Body.By, x.Body.How, ifNot("answer by ", x.Body.ReplyBy)), "; "), x.Corrected)
	}
	for _, x := range j.Statements {
		row("statement", x.Number, x.Entry, x.At, x.By, x.Body.From, nil, "", strings.Join(nonEmpty(x.Body.Name, x.Body.Text), ": "), x.Corrected)
	}
	for _, x := range j.LinkStatements {
		row("statement over a link", x.Number, x.Entry, x.At, x.By, x.Body.From, nil, "", strings.Join(nonEmpty(x.Body.Name, x.Body.Words), ": "), x.Corrected)
	}
	for _, x := range j.Responses {
		row("letter", x.Number, x.Entry, x.At, x.By, x.Body.Sent, nil, "", x.Body.Letter, x.Corrected)
	}
	for _, x := range j.Offers {
		row("offer", x.Number, x.Entry, x.At, x.By, x.Body.From+" "+x.Body.What, x.Body.Amount, "", strings.Join(nonEmpty(x.Body.Terms, ifNot("answer by ", x.Body.AnswerBy)), "; "), x.Corrected)
	}
	for _, x := range j.OfferAnswers {
		row("answer to an offer", x.Number, x.Entry, x.At, x.By, "", nil, x.Body.Outcome, x.Body.Words, x.Corrected)
	}
	for _, x := range j.Releases {
		row("release", x.Number, x.Entry, x.At, x.By, "", nil, x.Body.Outcome, x.Body.Text, x.Corrected)
	}
	for _, x := range j.PaidOut {
		row("paid out", x.Number, x.Entry, x.At, x.By, x.Body.By, x.Body.Amount, "", strings.Join(nonEmpty(x.Body.To, x.Body.On, x.Body.Reference), "; "), x.Corrected)
	}
	for _, x := range j.InsurerNotices {
		row("notice to the insurer", x.Number, x.Entry, x.At, x.By, x.Body.Insurer, nil, "", strings.Join(nonEmpty(x.Body.Reference, x.Body.On, x.Body.Says), "; "), x.Corrected)
	}
	for _, x := range j.DisputeEnds {
		row("end of a dispute", x.Number, x.Entry, x.At, x.By, "", nil, x.Body.Outcome, x.Body.Reason, x.Corrected)
	}
	if pl.view == nil {
		return
	}
	for _, a := range pl.view.Allegations {
		row("finding", a.Number, a.Entry, time.Time{}, "", a.Area, nil, a.Finding.Outcome, a.Finding.Says, nil)
	}
}
