package privacy

import (
	"context"
	"fmt"
	"time"

	"kickplate/claims"
)

// Rules say how long a shop keeps a job. The zero Rules keep everything: nothing is ever proposed.
type Rules struct {
	// Months after the claim was settled; 0 = kept for good.
	Months int `json:"months"`
	// Idle is for jobs that never became a settled claim: months after the last entry; 0 = kept for good.
	Idle int `json:"idle"`
	// Auto lets the server carry the rules out once a day. Without it they only propose.
	Auto bool `json:"auto"`
	// SetBy and SetAt are filled in.
	SetBy string    `json:"setBy,omitempty"`
	SetAt time.Time `json:"setAt,omitzero"`
}

const (
	noteRules   = "privacy/retention"
	notesRuns   = "privacy/runs/"
	longestTerm = 600 // months
	// mostDue bounds one proposal: the rest comes with the next.
	mostDue = 500
	// mostRuns is how many records of runs are shown.
	mostRuns = 50
)

// Due is a job that a rule says is to be erased, or that a rule would erase if something did not speak against it.
type Due struct {
	Job      claims.JobID `json:"job"`
	Number   string       `json:"number,omitempty"`
	Customer string       `json:"customer,omitempty"`
	Stage    string       `json:"stage"`
	// From is the day the term runs from, Day the day it ended.
	From claims.Day `json:"from"`
	Day  claims.Day `json:"day"`
	// Why is the rule in words; Kept says what speaks against it, empty when nothing does.
	Why  string `json:"why"`
	Kept string `json:"kept,omitempty"`
}

// Proposal is what the rules say today.
type Proposal struct {
	Rules Rules `json:"rules"`
	Due   []Due `json:"due"`
	// Kept are jobs whose term is over and that stay all the same.
	Kept []Due `json:"kept"`
	// More is true when the lists were cut.
	More bool `json:"more,omitempty"`
}

// Run is the record of a proposal that was asked for or of jobs that were erased by the rules. It holds no names.
type Run struct {
	At   time.Time `json:"at"`
	By   string    `json:"by"`
	Auto bool      `json:"auto,omitempty"`
	// What is proposed or erased.
	What  string         `json:"what"`
	Rules Rules          `json:"rules"`
	Due   int            `json:"due,omitempty"`
	Kept  int            `json:"kept,omitempty"`
	Jobs  []claims.JobID `json:"jobs,omitempty"`
}

// Retention returns the rules and the last runs, newest first.
func (d Desk) Retention(ctx context.Context, a claims.Actor) (Rules, []Run, error) {
	st, err := d.store(ctx, a, claims.ActErase)
	if err != nil {
		return Rules{}, nil, err
	}
	var rules Rules
	if _, err := note(ctx, st, noteRules, &rules); err != nil {
		return Rules{}, nil, err
	}
	runs, err := runsOf(ctx, st)
	return rules, runs, err
}

// SetRetention changes the rules.
func (d Desk) SetRetention(ctx context.Context, a claims.Actor, r Rules) (Rules, error) {
	st, err := d.store(ctx, a, claims.ActErase)
	if err != nil {
		return Rules{}, err
	}
	for name, months := range map[string]int{"months": r.Months, "idle": r.Idle} {
		if months < 0 || months > longestTerm {
			return Rules{}, claims.Errorf(claims.Invalid, "A term is 1 to %d months; 0 means that nothing is erased by this rule.", longestTerm).At(name)
		}
	}
	if r.Auto && r.Months == 0 && r.Idle == 0 {
		return Rules{}, claims.Errorf(claims.Invalid, "Set a term first: with none there is nothing that could run by itself.").At("auto")
	}
	r.SetBy, r.SetAt = a.Person, d.Service.Now().UTC()
	return r, putNote(ctx, st, noteRules, r)
}

// Propose lists the jobs whose term is over, and records that it was asked for. Nothing is erased.
func (d Desk) Propose(ctx context.Context, a claims.Actor) (Proposal, error) {
	st, err := d.store(ctx, a, claims.ActErase)
	if err != nil {
		return Proposal{}, err
	}
	p, err := d.propose(ctx, a, st)
	if err != nil {
		return Proposal{}, err
	}
	return p, d.recordRun(ctx, st, Run{By: a.Person, What: "proposed", Rules: p.Rules, Due: len(p.Due), Kept: len(p.Kept)})
}

func (d Desk) propose(ctx context.Context, a claims.Actor, st claims.Store) (Proposal, error) {
	p := Proposal{Due: []Due{}, Kept: []Due{}}
	if _, err := note(ctx, st, noteRules, &p.Rules); err != nil {
		return p, err
	}
	if p.Rules.Months == 0 && p.Rules.Idle == 0 {
		return p, nil
	}
	shop, err := d.Service.Shop(ctx, a)
	if err != nil {
		return p, err
	}
	zone, err := time.LoadLocation(shop.Zone)
	if err != nil {
		zone = time.UTC
	}
	today := claims.DayAt(d.Service.Now(), zone)
	q := claims.CardQuery{Order: "changed", Limit: claims.MaxCardPage}
	for {
		page, err := st.Cards(ctx, q)
		if err != nil {
			return p, err
		}
		for _, c := range page.Cards {
			if c.Stage == claims.StageErased || !p.Rules.maybe(c, today, zone) {
				continue
			}
			j, err := d.Service.Job(ctx, a, c.Job)
			if err != nil {
				return p, err
			}
			due, over := p.Rules.judge(&j, today, zone)
			switch {
			case !over:
			case len(p.Due) >= mostDue || len(p.Kept) >= mostDue:
				p.More = true
				return p, nil
			case due.Kept != "":
				p.Kept = append(p.Kept, due)
			default:
				p.Due = append(p.Due, due)
			}
		}
		if q.Cursor = page.Next; q.Cursor == "" {
			return p, nil
		}
	}
}

