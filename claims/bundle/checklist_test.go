package bundle

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/rules"
)

// What needs eyes stands first with its cure, what is met takes a line, what was not needed a word: as poppler reads the report.
func TestChecklistPutsTheOpenFirst(t *testing.T) {
	p := goodParcel(t)
	reading, photo := p.Job.Readings[0], p.Job.Photos[0]
	find := func(title string, o rules.Outcome, entries ...string) rules.Finding {
		return rules.Finding{ID: title, Requirement: title, Stage: "look", Title: title, Severity: rules.Required, Outcome: o, Sentence: "Sentence of " + title + ".", Cure: "Cure of " + title + ".", Why: "w", Entries: entries}
	}
	p.Report.Findings = []rules.Finding{find("Aspen", rules.NotNeeded), find("Birch", rules.Met, string(photo.Entry), string(reading.Entry)), find("Cedar", rules.Gap),
		find("Dogwood", rules.Met), find("Elder", rules.Doubt), find("Fir", rules.NotNeeded), find("Gorse", rules.Waived)}
	p.Report.Counts = rules.Counts{Met: 2, Gap: 1, Doubt: 1, Waived: 1, NotNeeded: 2, Open: 2}
	p.Report.Complete = false
	data, _ := pack(t, p)
	dir := unpack(t, data)
	text := strings.Join(strings.Fields(tool(t, "poppler-utils", dir, "pdftotext", "-layout", "data/report.pdf", "-")), " ")
	_, text, found := strings.Cut(text, "shown as they are.")
	require.True(t, found)
	text, _, found = strings.Cut(text, "Complaint, in the customer's words")
	require.True(t, found)
	last := -1
	for _, want := range []string{"Cedar", "Elder", "Gorse", "Met (2)", "Birch", "Dogwood", "Not needed for this job: Aspen; Fir."} {
		at := strings.Index(text, want)
		assert.Greater(t, at, last, want)
		last = at
	}
	for _, want := range []string{"Cure of Cedar.", "Sentence of Elder.", fmt.Sprintf("Birch · photo 1; reading no. %d, %s", reading.Number, reading.At.Format("15:04"))} {
		assert.Contains(t, text, want)
	}
	for _, gone := range []string{"Sentence of Birch", "Sentence of Aspen", "of the journal"} {
		assert.NotContains(t, text, gone)
	}
	whole := string(open(t, data).data["data/evidence.json"])
	for _, want := range []string{"Sentence of Aspen", "Sentence of Birch", "Cure of Fir"} {
		assert.Contains(t, whole, want)
	}
	page := string(open(t, data).data["data/index.html"])
	assert.Regexp(t, regexp.MustCompile(`<li>Birch <span class="quiet">photo 1; reading no\. \d+, \d\d:\d\d</span></li>`), page)
}

// A reader who meets a number can find it: the order of events has it.
func TestNumbersStandInTheOrderOfEvents(t *testing.T) {
	p := goodParcel(t)
	data, _ := pack(t, p)
	text := tool(t, "poppler-utils", unpack(t, data), "pdftotext", "-layout", "data/report.pdf", "-")
	for _, want := range []string{fmt.Sprintf("reading, no. %d", p.Job.Readings[0].Number), fmt.Sprintf("photo 1, no. %d", p.Job.Photos[0].Number), fmt.Sprintf("part, no. %d", p.Job.Parts[0].Number)} {
		assert.Contains(t, text, want)
	}
}
