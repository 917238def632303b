package web

import (
	"strconv"

	"github.com/labstack/echo/v4"

	"kickplate/claims"
)

// entriesTable is a job's journal, one row an entry, the body as the JSON that came.
func entriesTable() table {
	return table{"entries", []string{"leaf", "received", "made_at", "kind", "by", "device", "sequence", "corrects", "why", "body", "id"},
		func(s *Server, c echo.Context, out *claims.CSV) error {
			from := claims.Head(0)
			for {
				recs, head, err := s.opt.Service.Journal(c.Request().Context(), actor(c), claims.JobID(c.Param("job")), from, exportPage)
				if err != nil {
					return err
				}
				for _, r := range recs {
					k, err := claims.KeptOf(r)
					if err != nil {
						return err
					}
					seq := ""
					if k.Seq > 0 {
						seq = strconv.FormatUint(k.Seq, 10)
					}
					if err := out.Write(strconv.FormatUint(r.Leaf, 10), timeCell(k.Received.UTC()), timeCell(k.At), string(k.Kind), k.By, k.Device, seq, string(k.Supersedes), k.Why,
						string(k.Body), string(k.ID)); err != nil {
						return err
					}
				}
				if from += claims.Head(len(recs)); len(recs) == 0 || from >= head {
					return nil
				}
			}
		}}
}

// accountTable is a job's bill, line by line, with what was paid for each as far as payments say.
func accountTable() table {
	return table{"account", []string{"line", "kind", "component", "says", "why", "amount", "payer", "customer", "shop", "paid_by_payer", "currency"},
		func(s *Server, c echo.Context, out *claims.CSV) error {
			a, err := s.opt.Service.Account(c.Request().Context(), actor(c), claims.JobID(c.Param("job")))
			if err != nil {
				return err
			}
			paid := map[string]claims.LineState{}
			for _, l := range a.Lines {
				paid[l.Line] = l
			}
			cell := func(minor int64) string {
				amount, _ := moneyCells(claims.Money{Minor: minor, Currency: a.Bill.Currency})
				return amount
			}
			for _, l := range a.Bill.Lines {
				came := ""
				if p := paid[l.ID]; p.Known {
					came = cell(p.Paid)
				}
				if err := out.Write(l.ID, l.Kind, l.Component, l.Says, l.Why, cell(l.Amount), cell(l.Payer), cell(l.Customer), cell(l.Shop), came, a.Bill.Currency); err != nil {
					return err
				}
			}
			return out.Write("total", "", "", "", "", cell(a.Bill.Total), cell(a.Bill.Payer), cell(a.Bill.Customer), cell(a.Bill.Shop), cell(a.Payer.Paid), a.Bill.Currency)
		}}
}

// eachJob folds the jobs of the shop one after the other, those changed last first.
func (s *Server) eachJob(c echo.Context, each func(claims.Card, claims.Job) error) error {
	return s.eachCard(c, claims.CardQuery{}, func(card claims.Card) error {
		j, err := s.opt.Service.Job(c.Request().Context(), actor(c), card.Job)
		if err != nil {
			return err
		}
		return each(card, j)
	})
}

// paymentsTable is all money that came in, over all jobs.
func paymentsTable() table {
	return table{"payments", []string{"number", "customer", "payer", "from", "day", "reference", "amount", "currency", "says", "entered_at", "entered_by", "job"},
		func(s *Server, c echo.Context, out *claims.CSV) error {
			return s.eachJob(c, func(card claims.Card, j claims.Job) error {
				for _, p := range j.Payments {
					amount, currency := "", ""
					if p.Body.Amount != nil {
						amount, currency = moneyCells(*p.Body.Amount)
					}
					if err := out.Write(card.Number, card.Customer, card.Payer, p.Body.From, p.Body.On, p.Body.Reference, amount, currency, p.Body.Says, timeCell(p.At), p.By, string(card.Job)); err != nil {
						return err
					}
				}
				return nil
			})
		}}
}

// returnsTable is every old part of which the shop still has to do something: held, asked for, or on its way.
func returnsTable() table {
	return table{"parts-to-return", []string{"number", "payer", "component", "part_number", "description", "old_serial", "where", "tracking", "return_by", "job"},
		func(s *Server, c echo.Context, out *claims.CSV) error {
			return s.eachJob(c, func(card claims.Card, j claims.Job) error {
				by := ""
				for _, d := range card.Dues {
					if d.Code == "return" {
						by = string(d.Day)
					}
				}
				for _, p := range j.Parts {
					where, tracking := p.Body.Held, ""
					for _, r := range j.PartReturns {
						if r.Body.Part == p.Entry {
							where, tracking = r.Body.Held, r.Body.Tracking
						}
					}
					if where != "held" && where != "requested" && where != "shipped" {
						continue
					}
					if err := out.Write(card.Number, card.Payer, p.Body.Component, p.Body.Number, p.Body.Description, p.Body.OldSerial, where, tracking, by, string(card.Job)); err != nil {
						return err
					}
				}
				return nil
			})
		}}
}
