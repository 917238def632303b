package claims

import (
	"fmt"
	"math/big"
	"slices"
)

// split says who bears each line: the payer what the coverage covers and what is still open, the customer the rest, the shop
// a repair it has to repeat.
func (b *biller) split() {
	for i := range b.bill.Lines {
		l := &b.bill.Lines[i]
		t := b.termOf(l)
		switch {
		case b.j.Coverage.Kind == "customer-pays":
			l.Customer, l.Why = l.Amount, "the customer pays"
		case t.Verdict == Covered:
			l.Payer, l.Why = l.Amount, "covered"
		case t.Verdict == NotCovered && t.ByShop:
			l.Shop, l.Why = l.Amount, "a repeated repair, borne by the shop"
		case t.Verdict == NotCovered:
			l.Customer, l.Why = l.Amount, "not covered: "+t.Says
		default:
			l.Payer, l.Open, l.Why = l.Amount, true, "asked of the payer while coverage is open: "+t.Says
		}
	}
	b.allowance()
}

// termOf finds the answer for a line. Parts follow their component. Labour, diagnosis and trips serve the whole repair: they are
// covered when any component's labour is, else open when any is open.
func (b *biller) termOf(l *BillLine) CoverageTerm {
	if l.Component != "" {
		for _, c := range b.cover.Lines {
			if c.Component == l.Component {
				return c.Parts
			}
		}
		return CoverageTerm{Verdict: CannotSay, Says: "the component is not part of the answer on coverage"}
	}
	best := CoverageTerm{Verdict: CannotSay, Says: "nothing is known of the coverage"}
	rank := map[string]int{Covered: 3, CannotSay: 2, NotCovered: 1}
	for n, c := range b.cover.Lines {
		if n == 0 || rank[c.Labour.Verdict] > rank[best.Verdict] {
			best = c.Labour
		}
	}
	return best
}

// allowance moves labour above the payer's minutes to the shop: papers that cap the time seldom let the customer be charged
// for the rest (common practice, no source).
func (b *biller) allowance() {
	most := b.j.Coverage.LabourMinutes
	if most == 0 || b.j.Coverage.Kind == "customer-pays" {
		return
	}
	for i := range b.bill.Lines {
		l := &b.bill.Lines[i]
		if l.ID != "labour" || l.Payer == 0 {
			continue
		}
		allowed, err := b.bill.Rounding.minor(new(big.Rat).Mul(ratOf(b.card.Labour.PerHour), big.NewRat(int64(most), 60)), b.bill.Currency)
		if err != nil || l.Payer <= allowed {
			return
		}
		b.shift("allowance", fmt.Sprintf("The payer allows %d min of labour, %s", most, plainMinor(allowed, b.bill.Currency)), "the rest is borne by the shop",
			allowed-l.Payer, 0, l.Payer-allowed, some(b.j.Said["coverage.labourminutes"]))
		b.bill.Lines[len(b.bill.Lines)-1].Open = b.bill.Lines[i].Open
		return
	}
}

func (b *biller) shift(id, says, why string, payer, customer, shop int64, by []EntryID) {
	if payer == 0 && customer == 0 && shop == 0 {
		return
	}
	b.add(BillLine{ID: id, Kind: "shift", Says: says, Why: why, Payer: payer, Customer: customer, Shop: shop, Entries: by})
}

// tax puts a percentage on what payer and customer bear of the taxed lines, rounded on each line or once on the total.
func (b *biller) tax() {
	if !b.priced || b.card.Tax.Percent == "" {
		return
	}
	t := b.card.Tax
	if b.bill.TaxOn = t.Per; t.Per == "" {
		b.bill.TaxOn = "line"
	}
	rate := new(big.Rat).Quo(ratOf(t.Percent), big.NewRat(100, 1))
	out := BillLine{ID: "tax", Kind: "tax"}
	var payer, customer int64
	failed := false
	levy := func(p, c int64) {
		if t.ExemptPayer {
			p = 0
		}
		all, err := b.bill.Rounding.minor(new(big.Rat).Mul(major(p+c, b.bill.Currency), rate), b.bill.Currency)
		of, err2 := b.bill.Rounding.minor(new(big.Rat).Mul(major(p, b.bill.Currency), rate), b.bill.Currency)
		if failed = failed || err != nil || err2 != nil; failed {
			return
		}
		out.Payer, out.Customer = out.Payer+of, out.Customer+all-of
	}
	for _, l := range b.bill.Lines {
		taxed := slices.Contains(t.On, l.Kind)
		if l.ID == "allowance" && slices.Contains(t.On, "labour") {
			taxed = t.Per == "total" // per line it is taken off with the labour below
		}
		if !taxed {
			continue
		}
		p, c := l.Payer, l.Customer
		out.Open = out.Open || l.Open
		out.Entries = append(out.Entries, l.Entries...)
		if t.Per == "total" {
			payer, customer = payer+p, customer+c
			continue
		}
		if l.ID == "labour" {
			for _, s := range b.bill.Lines {
				if s.ID == "allowance" {
					p += s.Payer
				}
			}
		}
		levy(p, c)
	}
	if t.Per == "total" {
		levy(payer, customer)
	}
	if failed {
		b.problem("The tax is more than can be reckoned with.")
		return
	}
	if out.Amount = out.Payer + out.Customer; out.Amount == 0 {
		return
	}
	slices.Sort(out.Entries)
	out.Entries = slices.Compact(out.Entries)
	out.Says = fmt.Sprintf("Tax, %s %%, rounded %s on the %s", t.Percent, b.bill.Rounding, b.bill.TaxOn)
	out.Why = "follows the lines it is on"
	b.add(out)
}

