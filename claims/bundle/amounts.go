package bundle

import (
	"encoding/json"
	"fmt"
	"reflect"
	"strings"

	"kickplate/claims"
	"kickplate/rules"
)

// answered is the answer on coverage without what is held back. A parcel without one gets the answer that the job alone gives.
func (pl *plan) answered() (claims.CoverageAnswer, error) {
	given := pl.parcel.Coverage
	if given.Verdict == "" {
		given = claims.CoverageOf(&pl.job, nil)
	}
	raw, err := json.Marshal(given)
	if err != nil {
		return claims.CoverageAnswer{}, fmt.Errorf("copy the answer on coverage: %w", err)
	}
	var c claims.CoverageAnswer
	if err := json.Unmarshal(raw, &c); err != nil {
		return claims.CoverageAnswer{}, fmt.Errorf("copy the answer on coverage: %w", err)
	}
	pl.hold.walk(reflect.ValueOf(&c).Elem())
	return c, nil
}

// minor writes an amount of the bill without its currency.
func (pl *plan) minor(n int64) string {
	s, _, _ := strings.Cut(pl.bill.Money(n).Plain(), " ")
	return s
}

// share leaves nought away, so that a column shows who bears something.
func (pl *plan) share(n int64) Cell {
	if n == 0 {
		return Cell{Right: true}
	}
	return Cell{Text: pl.minor(n), Right: true}
}

// amountWords sums the bill up for page one.
func (pl *plan) amountWords() string {
	b := &pl.bill
	if len(b.Lines) == 0 {
		return ""
	}
	sums := map[string]int64{}
	for _, l := range b.Lines {
		sums[l.Kind] += l.Amount
	}
	var out []string
	for _, k := range []struct{ kind, name string }{{"part", "parts"}, {"handling", "handling"}, {"labour", "labour"}, {"diagnosis", "diagnosis"}, {"trip", "trips"}, {"tax", "tax"}} {
		if n := sums[k.kind]; n != 0 {
			out = append(out, k.name+" "+b.Money(n).Plain())
		}
	}
	return fmt.Sprintf("%s; together %s\nPayer %s, customer %s, shop %s", strings.Join(out, ", "), b.Money(b.Total).Plain(), b.Money(b.Payer).Plain(), b.Money(b.Customer).Plain(), b.Money(b.Shop).Plain())
}

// doubtWords is what a reader of the amounts must know beside them.
func (pl *plan) doubtWords() []string {
	var out []string
	if pl.bill.Doubt != 0 {
		out = append(out, fmt.Sprintf("Of the payer's share, %s hangs on a question about coverage that is still open.", pl.bill.Money(pl.bill.Doubt).Plain()))
	}
	return append(out, pl.bill.Problems...)
}

// amounts is the bill, line by line: how each amount came about, on which entries it stands, and who bears it.
func (pl *plan) amounts() Section {
	b := &pl.bill
	if len(b.Lines) == 0 && len(b.Problems) == 0 {
		return Section{}
	}
	how := "By the amounts that the entries state"
	if b.Rates != "" {
		how = "By the shop's rates “" + b.Rates + "”"
	}
	if b.On != "" {
		how += ", for work of " + string(b.On)
	}
	if b.Currency != "" {
		how += ", in " + b.Currency
	}
	how += ". Halves of the smallest unit are rounded " + map[claims.Rounding]string{claims.HalfUp: "up", claims.HalfEven: "to the even neighbour"}[b.Rounding] + "."
	if b.TaxOn != "" {
		how += " Tax is rounded on each " + b.TaxOn + "."
	}
	t := Table{Head: []string{"Line", "Stands on", "Amount", "Payer", "Customer", "Shop"}, Widths: []float64{42, 20, 10, 10, 10, 8}}
	for _, l := range b.Lines {
		amount := Cell{Text: pl.minor(l.Amount), Right: true}
		if l.Kind == "shift" {
			amount.Text = ""
		}
		t.Rows = append(t.Rows, []Cell{{Text: strings.Join(nonEmpty(l.Says, l.Why), "\n")}, {Text: pl.evidenceWords(entryTexts(l.Entries))}, amount, pl.share(l.Payer), pl.share(l.Customer), pl.share(l.Shop)})
	}
	t.Rows = append(t.Rows, []Cell{{Text: "Together"}, {}, {Text: pl.minor(b.Total), Right: true}, {Text: pl.minor(b.Payer), Right: true}, {Text: pl.minor(b.Customer), Right: true}, {Text: pl.minor(b.Shop), Right: true}})
	blocks := []Block{Text{Quiet, how}, t}
	for _, w := range pl.doubtWords() {
		blocks = append(blocks, Text{Warn, w})
	}
	return Section{ID: "amounts", Title: "Amounts", Blocks: blocks}
}

