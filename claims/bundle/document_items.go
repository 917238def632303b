package bundle

import (
	"cmp"
	"fmt"
	"strconv"
	"strings"

	"kickplate/claims"
	"kickplate/rules"
	"kickplate/rules/readings"
)

func (pl *plan) readings() Section {
	t := Table{Head: []string{"What", "Reading", "Verdict", "Photo"}, Widths: []float64{26, 22, 42, 10}}
	verdicts := pl.verdicts()
	for _, r := range pl.job.Readings {
		b := &r.Body
		what := strings.Join(nonEmpty(componentTitle(b.Component), title(rules.Quantities(), b.Quantity), title(rules.Moments(), b.Moment), b.Where, minute(r.At)), "\n")
		value := strings.TrimSpace(b.Value + " " + symbol(b.Unit))
		if b.State != "" {
			value = strings.ReplaceAll(b.State, "-", " ")
		}
		says, tone, supports := "not judged: no component model applies", Quiet, ""
		if v := verdicts[string(r.Entry)]; v != nil && v.Outcome != "" {
			says, supports = pl.hold.scrub(v.Says), v.Supports
			tone = map[string]Tone{"in-tolerance": Good, "out-of-tolerance": Bad}[v.Outcome]
			if tone == Plain {
				tone = Warn
			}
			switch { // a reading of the new part says nothing about replacing the old one
			case b.Moment == "as-left":
			case supports == "yes":
				says += " This supports replacing the part."
			case supports == "no":
				says += " This does not support replacing the part."
			}
		}
		words := strings.Join(nonEmpty(says, b.Says, corrected(r.Corrected)), "\n")
		t.Rows = append(t.Rows, []Cell{{Text: what}, {Text: value, Gauge: pl.gauge(&r)}, {Text: words, Tone: tone}, {Text: strings.TrimPrefix(pl.photoNumbers(b.Photo), "photo ")}})
	}
	var blocks []Block
	if len(t.Rows) > 0 {
		blocks = append(blocks, t)
	}
	if signs := pl.signs(); len(signs.Rows) > 0 {
		blocks = append(blocks, signs)
	}
	return Section{ID: "readings", Title: "Readings", Blocks: blocks}
}

// symbol is the sign of a unit for people.
func symbol(ucum string) string { return cmp.Or(readings.Unit(ucum).Symbol(), ucum) }

func (pl *plan) parts() Section {
	var blocks []Block
	parts := Table{Head: []string{"Part", "Number and serial", "Bought", "Old part", "Price"}, Widths: []float64{28, 24, 18, 16, 14}}
	held := map[claims.EntryID]string{}
	for _, r := range pl.job.PartReturns {
		held[r.Body.Part] = strings.Join(nonEmpty(title(rules.PartHeld(), r.Body.Held), r.Body.Tracking), ", ")
	}
	for _, p := range pl.job.Parts {
		b := &p.Body
		name := strings.Join(nonEmpty(componentTitle(b.Component)+", "+b.Action, b.Description, pl.photoNumbers(b.Photos...), corrected(p.Corrected)), "\n")
		if b.Original != "" {
			name += "\nthe maker's own part: " + b.Original
		}
		number := strings.Join(nonEmpty(b.Number, ifNot("serial ", b.Serial), ifNot("old serial ", b.OldSerial)), "\n")
		price := amount(b.Price)
		if b.Quantity > 1 {
			price = strconv.Itoa(b.Quantity) + " × " + price
		}
		old := cmp.Or(held[p.Entry], title(rules.PartHeld(), b.Held))
		parts.Rows = append(parts.Rows, []Cell{{Text: name}, {Text: number}, {Text: strings.Join(nonEmpty(b.Invoice, b.InvoiceDate), "\n")}, {Text: old}, {Text: price}})
	}
	if len(parts.Rows) > 0 {
		blocks = append(blocks, parts)
	}
	work := Table{Head: []string{"Labour, trips, refrigerant", "How much", "Amount"}, Widths: []float64{56, 26, 18}}
	for _, l := range pl.job.Labour {
		work.Rows = append(work.Rows, []Cell{{Text: strings.Join(nonEmpty("Labour", ifNot("flat rate ", l.Body.Flat), l.Body.Says, corrected(l.Corrected)), ", ")}, {Text: minutesWord(l.Body.Minutes)}, {Text: amount(l.Body.Amount)}})
	}
	for _, t := range pl.job.Trips {
		work.Rows = append(work.Rows, []Cell{{Text: strings.Join(nonEmpty("Trip", ifNot("zone ", t.Body.Zone), corrected(t.Corrected)), ", ")}, {Text: strings.TrimSpace(t.Body.Distance + " " + t.Body.Unit)}, {Text: amount(t.Body.Amount)}})
	}
	for _, r := range pl.job.Refrigerants {
		work.Rows = append(work.Rows, []Cell{{Text: strings.Join(nonEmpty("Refrigerant "+r.Body.Type+" "+r.Body.Action, r.Body.Method, ifNot("certificate ", r.Body.Certificate), corrected(r.Corrected)), ", ")}, {Text: r.Body.Grams + " g"}, {}})
	}
	if len(work.Rows) > 0 {
		blocks = append(blocks, work)
	}
	return Section{ID: "parts", Title: "Parts and work", Blocks: blocks}
}

