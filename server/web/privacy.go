package web

import (
	"context"
	"fmt"
	"io"
	"os"

	"github.com/labstack/echo/v4"

	"kickplate/claims"
	"kickplate/claims/privacy"
)

// What a shop owes its customers: to find, to hand over and to erase what it holds on them.

func (s *Server) privacyDesk() privacy.Desk { return privacy.Desk{Service: s.opt.Service} }

func (s *Server) getCustomerJobs(c echo.Context) error {
	out, err := s.privacyDesk().CustomerOf(c.Request().Context(), actor(c), claims.JobID(c.QueryParam("job")))
	return answerOr(c, out, err)
}

func (s *Server) previewErasure(c echo.Context) error {
	var in struct {
		Jobs []claims.JobID `json:"jobs"`
	}
	if err := readJSON(c, &in, false); err != nil {
		return err
	}
	out, err := s.opt.Service.EraseWould(c.Request().Context(), actor(c), in.Jobs)
	return answerOr(c, map[string]any{"jobs": out}, err)
}

func (s *Server) erase(c echo.Context) error {
	var in claims.EraseOrder
	if err := readJSON(c, &in, false); err != nil {
		return err
	}
	release, err := s.turn(c, s.builds, "things being erased")
	if err != nil {
		return err
	}
	defer release()
	// Once ordered it is carried through, also when the browser has gone meanwhile.
	out, err := s.opt.Service.Erase(context.WithoutCancel(c.Request().Context()), actor(c), in, s.dropParts(actor(c).Shop))
	return answerOr(c, map[string]any{"erased": out}, err)
}

// dropParts lets erasing reach the folder of uploads under way.
func (s *Server) dropParts(shop claims.ShopID) claims.DropParts {
	return func(_ context.Context, gone []claims.Digest) error { return s.incoming.drop(shop, gone) }
}

// exportCustomer makes the copy in a temporary file first: so a fault is still an answer, and the download has a length.
func (s *Server) exportCustomer(c echo.Context) error {
	var in privacy.ExportOrder
	if err := readJSON(c, &in, false); err != nil {
		return err
	}
	release, err := s.turn(c, s.builds, "copies being made")
	if err != nil {
		return err
	}
	defer release()
	tmp, err := os.CreateTemp(s.opt.Service.Scratch, "copy-*.part")
	if err != nil {
		return fmt.Errorf("make a copy: %w", err)
	}
	defer os.Remove(tmp.Name())
	defer tmp.Close()
	if err := s.privacyDesk().Export(c.Request().Context(), actor(c), in, tmp); err != nil {
		return err
	}
	size, err := tmp.Seek(0, io.SeekEnd)
	if err == nil {
		_, err = tmp.Seek(0, io.SeekStart)
	}
	if err != nil {
		return fmt.Errorf("make a copy: %w", err)
	}
	h := c.Response().Header()
	h.Set("Content-Type", "application/zip")
	h.Set("Content-Disposition", `attachment; filename="customer-data.zip"`)
	h.Set("Cache-Control", "no-store")
	sendFile(c, tmp, size)
	return nil
}

func (s *Server) getRetention(c echo.Context) error {
	rules, runs, err := s.privacyDesk().Retention(c.Request().Context(), actor(c))
	return answerOr(c, map[string]any{"rules": rules, "runs": runs}, err)
}

func (s *Server) setRetention(c echo.Context) error {
	var in struct {
		Months int  `json:"months"`
		Idle   int  `json:"idle"`
		Auto   bool `json:"auto"`
	}
	if err := readJSON(c, &in, false); err != nil {
		return err
	}
	rules, err := s.privacyDesk().SetRetention(c.Request().Context(), actor(c), privacy.Rules{Months: in.Months, Idle: in.Idle, Auto: in.Auto})
	return answerOr(c, rules, err)
}

func (s *Server) proposeRetention(c echo.Context) error {
	release, err := s.turn(c, s.builds, "lists being drawn up")
	if err != nil {
		return err
	}
	defer release()
	out, err := s.privacyDesk().Propose(c.Request().Context(), actor(c))
	return answerOr(c, out, err)
}

func (s *Server) carryRetention(c echo.Context) error {
	var in struct {
		Jobs []claims.JobID `json:"jobs"`
	}
	if err := readJSON(c, &in, false); err != nil {
		return err
	}
	release, err := s.turn(c, s.builds, "things being erased")
	if err != nil {
		return err
	}
	defer release()
	a := actor(c)
	out, err := s.privacyDesk().Carry(context.WithoutCancel(c.Request().Context()), a, in.Jobs, s.dropParts(a.Shop))
	return answerOr(c, out, err)
}
