package claims

import (
	"fmt"
	"math/big"
	"slices"
	"strings"
)

// BillOf draws up the bill of a job by the rates and the answer on coverage. It is pure, and total: what can't be priced is a
// problem on the bill. An amount that an entry states comes before the rates.
func BillOf(j *Job, r Rates, cover CoverageAnswer) Bill {
	b := biller{j: j, cover: cover}
	b.bill.On, _ = j.workDay()
	b.bill.Coverage, b.bill.Bearing, b.bill.Rounding = cover.Verdict, j.Bearing, HalfUp
	b.bill.Currency = j.Open.Currency
	if card, ok := r.On(b.bill.On, j.Coverage.Payer); ok && b.bill.On != "" {
		b.card, b.priced = card, true
		b.bill.Rates, b.bill.Rounding, b.bill.Currency = card.Name+" from "+string(card.From), card.Rounding, card.Currency
		b.bill.TaxOn = card.Tax.Per
	}
	b.lines()
	b.split()
	b.tax()
	b.shifts()
	b.sum()
	return b.bill
}

// statedBill has the amounts that the entries state, not split: all that Total needs, at a fraction of the work.
func statedBill(j *Job) Bill {
	b := biller{j: j, bill: Bill{Currency: j.Open.Currency, Rounding: HalfUp}}
	b.lines()
	b.sum()
	return b.bill
}

func (b *biller) lines() {
	for _, p := range b.j.Parts {
		b.part(p)
	}
	b.labour()
	b.diagnosis()
	for _, t := range b.j.Trips {
		b.trip(t)
	}
}

type biller struct {
	j      *Job
	card   RateCard
	priced bool
	cover  CoverageAnswer
	bill   Bill
}

func (b *biller) problem(format string, args ...any) {
	b.bill.Problems = append(b.bill.Problems, fmt.Sprintf(format, args...))
}

// stated takes an amount from an entry, when its currency is that of the bill.
func (b *biller) stated(m *Money, l BillLine, times int) {
	if b.bill.Currency == "" {
		b.bill.Currency = m.Currency
	}
	if m.Currency != b.bill.Currency {
		b.problem("%s: %s is not in the currency of the bill, %s. It is left out.", l.Says, m.Plain(), b.bill.Currency)
		b.bill.Mixed = true
		return
	}
	l.Amount = m.Minor * int64(times) // at most 1e12 times 1e4
	if l.Amount > maxMinor || l.Amount < -maxMinor {
		b.problem("%s: %s", l.Says, errTooMuch.Says)
		return
	}
	b.add(l)
}

// exact takes an amount in major units and rounds it once.
func (b *biller) exact(x *big.Rat, l BillLine) {
	n, err := b.bill.Rounding.minor(x, b.bill.Currency)
	if err != nil {
		b.problem("%s: %s", l.Says, err.Says)
		return
	}
	l.Amount = n
	if major(n, b.bill.Currency).Cmp(x) != 0 {
		l.Exact = decimals(x)
		l.Says += fmt.Sprintf(" = %s, rounded %s", l.Exact, b.bill.Rounding)
	}
	b.add(l)
}

// decimals writes x exactly, or with six digits cut off and … when its decimals go on.
func decimals(x *big.Rat) string {
	if s := plainDecimal(x); ratOf(s).Cmp(x) == 0 {
		return s
	}
	million := new(big.Int).Mul(x.Num(), tenTo(6))
	return new(big.Rat).SetFrac(million.Quo(million, x.Denom()), tenTo(6)).FloatString(6) + "…"
}

// maxLines bounds the bill; with maxMinor it keeps every sum far inside an int64.
const maxLines = 2000

func (b *biller) add(l BillLine) {
	if len(b.bill.Lines) == maxLines {
		b.problem("A bill has at most %d lines; the rest is left out.", maxLines)
	}
	if len(b.bill.Lines) < maxLines {
		b.bill.Lines = append(b.bill.Lines, l)
	}
}

func (b *biller) part(p Item[Part]) {
	if p.Body.Price == nil {
		if p.Body.Action != "removed" && b.priced {
			b.problem("The part no. %d (%s) has no price: enter it.", p.Number, spaced(p.Body.Component))
		}
		return
	}
	n := max(1, p.Body.Quantity)
	l := BillLine{ID: "part:" + string(p.Entry), Kind: "part", Component: p.Body.Component, Entries: some(p.Entry),
		Says: strings.TrimSpace(upper(spaced(p.Body.Component))+" "+p.Body.Number) + fmt.Sprintf(", %d × %s", n, p.Body.Price.Plain())}
	before := len(b.bill.Lines)
	b.stated(p.Body.Price, l, n)
	if !b.priced || b.card.Parts.HandlingPercent == "" || len(b.bill.Lines) == before {
		return
	}
	cost := major(b.bill.Lines[before].Amount, b.bill.Currency)
	fee := new(big.Rat).Mul(cost, new(big.Rat).Quo(ratOf(b.card.Parts.HandlingPercent), big.NewRat(100, 1)))
	says := fmt.Sprintf("Handling of part no. %d, %s %% of %s", p.Number, b.card.Parts.HandlingPercent, plainMinor(b.bill.Lines[before].Amount, b.bill.Currency))
	if most := ratOf(b.card.Parts.HandlingMost); b.card.Parts.HandlingMost != "" && fee.Cmp(most) > 0 {
		fee, says = most, says+", at most "+b.card.Parts.HandlingMost
	}
	b.exact(fee, BillLine{ID: "handling:" + string(p.Entry), Kind: "handling", Component: p.Body.Component, Says: says, Entries: some(p.Entry)})
}

