package web

import (
	"bufio"
	"net/http"
	"strconv"
	"time"

	"github.com/labstack/echo/v4"

	"kickplate/claims"
)

// Any list of the desk as a file for a spreadsheet. What somebody may export is what they may list: the use-case is the same. Rows go out
// as they are read, a page at a time, so memory does not grow with the list.

// table is one list: the columns, and what writes its rows.
type table struct {
	name    string
	columns []string
	rows    func(s *Server, c echo.Context, out *claims.CSV) error
}

// exportsAtOnce is how many lists are exported at one time.
const exportsAtOnce = 2

// exportPage is how many jobs are read at once.
const exportPage = 100

// export answers with a list. Until the first few kilobytes are full nothing has gone out, and what goes wrong is still a problem;
// later the answer is broken off, so that nobody takes half a list for whole.
func (s *Server) export(t table) echo.HandlerFunc {
	return func(c echo.Context) error {
		release, err := s.turn(c, s.exports, "lists being exported")
		if err != nil {
			return err
		}
		defer release()
		h := c.Response().Header()
		h.Set("Content-Type", "text/csv; charset=utf-8; header=present")
		h.Set("Content-Disposition", `attachment; filename="kickplate-`+t.name+`-`+s.opt.Now().UTC().Format("2006-01-02")+`.csv"`)
		slow := bufio.NewWriterSize(&patient{c}, 32<<10)
		out, err := claims.NewCSV(slow, t.columns...)
		if err == nil {
			err = t.rows(s, c, out)
		}
		if err == nil {
			err = out.Flush()
		}
		if err == nil {
			err = slow.Flush()
		}
		if err != nil && c.Response().Committed {
			s.opt.Log.Info("export broken off", "request", requestID(c), "list", t.name, "error", err)
			panic(http.ErrAbortHandler)
		}
		if err != nil {
			h.Del("Content-Disposition")
		}
		return err
	}
}

// patient gives each block a minute to be taken, however long the whole takes.
type patient struct{ c echo.Context }

func (p *patient) Write(b []byte) (int, error) {
	_ = http.NewResponseController(p.c.Response()).SetWriteDeadline(time.Now().Add(time.Minute))
	return p.c.Response().Write(b)
}

// eachCard walks a list of jobs page by page.
func (s *Server) eachCard(c echo.Context, q claims.CardQuery, each func(claims.Card) error) error {
	q.Limit = exportPage
	for {
		page, err := s.opt.Service.Jobs(c.Request().Context(), actor(c), q)
		if err != nil {
			return err
		}
		for _, card := range page.Cards {
			if err := each(card); err != nil {
				return err
			}
		}
		if q.Cursor = page.Next; q.Cursor == "" {
			return nil
		}
	}
}

func moneyCells(m claims.Money) (amount, currency string) {
	if m.Currency == "" {
		return "", ""
	}
	plain := m.Plain()
	return plain[:len(plain)-len(m.Currency)-1], m.Currency
}

func timeCell(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.RFC3339)
}

func jobsTable() table {
	return table{"jobs", []string{"number", "customer", "place", "unit", "maker", "model", "serial", "payer", "stage", "state", "opened", "changed", "due", "due_day", "due_what",
		"gaps", "doubts", "photos", "amount", "amount_currency", "still_to_come", "still_to_come_currency", "technician", "job"},
		func(s *Server, c echo.Context, out *claims.CSV) error {
			q := claims.CardQuery{Order: c.QueryParam("order"), Key: c.QueryParam("key"), Value: claims.FoldKey(c.QueryParam("value")), Words: claims.WordsOf(c.QueryParam("q"))}
			return s.eachCard(c, q, func(card claims.Card) error {
				amount, currency := moneyCells(card.Amount)
				stake, stakeIn := moneyCells(card.Stake)
				gaps := ""
				if card.Gaps >= 0 {
					gaps = strconv.Itoa(card.Gaps)
				}
				day := ""
				if len(card.Dues) > 0 {
					day = string(card.Dues[0].Day)
				}
				return out.Write(card.Number, card.Customer, card.Place, card.UnitKind, card.Maker, card.Model, card.Serial, card.Payer, card.Stage, card.State,
					timeCell(card.Opened), timeCell(card.Changed), timeCell(card.Due), day, card.DueWhat, gaps, strconv.Itoa(card.Doubts), strconv.Itoa(card.Photos),
					amount, currency, stake, stakeIn, card.Technician, string(card.Job))
			})
		}}
}

func dueTable() table {
	return table{"due", []string{"day", "days_left", "what", "number", "customer", "place", "unit", "payer", "stage", "amount", "currency", "gaps", "job"},
		func(s *Server, c echo.Context, out *claims.CSV) error {
			cursor := ""
			for {
				page, err := s.opt.Service.DueNext(c.Request().Context(), actor(c), cursor, exportPage)
				if err != nil {
					return err
				}
				for _, d := range page.Due {
					amount, currency := moneyCells(d.Amount)
					if err := out.Write(string(d.Day), strconv.Itoa(d.DaysLeft), d.What, d.Number, d.Customer, d.Place, d.UnitKind, d.Payer, d.Stage, amount, currency,
						strconv.Itoa(d.Gaps), string(d.Job)); err != nil {
						return err
					}
				}
				if cursor = page.Next; cursor == "" {
					return nil
				}
			}
		}}
}

func peopleTable() table {
	return table{"people", []string{"name", "role", "added", "password", "id"}, func(s *Server, c echo.Context, out *claims.CSV) error {
		people, err := s.opt.Access.People(c.Request().Context(), actor(c))
		if err != nil {
			return err
		}
		for _, p := range people {
			has := "no"
			if p.Password {
				has = "yes"
			}
			if err := out.Write(p.Name, string(p.Role), timeCell(p.Added), has, p.ID); err != nil {
				return err
			}
		}
		return nil
	}}
}

func devicesTable() table {
	return table{"devices", []string{"name", "person", "let_in", "let_in_by", "last_seen", "id"}, func(s *Server, c echo.Context, out *claims.CSV) error {
		devices, err := s.opt.Access.Devices(c.Request().Context(), actor(c))
		if err != nil {
			return err
		}
		for _, d := range devices {
			if err := out.Write(d.Name, d.PersonName, timeCell(d.Paired), d.PairedBy, timeCell(d.Seen), d.ID); err != nil {
				return err
			}
		}
		return nil
	}}
}
