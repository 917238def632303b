package claims

import (
	"slices"
	"strings"
	"time"

	"kickplate/rules"
)

// BoardStates are the states of a claim on the desk's board, in the order of its life; disputed stands apart.
func BoardStates() []string {
	return []string{"gathering", "complete", "sent", "answered", "settled", "disputed"}
}

// boardState is the state of a stage (see Job.Stage; a card also knows "complete").
func boardState(stage string) string {
	switch stage {
	case "booked", "on-site", "gathering":
		return "gathering"
	case "paid", "refused":
		return "answered"
	}
	return stage
}

// stake is what is still to come in for a job: from the payer, or from the customer where no payer has a part in it. It is never below nought.
func stake(j *Job, b Bill) Money {
	if len(j.Settlements) > 0 || len(b.Lines) == 0 || b.Currency == "" {
		return Money{}
	}
	a := AccountOf(j, b)
	left := a.Payer.Left
	if b.Payer == 0 {
		left = a.Customer.Left
	}
	return b.Money(max(left, 0))
}

// owedSince is the moment from which the age of a job's money counts.
func (j *Job) owedSince() time.Time {
	if n := len(j.Sends); n > 0 {
		return j.Sends[n-1].At
	}
	for i := len(j.Visits) - 1; i >= 0; i-- {
		if left := j.Visits[i].Left; left != nil {
			return stepTime(left.At, left.Clock, left.Body.When)
		}
	}
	return j.Opened
}

// technician is who made the last visit, else who is to go.
func (j *Job) technician() string {
	if n := len(j.Visits); n > 0 {
		if a := j.Visits[n-1].Arrived; a != nil {
			return a.By
		}
		return j.Visits[n-1].Left.By
	}
	return j.Open.Technician
}

// mostMissing bounds the requirements a card names.
const mostMissing = 60

// missing are the requirements that were open when somebody left, and the required ones that are open since: before the first visit
// has ended nothing is found missing yet.
func missing(j *Job, report *rules.Report) []string {
	var ids []string
	add := func(id string) {
		id, _, _ = strings.Cut(id, ":") // a finding about one part or one damage counts for its requirement
		if len(ids) < mostMissing && !slices.Contains(ids, id) {
			ids = append(ids, id)
		}
	}
	if _, left := j.done(); !left {
		return nil
	}
	for _, v := range j.Visits {
		if v.Left != nil {
			for _, id := range v.Left.Body.Gaps {
				add(id)
			}
		}
	}
	for _, f := range report.Findings {
		if f.Outcome == rules.Gap && f.Severity == rules.Required {
			add(f.Requirement)
		}
	}
	return ids
}

// refusedFor are the reasons that payers gave, each once: of refusals and of lines that were cut.
func (j *Job) refusedFor() []string {
	var list []string
	add := func(reason string) {
		if reason != "" && len(list) < mostMissing && !slices.Contains(list, reason) {
			list = append(list, reason)
		}
	}
	for _, a := range j.Answers {
		if a.Body.Outcome != "paid" {
			add(a.Body.Reason)
		}
	}
	for _, p := range j.Payments {
		for _, l := range p.Body.Lines {
			add(l.Reason)
		}
	}
	return list
}
