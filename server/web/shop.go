package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"kickplate/claims"
)

func (s *Server) getShop(c echo.Context) error {
	shop, err := s.opt.Service.Shop(c.Request().Context(), actor(c))
	if err != nil {
		return err
	}
	return answer(c, http.StatusOK, shop)
}

func (s *Server) setShop(c echo.Context) error {
	var in claims.Shop
	if err := readJSON(c, &in, false); err != nil {
		return err
	}
	if err := s.opt.Service.SetShop(c.Request().Context(), actor(c), in); err != nil {
		return err
	}
	return s.getShop(c)
}
