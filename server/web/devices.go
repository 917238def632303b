package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"kickplate/claims"
)

func (s *Server) makePairing(c echo.Context) error {
	var in struct {
		Person string `json:"person"`
	}
	if err := readJSON(c, &in, true); err != nil {
		return err
	}
	p, err := s.opt.Access.Pair(c.Request().Context(), who(c), in.Person)
	if err != nil {
		return err
	}
	url := s.origin(c) + "/#pair=" + p.Token
	svg, err := QR(url)
	if err != nil {
		return err
	}
	return answer(c, http.StatusCreated, map[string]any{"token": p.Token, "url": url, "expires": p.Expires.UTC(), "svg": svg, "person": viewOf(p.Person)})
}

func (s *Server) enterPairing(c echo.Context) error {
	if err := s.attempt(c); err != nil {
		return err
	}
	var in struct {
		Token      string `json:"token"`
		DeviceName string `json:"deviceName"`
		PublicKey  string `json:"publicKey"`
	}
	if err := readJSON(c, &in, false); err != nil {
		return err
	}
	ctx := c.Request().Context()
	got, device, err := s.opt.Access.EnterPairing(ctx, in.Token, in.DeviceName, in.PublicKey)
	if err != nil {
		return err
	}
	shop, err := s.opt.Service.Shop(ctx, got.Actor)
	if err != nil {
		return err
	}
	// The cookie lets plain <img> elements of the app fetch pictures; it ends with the device.
	session, err := s.opt.Access.SignIn(ctx, got.Token)
	if err != nil {
		return err
	}
	s.setCookie(c, session.Token, int(claims.SessionFor.Seconds()))
	return answer(c, http.StatusCreated, map[string]any{"token": got.Token, "device": device, "actor": got.Actor, "shop": shop})
}

func (s *Server) listDevices(c echo.Context) error {
	devices, err := s.opt.Access.Devices(c.Request().Context(), actor(c))
	if err != nil {
		return err
	}
	return answer(c, http.StatusOK, map[string]any{"devices": devices})
}

func (s *Server) removeDevice(c echo.Context) error {
	if err := s.opt.Access.RemoveDevice(c.Request().Context(), actor(c), c.Param("device")); err != nil {
		return err
	}
	return c.NoContent(http.StatusNoContent)
}
