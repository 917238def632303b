package bundle

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"kickplate/claims"
	"kickplate/claims/dispute"
	"kickplate/rules"
)

// disputeDocument is the answer to allegations for a reader: the letter, what the entries show for and against the shop, in what order things
// happened, the condition record, the exhibits, and how to check all of it.
func (pl *plan) disputeDocument() *Document {
	d := &Document{
		Title:    "Dispute file " + pl.number,
		Subtitle: unitTitle(&pl.job.Unit),
		Author:   pl.parcel.Shop.Name,
		Made:     pl.built,
		Letter:   pl.parcel.Shop.Country == "US" || pl.parcel.Shop.Country == "CA",
		Foot:     fmt.Sprintf("Dispute file %s · version %d · built %s by %s", pl.number, pl.parcel.Version, pl.built.Format("2006-01-02 15:04 UTC"), pl.parcel.Shop.Name),
	}
	for _, s := range []Section{
		pl.responseLetter(), pl.disputeSummary(), pl.findings(), pl.orderOfEvents(), pl.conditionRecord(), pl.beforeWork(), pl.statements(), pl.settling(), pl.workDone(),
		pl.readings(), pl.includedClaim(), pl.coverage(), pl.history(), pl.signatures(), pl.exhibitSheets(), pl.journal(), pl.notInAccount(), pl.heldBack(), pl.custodyPage(), pl.certification(),
	} {
		if len(s.Blocks) > 0 {
			s.Break = s.Break || len(d.Sections) == 1 && d.Sections[0].ID == "letter"
			d.Sections = append(d.Sections, s)
		}
	}
	return d
}

// responseLetter is the first page. The exhibits it names are the photos of this file by their numbers.
func (pl *plan) responseLetter() Section {
	r := pl.response()
	if r == nil {
		return Section{}
	}
	from := strings.Join(nonEmpty(pl.parcel.Shop.Name, pl.parcel.Shop.Address, pl.parcel.Shop.Contact), "\n")
	blocks := []Block{Text{Quiet, from}}
	for _, par := range strings.Split(strings.TrimSpace(r.Body.Letter), "\n\n") {
		blocks = append(blocks, Text{Plain, par})
	}
	blocks = append(blocks, Text{Quiet, r.By + ", " + minute(r.At) + ifNot("; sent: ", r.Body.Sent)})
	return Section{ID: "letter", Title: "Letter", Blocks: blocks}
}

func (pl *plan) disputeSummary() Section {
	j := &pl.job
	pairs := Pairs{}
	add := func(label, value string) {
		if value != "" {
			pairs.Rows = append(pairs.Rows, Pair{Label: label, Value: value})
		}
	}
	add("Job no.", j.Open.Number)
	add("Shop", strings.Join(nonEmpty(pl.parcel.Shop.Name, pl.parcel.Shop.Contact), ", "))
	add("Technician", j.Open.Technician)
	add("Customer", strings.Join(nonEmpty(j.Customer.Name, j.Site.Address), ", "))
	add("Unit", unitTitle(&j.Unit))
	add("Visits", pl.visitWords())
	add("Before, after", pl.view.Work.Says)
	t := Table{Head: []string{"Allegation", "What the entries show"}, Widths: []float64{50, 50}}
	for _, a := range pl.view.Allegations {
		what := placeAndKind(a)
		t.Rows = append(t.Rows, []Cell{{Text: what + "\n“" + clip(a.Words, 300) + "”"}, {Text: a.Finding.Title + ". " + a.Finding.Says}})
	}
	return Section{ID: "summary", Title: "At a glance", Blocks: []Block{pairs, t,
		Text{Quiet, "The findings follow from the entries by stated rules, without scores. They say what was recorded and when; they do not say who caused anything. What speaks against the shop stands with each."},
		Text{Warn, "Not in this file: " + pl.leftWords() + ". What is left out is listed with its place in the log."}}}
}

// placeAndKind names an allegation: the place, and what is said to be wrong with it.
func placeAndKind(a dispute.Allegation) string {
	return upper(title(rules.Areas(), a.Area)) + ifNot(": ", strings.ToLower(title(rules.DamageKinds(), a.Kind)))
}

