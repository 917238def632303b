package claims

import (
	"context"
	"time"
)

// DueJob is a deadline with what a person needs to know of its job.
type DueJob struct {
	Due
	Job      JobID  `json:"job"`
	Number   string `json:"number,omitempty"`
	Customer string `json:"customer,omitempty"`
	Place    string `json:"place,omitempty"`
	UnitKind string `json:"unitKind,omitempty"`
	Payer    string `json:"payer,omitempty"`
	Stage    string `json:"stage,omitempty"`
	Amount   Money  `json:"amount,omitzero"`
	Gaps     int    `json:"gaps"`
	// DaysLeft counts days at the site: 0 on the last day, negative when it has passed.
	DaysLeft int `json:"daysLeft"`
}

// DuePage is one page of what is due; Next is empty on the last.
type DuePage struct {
	Due  []DueJob `json:"due"`
	Next string   `json:"next,omitempty"`
}

// DueNext lists the jobs with an open deadline, soonest first, each with the soonest of its deadlines. limit as in CardQuery.
func (s *Service) DueNext(ctx context.Context, a Actor, cursor string, limit int) (DuePage, error) {
	st, err := s.store(ctx, a, ActRead)
	if err != nil {
		return DuePage{}, err
	}
	page, err := st.Cards(ctx, CardQuery{Order: "due", Cursor: cursor, Limit: limit})
	if err != nil {
		return DuePage{}, err
	}
	out := DuePage{Due: make([]DueJob, 0, len(page.Cards)), Next: page.Next}
	for _, c := range page.Cards {
		if len(c.Dues) > 0 {
			out.Due = append(out.Due, dueJob(c, c.Dues[0], s.Now()))
		}
	}
	return out, nil
}

func dueJob(c Card, d Due, now time.Time) DueJob {
	today := dayOf(now.In(d.At.Location()))
	return DueJob{Due: d, Job: c.Job, Number: c.Number, Customer: c.Customer, Place: c.Place, UnitKind: c.UnitKind, Payer: c.Payer,
		Stage: c.Stage, Amount: c.Amount, Gaps: c.Gaps, DaysLeft: today.DaysTo(d.Day)}
}

// mostEvents bounds a calendar feed.
const mostEvents = 1000

// FeedContent says what a calendar tells of a job beside its number and unit. Feeds are kept by whoever subscribes, so nothing by itself.
type FeedContent struct {
	// Customers brings name and address, Amounts the payer and the amount.
	Customers, Amounts bool
}

// Calendar is the shop's open deadlines as an iCalendar feed (RFC 5545), soonest first, at most mostEvents.
func (s *Service) Calendar(ctx context.Context, a Actor, with FeedContent) ([]byte, error) {
	st, err := s.store(ctx, a, ActRead)
	if err != nil {
		return nil, err
	}
	shop, err := s.shop(ctx, st, a.Shop)
	if err != nil {
		return nil, err
	}
	var list []DueJob
	q := CardQuery{Order: "due", Limit: MaxCardPage}
	for {
		page, err := st.Cards(ctx, q)
		if err != nil {
			return nil, err
		}
		for _, c := range page.Cards {
			for _, d := range c.Dues {
				if len(list) < mostEvents {
					due := dueJob(c, d, s.Now())
					if !with.Customers {
						due.Customer, due.Place = "", ""
					}
					if !with.Amounts {
						due.Payer, due.Amount = "", Money{}
					}
					list = append(list, due)
				}
			}
		}
		if q.Cursor = page.Next; q.Cursor == "" || len(list) >= mostEvents {
			return CalendarFeed(a.Shop, shop.Name, s.Now(), list), nil
		}
	}
}
