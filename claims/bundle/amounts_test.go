package bundle

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

func usd(minor int64) *claims.Money { return &claims.Money{Minor: minor, Currency: "USD"} }

// refused is the visit with a limit of 150.00 on the papers, a fan replaced without any reading, a claim that was sent, paid short by
// the price of the heater and refused for the rest, and a reply. By hand: 48.95 + 112.50 + 35.00 = 196.45, of which the payer
// bears 150.00 and the customer 46.45; paid 101.05, which is 48.95 short.
func refused(t testing.TB) claims.Parcel {
	s := newScene(t)
	s.visit(64, 48)
	s.add(claims.KindCoverage, claims.Coverage{Limit: usd(15000), EndRule: "exclusive"})
	s.add(claims.KindPart, claims.Part{Component: "evaporator-fan", Action: "replaced", Number: "BH-20-802"})
	s.add(claims.KindSign, claims.Sign{Component: "evaporator-coil", Sign: "coil-even-frost", Says: "thick, all over"})
	s.add(claims.KindSend, claims.Send{Version: 1, To: "Brightholm Care", How: "portal", Asked: usd(15000)})
	answer := s.add(claims.KindAnswer, claims.Answer{Outcome: "paid-short", Paid: usd(10105), Reason: "part-not-needed", Words: "Heater not shown to be at fault.", ReplyBy: "2026-04-30"})
	s.add(claims.KindPayment, claims.Payment{From: "payer", Amount: usd(10105), On: "2026-03-30", Reference: "remittance 5511, for Maria Kowalczyk"})
	s.add(claims.KindReply, claims.Reply{Answer: answer, Reason: "part-not-needed", Letter: "To: Brightholm Care\n\nThe heater read open, see no. 15 and photo. We ask you to look at the claim again.", Leans: []claims.EntryID{s.photos[4], answer}})
	return s.parcel()
}

func TestAmountsCoverageAndReply(t *testing.T) {
	p := refused(t)
	p.Coverage = claims.CoverageOf(&p.Job, []claims.EarlierRepair{{Job: "0195aa00-0000-7000-8000-000000000009", Number: "2025-0101", Done: "2025-12-01", Component: "defrost-heater", Fitted: true, UnitSerial: "K7 41 0093"}})
	data, _ := pack(t, p)
	dir := unpack(t, data)
	text := tool(t, "poppler-utils", dir, "pdftotext", "-layout", "data/report.pdf", "-")
	pages := strings.Split(text, "\f")
	flat := func(s string) string { return strings.Join(strings.Fields(s), " ") }
	t.Run("the letter comes first", func(t *testing.T) {
		for _, want := range []string{"To: Brightholm Care", "The heater read open", "We ask you to look at the claim again.", fmt.Sprintf("No. %d · photo", p.Job.Photos[4].Number), "Where the numbers of this letter stand"} {
			assert.Contains(t, flat(pages[0]), want)
		}
		assert.NotContains(t, pages[0], "Checklist:")
		assert.Contains(t, pages[1], "Summary")
	})
	t.Run("page of the summary", func(t *testing.T) {
		for _, want := range []string{"together 196.45 USD", "Payer 150.00 USD, customer 46.45 USD, shop 0.00 USD", "By the papers' terms as entered: covered.", "Readings: one thing does not fit together."} {
			assert.Contains(t, flat(pages[1]), want)
		}
	})
	t.Run("the rest", func(t *testing.T) {
		for _, want := range []string{"The papers pay at most 150.00 USD a claim", "the customer pays the rest", "Defrost heater BH-20-771, 1 × 48.95 USD", fmt.Sprintf("part no. %d, ", p.Job.Parts[0].Number),
			"the day of the start is not counted", "2027-01-18", "2025-0101", "Day reported 2026-03-02",
			"share 150.00 USD, paid 101.05 USD, left 48.95 USD", "exactly the line", "only the amounts fit", "“Heater not shown to be at fault.”", "The letter stands at the beginning.", "answer by 2026-04-30",
			"Conflicts between readings", "Common practice, no source", "nothing on record", "coil even frost"} {
			assert.Contains(t, flat(text), want)
		}
	})
	t.Run("for programs", func(t *testing.T) {
		raw := open(t, data).data["data/evidence.json"]
		doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(raw))
		require.NoError(t, err)
		require.NoError(t, compileSchema(t).Validate(doc))
		var e Evidence
		require.NoError(t, json.Unmarshal(raw, &e))
		assert.Equal(t, []int64{19645, 15000, 4645, 0}, []int64{e.Bill.Total, e.Bill.Payer, e.Bill.Customer, e.Bill.Shop})
		assert.Equal(t, claims.Owing{Owed: 15000, Paid: 10105, Left: 4895}, e.Balance.Payer)
		assert.Equal(t, "covered", e.CoverageAnswer.Verdict)
		assert.Len(t, e.CoverageAnswer.Repeats, 1)
		require.Len(t, e.Conflicts, 1)
		assert.Equal(t, "evaporator-fan", e.Conflicts[0].Component)
		assert.Equal(t, "common-practice", string(e.Conflicts[0].Mark))
		assert.Len(t, e.Replies, 1)
		assert.Len(t, e.Signs, 1)
	})
	t.Run("verifies", func(t *testing.T) {
		r := verify(t, data)
		assert.True(t, r.Holds, r.Text())
	})
	t.Run("a changed payment is found", func(t *testing.T) {
		spoilt := repack(true, func(t testing.TB, c *contents) {
			c.edit(t, func(e map[string]any) {
				e["payments"].([]any)[0].(map[string]any)["body"].(map[string]any)["amount"].(map[string]any)["minor"] = 1
			})
		})(t, data)
		r := verify(t, spoilt)
		assert.False(t, r.Holds)
		assert.Contains(t, r.Text(), "under payments")
	})
	t.Run("customer details are held back here too", func(t *testing.T) {
		held := refused(t)
		held.Hold = claims.Hold{Customer: true}
		data, _ := pack(t, held)
		for name, content := range open(t, data).data {
			assert.NotContains(t, string(content), "Kowalczyk", name)
		}
		assert.True(t, verify(t, data).Holds)
	})
}