func (pl *plan) findings() Section {
	var blocks []Block
	for i, a := range pl.view.Allegations {
		blocks = append(blocks, Text{Head, fmt.Sprintf("%d. %s", i+1, placeAndKind(a))})
		said := Pairs{}
		add := func(label, value string) {
			if value != "" {
				said.Rows = append(said.Rows, Pair{Label: label, Value: value})
			}
		}
		add("Said", "“"+a.Words+"”")
		add("By", a.By)
		add("Came", strings.Join(nonEmpty(cmp.Or(a.Came, minute(a.At)), a.How), ", "))
		add("Since", a.Since)
		add("Amount", amount(a.Amount))
		add("Wants", a.Wants)
		add("Answer by", a.ReplyBy)
		blocks = append(blocks, said, Text{Head, a.Finding.Title}, Text{Plain, a.Finding.Says})
		list := func(label string, points []dispute.Point) {
			if len(points) == 0 {
				return
			}
			t := Table{Head: []string{label, "Exhibits, entries"}, Widths: []float64{76, 24}}
			for _, p := range points {
				t.Rows = append(t.Rows, []Cell{{Text: p.Says}, {Text: pl.where(p.Entries)}})
			}
			blocks = append(blocks, t)
		}
		list("What leads to it", a.Finding.For)
		list("What speaks against the shop", a.Finding.Against)
		if len(a.Finding.Missing) > 0 {
			blocks = append(blocks, Text{Plain, "Missing: " + strings.Join(a.Finding.Missing, " ")})
		}
		shots := Pairs{}
		for _, x := range []struct {
			label string
			list  []dispute.PlacePhoto
		}{{"Before work", a.Before}, {"After it began", a.After}, {"Can't be told", a.Unplaced}, {"Received", a.Theirs}} {
			if len(x.list) > 0 {
				var ids []claims.EntryID
				for _, p := range x.list {
					ids = append(ids, p.Entry)
				}
				shots.Rows = append(shots.Rows, Pair{Label: x.label, Value: pl.where(ids)})
			}
		}
		if len(shots.Rows) > 0 {
			blocks = append(blocks, Text{Head, "Pictures of this place"}, shots)
		}
		blocks = append(blocks, pl.sideBySide(a)...)
	}
	return Section{ID: "findings", Title: "What the entries show", Blocks: blocks}
}

// sideBySide shows the best pair of pictures from before and after.
func (pl *plan) sideBySide(a dispute.Allegation) []Block {
	if len(a.Pairs) == 0 {
		return nil
	}
	before, after := pl.byEntry[a.Pairs[0].Before], pl.byEntry[a.Pairs[0].After]
	if before == nil || after == nil {
		return nil
	}
	return []Block{Pictures{Items: []Picture{pl.small(before, "Before work began"), pl.small(after, "After it began, "+a.Pairs[0].Why)}}}
}

// small is a picture with one line in front of its first two.
func (pl *plan) small(s *shot, says string) Picture {
	p := pl.picture(s)
	p.Lines = append([]Pair{{Value: says}}, p.Lines[:min(len(p.Lines), 2)]...)
	return p
}

// where names entries: exhibits by their number, others by their number in the account.
func (pl *plan) where(ids []claims.EntryID) string {
	var shots, others []string
	for _, id := range ids {
		if s := pl.byEntry[id]; s != nil {
			shots = append(shots, fmt.Sprint(s.no))
		} else if n := pl.numbers[id]; n > 0 {
			others = append(others, fmt.Sprintf("no. %d", n))
		}
	}
	word := "exhibit "
	if len(shots) > 1 {
		word = "exhibits "
	}
	return strings.Join(nonEmpty(ifNot(word, strings.Join(shots, ", ")), strings.Join(others, ", ")), "; ")
}

// orderOfEvents is the drawing, and the same in words.
func (pl *plan) orderOfEvents() Section {
	t := Table{Head: []string{"When", "What", "Exhibits, entries"}, Widths: []float64{24, 54, 22}}
	for _, e := range pl.view.Timeline {
		tone := Plain
		if e.Bad {
			tone = Warn
		}
		t.Rows = append(t.Rows, []Cell{{Text: minute(e.At)}, {Text: e.Says, Tone: tone}, {Text: pl.where(e.Entries)}})
	}
	blocks := []Block{Text{Plain, pl.view.Work.Says}, newDrawing(dispute.Timeline(*pl.view), "timeline"),
		Text{Quiet, "Times are by the devices' clocks as corrected against the server. A filled mark is from before the first work, a hollow one from after it; a hollow square is a signature that was declined or could not be had. The numbers are those of the exhibits."}}
	if len(t.Rows) > 0 {
		blocks = append(blocks, t)
	}
	return Section{ID: "timeline", Title: "Timeline", Blocks: blocks}
}

