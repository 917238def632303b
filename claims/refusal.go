package claims

import (
	"context"
	"fmt"
	"slices"
	"strings"
)

// RefusalReason is one of our neutral words for why a claim, or a line of it, is not paid (common practice, no source). Every
// payer words them differently; the payer's own words stay with the answer.
type RefusalReason struct {
	ID    string `json:"id"`
	Title string `json:"title"`
	needs []need
}

// need is one piece of evidence that answers a reason.
type need struct {
	what string
	cure string
	find func(j *Job) []EntryID
}

// RefusalHelp lays out what answers a refusal: which entries are there and which are missing.
type RefusalHelp struct {
	Reason string `json:"reason,omitempty"`
	Title  string `json:"title"`
	// Answer is the payer's answer; Words are the payer's own; ReplyBy the last day.
	Answer  EntryID       `json:"answer,omitempty"`
	Words   string        `json:"words,omitempty"`
	ReplyBy string        `json:"replyBy,omitempty"`
	Items   []RefusalItem `json:"items,omitempty"`
	// Ready is true when nothing is missing. Letter is a draft to edit; it names what is there by number and leaves out what is not.
	Ready  bool   `json:"ready"`
	Letter string `json:"letter"`
	// Reasons are all there are, to pick another.
	Reasons []RefusalReason `json:"reasons"`
}

// RefusalItem is one piece of evidence.
type RefusalItem struct {
	What string `json:"what"`
	// Entries that show it; Numbers are theirs in the account. None = missing, and Cure says what to do.
	Entries []EntryID `json:"entries,omitempty"`
	Numbers []int     `json:"numbers,omitempty"`
	Missing bool      `json:"missing"`
	Cure    string    `json:"cure,omitempty"`
}

// RefusalHelp helps to answer a payer's last refusal or cut. reason picks one of RefusalReasons instead of the answer's own; empty = that.
func (s *Service) RefusalHelp(ctx context.Context, a Actor, job JobID, reason string) (RefusalHelp, error) {
	j, err := s.Job(ctx, a, job)
	if err != nil {
		return RefusalHelp{}, err
	}
	if _, ok := refusalReason(reason); reason != "" && !ok {
		return RefusalHelp{}, Errorf(Invalid, "There is no refusal reason %q. Choose one of: %s.", clip(reason), strings.Join(reasonIDs(), ", ")).At("reason")
	}
	return RefusalHelpOf(&j, reason), nil
}

// RefusalHelpOf is RefusalHelp of a job at hand.
func RefusalHelpOf(j *Job, reason string) RefusalHelp {
	h := RefusalHelp{Reason: reason, Reasons: RefusalReasons()}
	for i := len(j.Answers) - 1; i >= 0; i-- {
		if b := j.Answers[i].Body; b.Outcome != "paid" {
			h.Answer, h.Words, h.ReplyBy = j.Answers[i].Entry, b.Words, b.ReplyBy
			if h.Reason == "" {
				h.Reason = b.Reason
			}
			break
		}
	}
	r, ok := refusalReason(h.Reason)
	if !ok {
		h.Title = "The reason is not on record: pick the one that comes nearest."
		if h.Answer == "" && h.Reason == "" {
			h.Title = "The payer has refused nothing so far. Pick a reason to see what would answer it."
		}
		return h
	}
	h.Title, h.Ready = r.Title, true
	numbers := j.numbers()
	for _, n := range r.needs {
		item := RefusalItem{What: n.what}
		for _, id := range n.find(j) {
			if id != "" && !slices.Contains(item.Entries, id) {
				item.Entries = append(item.Entries, id)
				if no := numbers[id]; no > 0 {
					item.Numbers = append(item.Numbers, no)
				}
			}
		}
		if item.Missing = len(item.Entries) == 0; item.Missing {
			item.Cure, h.Ready = n.cure, false
		}
		h.Items = append(h.Items, item)
	}
	h.Letter = letter(j, h)
	return h
}

// letter drafts the reply: what is claimed, what was said, what shows otherwise. It claims nothing that is not on record.
func letter(j *Job, h RefusalHelp) string {
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	if j.Coverage.Payer != "" {
		line("To: %s", j.Coverage.Payer)
	}
	subject := "Job " + j.Open.Number
	if j.Coverage.Number != "" {
		subject += ", claim " + j.Coverage.Number
	}
	if j.Unit.Serial != "" {
		subject += ", serial " + j.Unit.Serial
	}
	line("Concerning: %s\n", subject)
	line("Your answer gives as reason: %s.", strings.ToLower(h.Title[:1])+h.Title[1:])
	if h.Words != "" {
		line("In your words: %q.", h.Words)
	}
	line("\nThe enclosed bundle shows the following, by the numbers of its account:")
	shown := 0
	for _, it := range h.Items {
		if it.Missing {
			continue
		}
		shown++
		if len(it.Numbers) == 0 {
			line("- %s: see the summary.", it.What)
			continue
		}
		var no []string
		for _, n := range it.Numbers[:min(len(it.Numbers), 12)] {
			no = append(no, fmt.Sprint(n))
		}
		more := ""
		if len(it.Numbers) > 12 {
			more = " and more"
		}
		line("- %s: no. %s%s.", it.What, strings.Join(no, ", "), more)
	}
	if shown == 0 {
		line("- (nothing on record answers this reason yet)")
	}
	line("\nThe entries' places in the shop's log can be checked with the bundle. We ask you to look at the claim again.")
	return b.String()
}

// numbers maps the entries of the account to their numbers.
func (j *Job) numbers() map[EntryID]int {
	m := map[EntryID]int{}
	number(m, j.Photos)
	number(m, j.Readings)
	number(m, j.Causes)
	number(m, j.Corrections)
	number(m, j.Damages)
	number(m, j.Parts)
	number(m, j.PartReturns)
	number(m, j.Labour)
	number(m, j.Trips)
	number(m, j.Acks)
	number(m, j.Notes)
	number(m, j.Sends)
	number(m, j.Answers)
	number(m, j.WorkStarts)
	number(m, j.WorkFinishes)
	number(m, j.Refrigerants)
	for _, v := range j.Visits {
		if v.Arrived != nil {
			m[v.Arrived.Entry] = v.Arrived.Number
		}
		if v.Left != nil {
			m[v.Left.Entry] = v.Left.Number
		}
	}
	return m
}

func number[B any](m map[EntryID]int, items []Item[B]) {
	for _, it := range items {
		m[it.Entry] = it.Number
	}
}
