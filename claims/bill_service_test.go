package claims_test

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/emersion/go-ical"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

const earlierJob = claims.JobID("01920000-0000-7000-8000-000000000077")

func usd(minor int64) *claims.Money { return &claims.Money{Minor: minor, Currency: "USD"} }

func rates(perHour string) claims.Rates {
	return claims.Rates{Cards: []claims.RateCard{{Name: "2026", From: "2026-01-01", Currency: "USD", Rounding: claims.HalfUp, Labour: claims.LabourRate{PerHour: perHour}}}}
}

// repaired sends a job with a replaced belt and an hour's work.
func repaired(t testing.TB, s *claims.Service, id claims.JobID, at time.Time, more ...json.RawMessage) {
	t.Helper()
	on := func(minutes int) func(*claims.Entry) {
		return func(e *claims.Entry) { e.Job, e.At = id, at.Add(time.Duration(minutes)*time.Minute) }
	}
	batch := []json.RawMessage{
		raw(t, claims.KindOpen, claims.Open{Number: "N-" + string(id[len(id)-2:]), Complaint: "does not turn"}, on(0)),
		raw(t, claims.KindSite, claims.Site{Zone: "America/New_York"}, on(1)),
		raw(t, claims.KindUnit, claims.Unit{Kind: "dryer-electric", Serial: "AB 12-3"}, on(2)),
		raw(t, claims.KindCoverage, claims.Coverage{Kind: "maker-warranty", Payer: "Acorn Works", Start: "2025-06-01", TermMonths: 24, EndRule: "exclusive", RepeatDays: 30, SubmitDays: 30}, on(3)),
		raw(t, claims.KindArrive, claims.Step{}, on(4)),
		raw(t, claims.KindPart, claims.Part{Component: "belt", Action: "replaced", Price: usd(2000), Original: "yes"}, on(5)),
		raw(t, claims.KindLabour, claims.Labour{Minutes: 60}, on(6)),
		raw(t, claims.KindLeave, claims.Leave{}, on(7)),
	}
	_, err := s.Append(ctx, tech, append(batch, more...))
	require.NoError(t, err)
}