func (pl *plan) conditionRecord() Section {
	t := Table{Head: []string{"Where and what", "Seen", "Before work?", "Said, signed", "Exhibits"}, Widths: []float64{32, 14, 26, 18, 10}}
	for _, c := range pl.view.Condition {
		var signed []string
		for _, id := range c.Signed {
			for i := range pl.job.Acks {
				if a := &pl.job.Acks[i]; a.Entry == id {
					signed = append(signed, strings.Join(nonEmpty(title(rules.AckOutcomes(), a.Body.Outcome), a.Body.Name), ", "))
				}
			}
		}
		said := ""
		if c.Said != "" {
			said = cmp.Or(c.SaidBy, "somebody") + ": “" + c.Said + "”"
		}
		bears := map[string]string{"yes": "Bears on coverage.", "no": "Does not bear on coverage.", "unknown": "Whether it bears on coverage is not known."}[c.Bears]
		tone := Plain
		if c.Doubt != "" {
			tone = Warn
		}
		place := fmt.Sprintf("No. %d", c.Number)
		if c.View != "" {
			place += fmt.Sprintf(", marked on the view %q at %d, %d of 1000", c.View, c.X, c.Y)
		}
		t.Rows = append(t.Rows, []Cell{{Text: strings.Join(nonEmpty(c.Says, bears, place+"."), "\n")}, {Text: title(rules.DamageSeen(), c.Seen) + "\n" + minute(c.At) + "\n" + c.By},
			{Text: strings.Join(nonEmpty(strings.ReplaceAll(c.Relative, "-", " "), c.Order.Says, c.Doubt), "\n"), Tone: tone}, {Text: strings.Join(nonEmpty(append([]string{said}, signed...)...), "\n")},
			{Text: strings.TrimPrefix(strings.TrimPrefix(pl.where(c.Photos), "exhibits "), "exhibit ")}})
	}
	if len(t.Rows) == 0 {
		return Section{ID: "condition", Title: "Condition record", Blocks: []Block{Text{Plain, "No entry says what condition the unit and the room were in."}}}
	}
	return Section{ID: "condition", Title: "Condition record", Blocks: []Block{t}}
}

// beforeWork says of each picture of the shop whether it was taken before the first work, and by which clock that is told.
func (pl *plan) beforeWork() Section {
	t := Table{Head: []string{"Exhibit", "Before work?", "Told by", "How"}, Widths: []float64{30, 13, 12, 45}}
	for _, p := range pl.view.Proof {
		tone := Plain
		if p.Order.Answer == claims.Conflicting {
			tone = Bad
		}
		by := map[string]string{"receipt": "server's receipt", "sequence": "device's sequence", "clocks": "clocks", "stated": "clocks, one stated"}[p.Order.By]
		s := pl.byEntry[p.Entry]
		if s == nil {
			continue
		}
		t.Rows = append(t.Rows, []Cell{{Text: fmt.Sprintf("%d  %s", s.no, p.Title)}, {Text: strings.ReplaceAll(p.Order.Answer, "-", " "), Tone: tone}, {Text: by}, {Text: p.Order.Says}})
	}
	slices.SortStableFunc(t.Rows, func(a, b []Cell) int { return number0(a[0].Text) - number0(b[0].Text) })
	if len(t.Rows) == 0 {
		return Section{}
	}
	return Section{ID: "before-work", Title: "Taken before work?", Blocks: []Block{
		Text{Quiet, "Strongest first: the server had the picture before the step; the device's own chained sequence; corrected clocks that stand farther apart than they may be off."}, t}}
}

// number0 reads the number a text begins with.
func number0(s string) int {
	n := 0
	for _, c := range s {
		if c < '0' || c > '9' {
			break
		}
		n = n*10 + int(c-'0')
	}
	return n
}

func (pl *plan) statements() Section {
	t := Table{Head: []string{"When, who", "In their own words", "Exhibits"}, Widths: []float64{26, 62, 12}}
	seen := map[claims.EntryID]bool{}
	for _, a := range pl.view.Allegations {
		for _, s := range a.Statements {
			if seen[s.Entry] {
				continue
			}
			seen[s.Entry] = true
			words := s.Text
			for _, d := range s.Pictures {
				words += "\nA picture came with it, kept by the shop: SHA-256 " + string(d)
			}
			t.Rows = append(t.Rows, []Cell{{Text: strings.Join(nonEmpty(minute(s.At), title(rules.StatementFrom(), s.From), s.Name, s.How), "\n")}, {Text: words}, {Text: pl.where(s.Photos)}})
		}
	}
	if len(t.Rows) == 0 {
		return Section{}
	}
	return Section{ID: "statements", Title: "Statements", Blocks: []Block{t}}
}