func minutesWord(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n) + " min"
}

// arrivalDamage lists damage, that found on arrival first, and the areas that were looked at without finding any.
func (pl *plan) arrivalDamage() Section {
	t := Table{Head: []string{"Where", "What", "Seen", "Words", "Photos"}, Widths: []float64{20, 16, 16, 36, 12}}
	for _, when := range append(rules.DamageSeen(), rules.Term{}) {
		for _, d := range pl.job.Damages {
			b := &d.Body
			known := title(rules.DamageSeen(), b.Seen) != b.Seen
			if b.Seen != when.ID && (known || when.ID != "") {
				continue
			}
			what := title(rules.DamageKinds(), b.Kind)
			if b.Kind == rules.NoDamage {
				what = "looked at, no damage seen"
			}
			if b.WidthMM != "" || b.HeightMM != "" {
				what += "\n" + cmp.Or(b.WidthMM, "?") + " × " + cmp.Or(b.HeightMM, "?") + " mm"
			}
			words := nonEmpty(b.Words)
			if b.Said != "" {
				words = append(words, cmp.Or(b.SaidBy, "somebody")+" said: “"+b.Said+"”")
			}
			if b.Bears == "yes" {
				words = append(words, "bears on coverage")
			}
			words = append(words, nonEmpty(corrected(d.Corrected))...)
			t.Rows = append(t.Rows, []Cell{{Text: b.Area}, {Text: what}, {Text: title(rules.DamageSeen(), b.Seen) + "\n" + minute(d.At)}, {Text: strings.Join(words, "\n")}, {Text: strings.TrimPrefix(strings.TrimPrefix(pl.photoNumbers(b.Photos...), "photos "), "photo ")}})
		}
	}
	if len(t.Rows) == 0 {
		return Section{}
	}
	return Section{ID: "damage", Title: "Damage on record", Blocks: []Block{t}}
}

func (pl *plan) signatures() Section {
	var blocks []Block
	for _, a := range pl.job.Acks {
		b := &a.Body
		sig := Signature{Strokes: b.Strokes}
		add := func(label, value string) {
			if value != "" {
				sig.Lines = append(sig.Lines, Pair{Label: label, Value: value})
			}
		}
		add("About", title(rules.AckAbout(), b.About))
		add("Outcome", title(rules.AckOutcomes(), b.Outcome))
		add("Name", strings.Join(nonEmpty(b.Name, b.Role), ", "))
		if pl.hold.hold.Customer && b.Outcome == "signed" {
			add("Signature", heldMark)
		}
		add("Reason", b.Reason)
		add("Statement", b.Statement)
		add("When", moment(a.At))
		add("Shown", pl.photoNumbers(pl.onlyPhotos(b.Shown)...))
		add("Corrected", corrected(a.Corrected))
		blocks = append(blocks, sig)
	}
	return Section{ID: "signatures", Title: "Signatures", Blocks: blocks}
}

func (pl *plan) onlyPhotos(ids []claims.EntryID) []claims.EntryID {
	var out []claims.EntryID
	for _, id := range ids {
		if pl.byEntry[id] != nil {
			out = append(out, id)
		}
	}
	return out
}