func TestRatesBillAndBundle(t *testing.T) {
	s := newService(t)
	r, err := s.Rates(ctx, tech)
	require.NoError(t, err)
	assert.Empty(t, r.Cards)
	assert.Equal(t, claims.Forbidden, claims.CodeOf(s.SetRates(ctx, tech, rates("90.00"))), "a technician may not change prices")
	office := owner
	office.Role = claims.Office
	require.NoError(t, s.SetRates(ctx, office, rates("90.00")))
	bad := rates("ninety")
	err = s.SetRates(ctx, owner, bad)
	require.Equal(t, claims.Invalid, claims.CodeOf(err))
	assert.ErrorContains(t, err, "cards[0].labour.perHour")

	repaired(t, s, job, nine)
	b, err := s.Bill(ctx, tech, job)
	require.NoError(t, err)
	assert.Equal(t, int64(11000), b.Total, "20.00 and an hour at 90.00, by hand")
	cards, err := s.Jobs(ctx, tech, claims.CardQuery{})
	require.NoError(t, err)
	assert.Equal(t, claims.Money{Minor: 11000, Currency: "USD"}, cards.Cards[0].Amount)
	checked, err := s.Check(ctx, tech, job)
	require.NoError(t, err)
	assert.Equal(t, "11000", checked.Facts.Numbers["amount.total-minor"], "rules see the bill by the rates")

	built, err := s.Build(ctx, owner, job, claims.Hold{})
	require.NoError(t, err)
	again, err := s.Build(ctx, owner, job, claims.Hold{})
	require.NoError(t, err)
	assert.Equal(t, built, again, "the same bill, the same bundle")
	j, err := s.Job(ctx, tech, job)
	require.NoError(t, err)
	require.Len(t, j.Bills, 1, "the bill of the bundle is on record")
	assert.Equal(t, claims.Money{Minor: 11000, Currency: "USD"}, j.Total(), "the entries alone give it")

	require.NoError(t, s.SetRates(ctx, owner, rates("100.00")))
	b, err = s.Bill(ctx, tech, job)
	require.NoError(t, err)
	assert.Equal(t, int64(12000), b.Total, "not sent yet: the rates as they are")
	require.NoError(t, s.SetRates(ctx, owner, rates("90.00")))

	_, err = s.Append(ctx, owner, []json.RawMessage{raw(t, claims.KindSend, claims.Send{Version: 1, To: "Acorn Works", Asked: usd(11000)}, func(e *claims.Entry) { e.At = nine.Add(30 * time.Minute) })})
	require.NoError(t, err)
	require.NoError(t, s.SetRates(ctx, owner, rates("200.00")))
	b, err = s.Bill(ctx, tech, job)
	require.NoError(t, err)
	assert.Equal(t, int64(11000), b.Total, "what was sent stands, whatever becomes of the rates")

	pay := raw(t, claims.KindPayment, claims.Payment{From: "payer", Amount: usd(9000)}, func(e *claims.Entry) { e.At = nine.Add(40 * time.Minute) })
	_, err = s.Append(ctx, tech, []json.RawMessage{pay})
	require.Equal(t, claims.Forbidden, claims.CodeOf(err), "the office records payments")
	door := raw(t, claims.KindPayment, claims.Payment{From: "customer", Amount: usd(100)}, func(e *claims.Entry) { e.At = nine.Add(41 * time.Minute) })
	_, err = s.Append(ctx, tech, []json.RawMessage{door})
	require.NoError(t, err, "what the customer pays at the door the technician notes down")
	_, err = s.Append(ctx, owner, []json.RawMessage{pay})
	require.NoError(t, err)
	a, err := s.Account(ctx, tech, job)
	require.NoError(t, err)
	assert.Equal(t, int64(2000), a.Payer.Left)
	assert.Equal(t, int64(100), a.Customer.Paid)
	payer, err := s.Job(ctx, owner, job)
	require.NoError(t, err)
	swap := raw(t, claims.KindPayment, claims.Payment{From: "customer", Amount: usd(1)}, func(e *claims.Entry) { e.Supersedes, e.Why = payer.Payments[0].Entry, "typo" })
	_, err = s.Append(ctx, tech, []json.RawMessage{swap})
	assert.Equal(t, claims.Forbidden, claims.CodeOf(err), "but may not correct a payment")
	require.Len(t, a.Differences, 1)
	assert.True(t, strings.HasPrefix(a.Differences[0].Lines[0], "part:"), "20.00 short is the belt")
	require.Len(t, a.Versions, 1)
	require.NotNil(t, a.Versions[0].Bundle)
	assert.Equal(t, built.Digest, a.Versions[0].Bundle.Digest, "which bytes were sent")

	_, err = s.Append(ctx, owner, []json.RawMessage{raw(t, claims.KindSettle, claims.Settle{Outcome: "paid-short-accepted", Reason: "belt excluded"}, func(e *claims.Entry) { e.At = nine.Add(50 * time.Minute) })})
	require.NoError(t, err)
	cards, err = s.Jobs(ctx, tech, claims.CardQuery{Key: "stage", Value: "settled"})
	require.NoError(t, err)
	assert.Len(t, cards.Cards, 1)
	_, err = s.Append(ctx, owner, []json.RawMessage{raw(t, claims.KindBilled, claims.Bill{Currency: "USD", Rounding: claims.HalfUp})})
	assert.Equal(t, claims.Forbidden, claims.CodeOf(err), "a device can't draw up the server's bill")
}

