package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"kickplate/claims"
	"kickplate/claims/dispute"
)

// What is said against the shop, and what the entries say about it.

// disputed reads a job and draws up the view of its allegations.
func (s *Server) disputed(c echo.Context) (claims.Job, dispute.View, error) {
	j, err := s.opt.Service.Job(c.Request().Context(), actor(c), claims.JobID(c.Param("job")))
	if err != nil {
		return j, dispute.View{}, err
	}
	return j, dispute.Of(&j), nil
}

func (s *Server) getDisputes(c echo.Context) error {
	_, v, err := s.disputed(c)
	return answerOr(c, v, err)
}

// getTimeline sends the order of events as a drawing of its own.
func (s *Server) getTimeline(c echo.Context) error {
	_, v, err := s.disputed(c)
	if err != nil {
		return err
	}
	d := dispute.Timeline(v)
	c.Response().Header().Set("Cache-Control", "private, no-cache")
	return c.Blob(http.StatusOK, "image/svg+xml", []byte(d.SVG("timeline")))
}

func (s *Server) getDisputeLetter(c echo.Context) error {
	j, v, err := s.disputed(c)
	if err != nil {
		return err
	}
	shop, err := s.opt.Service.Shop(c.Request().Context(), actor(c))
	if err != nil {
		return err
	}
	out, err := dispute.Draft(&j, v, shop, entryIDs(c.QueryParams()["allegation"]), j.Today(s.opt.Now()))
	return answerOr(c, out, err)
}

func (s *Server) getRelease(c echo.Context) error {
	j, _, err := s.disputed(c)
	if err != nil {
		return err
	}
	shop, err := s.opt.Service.Shop(c.Request().Context(), actor(c))
	if err != nil {
		return err
	}
	out, err := dispute.ReleaseFor(&j, shop, claims.EntryID(c.QueryParam("offer")), j.Today(s.opt.Now()))
	return answerOr(c, out, err)
}

func entryIDs(list []string) []claims.EntryID {
	var out []claims.EntryID
	for _, id := range list {
		if id != "" {
			out = append(out, claims.EntryID(id))
		}
	}
	return out
}