func (pl *plan) settling() Section {
	t := Table{Head: []string{"When, by", "What", "Amount"}, Widths: []float64{26, 58, 16}}
	for _, s := range pl.view.Settlement {
		t.Rows = append(t.Rows, []Cell{{Text: minute(s.At) + "\n" + s.By}, {Text: s.Says}, {Text: amount(s.Amount), Right: true}})
	}
	if len(t.Rows) == 0 {
		return Section{}
	}
	blocks := []Block{t}
	for i := range pl.job.Releases {
		r := &pl.job.Releases[i]
		blocks = append(blocks, Text{Head, "Release, " + r.Body.Outcome}, Text{Plain, r.Body.Text})
		if len(r.Body.Strokes) > 0 {
			blocks = append(blocks, Signature{Strokes: r.Body.Strokes, Lines: []Pair{{Label: "Name", Value: r.Body.Name}, {Label: "When", Value: moment(r.At)}}})
		}
	}
	return Section{ID: "settlement", Title: "Between the sides", Blocks: blocks}
}

// workDone tells complaint, cause and correction, and which parts came out and went in, without amounts.
func (pl *plan) workDone() Section {
	s := pl.narrative()
	s.ID, s.Title = "work", "Work that was done"
	t := Table{Head: []string{"Part", "When, by"}, Widths: []float64{64, 36}}
	for _, p := range pl.job.Parts {
		t.Rows = append(t.Rows, []Cell{{Text: strings.Join(nonEmpty(componentTitle(p.Body.Component)+", "+p.Body.Action, p.Body.Number, p.Body.Description, corrected(p.Corrected)), "\n")}, {Text: minute(p.At) + "\n" + p.By}})
	}
	if len(t.Rows) > 0 {
		s.Blocks = append(s.Blocks, t)
	}
	return s
}

// includedClaim is what a claim says of amounts, when that was chosen.
func (pl *plan) includedClaim() Section {
	if !slices.Contains(pl.parcel.Dispute.Include, dispute.IncludeClaim) {
		return Section{}
	}
	return pl.amounts()
}

func (pl *plan) exhibitSheets() Section {
	s := pl.photoSheets()
	if len(s.Blocks) == 0 {
		return s
	}
	t := Table{Head: []string{"No.", "Exhibit", "SHA-256 of the original"}, Widths: []float64{6, 40, 54}}
	for _, sh := range pl.shots {
		t.Rows = append(t.Rows, []Cell{{Text: fmt.Sprint(sh.no)}, {Text: pl.view.Exhibits[sh.no-1].Title, Link: sh.file}, {Text: string(sh.Body.Digest), Tone: Code}})
	}
	s.Title, s.Blocks = "Exhibits", append([]Block{t}, s.Blocks...)
	return s
}

// certification is the template of a records certification, with the hash list.
func (pl *plan) certification() Section {
	log := ""
	if name, size, ok := logOf(pl.parcel.Custody.Checkpoint); ok {
		log = fmt.Sprintf("%s, %s entries at the checkpoint in this file", name, size)
	}
	whole := 0
	for _, s := range pl.shots {
		if s.kept == keptWhole && s.same == 0 {
			whole++
		}
	}
	shown := 0
	for _, l := range pl.lines {
		if l.why == "" {
			shown++
		}
	}
	sheet := dispute.Certification(dispute.SheetFor{Shop: pl.parcel.Shop.Name, Job: pl.job.Open.Number, Built: pl.built, Entries: shown, Originals: whole, Log: log})
	blocks := []Block{Text{Bad, sheet.Notice}}
	for i, e := range sheet.Elements {
		blocks = append(blocks, Text{Quiet, fmt.Sprintf("%d. %s", i+1, e.Rule)}, Text{Plain, e.Text})
	}
	for _, line := range sheet.Form {
		blocks = append(blocks, Text{Plain, line})
	}
	blocks = append(blocks, Text{Quiet, sheet.Limits}, Text{Head, "Hash list"}, pl.digests(),
		Text{Quiet, "The SHA-256 of every file of this bundle stands in manifest-sha256.txt, and of every entry in data/custody/entries.txt by its leaf."})
	return Section{ID: "certification", Title: "Records certification (template)", Break: true, Blocks: blocks}
}

// logOf reads origin and size of a checkpoint: its first two lines.
func logOf(checkpoint []byte) (name, size string, ok bool) {
	lines := strings.SplitN(string(checkpoint), "\n", 3)
	if len(lines) < 3 {
		return "", "", false
	}
	return lines[0], lines[1], true
}
