package claims

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// heaterProfile is a component model: 450 W at 120 V, so 32 ohms by V²/P (Ohm's law), within 10 % (common practice, no source).
const heaterProfile = `{"model":"resistive-heater","ratedVolts":120,"ratedWatts":450,"tolerancePercent":10}`

func workedNarrative(t testing.TB, value, state string) *Job {
	r := Reading{Component: "defrost-heater", Quantity: "resistance", Value: value, State: state, Moment: "as-found", Where: "at its own terminals"}
	if value != "" {
		r.Unit = "Ohm"
	}
	j := Fold([]Kept{
		made(t, 1, KindOpen, 0, Open{Number: "K-1", Complaint: "The fridge is warm and there's frost at the back"}),
		made(t, 2, KindPhoto, 1, Photo{Digest: DigestOf([]byte("a")), Bytes: 1, Subject: "symptom", Caption: "frost on the cover"}),
		made(t, 3, KindReading, 2, r),
		made(t, 4, KindCause, 3, Narrative{Component: "defrost-heater", Text: "Defrost heater is open"}),
		made(t, 5, KindPart, 4, Part{Component: "defrost-heater", Action: "replaced", Number: "H-450"}),
		made(t, 6, KindPart, 5, Part{Component: "gasket", Action: "replaced"}),
		made(t, 7, KindCorrection, 6, Narrative{Text: "Heater replaced, forced defrost run"}),
		made(t, 8, KindReading, 7, Reading{Component: "freezer-compartment", Quantity: "temperature", Value: "-18", Unit: "Cel", Moment: "as-left"}),
	})
	require.Empty(t, j.Problems)
	return &j
}

func TestDraft(t *testing.T) {
	j := workedNarrative(t, "", "over-range")
	d := DraftOf(j, nil)
	assert.Equal(t, "The fridge is warm and there's frost at the back. Seen on photo no. 1 (frost on the cover).", d.Complaint.Text)
	assert.Equal(t, []EntryID{testID(1), testID(2)}, d.Complaint.Entries)
	assert.Equal(t, "Defrost heater is open. Defrost heater resistance: over range, as found, at its own terminals (reading no. 2).", d.Cause.Text)
	assert.Contains(t, d.Correction.Text, "Heater replaced, forced defrost run. Replaced defrost heater, part H-450 (part no. 4).")
	assert.Contains(t, d.Correction.Text, "Freezer compartment temperature: -18 Cel, as left (reading no. 7).")
	require.Len(t, d.Parts, 2)
	assert.True(t, d.Parts[0].Supported, d.Parts[0].Says)
	assert.Equal(t, []EntryID{testID(3)}, d.Parts[0].Readings)
	assert.False(t, d.Parts[1].Supported)
	assert.Equal(t, "Part no. 5 (gasket) lacks a cause that names it and a reading or a photo that shows it.", d.Parts[1].Says)
	assert.Contains(t, d.Missing, d.Parts[1].Says)

	// 32 ohms is what a sound heater reads: the reading speaks against replacing it.
	with := Reading{Component: "defrost-heater", Quantity: "resistance", Value: "32", Unit: "Ohm", Moment: "as-found", Profile: json.RawMessage(heaterProfile)}
	sound := Fold([]Kept{
		made(t, 1, KindReading, 0, with), made(t, 2, KindCause, 1, Narrative{Component: "defrost-heater", Text: "open"}),
		made(t, 3, KindPart, 2, Part{Component: "defrost-heater", Action: "replaced"}),
	})
	d = DraftOf(&sound, nil)
	assert.Equal(t, []EntryID{testID(1)}, d.Parts[0].Against)
	assert.False(t, d.Parts[0].Supported)
	assert.Contains(t, d.Parts[0].Says, "speaks against replacing it")

	empty := Fold(nil)
	d = DraftOf(&empty, nil)
	assert.Empty(t, d.Complaint.Text+d.Cause.Text+d.Correction.Text, "nothing on record, nothing said")
	assert.Len(t, d.Missing, 4)
}

