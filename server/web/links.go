package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"kickplate/claims"
)

// The desk's side of links: made, listed and ended beside the bundle. The other side's is in review.go.

func (s *Server) makeShare(c echo.Context) error {
	var in struct {
		Version int    `json:"version"`
		For     string `json:"for"`
		To      string `json:"to"`
		Days    int    `json:"days"`
		Add     bool   `json:"add"`
	}
	if err := readJSON(c, &in, false); err != nil {
		return err
	}
	token, made, err := s.opt.Shares.Share(c.Request().Context(), actor(c), claims.JobID(c.Param("job")),
		claims.Sharing{Version: in.Version, For: in.For, To: in.To, Days: in.Days, Add: in.Add})
	if err != nil {
		return err
	}
	return answer(c, http.StatusCreated, map[string]any{"url": s.origin(c) + reviewPage + "#" + token, "link": made})
}

func (s *Server) listShares(c echo.Context) error {
	list, err := s.opt.Shares.Shares(c.Request().Context(), actor(c), claims.JobID(c.Param("job")))
	if err != nil {
		return err
	}
	return answer(c, http.StatusOK, map[string]any{"links": list})
}

func (s *Server) endShare(c echo.Context) error {
	if err := s.opt.Shares.Unshare(c.Request().Context(), actor(c), claims.JobID(c.Param("job")), c.Param("link"), ""); err != nil {
		return err
	}
	return c.NoContent(http.StatusNoContent)
}
