package claims

import (
	"cmp"
	"fmt"
	"slices"
	"time"
)

// Deadline is something on a job that has a last day. What is one of the words that a card shows; Code is for machines.
type Deadline struct {
	// Code is submit, return, answer-payer, answer-customer, answer-customer-2 ..., offer, insurer.
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
	if back, ok := j.partReturn(); ok {
		add(back)
	}
	if n := len(j.Answers); n > 0 && len(j.Settlements) == 0 {
		last := j.Answers[n-1]
		waits := last.Body.Outcome == "question" && !j.resent(last) || last.Body.Outcome == "paid-short" && !j.resent(last) || j.Stage() == "refused"
		day, named := ParseDay(last.Body.ReplyBy)
		switch {
		case waits && named:
			add(Deadline{Code: "answer-payer", What: "answer the payer", Day: day, Says: "the payer named the day", Entries: some(last.Entry)})
		case waits && j.Coverage.AnswerDays > 0:
			from := j.localDay(corrected(last.At, last.Clock))
			until, says := j.windowFrom(from, j.Coverage.AnswerDays)
			add(Deadline{Code: "answer-payer", What: "answer the payer", Day: until, From: from, Says: says, Entries: append(some(last.Entry), some(j.Said["coverage.answerdays"])...)})
		}
	}
	for _, d := range j.disputeDeadlines() {
		add(d)
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

// Today is the calendar day at the site.
func (j *Job) Today(now time.Time) Day { return dayOf(now.In(j.zone())) }

// SubmitBy is the last day for the claim: the coverage's window counted from the day of the last visit.
func (j *Job) SubmitBy() (Day, bool) {
	day, _, _, ok := j.window(j.Coverage.SubmitDays)
	return day, ok
}

// ReturnBy is the last day for the old part, if one is still to be returned.
func (j *Job) ReturnBy() (Day, bool) {
	d, ok := j.partReturn()
	return d.Day, ok
}

// partReturn is the soonest last day for an old part that is still here: the window counts from the end of the last visit, or
// from the day on which the payer asked for the part, when that is on record.
func (j *Job) partReturn() (d Deadline, ok bool) {
	done, left := j.done()
	if j.Coverage.ReturnDays == 0 {
		return d, false
	}
	for _, p := range j.Parts {
		held := j.held(p)
		if held != "held" && held != "requested" {
			continue
		}
		from, known := done, left
		by := some(p.Entry)
		for _, r := range j.PartReturns {
			if r.Body.Part == p.Entry && r.Body.Held == "requested" {
				from, known = j.localDay(corrected(r.At, r.Clock)), true
				by = append(by, r.Entry)
			}
		}
		if !known {
			continue
		}
		last, says := j.windowFrom(from, j.Coverage.ReturnDays)
		if !ok || last < d.Day {
			d, ok = Deadline{Entries: d.Entries, Code: "return", What: "return the old part", Day: last, From: from, Says: says}, true
		}
		d.Entries = append(d.Entries, by...)
	}
	d.Entries = append(d.Entries, some(j.Said["coverage.returndays"])...)
	return d, ok
}

// window is the last day of so many days after the end of the last visit.
func (j *Job) window(days int) (last, from Day, says string, ok bool) {
	from, ok = j.done()
	if !ok || days == 0 {
		return "", "", "", false
	}
	last, says = j.windowFrom(from, days)
	return last, from, says, true
}

func (j *Job) windowFrom(from Day, days int) (last Day, says string) {
	last, says = NewBusinessDays(j.Coverage.Holidays, j.Coverage.Closed).LastDay(from, days, j.Coverage.DayRule)
	return last, fmt.Sprintf("%d days from %s, the day itself not counted; %s", days, from, says)
}