// Every word of a draft that is no word of the frame stands in an entry: nothing is invented.
func TestDraftInventsNothing(t *testing.T) {
	frame := map[string]bool{}
	for _, w := range strings.Fields("seen on photo no shows the reading part as found left as at its own terminals pieces replaced fitted removed component") {
		frame[w] = true
	}
	split := func(s string) []string {
		return strings.FieldsFunc(strings.ToLower(s), func(r rune) bool { return strings.ContainsRune(" .,():;-", r) })
	}
	words := []string{"alpha", "bravo", "charlie", "delta", "echo", "foxtrot"}
	rapid.Check(t, func(rt *rapid.T) {
		pick := func(label string) string { return rapid.SampledFrom(words).Draw(rt, label) }
		comp := func() string {
			return rapid.SampledFrom([]string{"belt", "gasket", "drain-pump"}).Draw(rt, "component")
		}
		es := []Kept{made(t, 1, KindOpen, 0, Open{Number: "1", Complaint: pick("complaint")})}
		for i := range rapid.IntRange(0, 8).Draw(rt, "entries") {
			var k Kind
			var b any
			switch rapid.IntRange(0, 4).Draw(rt, "kind") {
			case 0:
				k, b = KindCause, Narrative{Component: comp(), Text: pick("text")}
			case 1:
				k, b = KindCorrection, Narrative{Text: pick("text")}
			case 2:
				k, b = KindPart, Part{Component: comp(), Action: rapid.SampledFrom([]string{"removed", "fitted", "replaced"}).Draw(rt, "action"), Number: pick("number")}
			case 3:
				k, b = KindReading, Reading{Component: comp(), Quantity: "resistance", Value: "7", Unit: "Ohm", Moment: rapid.SampledFrom([]string{"as-found", "as-left", ""}).Draw(rt, "moment")}
			default:
				k, b = KindPhoto, Photo{Digest: DigestOf([]byte{byte(i)}), Bytes: 1, Subject: rapid.SampledFrom([]string{"symptom", "failed-part", "after-repair"}).Draw(rt, "subject"), Component: comp(), Caption: pick("caption")}
			}
			es = append(es, made(t, 2+i, k, i, b))
		}
		j := Fold(es)
		known := map[string]bool{}
		for _, e := range es {
			for _, w := range split(strings.NewReplacer(`"`, " ", "{", " ", "}", " ").Replace(string(e.Body))) {
				known[w] = true
			}
		}
		d := DraftOf(&j, nil)
		for _, text := range []DraftText{d.Complaint, d.Cause, d.Correction} {
			for _, w := range split(text.Text) {
				number := strings.Trim(w, "0123456789") == ""
				require.True(rt, frame[w] || known[w] || number, "%q in %q", w, text.Text)
			}
			require.Equal(rt, text.Text == "", len(text.Entries) == 0, "what is said leans on entries")
		}
	})
}

func TestRefusalReasons(t *testing.T) {
	seen := map[string]bool{}
	for _, r := range RefusalReasons() {
		assert.True(t, kebab(r.ID), r.ID)
		assert.False(t, seen[r.ID], r.ID)
		seen[r.ID] = true
		assert.NotEmpty(t, r.Title)
		assert.NotEmpty(t, r.needs, r.ID)
		for _, n := range r.needs {
			assert.NotEmpty(t, n.what)
			assert.True(t, strings.HasSuffix(n.cure, "."), n.cure)
		}
		j := Fold(nil)
		h := RefusalHelpOf(&j, r.ID)
		assert.False(t, h.Ready, "%s: an empty job answers nothing", r.ID)
		for _, it := range h.Items {
			assert.True(t, it.Missing)
			assert.NotEmpty(t, it.Cure)
		}
		assert.Contains(t, h.Letter, "nothing on record answers this reason yet")
	}
}

func TestRefusalHelp(t *testing.T) {
	j := workedNarrative(t, "", "over-range")
	h := RefusalHelpOf(j, "")
	assert.Equal(t, "The payer has refused nothing so far. Pick a reason to see what would answer it.", h.Title)
	assert.Len(t, h.Reasons, len(RefusalReasons()))

	refused := Fold([]Kept{
		made(t, 1, KindOpen, 0, Open{Number: "K-1", Complaint: "warm"}),
		made(t, 2, KindCoverage, 0, Coverage{Payer: "Lakeside", Number: "C-7", Purchased: "2025-01-02"}),
		made(t, 3, KindPhoto, 1, Photo{Digest: DigestOf([]byte("a")), Bytes: 1, Subject: "proof-of-purchase"}),
		made(t, 4, KindSend, 9, Send{To: "Lakeside"}),
		made(t, 5, KindAnswer, 10, Answer{Outcome: "refused", Reason: "out-of-term", Words: "bought too early", ReplyBy: "2026-04-01"}),
	})
	h = RefusalHelpOf(&refused, "")
	assert.Equal(t, "out-of-term", h.Reason)
	assert.Equal(t, testID(5), h.Answer)
	assert.Equal(t, "2026-04-01", h.ReplyBy)
	require.Len(t, h.Items, 4)
	assert.Equal(t, []int{1}, h.Items[0].Numbers, "the receipt is photo no. 1")
	assert.True(t, h.Items[1].Missing, "no plate")
	assert.Equal(t, "Photograph the rating plate so that every character can be read.", h.Items[1].Cure)
	assert.False(t, h.Ready)
	assert.Contains(t, h.Letter, "To: Lakeside")
	assert.Contains(t, h.Letter, "claim C-7")
	assert.Contains(t, h.Letter, `"bought too early"`)
	assert.Contains(t, h.Letter, "The proof of purchase: no. 1.")
	assert.NotContains(t, h.Letter, "rating plate", "a letter names only what is there")
	assert.True(t, RefusalHelpOf(&refused, "no-proof-of-purchase").Ready)
}

