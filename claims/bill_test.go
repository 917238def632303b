package claims

import (
	"encoding/json"
	"fmt"
	"testing"

	"github.com/cockroachdb/apd/v3"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// someRates are invented prices.
func someRates(change ...func(*RateCard)) Rates {
	c := RateCard{Name: "2026", From: "2026-01-01", Currency: "USD", Rounding: HalfUp,
		Labour:    LabourRate{PerHour: "95.00", Step: 15, StepRule: "up", Least: 30},
		Flat:      map[string]string{"drain-clear": "140.00"},
		Diagnosis: "89.00",
		Trip:      TripRate{Base: "25.00", PerUnit: "0.725", Unit: "mi", Free: "10", Zones: map[string]string{"north": "45.00"}},
		Parts:     PartsRate{HandlingPercent: "12.5", HandlingMost: "20.00"},
		Tax:       TaxRate{Percent: "8.25", On: []string{"part", "handling"}}}
	for _, f := range change {
		f(&c)
	}
	return Rates{Cards: []RateCard{c}}
}

func usd(minor int64) *Money { return &Money{Minor: minor, Currency: "USD"} }

// workedJob is the job of the worked example: two parts, two stretches of labour, a trip, under a contract.
func workedJob(t testing.TB, c Coverage, more ...Kept) *Job {
	if c.Kind == "" {
		c.Kind = "service-contract"
	}
	if c.Start == "" {
		c.Start, c.TermMonths, c.EndRule = "2025-06-01", 24, StartNotCounted
	}
	es := []Kept{
		made(t, 1, KindOpen, 0, Open{Number: "K-1", Complaint: "frost"}),
		made(t, 2, KindSite, 0, Site{Zone: "America/New_York"}),
		made(t, 3, KindCoverage, 0, c),
		made(t, 4, KindArrive, 1, Step{}),
		made(t, 5, KindCause, 20, Narrative{Component: "defrost-heater", Text: "open"}),
		made(t, 6, KindPart, 30, Part{Component: "defrost-heater", Action: "replaced", Number: "H-450", Price: usd(6480)}),
		made(t, 7, KindPart, 31, Part{Component: "gasket", Action: "replaced", Quantity: 2, Price: usd(12345)}),
		made(t, 8, KindLabour, 40, Labour{Minutes: 50}),
		made(t, 9, KindLabour, 70, Labour{Minutes: 27}),
		made(t, 10, KindTrip, 71, Trip{Distance: "41.3", Unit: "mi"}),
		made(t, 11, KindLeave, 75, Leave{}),
	}
	j := Fold(append(es, more...))
	require.Empty(t, j.Problems)
	return &j
}

func lineOf(t testing.TB, b Bill, id string) BillLine {
	t.Helper()
	for _, l := range b.Lines {
		if l.ID == id {
			return l
		}
	}
	t.Fatalf("no line %q in %+v", id, b.Lines)
	return BillLine{}
}

// The worked example, computed by hand:
//
//	heater            1 × 64.80                                     64.80
//	  handling        12.5 % of 64.80 = 8.10                         8.10
//	gasket            2 × 123.45                                   246.90
//	  handling        12.5 % of 246.90 = 30.8625, at most 20.00     20.00
//	labour            50 + 27 = 77 min, up to 90 min, 1.5 × 95     142.50
//	diagnosis         none: a part was fitted
//	trip              25.00 + (41.3 - 10) × 0.725 = 22.6925         47.69
//	tax 8.25 %        5.346 → 5.35; 0.66825 → 0.67; 20.36925 → 20.37; 1.65     28.04
//	total                                                          558.03
func TestBillWorkedExample(t *testing.T) {
	j := workedJob(t, Coverage{})
	b := BillOf(j, someRates(), CoverageOf(j, nil))
	assert.Empty(t, b.Problems)
	for id, want := range map[string]int64{
		"part:" + string(testID(6)): 6480, "handling:" + string(testID(6)): 810, "part:" + string(testID(7)): 24690, "handling:" + string(testID(7)): 2000,
		"labour": 14250, "trip:" + string(testID(10)): 4769, "tax": 2804,
	} {
		assert.Equal(t, want, lineOf(t, b, id).Amount, id)
	}
	assert.Len(t, b.Lines, 7)
	assert.Equal(t, int64(55803), b.Total)
	assert.Equal(t, int64(55803), b.Payer, "all of it is covered")
	assert.Equal(t, Day("2026-03-04"), b.On)
	assert.Equal(t, []EntryID{testID(8), testID(9)}, lineOf(t, b, "labour").Entries, "each line shows where it came from")
	assert.Contains(t, lineOf(t, b, "labour").Says, "77 min counted as 90 min × 95.00 an hour")
	trip := lineOf(t, b, "trip:"+string(testID(10)))
	assert.Equal(t, "47.6925", trip.Exact)
	assert.Contains(t, trip.Says, "rounded half-up")

	t.Run("TaxOnTheTotal", func(t *testing.T) { // 8.25 % of 339.80 = 28.0335
		b := BillOf(j, someRates(func(c *RateCard) { c.Tax.Per = "total" }), CoverageOf(j, nil))
		assert.Equal(t, int64(2803), lineOf(t, b, "tax").Amount)
		assert.Equal(t, "total", b.TaxOn)
	})
	t.Run("DeductibleThenLimit", func(t *testing.T) { // 558.03 - 75.00 = 483.03, capped at 400.00
		j := workedJob(t, Coverage{Deductible: usd(7500), Limit: usd(40000)})
		b := BillOf(j, someRates(), CoverageOf(j, nil))
		assert.Equal(t, int64(40000), b.Payer)
		assert.Equal(t, int64(15803), b.Customer)
		assert.Equal(t, int64(-7500), lineOf(t, b, "deductible").Payer)
		assert.Equal(t, int64(-8303), lineOf(t, b, "limit").Payer)
		assert.Equal(t, int64(55803), b.Total, "moving money changes no amount")
	})
	t.Run("LimitThenDeductible", func(t *testing.T) { // capped at 400.00, less 75.00
		j := workedJob(t, Coverage{Deductible: usd(7500), Limit: usd(40000), LimitRule: "before-deductible"})
		b := BillOf(j, someRates(), CoverageOf(j, nil))
		assert.Equal(t, int64(32500), b.Payer)
		assert.Equal(t, int64(23303), b.Customer)
	})
	t.Run("NotAuthorised", func(t *testing.T) {
		j := workedJob(t, Coverage{AuthoriseOver: usd(50000)})
		require.Len(t, BillOf(j, someRates(), CoverageOf(j, nil)).Problems, 1)
		j = workedJob(t, Coverage{AuthoriseOver: usd(50000), Authorisation: "A-7"})
		assert.Empty(t, BillOf(j, someRates(), CoverageOf(j, nil)).Problems)
		j = workedJob(t, Coverage{AuthoriseOver: usd(55803)})
		assert.Empty(t, BillOf(j, someRates(), CoverageOf(j, nil)).Problems, "not above it")
	})
	t.Run("LimitInTotal", func(t *testing.T) { // 1000.00 - 900.00 = 100.00 left
		j := workedJob(t, Coverage{TotalLimit: usd(100000), Spent: usd(90000)})
		b := BillOf(j, someRates(), CoverageOf(j, nil))
		assert.Equal(t, int64(10000), b.Payer)
	})
	t.Run("LabourAllowance", func(t *testing.T) { // 60 min × 95.00 = 95.00 of 142.50
		j := workedJob(t, Coverage{LabourMinutes: 60})
		b := BillOf(j, someRates(), CoverageOf(j, nil))
		assert.Equal(t, int64(4750), b.Shop)
		assert.Equal(t, int64(55803-4750), b.Payer)
	})
	t.Run("DeductibleAboveTheShare", func(t *testing.T) {
		j := workedJob(t, Coverage{Deductible: usd(99999)})
		b := BillOf(j, someRates(), CoverageOf(j, nil))
		assert.Zero(t, b.Payer)
		assert.Equal(t, int64(55803), b.Customer)
	})
	t.Run("LabourAllowanceIsNotTaxed", func(t *testing.T) { // 8.25 % of the 95.00 that are allowed = 7.8375
		j := workedJob(t, Coverage{LabourMinutes: 60})
		for _, per := range []string{"line", "total"} {
			b := BillOf(j, someRates(func(c *RateCard) { c.Tax.On, c.Tax.Per = []string{"labour"}, per }), CoverageOf(j, nil))
			assert.Equal(t, int64(784), lineOf(t, b, "tax").Payer, per)
		}
	})
	t.Run("PayerExemptFromTax", func(t *testing.T) { // only the gasket's 20.37 + 1.65, which the customer bears
		j := workedJob(t, Coverage{Start: "2025-06-01", EndRule: StartNotCounted, Terms: []Term{{For: ClassWhole, Parts: 24, Labour: 24}, {For: "gasket"}}})
		b := BillOf(j, someRates(func(c *RateCard) { c.Tax.ExemptPayer = true }), CoverageOf(j, nil))
		assert.Equal(t, int64(2202), lineOf(t, b, "tax").Amount)
		assert.Zero(t, lineOf(t, b, "tax").Payer)
	})
	t.Run("PartsCoveredLabourNot", func(t *testing.T) { // labour 142.50 + trip 47.69 are the customer's
		j := workedJob(t, Coverage{Start: "2025-06-01", EndRule: StartNotCounted, Terms: []Term{{For: ClassWhole, Parts: 24}}})
		b := BillOf(j, someRates(), CoverageOf(j, nil))
		assert.Equal(t, Partly, b.Coverage)
		assert.Equal(t, int64(14250+4769), b.Customer)
		assert.Equal(t, int64(36784), b.Payer)
	})
	t.Run("OneComponentNot", func(t *testing.T) { // gasket 246.90 + 20.00 + tax 20.37 + 1.65 are the customer's
		j := workedJob(t, Coverage{Start: "2025-06-01", EndRule: StartNotCounted, Terms: []Term{{For: ClassWhole, Parts: 24, Labour: 24}, {For: "gasket"}}})
		b := BillOf(j, someRates(), CoverageOf(j, nil))
		assert.Equal(t, int64(24690+2000+2037+165), b.Customer)
		assert.Equal(t, int64(2202), lineOf(t, b, "tax").Customer)
	})
	t.Run("CoverageOpen", func(t *testing.T) {
		j := workedJob(t, Coverage{Start: "2025-06-01"})
		b := BillOf(j, someRates(), CoverageOf(j, nil))
		assert.Equal(t, CannotSay, b.Coverage)
		assert.Equal(t, int64(55803), b.Payer)
		assert.Equal(t, int64(55803), b.Doubt)
	})
	t.Run("CustomerPays", func(t *testing.T) {
		j := workedJob(t, Coverage{Kind: "customer-pays", Deductible: usd(7500)})
		b := BillOf(j, someRates(), CoverageOf(j, nil))
		assert.Equal(t, int64(55803), b.Customer)
		assert.Equal(t, Money{Minor: 55803, Currency: "USD"}, b.Asked())
	})
	t.Run("RepeatedRepair", func(t *testing.T) { // labour and trip are the shop's
		j := workedJob(t, Coverage{RepeatDays: 90}, made(t, 12, KindUnit, 0, Unit{Serial: "S"}))
		both := []EarlierRepair{}
		for _, c := range []string{"defrost-heater", "gasket"} {
			both = append(both, EarlierRepair{Job: "x", Number: "K-0", Done: "2026-02-01", Component: c, UnitSerial: "S"})
		}
		b := BillOf(j, someRates(), CoverageOf(j, both))
		assert.Equal(t, int64(14250+4769), b.Shop)
		b = BillOf(j, someRates(), CoverageOf(j, both[:1]))
		assert.Zero(t, b.Shop, "the other component is no repeat, so the visit is paid")
	})
}

// 9.99 three times at 8.25 %: 0.82 a line makes 2.46, on 29.97 it is 2.47 (SSUTA section 324 leaves the choice to the seller; published).
func TestBillTaxPerLineOrTotal(t *testing.T) {
	es := []Kept{made(t, 1, KindOpen, 0, Open{Number: "K", Complaint: "c"}), made(t, 2, KindCoverage, 0, Coverage{Kind: "customer-pays"})}
	for i := range 3 {
		es = append(es, made(t, 3+i, KindPart, 1+i, Part{Component: "gasket", Action: "fitted", Price: usd(999)}))
	}
	j := Fold(es)
	for per, want := range map[string]int64{"line": 246, "total": 247} {
		r := someRates(func(c *RateCard) { c.Parts = PartsRate{}; c.Tax.Per = per })
		assert.Equal(t, want, lineOf(t, BillOf(&j, r, CoverageOf(&j, nil)), "tax").Amount, per)
	}
}

func TestLabourCounted(t *testing.T) {
	up := LabourRate{Step: 15, StepRule: "up", Least: 30}
	near := LabourRate{Step: 15, StepRule: "nearest"}
	for minutes, want := range map[int][2]int{1: {30, 0}, 30: {30, 30}, 31: {45, 30}, 37: {45, 30}, 38: {45, 45}, 45: {45, 45}, 52: {60, 45}, 53: {60, 60}} { // by hand
		assert.Equal(t, want[0], up.Counted(minutes), "%d up", minutes)
		assert.Equal(t, want[1], near.Counted(minutes), "%d nearest", minutes)
	}
}

func TestBillStatedAmountsNeedNoRates(t *testing.T) {
	j := Fold([]Kept{
		made(t, 1, KindPart, 0, Part{Component: "gasket", Action: "replaced", Price: usd(6480)}),
		made(t, 2, KindLabour, 1, Labour{Minutes: 40, Amount: usd(11800)}),
		made(t, 3, KindTrip, 2, Trip{Amount: usd(3500)}),
		made(t, 4, KindLabour, 3, Labour{Minutes: 10}),
	})
	assert.Equal(t, Money{Minor: 21780, Currency: "USD"}, j.Total())
	mixed := Fold([]Kept{made(t, 1, KindTrip, 0, Trip{Amount: usd(100)}), made(t, 2, KindTrip, 1, Trip{Amount: &Money{Minor: 5, Currency: "EUR"}})})
	assert.True(t, mixed.Total().IsZero(), "no sum of two currencies")
	assert.NotEmpty(t, mixed.Bill().Problems)
}

// 77 min at 95.00 an hour are 121.91666…, by hand.
func TestBillDecimalsThatGoOn(t *testing.T) {
	j := workedJob(t, Coverage{})
	l := lineOf(t, BillOf(j, someRates(func(c *RateCard) { c.Labour.Step, c.Labour.Least = 0, 0 }), CoverageOf(j, nil)), "labour")
	assert.Equal(t, int64(12192), l.Amount)
	assert.Equal(t, "121.916666…", l.Exact)
}

func TestTripUnits(t *testing.T) { // 100 km at 0.725 a mile: 100 / 1.609344 = 62.13712 mi × 0.725 = 45.0494, by hand
	j := Fold([]Kept{made(t, 1, KindTrip, 0, Trip{Distance: "100", Unit: "km"}), made(t, 2, KindTrip, 1, Trip{Zone: "north"}), made(t, 3, KindTrip, 2, Trip{Zone: "moon"})})
	b := BillOf(&j, someRates(func(c *RateCard) { c.Trip.Base, c.Trip.Free = "", "" }), CoverageOf(&j, nil))
	assert.Equal(t, int64(4505), lineOf(t, b, "trip:"+string(testID(1))).Amount)
	assert.Equal(t, int64(4500), lineOf(t, b, "trip:"+string(testID(2))).Amount)
	require.Len(t, b.Problems, 1)
	assert.Contains(t, b.Problems[0], `zone "moon"`)
}

// Whatever is on the journal and on the rate card: for each line and in all, payer + customer + shop = amount, the lines add up, the
// payer is never asked for more than the limit or less than nothing, and an independent decimal library gets the same labour.
func TestBillAddsUp(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		c := Coverage{Kind: rapid.SampledFrom([]string{"maker-warranty", "service-contract", "customer-pays", ""}).Draw(rt, "kind"),
			LimitRule: rapid.SampledFrom([]string{"", "before-deductible"}).Draw(rt, "rule"), LabourMinutes: rapid.SampledFrom([]int{0, 20, 600}).Draw(rt, "allowance"), RepeatDays: rapid.SampledFrom([]int{0, 90}).Draw(rt, "repeat")}
		if rapid.Bool().Draw(rt, "term") {
			c.Start = "2025-06-01"
			c.Terms = []Term{{For: ClassWhole, Parts: rapid.IntRange(0, 20).Draw(rt, "p"), Labour: rapid.IntRange(0, 20).Draw(rt, "l")}, {For: "gasket", Parts: rapid.IntRange(0, 20).Draw(rt, "g")}}
		}
		for _, m := range []**Money{&c.Limit, &c.Deductible, &c.TotalLimit, &c.Spent} {
			if rapid.Bool().Draw(rt, "money") {
				*m = usd(rapid.Int64Range(0, 60000).Draw(rt, "minor"))
			}
		}
		es := []Kept{made(t, 1, KindOpen, 0, Open{Number: "K", Complaint: "c"}), made(t, 2, KindUnit, 0, Unit{Serial: "S"}), made(t, 3, KindCoverage, 0, c), made(t, 4, KindArrive, 1, Step{})}
		minutes, id := 0, 5
		for range rapid.IntRange(0, 6).Draw(rt, "entries") {
			var k Kind
			var body any
			switch rapid.IntRange(0, 3).Draw(rt, "what") {
			case 0:
				k, body = KindPart, Part{Component: rapid.SampledFrom([]string{"gasket", "belt"}).Draw(rt, "comp"), Action: "replaced",
					Quantity: rapid.IntRange(0, 9).Draw(rt, "n"), Price: usd(rapid.Int64Range(-500, 1e12).Draw(rt, "price"))}
			case 1:
				m := rapid.IntRange(1, 300).Draw(rt, "min")
				minutes += m
				k, body = KindLabour, Labour{Minutes: m}
			case 2:
				k, body = KindTrip, Trip{Distance: fmt.Sprintf("%d.%d", rapid.IntRange(0, 300).Draw(rt, "km"), rapid.IntRange(0, 9).Draw(rt, "tenth")), Unit: "km"}
			default:
				k, body = KindCause, Narrative{Component: "belt", Text: "torn"}
			}
			es = append(es, made(t, id, k, id, body))
			id++
		}
		j := Fold(es)
		perHour := fmt.Sprintf("%d.%02d", rapid.IntRange(0, 400).Draw(rt, "hour"), rapid.IntRange(0, 99).Draw(rt, "cents"))
		r := someRates(func(rc *RateCard) {
			rc.Labour = LabourRate{PerHour: perHour}
			rc.Rounding = rapid.SampledFrom([]Rounding{HalfUp, HalfEven}).Draw(rt, "rounding")
			rc.Tax.Per = rapid.SampledFrom([]string{"", "line", "total"}).Draw(rt, "per")
			rc.Tax.On = rapid.SliceOfNDistinct(rapid.SampledFrom(taxable), 1, 5, rapid.ID).Draw(rt, "on")
			rc.Tax.ExemptPayer = rapid.Bool().Draw(rt, "exempt")
		})
		require.Nil(rt, r.validate())
		b := BillOf(&j, r, CoverageOf(&j, []EarlierRepair{{Job: "x", Number: "K-0", Done: "2026-02-20", Component: "belt", UnitSerial: "S"}}))
		var total, payer, customer, shop int64
		ids := map[string]bool{}
		for _, l := range b.Lines {
			require.Equal(rt, l.Amount, l.Payer+l.Customer+l.Shop, "%+v", l)
			require.False(rt, ids[l.ID], "the id %s twice", l.ID)
			ids[l.ID] = true
			total, payer, customer, shop = total+l.Amount, payer+l.Payer, customer+l.Customer, shop+l.Shop
		}
		require.Equal(rt, []int64{total, payer, customer, shop}, []int64{b.Total, b.Payer, b.Customer, b.Shop})
		require.Equal(rt, b.Total, b.Payer+b.Customer+b.Shop)
		if c.Limit != nil && c.Kind != "customer-pays" {
			require.LessOrEqual(rt, b.Payer, c.Limit.Minor)
		}
		require.LessOrEqual(rt, b.Doubt, max(0, b.Payer))
		require.Equal(rt, BillOf(&j, Rates{}, CoverageOf(&j, nil)).Total, j.Total().Minor, "the short way gives the same")
		if minutes > 0 {
			mode := map[Rounding]apd.Rounder{HalfUp: apd.RoundHalfUp, HalfEven: apd.RoundHalfEven}[b.Rounding]
			ctx := apd.BaseContext.WithPrecision(60)
			ctx.Rounding = mode
			rate, _, err := apd.NewFromString(perHour)
			require.NoError(rt, err)
			var product, hours, rounded apd.Decimal
			_, err = ctx.Mul(&product, rate, apd.New(int64(minutes), 0))
			require.NoError(rt, err)
			_, err = ctx.Quo(&hours, &product, apd.New(60, 0))
			require.NoError(rt, err)
			_, err = ctx.Quantize(&rounded, &hours, -2)
			require.NoError(rt, err)
			require.Equal(rt, rounded.Text('f'), plainMinor(lineOf(t, b, "labour").Amount, "USD"))
		}
		raw, err := json.Marshal(b)
		require.NoError(rt, err)
		var back Bill
		require.NoError(rt, strict(raw, &back))
		require.Equal(rt, b, back)
	})
}

