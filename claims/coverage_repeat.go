package claims

import (
	"fmt"
	"slices"
)

// EarlierRepair is one part of an earlier job on the same unit, or on the same part by its serial.
type EarlierRepair struct {
	Job    JobID  `json:"job"`
	Number string `json:"number"`
	// Done is the site's day on which the earlier job's last visit ended.
	Done      Day    `json:"done"`
	Component string `json:"component"`
	// Fitted is true when a part was fitted then; Part and Serial are that part's.
	Fitted bool   `json:"fitted,omitempty"`
	Part   string `json:"part,omitempty"`
	Serial string `json:"serial,omitempty"`
	// UnitSerial is the unit's.
	UnitSerial string  `json:"unitSerial,omitempty"`
	Entry      EntryID `json:"entry,omitempty"`
}

// Repeat is an earlier repair of a component that this job repairs again.
type Repeat struct {
	EarlierRepair
	// Days from the end of the earlier repair to the report of this failure; Within says whether they lie in the papers' window.
	Days   int    `json:"days"`
	Within bool   `json:"within"`
	Says   string `json:"says"`
}

// EarlierOf lists what a finished job repaired, for later jobs to look back on.
func EarlierOf(j *Job) []EarlierRepair {
	done, ok := j.done()
	if !ok {
		return nil
	}
	var list []EarlierRepair
	for _, c := range repaired(j) {
		if c == ClassWhole {
			continue
		}
		e := EarlierRepair{Job: j.ID, Number: j.Open.Number, Done: done, Component: c, UnitSerial: j.Unit.Serial}
		n := len(list)
		for _, p := range j.Parts {
			if p.Body.Component == c && p.Body.Action != "removed" {
				e.Fitted, e.Part, e.Serial, e.Entry = true, p.Body.Number, p.Body.Serial, p.Entry
				list = append(list, e)
			}
		}
		if len(list) == n {
			list = append(list, e)
		}
	}
	return list
}

// sameComponents are the earlier repairs of this unit's components, latest first; of other jobs only, with the same serial
// of the unit or of the old part.
func sameComponents(j *Job, earlier []EarlierRepair) []EarlierRepair {
	var list []EarlierRepair
	now := repaired(j)
	serial := FoldKey(j.Unit.Serial)
	for _, e := range earlier {
		same := serial != "" && FoldKey(e.UnitSerial) == serial && slices.Contains(now, e.Component)
		for _, p := range j.Parts {
			old := FoldKey(p.Body.OldSerial)
			same = same || old != "" && old == FoldKey(e.Serial) && p.Body.Component == e.Component
		}
		if same && e.Job != j.ID {
			list = append(list, e)
		}
	}
	slices.SortStableFunc(list, func(a, b EarlierRepair) int {
		if a.Done != b.Done {
			if a.Done > b.Done {
				return -1
			}
			return 1
		}
		return 0
	})
	return list
}

// repeatsOf finds the repairs that this one repeats: those that ended on or before the first day that may decide.
func repeatsOf(j *Job, on []CoverageDay, earlier []EarlierRepair) []Repeat {
	if len(on) == 0 {
		return nil
	}
	var list []Repeat
	for _, e := range sameComponents(j, earlier) {
		days := e.Done.DaysTo(on[0].Day)
		if days < 0 {
			continue
		}
		r := Repeat{EarlierRepair: e, Days: days, Within: j.Coverage.RepeatDays > 0 && days <= j.Coverage.RepeatDays}
		r.Says = fmt.Sprintf("The same component of this unit was repaired on job %s, %d days before (%s)", e.Number, days, e.Done)
		switch {
		case r.Within:
			r.Says += fmt.Sprintf("; the papers' window for a repeated repair is %d days.", j.Coverage.RepeatDays)
		case j.Coverage.RepeatDays > 0:
			r.Says += fmt.Sprintf("; that is outside the papers' window of %d days.", j.Coverage.RepeatDays)
		default:
			r.Says += "; the papers' window for a repeated repair is not on record."
		}
		list = append(list, r)
	}
	return list
}

// repeat lets earlier repairs bear on a line: within the window the labour is the shop's own; a part that was fitted then may
// still be under its own warranty, after the unit's has ended.
func (a *coverageCase) repeat(l *CoverageLine) {
	c := a.j.Coverage
	for _, r := range a.answer.Repeats {
		if r.Component != l.Component {
			continue
		}
		if r.Within && l.Labour.Verdict != NotCovered {
			l.Labour.Verdict, l.Labour.Says, l.Labour.ByShop, l.Labour.Boundary = NotCovered, "No labour for a repair that is repeated: "+r.Says, true, false
			a.change("Evidence that this failure has another cause than the one of job %s would make it a repair of its own.", r.Number)
		} else if c.RepeatDays == 0 {
			a.change("Whether the papers pay labour again within some days of a repair of the same component: enter the window.")
		}
		if r.Fitted && c.FittedMonths > 0 && l.Parts.Verdict != Covered && c.Kind != "customer-pays" && len(a.answer.On) > 0 {
			last := r.Done.LastDay(c.FittedMonths, c.EndRule)
			if on := a.answer.On[0].Day; on <= last {
				l.Parts = CoverageTerm{Verdict: Covered, Term: "fitted-part", Months: c.FittedMonths, LastDay: last,
					Says: fmt.Sprintf("The part fitted on %s (job %s) has %d months of its own, until %s.", r.Done, r.Number, c.FittedMonths, last)}
			}
		}
	}
}
