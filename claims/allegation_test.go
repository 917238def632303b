package claims

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func codes(list []Deadline) []string {
	out := []string{}
	for _, d := range list {
		out = append(out, d.Code+" "+string(d.Day))
	}
	return out
}

// What an allegation brings to do, from its arrival to its end.
func TestDisputeDeadlines(t *testing.T) {
	one, two := []EntryID{testID(1)}, []EntryID{testID(2)}
	es := []Kept{
		made(t, 1, KindAllege, 0, Allege{Area: "floor", Words: "scratched", ReplyBy: "2026-03-20"}),
		made(t, 2, KindAllege, 1, Allege{Area: "door", Words: "dented", ReplyBy: "2026-03-18"}),
	}
	also := func(n int, k Kind, body any) { es = append(es, made(t, n, k, n, body)) }
	j := Fold(es)
	assert.Equal(t, []string{"answer-customer-2 2026-03-18", "answer-customer 2026-03-20"}, codes(j.Deadlines()))
	assert.Equal(t, "disputed", j.Stage())
	assert.Equal(t, AllegationState{Word: "open"}, j.StateOf(testID(1)))

	also(3, KindRespond, Respond{Allegations: one, Letter: "Dear customer"})
	also(4, KindOffer, Offer{Allegations: two, From: "shop", What: "money", Amount: &Money{Minor: 5000, Currency: "USD"}, AnswerBy: "2026-03-25"})
	also(5, KindInsurer, InsurerNotice{Allegations: two, Insurer: "Harbour Mutual", ReplyBy: "2026-03-22"})
	j = Fold(es)
	assert.Equal(t, []string{"insurer 2026-03-22", "offer 2026-03-25"}, codes(j.Deadlines()))
	assert.Equal(t, "answered", j.StateOf(testID(1)).Word)
	assert.Equal(t, "offered", j.StateOf(testID(2)).Word)

	also(6, KindOfferAnswer, OfferAnswer{Offer: testID(4), Outcome: "declined"})
	also(7, KindOffer, Offer{Allegations: two, From: "customer", What: "repair", AnswerBy: "2026-03-28"})
	j = Fold(es)
	assert.Equal(t, []string{"insurer 2026-03-22", "answer-offer 2026-03-28"}, codes(j.Deadlines()))
	also(8, KindOfferAnswer, OfferAnswer{Offer: testID(7), Outcome: "accepted"})
	j = Fold(es)
	assert.Equal(t, "agreed", j.StateOf(testID(2)).Word)
	assert.Equal(t, "disputed", j.Stage())

	also(9, KindDisputeEnd, DisputeEnd{Allegations: two, Outcome: "agreed"})
	assert.Equal(t, "disputed", func() string { j := Fold(es); return j.Stage() }())
	also(10, KindDisputeEnd, DisputeEnd{Allegations: one, Outcome: "withdrawn"})
	j = Fold(es)
	assert.Empty(t, j.Deadlines())
	assert.Equal(t, "booked", j.Stage(), "what the job was before")
	assert.True(t, j.StateOf(testID(1)).Ended)
}

// An offer, a payment and a closing word are for the desk; a statement anybody of the shop may take down.
func TestWhoMaySettle(t *testing.T) {
	for _, k := range []Kind{KindRespond, KindOffer, KindOfferAnswer, KindRelease, KindPaidOut, KindInsurer, KindDisputeEnd} {
		assert.False(t, May(Technician, actOf(k)), k)
		assert.True(t, May(Office, actOf(k)), k)
	}
	assert.True(t, May(Technician, actOf(KindStatement)))
	assert.True(t, May(Technician, actOf(KindAllege)))
}
