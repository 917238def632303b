package bundle

import (
	"cmp"
	"fmt"
	"strconv"
	"strings"

	"kickplate/claims"
	"kickplate/rules"
)

// document is the claim for a reader. Page one answers a reviewer with two minutes; everything behind it is there to
// look things up.
func (pl *plan) document() *Document {
	if pl.view != nil {
		return pl.disputeDocument()
	}
	d := &Document{
		Title:    "Claim " + pl.number,
		Subtitle: unitTitle(&pl.job.Unit),
		Author:   pl.parcel.Shop.Name,
		Made:     pl.built,
		Letter:   pl.parcel.Shop.Country == "US" || pl.parcel.Shop.Country == "CA",
		Foot:     fmt.Sprintf("Claim %s · version %d · built %s by %s", pl.number, pl.parcel.Version, pl.built.Format("2006-01-02 15:04 UTC"), pl.parcel.Shop.Name),
	}
	for _, s := range []Section{
		pl.letter(), pl.summary(), pl.checklist(), pl.narrative(), pl.readings(), pl.conflicting(), pl.parts(), pl.amounts(), pl.coverage(), pl.history(),
		pl.arrivalDamage(), pl.signatures(),
		pl.photoSheets(), pl.journal(), pl.notInAccount(), pl.heldBack(), pl.custodyPage(),
	} {
		if len(s.Blocks) > 0 {
			s.Break = s.Break || len(d.Sections) == 1 && d.Sections[0].ID == "letter"
			d.Sections = append(d.Sections, s)
		}
	}
	return d
}

func (pl *plan) summary() Section {
	j := &pl.job
	pairs := Pairs{}
	add := func(label, value string) {
		if value != "" {
			pairs.Rows = append(pairs.Rows, Pair{Label: label, Value: value})
		}
	}
	add("Claim no.", pl.number)
	if pl.number != j.Open.Number {
		add("Job no.", j.Open.Number)
	}
	add("Payer", strings.Join(nonEmpty(j.Coverage.Payer, title(rules.CoverageKinds(), j.Coverage.Kind)), ", "))
	add("Authorisation", j.Coverage.Authorisation)
	add("Shop", strings.Join(nonEmpty(pl.parcel.Shop.Name, pl.parcel.Shop.Contact), ", "))
	add("Technician", j.Open.Technician)
	if pl.hold.hold.Customer {
		add("Customer", heldMark)
	} else {
		add("Customer", strings.Join(nonEmpty(j.Customer.Name, j.Site.Address), ", "))
	}
	add("Unit", strings.Join(nonEmpty(title(rules.UnitKinds(), j.Unit.Kind), j.Unit.Maker), ", "))
	add("Model", j.Unit.Model)
	add("Serial", j.Unit.Serial)
	if j.Unit.Unreadable != "" {
		add("Plate", "can't be read: "+j.Unit.Unreadable)
	}
	add("Manufactured", j.Unit.Manufactured)
	add("Purchased", j.Coverage.Purchased)
	add("Installed", j.Coverage.Installed)
	add("Coverage", pl.coverageWords())
	add("Visits", pl.visitWords())
	if s := pl.firstOf("rating-plate"); s != nil {
		p := pl.picture(s)
		p.Lines = nil
		pairs.Picture = &p
	}
	result := Text{Good, fmt.Sprintf("Checklist: complete. %s. Pack %s %s.", pl.countWords(), pl.report.Title, pl.report.Version)}
	if !pl.report.Complete {
		result = Text{Bad, fmt.Sprintf("Checklist: not complete. %s. Pack %s %s.", pl.countWords(), pl.report.Title, pl.report.Version)}
	}
	if pl.report.Pack == "" {
		result = Text{Warn, "Checklist: this claim was not checked against a rule pack."}
	}
	blocks := []Block{pairs, result}
	for _, f := range pl.report.Findings {
		if f.Open() && f.Severity == rules.Required {
			w, tone := outcomeWord(f.Outcome)
			blocks = append(blocks, Text{tone, clip("• "+f.Title+" ("+w+"): "+f.Sentence, 300)})
		}
		if len(blocks) > 8 {
			blocks = append(blocks, Text{Quiet, "More in the checklist."})
			break
		}
	}
	blocks = append(blocks, Text{Head, "Complaint"}, Text{Plain, clip(cmp.Or(j.Open.Complaint, "not recorded"), 500)})
	blocks = append(blocks, Text{Head, "Cause"}, Text{Plain, clip(cmp.Or(narratives(j.Causes), "not recorded"), 500)})
	blocks = append(blocks, Text{Head, "Correction"}, Text{Plain, clip(cmp.Or(narratives(j.Corrections), "not recorded"), 500)})
	if parts := pl.partWords(); parts != "" {
		blocks = append(blocks, Text{Head, "Parts"}, Text{Plain, clip(parts, 400)})
	}
	if sum := pl.amountWords(); sum != "" {
		blocks = append(blocks, Text{Head, "Amounts"}, Text{Plain, sum})
	}
	for _, w := range pl.doubtWords() {
		blocks = append(blocks, Text{Warn, clip(w, 300)})
	}
	if pl.stated() {
		word, tone := verdictWord(pl.cover.Verdict)
		blocks = append(blocks, Text{Head, "Coverage"}, Text{tone, "By the papers' terms as entered: " + word + "."}, Text{Plain, clip(pl.cover.Says, 400)})
	}
	if w := pl.conflictWords(); w != "" {
		blocks = append(blocks, Text{Warn, clip(w, 300)})
	}
	if key := pl.keyPhotos(); key != "" {
		blocks = append(blocks, Text{Head, "Where to look"}, Text{Plain, key})
	}
	if pl.hold.any() {
		blocks = append(blocks, Text{Warn, "Held back in this bundle: " + heldWords(pl) + ". See the list below."})
	}
	if n := len(j.Problems) + len(j.Unknown); n > 0 {
		blocks = append(blocks, Text{Warn, fmt.Sprintf("Not everything in the journal could be read or fits together (%d); see below.", n)})
	}
	return Section{ID: "summary", Title: "Summary", Blocks: blocks}
}

