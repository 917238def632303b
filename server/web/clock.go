package web

import (
	"net/http"

	"github.com/labstack/echo/v4"
)

func (s *Server) getClock(c echo.Context) error {
	return answer(c, http.StatusOK, map[string]any{"now": s.opt.Now().UTC()})
}

func (s *Server) getDocument(c echo.Context) error {
	c.Response().Header().Set("Cache-Control", "no-cache")
	return c.Blob(http.StatusOK, "application/yaml", document)
}