// maybe spares reading jobs that something happened on too lately for any rule.
func (r Rules) maybe(c claims.Card, today claims.Day, zone *time.Location) bool {
	shortest := r.Months
	if shortest == 0 || r.Idle > 0 && r.Idle < shortest {
		shortest = r.Idle
	}
	// A settled claim may have entries after it, such as a note; the term runs from the settlement, so only the opening tells for sure.
	return claims.DayAt(c.Opened, zone).AddMonths(shortest).DaysTo(today) >= 0
}

// judge holds a job against the rules. over is true when its term has ended; Due.Kept then says why it stays, if it does.
func (r Rules) judge(j *claims.Job, today claims.Day, zone *time.Location) (due Due, over bool) {
	due = Due{Job: j.ID, Number: j.Open.Number, Customer: j.Customer.Name, Stage: j.Stage()}
	months := r.Idle
	from := j.Changed
	if n := len(j.Settlements); n > 0 {
		months, from = r.Months, j.Settlements[n-1].At
		due.Why = fmt.Sprintf("kept for %d months after the claim was settled", months)
	} else {
		due.Why = fmt.Sprintf("never settled, and kept for %d months after the last entry", months)
	}
	if months == 0 {
		return due, false
	}
	due.From = claims.DayAt(from, zone)
	due.Day = due.From.AddMonths(months)
	if due.Day.DaysTo(today) < 0 {
		return due, false
	}
	switch {
	case j.OnHold() != nil:
		due.Kept = "under a legal hold: " + j.OnHold().Body.Reason
	case due.Stage == "disputed":
		due.Kept = "somebody says the shop did damage, and that is open"
	case len(j.Settlements) == 0 && (due.Stage == "sent" || due.Stage == "refused"):
		due.Kept = "the claim is open"
	}
	return due, true
}

// Carry erases jobs of the present proposal. Jobs that are not in it are refused, and nothing is erased then.
func (d Desk) Carry(ctx context.Context, a claims.Actor, jobs []claims.JobID, drop claims.DropParts) (Run, error) {
	st, err := d.store(ctx, a, claims.ActErase)
	if err != nil {
		return Run{}, err
	}
	p, err := d.propose(ctx, a, st)
	if err != nil {
		return Run{}, err
	}
	return d.carry(ctx, a, st, p, jobs, false, drop)
}

func (d Desk) carry(ctx context.Context, a claims.Actor, st claims.Store, p Proposal, jobs []claims.JobID, auto bool, drop claims.DropParts) (Run, error) {
	if len(jobs) == 0 || len(jobs) > mostDue {
		return Run{}, claims.Errorf(claims.Invalid, "Name 1 to %d jobs of the proposal.", mostDue).At("jobs")
	}
	byRule := map[string][]claims.JobID{}
	known := map[claims.JobID]string{}
	for _, due := range p.Due {
		known[due.Job] = due.Why
	}
	for _, job := range jobs {
		why, ok := known[job]
		if !ok {
			return Run{}, claims.Errorf(claims.Conflict, "The job %s is not on the list any more: look at the proposal again. Nothing was erased.", job).At("jobs")
		}
		byRule[why] = append(byRule[why], job)
		delete(known, job) // named twice is refused
	}
	run := Run{By: a.Person, Auto: auto, What: "erased", Rules: p.Rules}
	for why, list := range byRule {
		for len(list) > 0 {
			n := min(len(list), claims.MaxErase)
			o := claims.EraseOrder{Jobs: list[:n], Basis: "retention", Reason: "the shop's own rule: " + why, Rule: why, Despite: []string{"unfinished", "bundle-out"}}
			if _, err := d.Service.Erase(ctx, a, o, drop); err != nil {
				return run, err
			}
			run.Jobs, list = append(run.Jobs, list[:n]...), list[n:]
		}
	}
	return run, d.recordRun(ctx, st, run)
}

// Daily carries the rules out when the owner's switch is on. A server calls it once a day; without the switch nothing happens.
func (d Desk) Daily(ctx context.Context, shop claims.ShopID, drop claims.DropParts) (erased int, err error) {
	st, err := d.Service.Stores.Shop(ctx, shop)
	if err != nil {
		return 0, err
	}
	var rules Rules
	if found, err := note(ctx, st, noteRules, &rules); err != nil || !found || !rules.Auto {
		return 0, err
	}
	a := claims.Actor{Shop: shop, Person: rules.SetBy, Role: claims.Owner, Device: "server"}
	p, err := d.propose(ctx, a, st)
	if err != nil || len(p.Due) == 0 {
		return 0, err
	}
	jobs := make([]claims.JobID, len(p.Due))
	for i, due := range p.Due {
		jobs[i] = due.Job
	}
	run, err := d.carry(ctx, a, st, p, jobs, true, drop)
	return len(run.Jobs), err
}

func (d Desk) recordRun(ctx context.Context, st claims.Store, r Run) error {
	r.At = d.Service.Now().UTC()
	return putNote(ctx, st, notesRuns+r.At.Format("20060102T150405.000000Z")+"-"+d.Service.MakeID()[24:], r)
}