// labour adds up the time of all entries without an amount or a flat rate of their own; rounding to steps is done once.
func (b *biller) labour() {
	minutes, by := 0, []EntryID(nil)
	for _, l := range b.j.Labour {
		of := BillLine{Kind: "labour", Entries: some(l.Entry)}
		switch flat, known := b.card.Flat[l.Body.Flat]; {
		case l.Body.Amount != nil:
			of.ID, of.Says = "labour:"+string(l.Entry), fmt.Sprintf("Labour no. %d, as entered", l.Number)
			if l.Body.Flat != "" {
				of.ID, of.Says = "flat:"+string(l.Entry), "Flat rate "+l.Body.Flat+", as entered"
			}
			b.stated(l.Body.Amount, of, 1)
		case l.Body.Flat != "" && known:
			of.ID, of.Says = "flat:"+string(l.Entry), "Flat rate "+l.Body.Flat+", "+flat
			b.exact(ratOf(flat), of)
		case l.Body.Flat != "" && l.Body.Minutes == 0:
			if b.priced {
				b.problem("The rate card has no price for the flat-rate job %q: add it, or enter the amount.", clip(l.Body.Flat))
			}
		default:
			minutes, by = minutes+l.Body.Minutes, append(by, l.Entry)
		}
	}
	if minutes == 0 || !b.priced {
		return
	}
	rate := b.card.Labour
	if rate.PerHour == "" {
		b.problem("The rate card has no price for an hour of labour: add it.")
		return
	}
	says := fmt.Sprintf("Labour, %d min", minutes)
	if counted := rate.Counted(minutes); counted != minutes {
		says += fmt.Sprintf(" counted as %d min", counted)
		minutes = counted
	}
	b.exact(new(big.Rat).Mul(ratOf(rate.PerHour), big.NewRat(int64(minutes), 60)),
		BillLine{ID: "labour", Kind: "labour", Says: says + fmt.Sprintf(" × %s an hour", rate.PerHour), Entries: by})
}

// Counted is the time that is charged for some minutes: at least Least, then a multiple of Step.
func (r LabourRate) Counted(minutes int) int {
	minutes = max(minutes, r.Least)
	if r.Step <= 1 {
		return minutes
	}
	if r.StepRule == "nearest" {
		return (2*minutes + r.Step) / (2 * r.Step) * r.Step
	}
	return (minutes + r.Step - 1) / r.Step * r.Step
}

func (b *biller) diagnosis() {
	if !b.priced || b.card.Diagnosis == "" || len(b.j.Causes) == 0 {
		return
	}
	fitted := slices.ContainsFunc(b.j.Parts, func(p Item[Part]) bool { return p.Body.Action != "removed" })
	if fitted && !b.card.DiagnosisWithRepair {
		return
	}
	var by []EntryID
	for _, c := range b.j.Causes {
		by = append(by, c.Entry)
	}
	b.exact(ratOf(b.card.Diagnosis), BillLine{ID: "diagnosis", Kind: "diagnosis", Says: "Diagnosis, " + b.card.Diagnosis, Entries: by})
}

// milePerKm is by the international mile, exact.
var milePerKm = big.NewRat(1_000_000, 1_609_344)

func (b *biller) trip(t Item[Trip]) {
	l := BillLine{ID: "trip:" + string(t.Entry), Kind: "trip", Entries: some(t.Entry)}
	r := b.card.Trip
	zone, known := r.Zones[t.Body.Zone]
	switch {
	case t.Body.Amount != nil:
		l.Says = fmt.Sprintf("Trip no. %d, as entered", t.Number)
		b.stated(t.Body.Amount, l, 1)
	case !b.priced:
	case t.Body.Zone != "" && known:
		l.Says = "Trip, zone " + t.Body.Zone + ", " + zone
		b.exact(ratOf(zone), l)
	case t.Body.Zone != "" && t.Body.Distance == "":
		b.problem("The rate card has no price for the zone %q: add it, or enter the distance.", clip(t.Body.Zone))
	case r.PerUnit == "" && r.Base == "":
		b.problem("The rate card has no price for a trip: add it.")
	default:
		l.Says = "Trip"
		sum := ratOf(r.Base)
		if r.Base != "" {
			l.Says += ", " + r.Base
		}
		if d := ratOf(t.Body.Distance); r.PerUnit != "" && d.Sign() > 0 {
			far := t.Body.Distance + " " + t.Body.Unit
			switch {
			case t.Body.Unit == "km" && r.Unit == "mi":
				d.Mul(d, milePerKm)
			case t.Body.Unit == "mi" && r.Unit == "km":
				d.Quo(d, milePerKm)
			}
			if r.Free != "" {
				far += " beyond " + r.Free + " " + r.Unit
				d.Sub(d, ratOf(r.Free))
			}
			if d.Sign() > 0 {
				sum = new(big.Rat).Add(sum, d.Mul(d, ratOf(r.PerUnit)))
			}
			l.Says += fmt.Sprintf(", %s × %s a %s", far, r.PerUnit, r.Unit)
		}
		b.exact(sum, l)
	}
}
