package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"kickplate/claims"
)

// The desk's questions about one job: who pays, what it comes to, what can be said, what answers a refusal.

func (s *Server) getCoverage(c echo.Context) error {
	out, err := s.opt.Service.Coverage(c.Request().Context(), actor(c), claims.JobID(c.Param("job")))
	return answerOr(c, out, err)
}

func (s *Server) getBill(c echo.Context) error {
	out, err := s.opt.Service.Bill(c.Request().Context(), actor(c), claims.JobID(c.Param("job")))
	return answerOr(c, out, err)
}

func (s *Server) getAccount(c echo.Context) error {
	out, err := s.opt.Service.Account(c.Request().Context(), actor(c), claims.JobID(c.Param("job")))
	return answerOr(c, out, err)
}

func (s *Server) getDraft(c echo.Context) error {
	out, err := s.opt.Service.Draft(c.Request().Context(), actor(c), claims.JobID(c.Param("job")))
	return answerOr(c, out, err)
}

func (s *Server) getRefusalHelp(c echo.Context) error {
	out, err := s.opt.Service.RefusalHelp(c.Request().Context(), actor(c), claims.JobID(c.Param("job")), c.QueryParam("reason"))
	return answerOr(c, out, err)
}

// makeReply answers a refusal: the letter is recorded and the next bundle built, in one step.
func (s *Server) makeReply(c echo.Context) error {
	var in struct {
		Reason string   `json:"reason"`
		Letter string   `json:"letter"`
		Hold   []string `json:"hold"`
	}
	if err := readJSON(c, &in, false); err != nil {
		return err
	}
	hold, err := holdOf(in.Hold)
	if err != nil {
		return err
	}
	release, err := s.turn(c, s.builds, "bundles being built")
	if err != nil {
		return err
	}
	defer release()
	out, err := s.opt.Service.Reply(c.Request().Context(), actor(c), claims.JobID(c.Param("job")), in.Reason, in.Letter, hold)
	if err != nil {
		return err
	}
	return answer(c, http.StatusCreated, out)
}

// The desk's lists and settings.

func (s *Server) listDue(c echo.Context) error {
	limit, err := number(c, "limit", 50, 1)
	if err != nil {
		return err
	}
	out, err := s.opt.Service.DueNext(c.Request().Context(), actor(c), c.QueryParam("cursor"), int(min(limit, claims.MaxCardPage)))
	return answerOr(c, out, err)
}

func (s *Server) getCalendar(c echo.Context) error {
	feed, err := s.opt.Service.Calendar(c.Request().Context(), actor(c), claims.FeedContent{Amounts: true})
	if err != nil {
		return err
	}
	c.Response().Header().Set(echo.HeaderContentDisposition, `attachment; filename="kickplate.ics"`)
	return c.Blob(http.StatusOK, "text/calendar; charset=utf-8", feed)
}

func (s *Server) getRates(c echo.Context) error {
	out, err := s.opt.Service.Rates(c.Request().Context(), actor(c))
	return answerOr(c, out, err)
}

func (s *Server) setRates(c echo.Context) error {
	var in claims.Rates
	if err := readJSON(c, &in, false); err != nil {
		return err
	}
	if err := s.opt.Service.SetRates(c.Request().Context(), actor(c), in); err != nil {
		return err
	}
	return s.getRates(c)
}

func answerOr(c echo.Context, out any, err error) error {
	if err != nil {
		return err
	}
	return answer(c, http.StatusOK, out)
}
