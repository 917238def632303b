package bundle

import (
	"fmt"
	"strconv"
	"strings"

	"kickplate/claims"
	"kickplate/rules"
)

// checklist puts first what a reviewer must look at: what is missing, in doubt or waived, with its cure. What is met follows in one
// line each, what was not needed in one paragraph; all of it, with every sentence, is in evidence.json.
func (pl *plan) checklist() Section {
	stages := rules.Stages()
	open := Table{Head: []string{"Requirement", "Result", "What is so", "Evidence"}, Widths: []float64{30, 12, 43, 15}}
	var met []Points
	var rest []string
	for _, f := range pl.report.Findings {
		name := f.Title
		if f.Severity != rules.Required {
			name += " (advised)"
		}
		switch f.Outcome {
		case rules.NotNeeded:
			rest = append(rest, name)
			continue
		case rules.Met:
			if f.Due != "" {
				name += ", due " + f.Due
			}
			if n := len(met); n == 0 || met[n-1].Label != title(stages, f.Stage) {
				met = append(met, Points{Label: title(stages, f.Stage)})
			}
			last := &met[len(met)-1]
			last.Items = append(last.Items, Point{name, pl.evidenceWords(f.Entries)})
			continue
		}
		word, tone := outcomeWord(f.Outcome)
		says := f.Sentence
		if f.Cure != "" {
			says += " → " + f.Cure
		}
		if f.Due != "" {
			says += " Due " + f.Due + "."
		}
		open.Rows = append(open.Rows, []Cell{{Text: title(stages, f.Stage) + ": " + name}, {Text: word, Tone: tone}, {Text: says}, {Text: pl.evidenceWords(f.Entries)}})
	}
	blocks := []Block{Text{Quiet, fmt.Sprintf("%s, version %s, checked %s. “Missing” and “doubt” are shown as they are.", pl.report.Title, pl.report.Version, moment(pl.report.At.UTC()))}}
	if len(open.Rows) > 0 {
		blocks = append(blocks, open)
	}
	if len(met) > 0 {
		blocks = append(blocks, Text{Head, fmt.Sprintf("Met (%d)", pl.report.Counts.Met)})
	}
	for _, m := range met {
		blocks = append(blocks, m)
	}
	if len(rest) > 0 {
		blocks = append(blocks, Text{Quiet, "Not needed for this job: " + strings.Join(rest, "; ") + "."})
	}
	if len(blocks) == 1 {
		return Section{}
	}
	return Section{ID: "checklist", Title: "Checklist", Blocks: blocks}
}

// evidenceWords names the entries of a finding: photos by their number, other entries by theirs.
func (pl *plan) evidenceWords(entries []string) string {
	var photos, others []claims.EntryID
	for _, id := range entries {
		if pl.byEntry[claims.EntryID(id)] != nil {
			photos = append(photos, claims.EntryID(id))
		} else if id != "" {
			others = append(others, claims.EntryID(id))
		}
	}
	var out []string
	if len(photos) > 12 {
		out = append(out, pl.photoNumbers(photos[:12]...)+" …")
	} else if len(photos) > 0 {
		out = append(out, pl.photoNumbers(photos...))
	}
	for i, id := range others {
		if i == 6 {
			out = append(out, fmt.Sprintf("and %d more entries", len(others)-i))
			break
		}
		out = append(out, pl.entryWords(id))
	}
	return strings.Join(out, "; ")
}

// entryWords names an entry as the order of events has it: its kind, its number in the account and the time on the device's clock.
func (pl *plan) entryWords(id claims.EntryID) string {
	for i := range pl.lines {
		l := &pl.lines[i]
		switch {
		case l.rec.Entry != id:
		case l.why != "" || !l.read:
			return fmt.Sprintf("entry %d of the log", l.rec.Leaf)
		default:
			words := strings.ReplaceAll(string(l.kept.Kind), "-", " ")
			if n := pl.numbers[id]; n > 0 {
				words += " no. " + strconv.Itoa(n)
			}
			return words + ", " + l.kept.At.Format("15:04")
		}
	}
	return "an entry that is not in this bundle"
}
