package claims

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"time"
)

// Deadline is something on a job that has a last day. What is one of the words that a card shows; Code is for machines.
type Deadline struct {
	// Code is submit, return, answer-payer, answer-customer, answer-customer-2 ...
	Code string `json:"code"`
	What string `json:"what"`
	// Day is the last day, at the site; At its last second there.
	Day Day       `json:"day"`
	At  time.Time `json:"at"`
	// From is the day counted from, empty when the last day was named; Says how it was counted.
	From Day    `json:"from,omitempty"`
	Says string `json:"says"`
	// Entries are what it hangs on.
	Entries []EntryID `json:"entries,omitempty"`
}

// Due is a deadline in short.
type Due struct {
	Code string    `json:"code,omitempty"`
	Day  Day       `json:"day,omitempty"`
	At   time.Time `json:"at"`
	What string    `json:"what"`
}

// Deadlines lists what is still open and has a last day, soonest first.
func (j *Job) Deadlines() []Deadline {
	var list []Deadline
	add := func(d Deadline) {
		d.At = d.Day.end(j.zone())
		list = append(list, d)
	}
	if last, from, says, ok := j.window(j.Coverage.SubmitDays); ok && len(j.Sends) == 0 && len(j.Settlements) == 0 && j.Coverage.Kind != "customer-pays" {
		add(Deadline{Code: "submit", What: "send the claim", Day: last, From: from, Says: says, Entries: some(j.Said["coverage.submitdays"])})
	}
	if parts := j.toReturn(); len(parts) > 0 {
		if last, from, says, ok := j.window(j.Coverage.ReturnDays); ok {
			add(Deadline{Code: "return", What: "return the old part", Day: last, From: from, Says: says, Entries: append(parts, some(j.Said["coverage.returndays"])...)})
		}
	}
	if n := len(j.Answers); n > 0 && len(j.Settlements) == 0 {
		last := j.Answers[n-1]
		waits := last.Body.Outcome == "question" && !j.resent(last) || last.Body.Outcome == "paid-short" && !j.resent(last) || j.Stage() == "refused"
		if day, ok := ParseDay(last.Body.ReplyBy); ok && waits {
			add(Deadline{Code: "answer-payer", What: "answer the payer", Day: day, Says: "the payer named the day", Entries: some(last.Entry)})
		}
	}
	for n, a := range j.Allegations {
		code := "answer-customer"
		if n > 0 {
			code += "-" + strconv.Itoa(n+1) // one deadline each, told apart in a calendar
		}
		if day, ok := ParseDay(a.Body.ReplyBy); ok {
			add(Deadline{Code: code, What: "answer the customer", Day: day, Says: "the day was named", Entries: some(a.Entry)})
		}
	}
	slices.SortStableFunc(list, func(a, b Deadline) int { return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.Code, b.Code)) })
	return list
}

// NextDue is the soonest open deadline.
func (j *Job) NextDue() (Due, bool) {
	if dues := j.dues(); len(dues) > 0 {
		return dues[0], true
	}
	return Due{}, false
}

// mostDues bounds what a card carries.
const mostDues = 8

func (j *Job) dues() []Due {
	var list []Due
	for _, d := range j.Deadlines() {
		if len(list) < mostDues {
			list = append(list, Due{Code: d.Code, Day: d.Day, At: d.At, What: d.What})
		}
	}
	return list
}

// SubmitBy is the last day for the claim: the coverage's window counted from the day of the last visit.
func (j *Job) SubmitBy() (Day, bool) {
	day, _, _, ok := j.window(j.Coverage.SubmitDays)
	return day, ok
}

// ReturnBy is the last day for the old part, if one is still to be returned.
func (j *Job) ReturnBy() (Day, bool) {
	if len(j.toReturn()) == 0 {
		return "", false
	}
	day, _, _, ok := j.window(j.Coverage.ReturnDays)
	return day, ok
}

// toReturn are the parts of which the old one is still here.
func (j *Job) toReturn() []EntryID {
	var ids []EntryID
	for _, p := range j.Parts {
		switch j.held(p) {
		case "held", "requested":
			ids = append(ids, p.Entry)
		}
	}
	return ids
}

func (j *Job) window(days int) (last, from Day, says string, ok bool) {
	from, ok = j.done()
	if !ok || days == 0 {
		return "", "", "", false
	}
	last, says = NewBusinessDays(j.Coverage.Holidays, j.Coverage.Closed).LastDay(from, days, j.Coverage.DayRule)
	return last, from, fmt.Sprintf("%d days from %s, the day itself not counted; %s", days, from, says), true
}
