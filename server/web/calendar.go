package web

import (
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"kickplate/claims"
)

// calendarPath is where secret calendar addresses are. A calendar program sends neither headers nor fragments of ours, so the token
// stands in the path; loggedPath keeps it out of the log.
const calendarPath = "/calendar/"

func (s *Server) getCalendarAddress(c echo.Context) error {
	got, there, err := s.opt.Access.Calendar(c.Request().Context(), who(c))
	if err != nil {
		return err
	}
	if !there {
		return answer(c, http.StatusOK, map[string]any{"there": false})
	}
	out := map[string]any{"there": true, "made": got.Made.UTC(), "full": got.Full}
	if !got.Seen.IsZero() {
		out["seen"] = got.Seen.UTC()
	}
	return answer(c, http.StatusOK, out)
}

func (s *Server) makeCalendarAddress(c echo.Context) error {
	var in struct {
		Full bool `json:"full"`
	}
	if err := readJSON(c, &in, true); err != nil {
		return err
	}
	token, err := s.opt.Access.MakeCalendar(c.Request().Context(), who(c), in.Full)
	if err != nil {
		return err
	}
	return answer(c, http.StatusCreated, map[string]any{"url": s.origin(c) + calendarPath + token + ".ics"})
}

func (s *Server) dropCalendarAddress(c echo.Context) error {
	if err := s.opt.Access.DropCalendar(c.Request().Context(), who(c)); err != nil {
		return err
	}
	return c.NoContent(http.StatusNoContent)
}

// feedCalendar answers a calendar program. Whatever is wrong with the address, the answer is the same.
func (s *Server) feedCalendar(c echo.Context) error {
	h := c.Response().Header()
	h.Set("Cache-Control", "no-store")
	h.Set("X-Robots-Tag", "noindex, nofollow, noarchive")
	h.Set("Content-Security-Policy", apiPolicy)
	if err := s.attempt(c); err != nil {
		return err
	}
	token, ok := strings.CutSuffix(c.Param("token"), ".ics")
	if !ok {
		return echo.ErrNotFound
	}
	// By its hash: the limiter's memory holds no secret.
	if err := s.grant(c, "calendar "+string(claims.DigestOf([]byte(token)))); err != nil {
		return err
	}
	ctx := c.Request().Context()
	a, full, err := s.opt.Access.EnterCalendar(ctx, token)
	if err != nil {
		return err
	}
	feed, err := s.opt.Service.Calendar(ctx, a, claims.FeedContent{Customers: full, Amounts: full})
	if err != nil {
		return err
	}
	return c.Blob(http.StatusOK, "text/calendar; charset=utf-8", feed)
}
