package claims

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestRates(t *testing.T) {
	r := Rates{Cards: []RateCard{
		{Name: "old", From: "2025-01-01", Currency: "USD", Rounding: HalfUp}, {Name: "new", From: "2026-01-01", Currency: "USD", Rounding: HalfUp},
		{Name: "lakeside", From: "2025-07-01", Payer: "Lakeside Contracts", Currency: "USD", Rounding: HalfEven},
	}}
	require.Nil(t, r.validate())
	for _, c := range []struct {
		day   Day
		payer string
		want  string
	}{{"2025-06-30", "", "old"}, {"2025-12-31", "Acorn", "old"}, {"2026-01-01", "", "new"}, {"2026-05-01", "LAKESIDE-contracts", "lakeside"}, {"2025-06-30", "Lakeside Contracts", "old"}, {"2024-12-31", "", ""}} {
		card, ok := r.On(c.day, c.payer)
		assert.Equal(t, c.want, card.Name, "%s for %q", c.day, c.payer)
		assert.Equal(t, c.want != "", ok)
	}
	for where, break_ := range map[string]func(*RateCard){
		"cards[0].currency": func(c *RateCard) { c.Currency = "XXQ" }, "cards[0].rounding": func(c *RateCard) { c.Rounding = "" },
		"cards[0].labour.perHour": func(c *RateCard) { c.Labour.PerHour = "-1" }, "cards[0].trip.unit": func(c *RateCard) { c.Trip.Unit = "" },
		"cards[0].tax.on": func(c *RateCard) { c.Tax.On = nil }, "cards[0].tax.percent": func(c *RateCard) { c.Tax.Percent = "1001" },
		"cards[0].flat": func(c *RateCard) { c.Flat = map[string]string{"x": "cheap"} }, "cards[0].from": func(c *RateCard) { c.From = "2026-02-30" },
		"cards[0].labour.step": func(c *RateCard) { c.Labour.Step = -5 }, "cards[0].name": func(c *RateCard) { c.Name = "" },
	} {
		bad := someRates(break_)
		err := bad.validate()
		require.NotNil(t, err, where)
		assert.Equal(t, where, err.Where)
	}
	twice := Rates{Cards: append(someRates().Cards, someRates().Cards...)}
	require.NotNil(t, twice.validate())
	assert.Equal(t, "cards[1].from", twice.validate().Where)
}

// Whatever rates come in: they are refused, or the bill adds up.
func FuzzBill(f *testing.F) {
	for _, r := range []Rates{someRates(), {}, someRates(func(c *RateCard) { c.Currency, c.Rounding, c.Tax.Per = "JPY", HalfEven, "total" }), someRates(func(c *RateCard) { c.Labour.PerHour = "9999999999999999" })} {
		raw, err := json.Marshal(r)
		require.NoError(f, err)
		f.Add(raw)
	}
	f.Add([]byte(`{"cards":[{"name":"x","from":"2026-01-01","currency":"USD","rounding":"half-up","labour":{"perHour":"0.000000000001"},"trip":{"unit":"km","perUnit":"0.1","free":"1e9"},"parts":{},"tax":{}}]}`))
	j := workedJob(f, Coverage{Deductible: usd(7500), Limit: usd(40000), LabourMinutes: 45})
	answer := CoverageOf(j, nil)
	f.Fuzz(func(t *testing.T, raw []byte) {
		var r Rates
		if strict(raw, &r) != nil || r.validate() != nil {
			return
		}
		b := BillOf(j, r, answer)
		var sums [4]int64
		for _, l := range b.Lines {
			for i, n := range []int64{l.Amount, l.Payer, l.Customer, l.Shop} {
				sums[i] += n
			}
		}
		require.Equal(t, [4]int64{b.Total, b.Payer, b.Customer, b.Shop}, sums)
		require.Equal(t, b.Total, b.Payer+b.Customer+b.Shop)
		if len(b.Lines) > 0 && b.Currency == "USD" {
			require.LessOrEqual(t, b.Payer, int64(40000))
		}
		again, ok := r.On(b.On, j.Coverage.Payer)
		require.Equal(t, ok, b.Rates != "")
		require.LessOrEqual(t, again.From, b.On)
	})
}