// shifts takes the deductible and the limits off the payer's share, in the order that LimitRule names.
func (b *biller) shifts() {
	c := b.j.Coverage
	if c.Kind == "customer-pays" {
		return
	}
	if b.same(c.AuthoriseOver, "amount to be authorised") && c.Authorisation == "" && b.payer() > c.AuthoriseOver.Minor {
		b.problem("The payer is asked for %s; above %s the papers want an authorisation first. Call the payer and enter its number.",
			b.bill.Money(b.payer()).Plain(), c.AuthoriseOver.Plain())
	}
	if c.LimitRule == "before-deductible" {
		b.limits()
		b.deductible()
		return
	}
	b.deductible()
	b.limits()
}

func (b *biller) payer() int64 {
	var n int64
	for _, l := range b.bill.Lines {
		n += l.Payer
	}
	return n
}

// same reports whether an amount of the papers can be set against the bill.
func (b *biller) same(m *Money, what string) bool {
	if m == nil || len(b.bill.Lines) == 0 {
		return false
	}
	if m.Currency != b.bill.Currency {
		b.problem("The %s of the papers, %s, is not in the currency of the bill, %s. It is left out.", what, m.Plain(), b.bill.Currency)
		return false
	}
	return true
}

func (b *biller) deductible() {
	c := b.j.Coverage
	if b.same(c.Deductible, "deductible") {
		off := min(c.Deductible.Minor, b.payer())
		if off > 0 {
			b.shift("deductible", "Deductible of "+c.Deductible.Plain(), "the customer pays it", -off, off, 0, some(b.j.Said["coverage.deductible"]))
		}
	}
}

// limits moves what is above them to the customer (common practice, no source).
func (b *biller) limits() {
	c := b.j.Coverage
	if b.same(c.Limit, "limit") {
		if off := b.payer() - max(0, c.Limit.Minor); off > 0 {
			b.shift("limit", "The papers pay at most "+c.Limit.Plain()+" a claim", "the customer pays the rest", -off, off, 0, some(b.j.Said["coverage.limit"]))
		}
	}
	if !b.same(c.TotalLimit, "limit of all claims") {
		return
	}
	left, says := c.TotalLimit.Minor, "The papers pay at most "+c.TotalLimit.Plain()+" in all"
	if b.same(c.Spent, "amount used up") {
		left, says = left-c.Spent.Minor, says+", of which "+c.Spent.Plain()+" is used up"
	}
	if off := b.payer() - max(0, left); off > 0 {
		b.shift("total-limit", says, "the customer pays the rest", -off, off, 0, append(some(b.j.Said["coverage.totallimit"]), some(b.j.Said["coverage.spent"])...))
	}
}

// sum adds the lines up. Sums out of bounds empty the bill of its totals and say so.
func (b *biller) sum() {
	total := map[string]*big.Int{"total": {}, "payer": {}, "customer": {}, "shop": {}, "doubt": {}}
	for _, l := range b.bill.Lines {
		for name, n := range map[string]int64{"total": l.Amount, "payer": l.Payer, "customer": l.Customer, "shop": l.Shop} {
			total[name].Add(total[name], big.NewInt(n))
		}
		if l.Open {
			total["doubt"].Add(total["doubt"], big.NewInt(l.Payer))
		}
	}
	for _, n := range total {
		if new(big.Int).Abs(n).Cmp(big.NewInt(maxMinor)) > 0 {
			b.problem("%s", errTooMuch.Says)
			b.bill.Lines = nil
			return
		}
	}
	b.bill.Total, b.bill.Payer = total["total"].Int64(), total["payer"].Int64()
	b.bill.Customer, b.bill.Shop = total["customer"].Int64(), total["shop"].Int64()
	b.bill.Doubt = min(total["doubt"].Int64(), max(0, b.bill.Payer))
}
