package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"kickplate/claims"
)

// The desk's side of links: made, listed and ended beside the bundle. The other side's is in review.go.

// sharing is what is asked for when a link is made, by itself or in a message.
type sharing struct {
	Version int    `json:"version"`
	For     string `json:"for"`
	To      string `json:"to"`
	Days    int    `json:"days"`
	Add     bool   `json:"add"`
}

// linkAddress is where a link's token is opened; it stands in the fragment, which no browser sends.
func (s *Server) linkAddress(c echo.Context, token string) string {
	return s.origin(c) + reviewPage + "#" + token
}

func (s *Server) makeShare(c echo.Context) error {
	var in sharing
	if err := readJSON(c, &in, false); err != nil {
		return err
	}
	token, made, err := s.opt.Shares.Share(c.Request().Context(), actor(c), claims.JobID(c.Param("job")), claims.Sharing(in))
	if err != nil {
		return err
	}
	return answer(c, http.StatusCreated, map[string]any{"url": s.linkAddress(c, token), "link": made})
}

func (s *Server) getMail(c echo.Context) error {
	if s.opt.Shares.Mailer == nil {
		return answer(c, http.StatusOK, map[string]any{"ready": false})
	}
	return answer(c, http.StatusOK, map[string]any{"ready": true, "from": s.opt.Shares.Mailer.From()})
}

// sendMail sends a bundle, or a link to it, through the shop's mail server.
func (s *Server) sendMail(c echo.Context) error {
	var in struct {
		sharing
		Address string `json:"address"`
		Subject string `json:"subject"`
		Words   string `json:"words"`
		File    bool   `json:"file"`
	}
	if err := readJSON(c, &in, false); err != nil {
		return err
	}
	if err := s.granted(c, s.mails, "mail"); err != nil {
		return err
	}
	out, err := s.opt.Shares.Mail(c.Request().Context(), actor(c), claims.JobID(c.Param("job")), claims.Mailing{
		Sharing: claims.Sharing(in.sharing),
		Address: in.Address, Subject: in.Subject, Words: in.Words, File: in.File,
	}, func(token string) string { return s.linkAddress(c, token) })
	if err != nil {
		return err
	}
	return answer(c, http.StatusCreated, out)
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