// The largest that validation lets through neither overflows nor is added up wrongly: it is said to be too much.
func TestBillTooMuch(t *testing.T) {
	var es []Kept
	for i := range 1200 {
		es = append(es, made(t, 1+i, KindPart, i, Part{Component: "gasket", Action: "replaced", Quantity: 10_000, Price: usd(1e12)}))
	}
	j := Fold(es)
	b := BillOf(&j, Rates{}, CoverageOf(&j, nil))
	assert.Empty(t, b.Lines)
	assert.NotEmpty(t, b.Problems)
	var many []Kept
	for i := range maxLines + 5 {
		many = append(many, made(t, 1+i, KindTrip, i, Trip{Amount: usd(1e12)}))
	}
	j = Fold(many)
	b = BillOf(&j, Rates{}, CoverageOf(&j, nil))
	assert.Empty(t, b.Lines, "2000 times 1e12 is above the bound")
	assert.True(t, j.Total().IsZero())
	raw, err := json.Marshal(b.short())
	require.NoError(t, err)
	assert.Less(t, len(raw), MaxEntry)
}

func BenchmarkBill(b *testing.B) {
	j := workedJob(b, Coverage{Deductible: usd(7500), Limit: usd(40000)})
	r := someRates()
	b.ReportAllocs()
	for b.Loop() {
		BillOf(j, r, CoverageOf(j, nil))
	}
}

func BenchmarkTotal(b *testing.B) {
	j := workedJob(b, Coverage{})
	b.ReportAllocs()
	for b.Loop() {
		j.Total()
	}
}
