package claims

import (
	"slices"
	"strings"
	"time"
	"unicode"

	"kickplate/rules"
)

// card makes the projection of a job that lists and searches use.
func (s *Service) card(j *Job) (Card, error) {
	c := Card{
		Job: j.ID, Number: j.Open.Number, Customer: j.Customer.Name, Place: j.Site.Address, UnitKind: j.Unit.Kind, Maker: j.Unit.Maker,
		Model: j.Unit.Model, Serial: j.Unit.Serial, Payer: j.Coverage.Payer, Stage: j.Stage(), Appointment: j.Open.Appointment, Opened: j.Opened, Changed: j.Changed,
		Photos: len(j.Photos), Keys: map[string][]string{}, Gaps: -1,
	}
	if c.Stage == StageErased {
		return erasedCard(j), nil
	}
	if pack, err := s.PackFor(*j); err == nil {
		facts := FactsOf(j, pack.Pack(), s.Now())
		report := rules.Check(pack, &facts)
		c.Gaps, c.Doubts = report.Counts.Gap, report.Counts.Doubt
		c.Pack, c.Missing = pack.Pack().ID, missing(j, &report)
	}
	if c.Dues = j.dues(); len(c.Dues) > 0 {
		c.Due, c.DueWhat = c.Dues[0].At, c.Dues[0].What
	}
	if c.Stage == "gathering" && c.Gaps == 0 {
		c.Stage = "complete"
	}
	if bill := j.Bill(); !bill.Mixed {
		c.Amount, c.Stake = bill.Asked(), stake(j, bill)
	}
	c.State, c.Since, c.Technician, c.Reasons = boardState(c.Stage), j.owedSince(), j.technician(), j.refusedFor()
	key := func(name, value string) {
		if v := FoldKey(value); v != "" && !slices.Contains(c.Keys[name], v) {
			c.Keys[name] = append(c.Keys[name], v)
		}
	}
	key("number", j.Open.Number)
	key("serial", j.Unit.Serial)
	key("model", j.Unit.Model)
	key("stage", c.Stage)
	if len(c.Appointment) >= len(time.DateOnly) { // a moment is written with the day where the work is
		key("day", c.Appointment[:len(time.DateOnly)])
	}
	states := []string{c.State}
	if c.State != "settled" {
		states = append(states, "open")
	}
	for _, state := range states {
		key("state", state)
		if len(c.Dues) == 0 {
			key("undated", state)
		}
	}
	for _, d := range c.Dues {
		key("due", d.Code)
	}
	key("claim", j.Coverage.Number)
	for _, mark := range j.Customer.Marks() {
		key("customer", mark)
	}
	for _, d := range j.others {
		key("other-original", string(d))
	}
	for _, p := range j.Parts {
		key("part", p.Body.Number)
		key("serial", p.Body.Serial)
	}
	for _, p := range j.Photos {
		key("digest", string(p.Body.Digest))
		if f, ok := j.Facts[p.Body.Digest]; ok {
			if print, ok := printOf(f); ok {
				c.Prints = append(c.Prints, PhotoPrint{Digest: p.Body.Digest, Print: print})
			}
		}
	}
	words := []string{c.Number, c.Customer, c.Place, c.UnitKind, c.Maker, c.Model, c.Serial, c.Payer, j.Coverage.Number, j.Open.Complaint}
	for _, p := range j.Parts {
		words = append(words, p.Body.Number, p.Body.Component, p.Body.Serial, p.Body.OldSerial, p.Body.Invoice)
	}
	words = append(words, j.Coverage.Authorisation, j.Customer.Phone, c.Technician)
	for _, r := range j.PartReturns {
		words = append(words, r.Body.Tracking)
	}
	for _, p := range j.Payments {
		words = append(words, p.Body.Reference)
	}
	for _, list := range [][]Item[Narrative]{j.Causes, j.Corrections} {
		for _, n := range list {
			words = append(words, n.Body.Text)
		}
	}
	for _, n := range j.Notes {
		words = append(words, n.Body.Text)
	}
	for _, a := range j.Answers {
		words = append(words, a.Body.Words)
	}
	c.Words = wordsOf(words)
	return c, nil
}

// StageErased is the stage of a job whose content was erased.
const StageErased = "erased"

// erasedCard is what lists show of an erased job: that there was one, and when.
func erasedCard(j *Job) Card {
	c := Card{Job: j.ID, Number: j.Open.Number, Stage: StageErased, Opened: j.Opened, Changed: j.Changed, Gaps: -1, Keys: map[string][]string{"stage": {StageErased}}}
	if v := FoldKey(c.Number); v != "" {
		c.Keys["number"] = []string{v}
	}
	c.Words = wordsOf([]string{c.Number})
	return c
}

// FoldKey normalises a serial, model or part number for exact look-up: lower case, without spaces, dashes, dots and slashes.
func FoldKey(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) || strings.ContainsRune("-./_", r) {
			return -1
		}
		return unicode.ToLower(r)
	}, s)
}

// maxWords bounds what one job puts into the word index: names and numbers come first, then what was written, in the order of the account.
const maxWords = 120

// wordsOf splits texts into distinct lower-case words, sorted; of more than maxWords the first ones.
func wordsOf(texts []string) []string {
	var words []string
	seen := map[string]bool{}
	for _, t := range texts {
		for _, w := range strings.FieldsFunc(strings.ToLower(t), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }) {
			if len(w) >= 2 && len(w) <= 40 && len(words) < maxWords && !seen[w] {
				seen[w] = true
				words = append(words, w)
			}
		}
	}
	slices.Sort(words)
	return words
}

// WordsOf splits what somebody typed into a search field the way a card's words are split.
func WordsOf(typed string) []string { return wordsOf([]string{typed}) }
