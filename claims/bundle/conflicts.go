package bundle

import (
	"fmt"
	"strings"

	"kickplate/rules"
)

// conflicting shows what the readings and signs of the job leave open between them, and what would decide it.
func (pl *plan) conflicting() Section {
	if len(pl.conflicts) == 0 {
		return Section{}
	}
	t := Table{Head: []string{"What does not fit together", "What would decide it", "Stands on"}, Widths: []float64{40, 40, 20}}
	for _, c := range pl.conflicts {
		about := title(rules.Components(), c.Component)
		on := pl.evidenceWords(c.Readings)
		if on == "" {
			on = "nothing on record"
		}
		t.Rows = append(t.Rows, []Cell{{Text: strings.Join(nonEmpty(about, c.Says), ": "), Tone: Warn}, {Text: c.Ask}, {Text: on}})
	}
	return Section{ID: "conflicts", Title: "Conflicts between readings", Blocks: []Block{
		Text{Quiet, "All readings and signs held against each other, and against the parts that were replaced. Common practice, no source: each line asks, none says that a part was wrong."}, t,
	}}
}

func (pl *plan) conflictWords() string {
	switch n := len(pl.conflicts); n {
	case 0:
		return ""
	case 1:
		return "Readings: one thing does not fit together. " + pl.conflicts[0].Says
	default:
		return fmt.Sprintf("Readings: %d things do not fit together; see “Conflicts between readings”.", n)
	}
}

// signs lists what was seen, heard or found that is no number.
func (pl *plan) signs() Table {
	t := Table{Head: []string{"Seen, heard or found", "Words", "Photo"}, Widths: []float64{48, 42, 10}}
	for _, s := range pl.job.Signs {
		what := strings.Join(nonEmpty(componentTitle(s.Body.Component), strings.ReplaceAll(s.Body.Sign, "-", " ")), ": ")
		t.Rows = append(t.Rows, []Cell{{Text: what + "\n" + minute(s.At)}, {Text: strings.Join(nonEmpty(s.Body.Says, corrected(s.Corrected)), "\n")}, {Text: strings.TrimPrefix(pl.photoNumbers(s.Body.Photo), "photo ")}})
	}
	return t
}