// The same belt of the same unit 20 days later: found through the serial, whatever way it was typed.
func TestCoverageFindsEarlierRepair(t *testing.T) {
	s := newService(t)
	part := func(serial, old string, id claims.JobID, at time.Time) json.RawMessage {
		return raw(t, claims.KindPart, claims.Part{Component: "belt", Action: "fitted", Serial: serial, OldSerial: old}, func(e *claims.Entry) { e.Job, e.At = id, at.Add(6*time.Minute) })
	}
	repaired(t, s, earlierJob, nine.AddDate(0, 0, -20))
	same := func(e *claims.Entry) { e.At = nine.Add(2 * time.Minute) }
	repaired(t, s, job, nine, raw(t, claims.KindUnit, claims.Unit{Serial: "ab123"}, same))
	a, err := s.Coverage(ctx, tech, job)
	require.NoError(t, err)
	require.Len(t, a.Repeats, 1)
	assert.Equal(t, earlierJob, a.Repeats[0].Job)
	assert.True(t, a.Repeats[0].Within)
	assert.Equal(t, claims.Partly, a.Verdict)
	// Found twice, by the unit's serial and by that of the old part, it is still one; the part is a second one fitted then.
	_, err = s.Append(ctx, tech, []json.RawMessage{part("BELT-9", "", earlierJob, nine.AddDate(0, 0, -20)), part("", "belt9", job, nine)})
	require.NoError(t, err)
	a, err = s.Coverage(ctx, tech, job)
	require.NoError(t, err)
	require.Len(t, a.Repeats, 2)
	assert.NotEqual(t, a.Repeats[0].Entry, a.Repeats[1].Entry)
	first, err := s.Coverage(ctx, tech, earlierJob)
	require.NoError(t, err)
	assert.Empty(t, first.Repeats, "a later repair is none for the earlier")
	assert.Equal(t, claims.Covered, first.Verdict)
	_, err = s.Coverage(ctx, tech, "01920000-0000-7000-8000-0000000000ff")
	assert.Equal(t, claims.NotFound, claims.CodeOf(err))
	other := claims.Actor{Shop: "other-shop", Person: "x", Role: claims.Owner, Device: "d"}
	_, err = s.Coverage(ctx, other, job)
	assert.Equal(t, claims.NotFound, claims.CodeOf(err))
}

func TestDueNextAndCalendar(t *testing.T) {
	s := newService(t)
	repaired(t, s, earlierJob, nine.AddDate(0, 0, -40))
	repaired(t, s, job, nine)
	page, err := s.DueNext(ctx, tech, "", 1)
	require.NoError(t, err)
	require.Len(t, page.Due, 1)
	assert.Equal(t, earlierJob, page.Due[0].Job)
	assert.Equal(t, "submit", page.Due[0].Code)
	assert.Equal(t, claims.Day("2026-02-22"), page.Due[0].Day, "23 January and 30 days, by a calendar")
	assert.Equal(t, -10, page.Due[0].DaysLeft, "22 February to 4 March")
	page, err = s.DueNext(ctx, tech, page.Next, 1)
	require.NoError(t, err)
	require.Len(t, page.Due, 1)
	assert.Equal(t, 30, page.Due[0].DaysLeft)

	feed, err := s.Calendar(ctx, tech, claims.FeedContent{Amounts: true})
	require.NoError(t, err)
	c, err := ical.NewDecoder(strings.NewReader(string(feed))).Decode()
	require.NoError(t, err)
	require.Len(t, c.Events(), 2)
	start, err := c.Events()[1].DateTimeStart(time.UTC)
	require.NoError(t, err)
	assert.Equal(t, "2026-04-03", start.Format(time.DateOnly))
	_, err = s.Calendar(ctx, claims.Actor{}, claims.FeedContent{})
	assert.Equal(t, claims.SignIn, claims.CodeOf(err))
}

func TestDraftAndRefusalHelp(t *testing.T) {
	s := newService(t)
	repaired(t, s, job, nine)
	d, err := s.Draft(ctx, tech, job)
	require.NoError(t, err)
	assert.Equal(t, "does not turn.", d.Complaint.Text)
	require.Len(t, d.Parts, 1)
	assert.False(t, d.Parts[0].Supported)
	h, err := s.RefusalHelp(ctx, tech, job, "labour-over")
	require.NoError(t, err)
	assert.False(t, h.Items[0].Missing, "arrival and departure are on record")
	_, err = s.RefusalHelp(ctx, tech, job, "because")
	require.Equal(t, claims.Invalid, claims.CodeOf(err))
	assert.ErrorContains(t, err, "out-of-term")
	out, err := json.Marshal(h)
	require.NoError(t, err)
	assert.NotContains(t, string(out), "needs")
}