func (pl *plan) coverageWords() string {
	c := &pl.job.Coverage
	var out []string
	if c.Start != "" {
		out = append(out, "from "+c.Start)
	}
	if c.StartEvent != "" {
		out = append(out, "starts with "+c.StartEvent)
	}
	if c.TermMonths > 0 {
		out = append(out, plural(c.TermMonths, "month"))
	}
	if end := pl.parcel.Facts.Dates["coverage.end"]; end != "" {
		out = append(out, "until "+end)
	}
	return strings.Join(out, ", ")
}

func (pl *plan) visitWords() string {
	var out []string
	for _, v := range pl.job.Visits {
		from, to := "?", "?"
		if v.Arrived != nil {
			from = cmp.Or(said(v.Arrived.Body.When), minute(v.Arrived.At))
		}
		if v.Left != nil {
			to = cmp.Or(said(v.Left.Body.When), minute(v.Left.At))
		}
		out = append(out, from+" to "+to)
	}
	return strings.Join(out, "; ")
}

func (pl *plan) countWords() string {
	c := pl.report.Counts
	var out []string
	for _, x := range []struct {
		n    int
		word string
	}{{c.Met, "met"}, {c.Gap, "missing"}, {c.Doubt, "in doubt"}, {c.Waived, "waived"}, {c.NotNeeded, "not needed"}} {
		if x.n > 0 {
			out = append(out, strconv.Itoa(x.n)+" "+x.word)
		}
	}
	return strings.Join(out, ", ")
}

func narratives(list []claims.Item[claims.Narrative]) string {
	var out []string
	for _, n := range list {
		t := n.Body.Text
		if n.Body.Component != "" {
			t = componentTitle(n.Body.Component) + ": " + t
		}
		out = append(out, t)
	}
	return strings.Join(out, "\n")
}

func (pl *plan) partWords() string {
	var out []string
	for _, p := range pl.job.Parts {
		b := &p.Body
		words := strings.Join(nonEmpty(componentTitle(b.Component)+" "+b.Action, b.Number, b.Description), ", ")
		if n := b.Quantity; n > 1 {
			words += " × " + strconv.Itoa(n)
		}
		if b.Price != nil {
			words += ", " + amount(b.Price)
		}
		out = append(out, words)
	}
	return strings.Join(out, "; ")
}

// keyPhotos says under which numbers the reviewer finds what every reviewer looks for.
func (pl *plan) keyPhotos() string {
	var out []string
	for _, subject := range reviewOrder()[:9] {
		var ids []claims.EntryID
		for _, s := range pl.shots {
			if s.Body.Subject == subject {
				ids = append(ids, s.Entry)
			}
		}
		if len(ids) > 0 {
			out = append(out, subjectTitle(subject)+": "+pl.photoNumbers(ids...))
		}
	}
	return strings.Join(out, "; ")
}

func (pl *plan) firstOf(subject string) *shot {
	for _, s := range pl.shots {
		if s.Body.Subject == subject && s.thumb != "" {
			return s
		}
	}
	return nil
}

func (pl *plan) narrative() Section {
	j := &pl.job
	var b []Block
	add := func(head, text string) {
		if text != "" {
			b = append(b, Text{Head, head}, Text{Plain, text})
		}
	}
	add("Complaint, in the customer's words", j.Open.Complaint)
	add("Cause", withWho(pl, j.Causes))
	add("Correction", withWho(pl, j.Corrections))
	for _, n := range j.Notes {
		add("Note by "+n.By+", "+minute(n.At), strings.Join(nonEmpty(n.Body.Text, pl.photoNumbers(n.Body.Photos...), corrected(n.Corrected)), "\n"))
	}
	return Section{ID: "narrative", Title: "Complaint, cause, correction", Blocks: b}
}

func entryTexts(ids []claims.EntryID) []string {
	out := make([]string, len(ids))
	for i, id := range ids {
		out[i] = string(id)
	}
	return out
}

func withWho(pl *plan, list []claims.Item[claims.Narrative]) string {
	var out []string
	for _, n := range list {
		head := strings.Join(nonEmpty(componentTitle(n.Body.Component), n.Body.Text), ": ")
		out = append(out, strings.Join(nonEmpty(head, "("+n.By+", "+minute(n.At)+ifNot(", ", pl.evidenceWords(entryTexts(n.Body.Evidence)))+ifNot(", ", corrected(n.Corrected))+")"), "\n"))
	}
	return strings.Join(out, "\n")
}
