package dispute

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"kickplate/claims"
	"kickplate/rules"
)

// SettlementStep is one step between the sides: a letter, an offer, its answer, a release, a payment, a notice to the insurer, the end.
type SettlementStep struct {
	Entry       claims.EntryID   `json:"entry"`
	At          time.Time        `json:"at"`
	By          string           `json:"by"`
	Kind        claims.Kind      `json:"kind"`
	Says        string           `json:"says"`
	Allegations []claims.EntryID `json:"allegations"`
	Offer       claims.EntryID   `json:"offer,omitempty"`
	Amount      *claims.Money    `json:"amount,omitempty"`
	Outcome     string           `json:"outcome,omitempty"`
	AnswerBy    string           `json:"answerBy,omitempty"`
	number      int
}

func step[B any](it *claims.Item[B], kind claims.Kind) SettlementStep {
	return SettlementStep{Entry: it.Entry, At: fair(it), By: it.By, Kind: kind, Allegations: []claims.EntryID{}, number: it.Number}
}

// settlement lists the steps in the order of the account.
func settlement(j *claims.Job) []SettlementStep {
	out := []SettlementStep{}
	add := func(s SettlementStep, allegations []claims.EntryID, offer claims.EntryID, words ...string) {
		s.Offer = offer
		s.Allegations = append(s.Allegations, allegations...)
		for i := range j.Offers {
			if len(allegations) == 0 && j.Offers[i].Entry == offer {
				s.Allegations = append(s.Allegations, j.Offers[i].Body.Allegations...)
			}
		}
		words = slices.DeleteFunc(words, func(w string) bool { return w == "" })
		s.Says = strings.Join(words, ", ") + "."
		out = append(out, s)
	}
	for i := range j.Responses {
		r := &j.Responses[i]
		add(step(r, claims.KindRespond), r.Body.Allegations, "", "A letter was written", lead("sent: ", r.Body.Sent))
	}
	for i := range j.Offers {
		o := &j.Offers[i]
		s := step(o, claims.KindOffer)
		s.Amount, s.AnswerBy = o.Body.Amount, o.Body.AnswerBy
		add(s, o.Body.Allegations, "", "The "+o.Body.From+" offers "+lowerFirst(titleOf(rules.OfferWhat(), o.Body.What)), money(o.Body.Amount), strings.TrimSuffix(o.Body.Terms, "."), lead("answer by ", o.Body.AnswerBy))
	}
	for i := range j.OfferAnswers {
		a := &j.OfferAnswers[i]
		s := step(a, claims.KindOfferAnswer)
		s.Outcome = a.Body.Outcome
		add(s, nil, a.Body.Offer, "The offer was "+lowerFirst(titleOf(rules.OfferOutcomes(), a.Body.Outcome)), quote(a.Body.Words))
	}
	for i := range j.Releases {
		r := &j.Releases[i]
		s := step(r, claims.KindRelease)
		s.Outcome = r.Body.Outcome
		add(s, nil, r.Body.Offer, "A release was "+r.Body.Outcome, lead("by ", r.Body.Name), strings.TrimSuffix(r.Body.Reason, "."))
	}
	for i := range j.PaidOut {
		p := &j.PaidOut[i]
		s := step(p, claims.KindPaidOut)
		s.Amount = p.Body.Amount
		add(s, nil, p.Body.Offer, "The "+p.Body.By+" paid", money(p.Body.Amount), lead("to ", p.Body.To), lead("on ", p.Body.On), lead("reference ", p.Body.Reference))
	}
	for i := range j.InsurerNotices {
		n := &j.InsurerNotices[i]
		s := step(n, claims.KindInsurer)
		s.AnswerBy = n.Body.ReplyBy
		add(s, n.Body.Allegations, "", "The insurer "+n.Body.Insurer+" was told", lead("on ", n.Body.On), lead("reference ", n.Body.Reference), strings.TrimSuffix(n.Body.Says, "."))
	}
	for i := range j.DisputeEnds {
		e := &j.DisputeEnds[i]
		s := step(e, claims.KindDisputeEnd)
		s.Outcome = e.Body.Outcome
		add(s, e.Body.Allegations, "", "Closed: "+lowerFirst(titleOf(rules.DisputeEnds(), e.Body.Outcome)), strings.TrimSuffix(e.Body.Reason, "."))
	}
	slices.SortStableFunc(out, func(a, b SettlementStep) int { return a.number - b.number })
	return out
}

func money(m *claims.Money) string {
	if m == nil {
		return ""
	}
	return m.Plain()
}

func lead(before, s string) string {
	if s == "" {
		return ""
	}
	return before + s
}

func quote(s string) string {
	if s == "" {
		return ""
	}
	return fmt.Sprintf("“%s”", s)
}

// Release is the shop's own template filled in for an offer. Missing names what the template asks for and the entries don't say.
type Release struct {
	Text    string   `json:"text"`
	Missing []string `json:"missing"`
}

// ReleaseFor fills the shop's template for an offer. today is the day to write. Nothing is invented: a blank stays a blank of underscores.
func ReleaseFor(j *claims.Job, shop claims.Shop, offer claims.EntryID, today claims.Day) (Release, error) {
	if strings.TrimSpace(shop.Release) == "" {
		return Release{}, claims.Errorf(claims.Invalid, "The shop has no template of a release. Put one into the shop's settings, in words that hold where you work.").At("release")
	}
	var o *claims.Offer
	for i := range j.Offers {
		if j.Offers[i].Entry == offer {
			o = &j.Offers[i].Body
		}
	}
	if o == nil {
		return Release{}, claims.Errorf(claims.NotFound, "There is no such offer on this job.").At("offer")
	}
	var areas []string
	for i := range j.Allegations {
		if slices.Contains(o.Allegations, j.Allegations[i].Entry) {
			areas = append(areas, areaTitle(j.Allegations[i].Body.Area))
		}
	}
	out := Release{Missing: []string{}}
	values := [][2]string{{"{customer}", customer(j)}, {"{shop}", shop.Name}, {"{job}", j.Open.Number}, {"{unit}", unit(j)}, {"{area}", strings.Join(areas, "; ")},
		{"{amount}", money(o.Amount)}, {"{date}", string(today)}}
	var pairs []string
	for _, v := range values {
		if v[1] == "" {
			v[1] = "____________"
			if strings.Contains(shop.Release, v[0]) {
				out.Missing = append(out.Missing, strings.Trim(v[0], "{}"))
			}
		}
		pairs = append(pairs, v[0], v[1])
	}
	out.Text = strings.NewReplacer(pairs...).Replace(shop.Release)
	return out, nil
}

// customer is the name to write to: the customer's, else that of who made the allegation.
func customer(j *claims.Job) string {
	if j.Customer.Name != "" {
		return j.Customer.Name
	}
	for i := range j.Allegations {
		if by := j.Allegations[i].Body.By; by != "" {
			return by
		}
	}
	return ""
}

// unit names the appliance for a person.
func unit(j *claims.Job) string {
	u := &j.Unit
	parts := []string{}
	for _, s := range []string{titleOf(rules.UnitKinds(), u.Kind), u.Maker, lead("model ", u.Model), lead("serial ", u.Serial)} {
		if strings.TrimSpace(s) != "" {
			parts = append(parts, s)
		}
	}
	return strings.Join(parts, ", ")
}