// What the shop's rates say is entered before a bundle is built: the recorded bill stands, not one by the entries' own amounts.
func TestRecordedBillStands(t *testing.T) {
	s := newScene(t)
	s.add(claims.KindOpen, claims.Open{Number: "7", Complaint: "Warm.", Currency: "USD"})
	s.add(claims.KindLabour, claims.Labour{Minutes: 60})
	bearing := claims.Fold(s.kept).Bearing
	s.add(claims.KindBilled, claims.Bill{Currency: "USD", Rounding: claims.HalfUp, Rates: "Spring", Total: 9000, Payer: 9000, Bearing: bearing,
		Lines: []claims.BillLine{{ID: "labour", Kind: "labour", Says: "Labour, 60 min × 90.00 an hour", Amount: 9000, Payer: 9000}}})
	data, _ := pack(t, s.parcel())
	page := string(open(t, data).data["data/index.html"])
	assert.Contains(t, page, "By the shop&#39;s rates “Spring”")
	assert.Contains(t, page, "together 90.00 USD")
	assert.True(t, verify(t, data).Holds)
}

func TestNothingToSayLeavesSectionsOut(t *testing.T) {
	s := newScene(t)
	s.add(claims.KindOpen, claims.Open{Number: "8", Complaint: "Noise."})
	data, _ := pack(t, s.parcel())
	page := string(open(t, data).data["data/index.html"])
	for _, id := range []string{"letter", "amounts", "coverage", "history", "conflicts"} {
		assert.NotContains(t, page, `<section id="`+id+`"`)
	}
	raw := string(open(t, data).data["data/evidence.json"])
	for _, name := range []string{`"coverageAnswer"`, `"balance"`, `"conflicts"`} {
		assert.NotContains(t, raw, name)
	}
}

// The letter goes with the bundle as long as it is the answer to the payer's last word.
func TestWhichLetterGoesFirst(t *testing.T) {
	reply := func(no int, id, answer claims.EntryID) claims.Item[claims.Reply] {
		return claims.Item[claims.Reply]{Entry: id, Number: no, Body: claims.Reply{Answer: answer, Letter: "x"}}
	}
	answer := func(no int, id claims.EntryID, outcome string) claims.Item[claims.Answer] {
		return claims.Item[claims.Answer]{Entry: id, Number: no, Body: claims.Answer{Outcome: outcome}}
	}
	type (
		answers = []claims.Item[claims.Answer]
		replies = []claims.Item[claims.Reply]
	)
	for name, c := range map[string]struct {
		job  claims.Job
		want claims.EntryID
	}{
		"no reply":              {claims.Job{Answers: answers{answer(1, "a", "refused")}}, ""},
		"answers the last word": {claims.Job{Answers: answers{answer(1, "a", "refused")}, Replies: replies{reply(2, "r", "a")}}, "r"},
		"the later of two":      {claims.Job{Answers: answers{answer(1, "a", "refused")}, Replies: replies{reply(2, "r", "a"), reply(3, "s", "a")}}, "s"},
		"the payer wrote again": {claims.Job{Answers: answers{answer(1, "a", "refused"), answer(3, "b", "question")}, Replies: replies{reply(2, "r", "a")}}, ""},
		"paid in part before":   {claims.Job{Answers: answers{answer(1, "a", "refused"), answer(2, "b", "paid")}, Replies: replies{reply(3, "r", "a")}}, "r"},
		"paid since":            {claims.Job{Answers: answers{answer(1, "a", "refused"), answer(3, "b", "paid")}, Replies: replies{reply(2, "r", "a")}}, ""},
		"the claim is closed":   {claims.Job{Answers: answers{answer(1, "a", "refused")}, Replies: replies{reply(2, "r", "a")}, Settlements: []claims.Item[claims.Settle]{{}}}, ""},
		"the answer was struck": {claims.Job{Replies: replies{reply(2, "r", "a")}}, ""},
	} {
		t.Run(name, func(t *testing.T) {
			pl := plan{job: c.job}
			got := pl.coverReply()
			if c.want == "" {
				assert.Nil(t, got)
				return
			}
			require.NotNil(t, got)
			assert.Equal(t, c.want, got.Entry)
		})
	}
}

// A format of tomorrow is not called broken: its bag is checked, and that is said.
func TestLaterFormatIsNotCalledBroken(t *testing.T) {
	data, _ := pack(t, smallParcel(t, claims.Hold{}))
	later := repack(true, func(t testing.TB, c *contents) {
		c.edit(t, func(e map[string]any) { e["format"], e["novelty"] = "kickplate-bundle/4", true })
	})(t, data)
	r := verify(t, later)
	assert.True(t, r.Holds, r.Text())
	assert.Contains(t, r.Text(), "this program knows")
}