// From refusal to second sending: help, letter, bundle, send.
func TestReply(t *testing.T) {
	s := newService(t)
	repaired(t, s, job, nine)
	_, err := s.Reply(ctx, owner, job, "late", "", claims.Hold{})
	require.Equal(t, claims.Invalid, claims.CodeOf(err), "nothing was refused")
	_, err = s.Build(ctx, owner, job, claims.Hold{})
	require.NoError(t, err)
	at := func(minutes int) func(*claims.Entry) {
		return func(e *claims.Entry) { e.At = nine.Add(time.Duration(minutes) * time.Minute) }
	}
	refused := raw(t, claims.KindAnswer, claims.Answer{Outcome: "refused", Words: "no"}, at(20))
	_, err = s.Append(ctx, owner, []json.RawMessage{raw(t, claims.KindSend, claims.Send{Version: 1, To: "Acorn Works"}, at(10)), refused})
	require.NoError(t, err)
	_, err = s.Reply(ctx, owner, job, "", "", claims.Hold{})
	require.Equal(t, claims.Invalid, claims.CodeOf(err), "the answer names no reason we know")
	assert.ErrorContains(t, err, "reason")
	_, err = s.Reply(ctx, tech, job, "late", "", claims.Hold{})
	require.Equal(t, claims.Forbidden, claims.CodeOf(err))
	before, err := s.Job(ctx, owner, job)
	require.NoError(t, err)
	_, err = s.Reply(ctx, owner, job, "late", strings.Repeat("x", claims.MaxText+1), claims.Hold{})
	require.Equal(t, claims.TooLarge, claims.CodeOf(err))
	after, err := s.Job(ctx, owner, job)
	require.NoError(t, err)
	assert.Equal(t, before.Entries, after.Entries, "a refused letter changes nothing")

	done, err := s.Reply(ctx, owner, job, "late", "", claims.Hold{})
	require.NoError(t, err)
	assert.Equal(t, 2, done.Built.Version)
	assert.Contains(t, done.Reply.Letter, "Arrival and departure: no. ")
	j, err := s.Job(ctx, owner, job)
	require.NoError(t, err)
	require.Len(t, j.Replies, 1)
	assert.Equal(t, "lee", j.Replies[0].By)
	assert.Contains(t, j.Replies[0].Body.Leans, j.Visits[0].Arrived.Entry)
	assert.Equal(t, "refused", j.Stage(), "it is not sent yet")
	_, err = s.Append(ctx, owner, []json.RawMessage{raw(t, claims.KindSend, claims.Send{Version: 2, To: "Acorn Works"}, at(90))})
	require.NoError(t, err)
	j, err = s.Job(ctx, owner, job)
	require.NoError(t, err)
	assert.Equal(t, "sent", j.Stage())
	versions := j.Versions()
	require.Len(t, versions, 2)
	assert.Equal(t, done.Built.Digest, versions[1].Bundle.Digest)
	assert.NotEqual(t, versions[0].Bundle.Digest, versions[1].Bundle.Digest, "both stay provable")
}

// An append on a job whose unit was repaired ten times before, with rates set: what drawing up the bill costs a commit.
func BenchmarkAppendWithHistory(b *testing.B) {
	s := newService(b)
	require.NoError(b, s.SetRates(ctx, owner, rates("90.00")))
	for i := range 11 {
		id := claims.JobID("01920000-0000-7000-8000-0000000001" + string(rune('a'+i/10)) + string(rune('0'+i%10)))
		repaired(b, s, id, nine.AddDate(0, 0, -30*i))
	}
	last := claims.JobID("01920000-0000-7000-8000-0000000001a0")
	b.ReportAllocs()
	for b.Loop() {
		_, err := s.Append(ctx, tech, []json.RawMessage{raw(b, claims.KindNote, claims.Note{Text: "n"}, func(e *claims.Entry) { e.Job = last })})
		require.NoError(b, err)
	}
}
