package web

import (
	"encoding/json"
	"net/http"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"kickplate/claims"
	"kickplate/rules"
)

// What the desk's own screens need: figures, clashes, and a word on an entry before it is kept.

// getMoney adds up the open jobs' money; figures of several pages are added up by whoever asks.
func (s *Server) getMoney(c echo.Context) error {
	out, err := s.opt.Service.Money(c.Request().Context(), actor(c), c.QueryParam("cursor"))
	return answerOr(c, out, err)
}

// foundFor is how far back getFound looks unless it is told.
const foundFor = 365 * 24 * time.Hour

func (s *Server) getFound(c echo.Context) error {
	since := s.opt.Now().Add(-foundFor)
	if text := c.QueryParam("since"); text != "" {
		day, err := time.Parse(time.DateOnly, text)
		if err != nil {
			return claims.Errorf(claims.Invalid, "A day looks like 2026-03-04.").At("since")
		}
		since = day
	}
	out, err := s.opt.Service.Found(c.Request().Context(), actor(c), since, c.QueryParam("cursor"))
	return answerOr(c, out, err)
}

func (s *Server) getClashes(c echo.Context) error {
	out, err := s.opt.Service.Clashes(c.Request().Context(), actor(c), claims.JobID(c.Param("job")))
	return answerOr(c, map[string]any{"clashes": out}, err)
}

// checkEntry says whether an entry with this body would be taken. It keeps nothing.
func (s *Server) checkEntry(c echo.Context) error {
	var in struct {
		Kind claims.Kind     `json:"kind"`
		Body json.RawMessage `json:"body"`
	}
	if err := readJSON(c, &in, false); err != nil {
		return err
	}
	if err := claims.CheckBody(in.Kind, in.Body); err != nil {
		return err
	}
	return c.NoContent(http.StatusNoContent)
}

// getVocabulary sends the rules' words, and those that only the desk's forms need.
func (s *Server) getVocabulary(c echo.Context) error {
	raw, err := json.Marshal(rules.Words())
	if err != nil {
		return err
	}
	var lists map[string][]rules.Term
	if err := json.Unmarshal(raw, &lists); err != nil {
		return err
	}
	for _, r := range claims.RefusalReasons() {
		lists["refusalReasons"] = append(lists["refusalReasons"], rules.Term{ID: r.ID, Title: r.Title})
	}
	lists["componentClasses"] = plainTerms(claims.ComponentClasses())
	lists["exclusions"] = plainTerms(claims.Exclusions())
	lists["holidayCalendars"] = plainTerms(claims.HolidayCalendars())
	lists["boardStates"] = plainTerms(claims.BoardStates())
	return answer(c, http.StatusOK, lists)
}

func plainTerms(ids []string) []rules.Term {
	var list []rules.Term
	for _, id := range ids {
		list = append(list, rules.Term{ID: id, Title: strings.ToUpper(id[:1]) + strings.ReplaceAll(id[1:], "-", " ")})
	}
	return list
}
