package claims_test

import (
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

// The figures of some jobs, counted by hand: each is a belt at 20.00 and an hour at 90.00, 110.00 in all; the last repeats the repair of
// the day before, so that its labour falls to the shop.
func TestFigures(t *testing.T) {
	s := newService(t)
	now := nine.AddDate(0, 0, 100)
	s.Now = func() time.Time { return now }
	require.NoError(t, s.SetRates(ctx, owner, rates("90.00")))
	id := func(n int) claims.JobID {
		return claims.JobID(fmt.Sprintf("01920000-0000-7000-8000-0000000001%02d", n))
	}
	repair := func(n, daysAgo int, more ...func(on func(*claims.Entry)) json.RawMessage) {
		at := now.AddDate(0, 0, -daysAgo)
		var last []json.RawMessage
		for i, m := range more {
			last = append(last, m(func(e *claims.Entry) { e.Job, e.At = id(n), at.Add(time.Duration(10+i)*time.Minute) }))
		}
		repaired(t, s, id(n), at)
		if len(last) > 0 {
			_, err := s.Append(ctx, owner, last)
			require.NoError(t, err)
		}
	}
	keep := func(kind claims.Kind, body any) func(on func(*claims.Entry)) json.RawMessage {
		return func(on func(*claims.Entry)) json.RawMessage { return raw(t, kind, body, on) }
	}
	send := keep(claims.KindSend, claims.Send{To: "Acorn Works"})
	repair(1, 3)        // done, not sent
	repair(2, 20, send) // sent 20 days ago
	repair(3, 40, send, // refused
		keep(claims.KindAnswer, claims.Answer{Outcome: "refused", Reason: "late"}))
	repair(4, 95, send, // paid short, one line cut
		keep(claims.KindAnswer, claims.Answer{Outcome: "paid-short", Reason: "labour-over"}),
		keep(claims.KindPayment, claims.Payment{From: "payer", Amount: usd(8000), Lines: []claims.PaidLine{{Line: "labour", Minor: 8000, Reason: "labour-over"}}}))
	repair(5, 10, send, // paid and settled: no longer open
		keep(claims.KindAnswer, claims.Answer{Outcome: "paid"}),
		keep(claims.KindPayment, claims.Payment{From: "payer", Amount: usd(11000)}),
		keep(claims.KindSettle, claims.Settle{Outcome: "paid"}))
	repair(6, 2, keep(claims.KindArrive, claims.Step{}), keep(claims.KindLeave, claims.Leave{Gaps: []string{"plate-photo", "result:belt"}, Reason: "key was lost"}))

	money, err := s.Money(ctx, tech, "")
	require.NoError(t, err)
	assert.Equal(t, 5, money.Jobs)
	assert.Empty(t, money.Next)
	states := map[string][2]int64{}
	for _, st := range money.States {
		states[st.State] = [2]int64{int64(st.Jobs), st.Money["USD"]}
	}
	assert.Equal(t, map[string][2]int64{"gathering": {2, 13000}, "complete": {0, 0}, "sent": {1, 11000}, "answered": {2, 14000}, "disputed": {0, 0}}, states)
	type age struct{ sent, unsent int64 }
	ages := map[int]age{}
	for _, a := range money.Ages {
		ages[a.From] = age{a.Sent["USD"], a.Unsent["USD"]}
	}
	assert.Equal(t, map[int]age{0: {0, 13000}, 8: {11000, 0}, 31: {11000, 0}, 61: {}, 91: {3000, 0}}, ages)

	found, err := s.Found(ctx, tech, now.AddDate(-1, 0, 0), "")
	require.NoError(t, err)
	assert.Equal(t, 6, found.Jobs)
	assert.Equal(t, []claims.FoundReason{{Reason: "labour-over", Jobs: 1}, {Reason: "late", Jobs: 1}}, found.Reasons)
	by := map[string]int{}
	for _, m := range found.Missing {
		assert.Equal(t, "kim", m.Technician)
		assert.NotEmpty(t, m.Pack)
		assert.NotEmpty(t, m.Title)
		by[m.Requirement] = m.Jobs
	}
	assert.Equal(t, 1, by["plate-photo"])
	assert.Equal(t, 1, by["result"], "a finding about one part counts for its requirement")

	recent, err := s.Found(ctx, tech, now.AddDate(0, 0, -30), "")
	require.NoError(t, err)
	assert.Equal(t, 4, recent.Jobs, "those that changed within 30 days")
	assert.Empty(t, recent.Reasons)

	_, err = s.Money(ctx, claims.Actor{}, "")
	assert.Equal(t, claims.SignIn, claims.CodeOf(err))
	_, err = s.Money(ctx, tech, "no cursor")
	assert.Equal(t, claims.Invalid, claims.CodeOf(err))

	for _, typed := range []string{"acorn", "late word", "TRK-88", "kim"} {
		_, err := s.Append(ctx, owner, []json.RawMessage{raw(t, claims.KindNote, claims.Note{Text: "A late word; parcel TRK-88."}, func(e *claims.Entry) { e.Job, e.At = id(6), now })})
		require.NoError(t, err)
		page, err := s.Jobs(ctx, tech, claims.CardQuery{Words: claims.WordsOf(typed)})
		require.NoError(t, err)
		assert.NotEmpty(t, page.Cards, typed)
	}

	undated, err := s.Jobs(ctx, tech, claims.CardQuery{Key: "undated", Value: "open"})
	require.NoError(t, err)
	dated, err := s.Jobs(ctx, tech, claims.CardQuery{Key: "state", Value: "open", Order: "due"})
	require.NoError(t, err)
	assert.Equal(t, 5, len(undated.Cards)+len(dated.Cards), "each open job is on the board, once")
}