func verdictWord(verdict string) (string, Tone) {
	switch verdict {
	case claims.Covered:
		return "covered", Good
	case claims.Partly:
		return "partly covered", Warn
	case claims.NotCovered:
		return "not covered", Bad
	}
	return "can't be said yet", Warn
}

// stated reports whether anything about coverage is on record; without it there is nothing to answer.
func (pl *plan) stated() bool { return !reflect.DeepEqual(pl.job.Coverage, claims.Coverage{}) }

// coverage shows the answer on coverage with its reasons and the rule by which terms were counted.
func (pl *plan) coverage() Section {
	if !pl.stated() {
		return Section{}
	}
	c := &pl.cover
	word, tone := verdictWord(c.Verdict)
	blocks := []Block{Text{tone, "By the papers' terms as entered: " + word + "."}, Text{Plain, c.Says}}
	if c.Boundary {
		blocks = append(blocks, Text{Warn, "The answer hangs on one day: look at the terms."})
	}
	pairs := Pairs{Rows: []Pair{{Label: "Rule", Value: c.Rule}}}
	for _, d := range c.On {
		pairs.Rows = append(pairs.Rows, Pair{Label: "Day " + d.What, Value: strings.Join(nonEmpty(string(d.Day), ifNot("by ", pl.evidenceWords(entryTexts([]claims.EntryID{d.Entry})))), ", ")})
	}
	for _, s := range c.Starts {
		shown := pl.evidenceWords(entryTexts(append([]claims.EntryID{s.Entry}, s.Proof...)))
		pairs.Rows = append(pairs.Rows, Pair{Label: "Term", Value: strings.Join(nonEmpty(s.Says, shown), ": ")})
	}
	blocks = append(blocks, pairs)
	t := Table{Head: []string{"Component", "Parts", "Labour", "Stands on"}, Widths: []float64{18, 33, 33, 16}}
	for _, l := range c.Lines {
		t.Rows = append(t.Rows, []Cell{{Text: title(rules.Components(), l.Component)}, termCell(l.Parts), termCell(l.Labour), {Text: pl.evidenceWords(entryTexts(l.Entries))}})
	}
	if len(t.Rows) > 0 {
		blocks = append(blocks, t)
	}
	for _, e := range c.Exclusions {
		blocks = append(blocks, Text{Warn, strings.Join(nonEmpty(e.Says, e.Settles), " ") + ifNot(" See ", pl.evidenceWords(entryTexts(e.Entries)))})
	}
	for _, r := range c.Repeats {
		blocks = append(blocks, Text{Warn, r.Says})
	}
	for i, s := range c.Changes {
		if i == 0 {
			blocks = append(blocks, Text{Head, "What would change the answer"})
		}
		blocks = append(blocks, Text{Plain, "• " + s})
	}
	blocks = append(blocks, Text{Quiet, "An account of the dates and terms as entered, not legal advice."})
	return Section{ID: "coverage", Title: "Coverage", Blocks: blocks}
}

func termCell(t claims.CoverageTerm) Cell {
	word, tone := verdictWord(t.Verdict)
	text := word
	if t.ByShop {
		text += ", borne by the shop"
	}
	text += ifNot(": ", t.Says)
	if t.Boundary {
		text += " This hangs on one day."
	}
	if tone == Good {
		tone = Plain // the verdict above has the colour
	}
	return Cell{Text: text, Tone: tone}
}
