package dispute

import (
	"encoding/xml"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

func TestConditionRecord(t *testing.T) {
	s := visit(t)
	p := s.photo(5, claims.Photo{Subject: "damage-close", Area: wall})
	s.add(claims.KindDamage, 6, claims.Damage{Area: "freezer-liner-left-wall", Kind: "melted", Seen: "on-arrival", WidthMM: "60", HeightMM: "25", Scale: "ruler", Photos: []claims.EntryID{p},
		Bears: "no", SaidBy: "Ida Fenn", Said: "It was there last month.", View: "inside", X: 200, Y: 700, Words: "Edges discoloured."})
	s.add(claims.KindDamage, 7, claims.Damage{Area: "floor", Kind: "none", Seen: "on-arrival"})
	s.add(claims.KindAcknowledge, 10, claims.Acknowledge{About: "damage-on-arrival", Outcome: "signed", Name: "Ida Fenn", Shown: []claims.EntryID{p}, Strokes: [][]int{{1, 2}}})
	s.add(claims.KindDamage, 25, claims.Damage{Area: "door", Kind: "dented", Seen: "during-work"})
	s.add(claims.KindPart, 30, claims.Part{Component: "gasket", Action: "replaced"})
	s.add(claims.KindDamage, 35, claims.Damage{Area: "door", Kind: "scratched", Seen: "on-arrival"})
	s.add(claims.KindDamage, 65, claims.Damage{Area: "floor", Kind: "none", Seen: "on-leaving"})
	list := s.view().Condition
	require.Len(t, list, 5)
	first := list[0]
	assert.Equal(t, "Freezer liner, left wall: melted, 60 × 25 mm (ruler in the picture), on arrival. Edges discoloured.", first.Says)
	assert.Equal(t, "before-work", first.Relative)
	assert.Equal(t, claims.Before, first.Order.Answer)
	assert.Len(t, first.Signed, 1)
	assert.Equal(t, []any{"no", "Ida Fenn", "It was there last month.", "inside", 200, 700}, []any{first.Bears, first.SaidBy, first.Said, first.View, first.X, first.Y})
	assert.Equal(t, "Floor before the unit: looked at, no damage seen, on arrival.", list[1].Says)
	assert.Equal(t, "before-teardown", list[2].Relative)
	assert.Equal(t, "during-work", list[3].Relative)
	assert.Contains(t, list[3].Doubt, "entered after work had begun")
	assert.Equal(t, "after-work", list[4].Relative)
	assert.Empty(t, list[4].Doubt)

	t.Run("a second arrival is an arrival", func(t *testing.T) {
		s := visit(t)
		s.add(claims.KindArrive, 300, claims.Step{})
		s.add(claims.KindDamage, 305, claims.Damage{Area: "door", Kind: "dented", Seen: "on-arrival"})
		c := s.view().Condition[0]
		assert.Equal(t, "after-work", c.Relative)
		assert.Empty(t, c.Doubt)
	})
}

func TestPairsPutTheSameViewFirst(t *testing.T) {
	s := visit(t)
	a := s.photo(2, claims.Photo{Subject: "surroundings", Area: wall})
	b := s.photo(3, claims.Photo{Subject: "damage-wide", Area: wall})
	s.photo(65, claims.Photo{Subject: "damage-wide", Area: wall})
	d := s.photo(66, claims.Photo{Subject: "work-area", Area: wall, Pair: "before-after", PairedWith: a})
	v := s.view().Allegations[0]
	require.Len(t, v.Before, 2)
	require.Len(t, v.After, 2)
	require.Len(t, v.Pairs, 4)
	assert.Equal(t, Pair{a, d, "taken as the same view"}, v.Pairs[0])
	assert.Equal(t, b, v.Pairs[1].Before)
	assert.Equal(t, "the same area and subject", v.Pairs[1].Why)
}

func TestExhibitsKeepTheirNumbersWithoutPapers(t *testing.T) {
	s := visit(t)
	s.photo(1, claims.Photo{Subject: "proof-of-purchase"})
	s.photo(2, claims.Photo{Subject: "floor"})
	s.photo(24*60+5, claims.Photo{Subject: "customer-document", From: "customer", Source: "file"})
	all := s.view().Exhibits
	require.Len(t, all, 3)
	assert.Equal(t, []string{"Floor", "Customer's document, received from: customer", "Proof of purchase"}, []string{all[0].Title, all[1].Title, all[2].Title})
	var kept []claims.Kept
	for i, why := range Choose(s.kept, []claims.EntryID{id(6)}, nil) {
		if why == "" {
			kept = append(kept, s.kept[i])
		}
	}
	j := claims.Fold(kept)
	v := Of(&j)
	require.Len(t, v.Exhibits, 2)
	assert.Equal(t, all[:2], v.Exhibits)
	assert.Empty(t, j.Problems)
}

func TestChoose(t *testing.T) {
	s := visit(t)
	customer := s.add(claims.KindCustomer, -50, claims.Customer{Name: "Ida Fenn", Phone: "555"})
	receipt := s.photo(1, claims.Photo{Subject: "other"})
	fixed := s.photo(9, claims.Photo{Subject: "proof-of-purchase"}, func(k *claims.Kept) { k.Supersedes, k.Why = receipt, "it is the receipt" })
	mark := s.add(claims.KindMarkup, 10, claims.Markup{Photo: receipt, Marks: []claims.Mark{{Shape: "ring"}}})
	note := s.add(claims.KindNote, 11, claims.Note{Text: "n"})
	strike := s.add(claims.KindStrike, 12, claims.Strike{Entry: note, Reason: "r"})
	other := s.add(claims.KindAllege, 25*60, claims.Allege{Area: "door", Words: "w"})
	said := s.add(claims.KindStatement, 26*60, claims.Statement{About: other, From: "customer", Text: "t"})
	offer := s.add(claims.KindOffer, 27*60, claims.Offer{Allegations: []claims.EntryID{id(6)}, From: "shop", What: "repair"})
	odd := s.add("hologram", 28*60, map[string]int{"a": 1})
	out := func(include ...string) map[claims.EntryID]bool {
		m := map[claims.EntryID]bool{}
		for i, why := range Choose(s.kept, []claims.EntryID{id(6)}, include) {
			if why != "" {
				m[s.kept[i].ID] = true
			}
		}
		return m
	}
	assert.Equal(t, map[claims.EntryID]bool{customer: true, receipt: true, fixed: true, mark: true, note: true, strike: true, other: true, said: true, offer: true, odd: true}, out())
	assert.Equal(t, map[claims.EntryID]bool{other: true, said: true, odd: true}, out(IncludeContact, IncludePapers, IncludeNotes, IncludeSettlement, IncludeReadings, IncludeClaim))
	assert.Equal(t, map[claims.EntryID]bool{receipt: true, fixed: true, mark: true, other: true, said: true, offer: true, odd: true}, out(IncludeContact, IncludeNotes))
}

func TestTimelineDrawing(t *testing.T) {
	s := visit(t)
	s.photo(5, claims.Photo{Subject: "floor"})
	s.photo(6, claims.Photo{Subject: "damage-close", Area: `<b>"&' wall`})
	s.photo(65, claims.Photo{Subject: "work-area"})
	s.add(claims.KindDamage, 7, claims.Damage{Area: wall, Kind: "melted", Seen: "on-arrival"})
	s.add(claims.KindAcknowledge, 8, claims.Acknowledge{About: "damage-on-arrival", Outcome: "declined", Reason: "no time"})
	v := s.view()
	d := Timeline(v)
	svg := d.SVG("x")
	dec := xml.NewDecoder(strings.NewReader(svg))
	names := map[string]int{}
	text := ""
	for {
		tok, err := dec.Token()
		if err == io.EOF {
			break
		}
		require.NoError(t, err, svg)
		switch e := tok.(type) {
		case xml.StartElement:
			names[e.Name.Local]++
		case xml.CharData:
			text += string(e) + "\n"
		}
	}
	assert.Equal(t, 1, names["title"])
	assert.Equal(t, 1, names["desc"])
	for _, want := range []string{"Visit", "Work", "Photos", "Condition", "Signature", "work begins 09:20", "2026-03-04 (UTC -05:00)", "What followed", "1–2", `<b>"&' wall`, "Arrived 09:00, left 10:20", "declined", "Allegation: freezer liner, left wall, melted."} {
		assert.Contains(t, text, want)
	}
	// Accessible (WAI-ARIA 1.2: role img takes its name from the author; SVG-AAM: title and desc label it).
	assert.Contains(t, svg, `role="img" aria-labelledby="x-title x-desc"`)
	assert.NotContains(t, svg, "NaN")
	for _, sh := range d.Shapes {
		assert.GreaterOrEqual(t, sh.X+0.001, 0.0)
		assert.LessOrEqual(t, sh.X, d.Width)
		assert.LessOrEqual(t, sh.Y, d.Height)
	}
	t.Run("nothing on record", func(t *testing.T) {
		var j claims.Job
		d := Timeline(Of(&j))
		assert.Contains(t, d.SVG("y"), "No event is on record.")
	})
	t.Run("a visit that nobody ended in time", func(t *testing.T) {
		s := &scene{t: t}
		s.add(claims.KindArrive, 0, claims.Step{When: "2001-01-01T00:00:00Z"})
		s.add(claims.KindLeave, 1, claims.Leave{When: "2099-01-01T00:00:00Z"})
		assert.Less(t, len(Timeline(s.view()).Shapes), 200)
	})
}

// The contrast of the inks on white, by the formula of WCAG 2.2 (relative luminance); 4.5 is its level AA for text.
func TestInksCanBeRead(t *testing.T) {
	for _, ink := range []string{Ink, Soft, Early, Late, Accent} {
		r, g, b := RGB(ink)
		assert.GreaterOrEqual(t, 1.05/(luminance(r, g, b)+0.05), 4.5, ink)
	}
}

func TestLetterSaysBothSides(t *testing.T) {
	s := visit(t)
	p := s.photo(5, claims.Photo{Subject: "damage-close", Area: wall})
	s.add(claims.KindDamage, 6, claims.Damage{Area: wall, Kind: "melted", Seen: "on-arrival", Photos: []claims.EntryID{p}})
	j := s.job()
	v := Of(&j)
	l, err := Draft(&j, v, claims.Shop{Name: "Teasel Bend"}, nil, "2026-03-06")
	require.NoError(t, err)
	for _, want := range []string{"2026-03-06", "Dear Ida Fenn,", "You wrote: “You melted it.”", "shown before work", "(exhibit 1)", "did not sign", "It does not show who caused anything.", "Teasel Bend", "job K-7", "2026-03-05"} {
		assert.Contains(t, l.Letter, want)
	}
	assert.Contains(t, l.Letter, "before work exhibit 1.")
	assert.NotContains(t, l.Letter, "Signed by")
	assert.NotContains(t, strings.ToLower(l.Letter), "liab")
	assert.Equal(t, []claims.EntryID{id(6)}, l.Allegations)
	assert.Contains(t, l.Leans, p)
	_, err = Draft(&j, v, claims.Shop{}, []claims.EntryID{id(99)}, "2026-03-06")
	assert.Equal(t, claims.NotFound, codeOf(t, err))
	_, err = Draft(&claims.Job{}, Of(&claims.Job{}), claims.Shop{}, nil, "2026-03-06")
	assert.Equal(t, claims.Invalid, codeOf(t, err))
}

func TestLetterSaysWhatWasSaidAndSigned(t *testing.T) {
	s := visit(t)
	p := s.photo(5, claims.Photo{Subject: "damage-close", Area: wall})
	d := s.add(claims.KindDamage, 6, claims.Damage{Area: wall, Kind: "melted", Seen: "on-arrival", Photos: []claims.EntryID{p}, SaidBy: "Ida Fenn", Said: "That was the heat gun."})
	s.add(claims.KindAcknowledge, 7, claims.Acknowledge{About: "damage-on-arrival", Outcome: "signed", Name: "Ida Fenn", Shown: []claims.EntryID{d, p}, Statement: "It was there.", Strokes: [][]int{{1, 1, 9, 9}}})
	j := s.job()
	l, err := Draft(&j, Of(&j), claims.Shop{}, nil, "2026-03-06")
	require.NoError(t, err)
	assert.Contains(t, l.Letter, "Ida Fenn said then: “That was the heat gun.” Signed by Ida Fenn on 2026-03-04.")
}

func TestReleaseFromTheShopsTemplate(t *testing.T) {
	s := visit(t)
	o := s.add(claims.KindOffer, 25*60, claims.Offer{Allegations: []claims.EntryID{id(6)}, From: "shop", What: "money", Amount: &claims.Money{Minor: 12500, Currency: "USD"}})
	j := s.job()
	_, err := ReleaseFor(&j, claims.Shop{}, o, "2026-03-09")
	assert.Equal(t, claims.Invalid, codeOf(t, err))
	shop := claims.Shop{Name: "Teasel Bend", Release: "{date}: {customer} takes {amount} from {shop} for {area}, job {job}, {unit}."}
	_, err = ReleaseFor(&j, shop, id(98), "2026-03-09")
	assert.Equal(t, claims.NotFound, codeOf(t, err))
	r, err := ReleaseFor(&j, shop, o, "2026-03-09")
	require.NoError(t, err)
	assert.Equal(t, "2026-03-09: Ida Fenn takes 125.00 USD from Teasel Bend for freezer liner, left wall, job K-7, ____________.", r.Text)
	assert.Equal(t, []string{"unit"}, r.Missing)
}

func TestSettlementSteps(t *testing.T) {
	s := visit(t)
	a := []claims.EntryID{id(6)}
	o := s.add(claims.KindOffer, 25*60, claims.Offer{Allegations: a, From: "shop", What: "money", Amount: &claims.Money{Minor: 12500, Currency: "USD"}, AnswerBy: "2026-03-20"})
	s.add(claims.KindOfferAnswer, 26*60, claims.OfferAnswer{Offer: o, Outcome: "accepted", Words: "Fine."})
	s.add(claims.KindRelease, 27*60, claims.Release{Offer: o, Text: "t", Outcome: "signed", Name: "Ida Fenn", Strokes: [][]int{{1, 2}}})
	s.add(claims.KindInsurer, 27*60+1, claims.InsurerNotice{Allegations: a, Insurer: "Harbour Mutual", On: "2026-03-06"})
	s.add(claims.KindPaidOut, 28*60, claims.PaidOut{Offer: o, By: "shop", Amount: &claims.Money{Minor: 12500, Currency: "USD"}, On: "2026-03-10"})
	s.add(claims.KindDisputeEnd, 29*60, claims.DisputeEnd{Allegations: a, Outcome: "agreed"})
	v := s.view()
	var says []string
	for _, st := range v.Settlement {
		assert.Equal(t, a, st.Allegations, st.Says)
		says = append(says, st.Says)
	}
	assert.Equal(t, []string{"The shop offers money, 125.00 USD, answer by 2026-03-20.", "The offer was accepted, “Fine.”.", "A release was signed, by Ida Fenn.",
		"The insurer Harbour Mutual was told, on 2026-03-06.", "The shop paid, 125.00 USD, on 2026-03-10.", "Closed: agreed."}, says)
	assert.True(t, v.Allegations[0].Ended)
}

// An extent that is no plain decimal must not ask for memory: a stranger's file may hold anything.
func TestExtentRefusesExponents(t *testing.T) {
	assert.True(t, more("90", "60"))
	assert.False(t, more("66", "60"), "exactly a tenth")
	for _, bad := range []string{"1e999999999", "1/3", "0x10", "", ".", "1.2.3", "-90", strings.Repeat("9", 31)} {
		assert.False(t, more(bad, "1"), bad)
		assert.False(t, more("1", bad), bad)
	}
}

func TestPlaces(t *testing.T) {
	for _, c := range []struct{ allegation, other, want string }{
		{"freezer liner, left wall", "freezer-liner-left-wall", same},
		{"Liner, left wall", "liner-left-wall", same},
		{"the floor", "floor", same},
		{"Floor before the unit", "floor", same},
		{"kitchen floor", "floor", wider},
		{"floor", "kitchen floor, by the window", ""},
		{"floor", "kitchen floor", narrower},
		{"freezer liner, floor", "floor", ""},
		{"freezer drawer, front", "front", ""},
		{"freezer liner, left wall", "freezer liner", wider},
		{"door", "door, outside", narrower},
		{"door", "drawer", ""},
		{"door", "", ""},
		{"", "door", ""},
	} {
		assert.Equal(t, c.want, placeOf(c.allegation).relation(placeOf(c.other)), "%q, %q", c.allegation, c.other)
	}
}
