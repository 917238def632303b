package claims

import "time"

// Stage is where a job stands: booked, on-site, gathering, sent, refused, paid, settled, disputed. A card says complete instead of
// gathering when the rule pack finds nothing missing.
func (j *Job) Stage() string {
	if len(j.Erased) > 0 {
		return StageErased
	}
	if j.disputed() {
		return "disputed"
	}
	if len(j.Settlements) > 0 {
		return "settled"
	}
	if n := len(j.Answers); n > 0 {
		last := j.Answers[n-1]
		switch {
		case j.resent(last) || last.Body.Outcome == "question":
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

// resent reports whether the claim went out again after an answer.
func (j *Job) resent(answer Item[Answer]) bool {
	n := len(j.Sends)
	return n > 0 && j.Sends[n-1].At.After(answer.At)
}

// ClaimVersion is one time the claim went out: which bundle, what was asked, and what came back before the next.
type ClaimVersion struct {
	Send Item[Send] `json:"send"`
	// Bundle is the version that was sent, with the digest of its bytes; nil when no bundle went along.
	Bundle   *Built          `json:"bundle,omitempty"`
	Answers  []Item[Answer]  `json:"answers,omitempty"`
	Payments []Item[Payment] `json:"payments,omitempty"`
}

// Versions tells the claim's life in order: each sending with its bundle and what followed it. Answers and payments from before
// the first sending are not among them.
func (j *Job) Versions() []ClaimVersion {
	list := make([]ClaimVersion, len(j.Sends))
	for i, s := range j.Sends {
		list[i].Send = s
		for _, b := range j.Bundles {
			if s.Body.Version != 0 && b.Body.Version == s.Body.Version {
				built := b.Body
				list[i].Bundle = &built
			}
		}
	}
	at := func(t time.Time) *ClaimVersion {
		for i := len(list) - 1; i >= 0; i-- {
			if !list[i].Send.At.After(t) {
				return &list[i]
			}
		}
		return nil
	}
	for _, a := range j.Answers {
		if v := at(a.At); v != nil {
			v.Answers = append(v.Answers, a)
		}
	}
	for _, p := range j.Payments {
		if v := at(p.At); v != nil {
			v.Payments = append(v.Payments, p)
		}
	}
	return list
}

// done is the site's calendar day on which the last visit ended.
func (j *Job) done() (Day, bool) {
	for i := len(j.Visits) - 1; i >= 0; i-- {
		if left := j.Visits[i].Left; left != nil {
			return j.localDay(stepTime(left.At, left.Clock, left.Body.When)), true
		}
	}
	return "", false
}

// workDay is the site's day of the work: when the last visit ended, else when it began, else when the job was opened.
func (j *Job) workDay() (Day, bool) {
	if day, ok := j.done(); ok {
		return day, true
	}
	for _, v := range j.Visits {
		if a := v.Arrived; a != nil {
			return j.localDay(stepTime(a.At, a.Clock, a.Body.When)), true
		}
	}
	if j.Opened.IsZero() {
		return "", false
	}
	return j.localDay(j.Opened), true
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

// Total is what the job costs, before it is split: parts, labour, trips, tax. It is that of the bill drawn up last, while nothing
// has happened since that bears on it, else what the entries themselves state. Zero when nothing is priced or currencies are mixed.
func (j *Job) Total() Money {
	var b Bill
	if up, ok := j.drawn(); ok {
		b = up
	} else {
		b = statedBill(j)
	}
	if len(b.Lines) == 0 || b.Mixed {
		return Money{}
	}
	return b.Money(b.Total)
}

// Bill is the bill as far as the entries alone tell: the one drawn up last while it is up to date, else one without the shop's rates.
func (j *Job) Bill() Bill {
	if b, ok := j.drawn(); ok {
		return b
	}
	return BillOf(j, Rates{}, CoverageOf(j, nil))
}

// drawn is the bill by the shop's rates, where it is at hand or on record and up to date.
func (j *Job) drawn() (Bill, bool) {
	if j.bill != nil {
		return *j.bill, true
	}
	if n := len(j.Bills); n > 0 && j.Bills[n-1].Body.Bearing == j.Bearing {
		return j.Bills[n-1].Body, true
	}
	return Bill{}, false
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
