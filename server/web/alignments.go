package web

import (
	"net/url"

	"github.com/labstack/echo/v4"

	"kickplate/claims"
)

// alignmentAnswer adds where the overlay is.
type alignmentAnswer struct {
	claims.Alignment
	Picture string `json:"picture,omitempty"`
}

// getAlignment lines two photos of the job up.
func (s *Server) getAlignment(c echo.Context) error {
	release, err := s.turn(c, s.examinations, "photos that are being looked at")
	if err != nil {
		return err
	}
	defer release()
	job, before, after := claims.JobID(c.Param("job")), claims.EntryID(c.QueryParam("before")), claims.EntryID(c.QueryParam("after"))
	a, err := s.opt.Service.Alignment(c.Request().Context(), actor(c), job, before, after)
	out := alignmentAnswer{Alignment: a}
	if a.Aligned {
		out.Picture = "/api/v1/jobs/" + url.PathEscape(string(job)) + "/alignments/overlay.jpg?" + url.Values{"before": {string(before)}, "after": {string(after)}}.Encode()
	}
	return answerOr(c, out, err)
}

// getOverlay sends the later photo as seen from the earlier one.
func (s *Server) getOverlay(c echo.Context) error {
	release, err := s.turn(c, s.examinations, "photos that are being looked at")
	if err != nil {
		return err
	}
	defer release()
	data, err := s.opt.Service.Overlay(c.Request().Context(), actor(c), claims.JobID(c.Param("job")), claims.EntryID(c.QueryParam("before")), claims.EntryID(c.QueryParam("after")))
	if err != nil {
		return err
	}
	return sendPicture(c, data)
}