func account(t testing.TB, payments ...Payment) Account {
	c := Coverage{Deductible: usd(7500)}
	var more []Kept
	for i, p := range payments {
		more = append(more, made(t, 50+i, KindPayment, 200+i, p))
	}
	j := workedJob(t, c, more...)
	return AccountOf(j, BillOf(j, someRates(), CoverageOf(j, nil)))
}

// The job of the worked example: 558.03 in all, 75.00 of it the customer's, so 483.03 asked of the payer.
func TestAccount(t *testing.T) {
	labour := PaidLine{Line: "labour", Minor: 9500, Reason: "labour-over"}
	t.Run("Nothing", func(t *testing.T) {
		a := account(t)
		assert.Equal(t, Owing{Owed: 48303, Left: 48303}, a.Payer)
		assert.Equal(t, Owing{Owed: 7500, Left: 7500}, a.Customer)
		assert.Empty(t, a.Differences)
	})
	t.Run("All", func(t *testing.T) {
		a := account(t, Payment{From: "payer", Amount: usd(48303)}, Payment{From: "customer", Amount: usd(7500)})
		assert.Zero(t, a.Payer.Left)
		assert.Zero(t, a.Customer.Left)
		assert.Empty(t, a.Differences)
		for _, l := range a.Lines {
			assert.True(t, l.Known)
			assert.Equal(t, l.Asked, l.Paid)
		}
	})
	t.Run("OneLineShort", func(t *testing.T) { // without the trip, 47.69
		a := account(t, Payment{From: "payer", Amount: usd(48303 - 4769)})
		require.Len(t, a.Differences, 1)
		assert.Equal(t, []string{"trip:" + string(testID(10))}, a.Differences[0].Lines)
		assert.False(t, a.Differences[0].Sure)
		assert.Equal(t, int64(-4769), a.Differences[0].Minor)
	})
	t.Run("TwoLinesShort", func(t *testing.T) { // without the two handlings, 8.10 + 20.00
		a := account(t, Payment{From: "payer", Amount: usd(48303 - 2810)})
		require.Len(t, a.Differences, 1)
		assert.Len(t, a.Differences[0].Lines, 2)
	})
	t.Run("DeductibleNotTakenOff", func(t *testing.T) {
		a := account(t, Payment{From: "payer", Amount: usd(55803)})
		require.Len(t, a.Differences, 1)
		assert.Equal(t, []string{"deductible"}, a.Differences[0].Lines)
		assert.Equal(t, int64(-7500), a.Payer.Left, "too much was paid")
	})
	t.Run("Unexplained", func(t *testing.T) {
		a := account(t, Payment{From: "payer", Amount: usd(11111)})
		require.Len(t, a.Differences, 1)
		assert.Empty(t, a.Differences[0].Lines)
		assert.Contains(t, a.Differences[0].Says, "Ask the payer")
	})
	t.Run("LinesNamed", func(t *testing.T) {
		a := account(t, Payment{From: "payer", Amount: usd(9500), Lines: []PaidLine{labour}})
		require.Len(t, a.Differences, 1)
		assert.True(t, a.Differences[0].Sure)
		assert.Equal(t, int64(-4750), a.Differences[0].Minor)
		assert.Contains(t, a.Differences[0].Says, "The labour is above the allowance")
	})
	t.Run("RestWithoutLines", func(t *testing.T) { // the labour cut by name, the rest in one sum
		a := account(t, Payment{From: "payer", Amount: usd(9500), Lines: []PaidLine{labour}}, Payment{From: "payer", Amount: usd(48303 - 14250)})
		require.Len(t, a.Differences, 1)
		assert.Equal(t, int64(4750), a.Payer.Left)
	})
	t.Run("OtherCurrency", func(t *testing.T) {
		a := account(t, Payment{From: "payer", Amount: &Money{Minor: 1, Currency: "EUR"}})
		assert.Zero(t, a.Payer.Paid)
		assert.NotEmpty(t, a.Problems)
	})
	for where, bad := range map[string]Payment{
		"amount": {From: "payer"}, "from": {Amount: usd(1)}, "lines": {From: "payer", Amount: usd(1), Lines: []PaidLine{labour}},
		"on": {From: "payer", Amount: usd(1), On: "yesterday"},
	} {
		err := bad.validate()
		require.NotNil(t, err, where)
		assert.Equal(t, where, err.Where)
	}
	require.NotNil(t, (&Settle{Outcome: "written-off"}).validate(), "written off without a reason")
	require.Nil(t, (&Settle{Outcome: "paid"}).validate())
}