func (pl *plan) photoSheets() Section {
	var p Pictures
	for _, s := range pl.shots {
		p.Items = append(p.Items, pl.picture(s))
	}
	if len(p.Items) == 0 {
		return Section{}
	}
	return Section{ID: "photos", Title: "Photos", Blocks: []Block{
		Text{Quiet, "Reduced for this report. The files in data/originals are as received; their numbers are these."}, p,
	}}
}

// picture is a photo with its caption: what, when and how well that is supported, and what to be careful about.
func (pl *plan) picture(s *shot) Picture {
	b := &s.Body
	p := Picture{No: s.no, File: s.file, Thumb: s.thumb, Title: strings.Join(nonEmpty(subjectTitle(b.Subject), componentTitle(b.Component), b.Area), ", ")}
	if s.thumb != "" {
		p.Digest = b.Digest
	}
	add := func(label, value string, tone Tone) {
		if value != "" {
			p.Lines = append(p.Lines, Pair{label, value, tone})
		}
	}
	add("", b.Caption, Plain)
	when, basis := cmp.Or(said(b.Captured), moment(s.At)), "the phone's clock alone"
	if s.known != nil {
		when = cmp.Or(moment(s.known.At), when)
		basis = cmp.Or(s.known.TimeBasis, basis)
	}
	tone := Plain
	if basis == "conflicting" {
		tone = Bad
	}
	add("Taken", when+" ("+strings.ReplaceAll(basis, "-", " ")+")", tone)
	if s.known != nil && s.known.Place != "" {
		add("Place", map[string]string{"at-site": "at the site", "elsewhere": "elsewhere", "cannot-tell": "can't be told"}[s.known.Place], Plain)
	}
	for _, remark := range pl.remarks(s) {
		add("Note", remark, Warn)
	}
	add("By", s.By+ifNot(", received from: ", b.From), Quiet)
	for _, m := range pl.job.Markups {
		if m.Body.Photo == s.Entry {
			p.Marks = append(p.Marks, m.Body.Marks...)
		}
	}
	if len(p.Marks) > 0 {
		add("Marks", "drawn later, not in the original", Quiet)
	}
	if s.same != 0 {
		add("Same", fmt.Sprintf("the same bytes as photo %d", s.same), Warn)
	}
	return p
}

// remarks are what a careful reader must know about a photo.
func (pl *plan) remarks(s *shot) []string {
	var out []string
	switch s.kept {
	case keptView:
		out = append(out, "original held back ("+s.why+"); a reduced picture without metadata is in the bundle")
	case keptStripped:
		out = append(out, "original held back ("+s.why+"); the same picture without metadata is in the bundle")
	case keptCovered:
		out = append(out, "parts of the picture are covered by hand; the original is held back")
	case keptWithheld:
		out = append(out, "held back ("+s.why+")")
	}
	if f := s.facts; f != nil {
		switch {
		case f.Sharp == "no":
			out = append(out, "blurred")
		case f.Sharp == "doubt":
			out = append(out, "may be blurred")
		}
		if f.Dark == "yes" {
			out = append(out, "too dark")
		}
		if f.Bright == "yes" {
			out = append(out, "too bright")
		}
		out = append(out, f.Notes...)
		if len(f.Disagreements) > 0 {
			out = append(out, "two readers of its metadata disagree: "+strings.Join(f.Disagreements, "; "))
		}
		var codes []string
		for _, c := range f.Codes {
			codes = append(codes, c.Text)
		}
		if len(codes) > 0 {
			out = append(out, "codes read in it: "+strings.Join(codes, ", "))
		}
		if s.thumb == "" && s.kept == keptWhole {
			out = append(out, "no picture can be shown here ("+f.Type+"); open the file")
		}
	} else {
		out = append(out, "the file was not examined")
	}
	if s.known != nil && s.known.UsedBefore != "" {
		kind := "a look-alike of a photo on another job"
		if strings.HasPrefix(s.known.UsedBefore, "same:") {
			kind = "the same bytes are on another job"
		}
		out = append(out, kind)
	}
	if s.Body.Source == "gallery" || s.Body.Source == "file" {
		out = append(out, "chosen from the "+map[string]string{"gallery": "phone's gallery", "file": "files"}[s.Body.Source]+", not taken in the app")
	}
	if c := corrected(s.Corrected); c != "" {
		out = append(out, c)
	}
	return out
}
