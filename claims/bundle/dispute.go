package bundle

import (
	"slices"
	"strings"

	"kickplate/claims"
	"kickplate/claims/dispute"
	"kickplate/rules"
)

// EvidenceDispute is there in a dispute file: what it answers, what was added by choice, and what the entries shown say about it. The view
// follows from the entries in the file alone, so that Verify can work it out again.
type EvidenceDispute struct {
	Allegations []claims.EntryID `json:"allegations"`
	Include     []string         `json:"include,omitempty"`
	View        *dispute.View    `json:"view"`
}

// choose leaves out of a dispute file what does not concern its allegations, and makes the account anew from what goes in: nothing in the file
// rests on an entry that is not shown, save for what is held back.
func (pl *plan) choose(kept []claims.Kept) {
	why := dispute.Choose(kept, pl.parcel.Dispute.Allegations, pl.parcel.Dispute.Include)
	reason := map[claims.EntryID]string{}
	var in []claims.Kept
	for i := range kept {
		if reason[kept[i].ID] = why[i]; why[i] == "" {
			in = append(in, kept[i])
		}
	}
	for i := range pl.lines {
		l := &pl.lines[i]
		if l.why = reason[l.rec.Entry]; !l.read {
			l.why = "it can't be read, so nobody can say what is in it"
		}
	}
	q := *pl.parcel
	q.Job = claims.Fold(in)
	q.Facts = claims.FactsOf(&q.Job, nil, q.Built)
	q.Report, q.Coverage, q.Pack = rules.Report{At: q.Built}, claims.CoverageAnswer{}, nil
	pl.parcel = &q
}

// exhibitOrder numbers the photos as the letter does.
func (pl *plan) exhibitOrder() {
	no := map[claims.EntryID]int{}
	for _, e := range pl.view.Exhibits {
		no[e.Entry] = e.No
	}
	slices.SortStableFunc(pl.shots, func(a, b *shot) int { return no[a.Entry] - no[b.Entry] })
}

// leftOut reports whether anything is not in the file that is in the journal.
func (pl *plan) leftOut() bool { return len(pl.parcel.Hold.Names()) > 0 || pl.view != nil }

// leftWords says what was left out, for bag-info.txt and the first page.
func (pl *plan) leftWords() string {
	if pl.view == nil {
		return heldWords(pl)
	}
	what := "what does not concern this dispute"
	if list := pl.parcel.Dispute.Include; len(list) > 0 {
		var names []string
		for _, x := range list {
			names = append(names, strings.ToLower(title(rules.FileExtras(), x)))
		}
		what += ", save for what was added: " + strings.Join(names, "; ")
	}
	n := 0
	for _, w := range pl.left {
		if w.What == "entry" {
			n++
		}
	}
	return what + " (" + entryCount(n) + ")" + ifNot(", and ", strings.Join(pl.parcel.Hold.Names(), ", "))
}

// response is the letter of this file: the last one for exactly its allegations.
func (pl *plan) response() *claims.Item[claims.Respond] {
	want := slices.Sorted(slices.Values(pl.parcel.Dispute.Allegations))
	for i := len(pl.job.Responses) - 1; i >= 0; i-- {
		if r := &pl.job.Responses[i]; slices.Equal(slices.Sorted(slices.Values(r.Body.Allegations)), want) {
			return r
		}
	}
	return nil
}

// sameDispute works the view of a dispute file out again.
func (v *verifier) sameDispute(job *claims.Job) {
	d := v.index.Dispute
	again := dispute.Of(job)
	if !sameJSON(d.View, &again) {
		v.report.add("entries", Broken, "data/evidence.json", "What it says about the allegations is not what the entries say: worked out again, the findings, the condition record or the order of events come out differently.")
	}
	var listed []claims.EntryID
	for i := range job.Allegations {
		listed = append(listed, job.Allegations[i].Entry)
	}
	for _, id := range d.Allegations {
		if !slices.Contains(listed, id) {
			v.report.add("entries", Broken, "data/evidence.json", "It is to answer the allegation %s, which is not among the entries.", short(string(id)))
		}
	}
	for i, p := range v.index.Photos {
		if i < len(again.Exhibits) && again.Exhibits[i].Entry != p.Entry {
			v.report.add("entries", Broken, "data/evidence.json", "Exhibit %d is not the one that the entries make it.", p.No)
		}
	}
}
