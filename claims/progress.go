package claims

import (
	"time"
)

// Stage is where a job stands: booked, on-site, gathering, sent, refused, paid, disputed.
func (j *Job) Stage() string {
	if n := len(j.Allegations); n > 0 {
		return "disputed"
	}
	if n := len(j.Answers); n > 0 {
		last := j.Answers[n-1]
		resent := len(j.Sends) > 0 && j.Sends[len(j.Sends)-1].At.After(last.At)
		switch {
		case resent || last.Body.Outcome == "question":
			return "sent"
		case last.Body.Outcome == "paid", last.Body.Outcome == "paid-short":
			return "paid"
		}
		return "refused"
	}
	if len(j.Sends) > 0 {
		return "sent"
	}
	if n := len(j.Visits); n > 0 {
		if j.Visits[n-1].Left == nil {
			return "on-site"
		}
		return "gathering"
	}
	return "booked"
}

// Due is the next thing that has a last day.
type Due struct {
	At   time.Time `json:"at"`
	What string    `json:"what"`
}

// NextDue is the soonest open deadline: the claim to send, an answer to give, an old part to return.
func (j *Job) NextDue() (Due, bool) {
	var due Due
	found := false
	add := func(day Day, what string) {
		if at := day.end(j.zone()); !found || at.Before(due.At) {
			due, found = Due{At: at, What: what}, true
		}
	}
	if day, ok := j.SubmitBy(); ok && len(j.Sends) == 0 {
		add(day, "send the claim")
	}
	if day, ok := j.ReturnBy(); ok {
		add(day, "return the old part")
	}
	if n := len(j.Answers); n > 0 && j.Stage() == "refused" {
		if day, ok := ParseDay(j.Answers[n-1].Body.ReplyBy); ok {
			add(day, "answer the payer")
		}
	}
	for _, a := range j.Allegations {
		if day, ok := ParseDay(a.Body.ReplyBy); ok {
			add(day, "answer the customer")
		}
	}
	return due, found
}

// done is the site's calendar day on which the last visit ended.
func (j *Job) done() (Day, bool) {
	for i := len(j.Visits) - 1; i >= 0; i-- {
		if left := j.Visits[i].Left; left != nil {
			return DayAt(stepTime(left.At, left.Clock, left.Body.When), j.zone()), true
		}
	}
	return "", false
}

// SubmitBy is the last day for the claim: the coverage's window counted from the day of the last visit.
func (j *Job) SubmitBy() (Day, bool) { return j.within(j.Coverage.SubmitDays) }

// ReturnBy is the last day for the old part, if one is still to be returned.
func (j *Job) ReturnBy() (Day, bool) {
	for _, p := range j.Parts {
		switch j.held(p) {
		case "held", "requested":
			return j.within(j.Coverage.ReturnDays)
		}
	}
	return "", false
}

func (j *Job) within(days int) (Day, bool) {
	day, ok := j.done()
	if !ok || days == 0 {
		return "", false
	}
	return day.AddDays(days), true
}

// held is where an old part is, by its own entry or the last report on its return.
func (j *Job) held(p Item[Part]) string {
	held := p.Body.Held
	for _, r := range j.PartReturns {
		if r.Body.Part == p.Entry {
			held = r.Body.Held
		}
	}
	return held
}

// Total is what the claim asks for: parts, labour and trips. Zero when nothing is priced or currencies are mixed.
func (j *Job) Total() Money {
	var sum Money
	mixed := false
	add := func(m *Money, times int) {
		if m == nil {
			return
		}
		if sum.Currency == "" {
			sum.Currency = m.Currency
		}
		mixed = mixed || sum.Currency != m.Currency
		sum.Minor += m.Minor * int64(times)
	}
	for _, p := range j.Parts {
		add(p.Body.Price, max(1, p.Body.Quantity))
	}
	for _, l := range j.Labour {
		add(l.Body.Amount, 1)
	}
	for _, t := range j.Trips {
		add(t.Body.Amount, 1)
	}
	if mixed {
		return Money{}
	}
	return sum
}

// stepTime is the moment a step tells of: the one stated, else the entry's own corrected by the clock's offset.
func stepTime(at time.Time, c *Clock, stated string) time.Time {
	if stated != "" {
		if t, err := time.Parse(time.RFC3339Nano, stated); err == nil {
			return t
		}
	}
	return corrected(at, c)
}
