package web

import (
	"fmt"
	"net/http"
	"strconv"

	"github.com/labstack/echo/v4"

	"kickplate/claims"
)

// buildBundle builds a job's bundle. It is slow for large jobs, so only few are built at once.
func (s *Server) buildBundle(c echo.Context) error {
	var in struct {
		Hold []string `json:"hold"`
	}
	if err := readJSON(c, &in, true); err != nil {
		return err
	}
	hold, err := holdOf(in.Hold)
	if err != nil {
		return err
	}
	release, err := s.turn(c, s.builds, "bundles being built")
	if err != nil {
		return err
	}
	defer release()
	job := claims.JobID(c.Param("job"))
	built, err := s.opt.Service.Build(c.Request().Context(), actor(c), job, hold)
	if err != nil {
		return err
	}
	c.Response().Header().Set("Location", "/api/v1/jobs/"+string(job)+"/bundles/"+strconv.Itoa(built.Version))
	return answer(c, http.StatusCreated, built)
}

// getHoldChoice says what was kept out of bundles for the job's payer the last time, and what there is to keep out.
func (s *Server) getHoldChoice(c echo.Context) error {
	out, err := s.opt.Service.HoldFor(c.Request().Context(), actor(c), claims.JobID(c.Param("job")))
	return answerOr(c, out, err)
}

// holdOf reads what is to be kept out of a bundle.
func holdOf(names []string) (hold claims.Hold, err error) {
	for i, name := range names {
		switch name {
		case "customer":
			hold.Customer = true
		case "position":
			hold.Position = true
		case "covered":
			hold.Covered = true
		default:
			return hold, claims.Errorf(claims.Invalid, "Only customer, position and covered can be held back.").At(fmt.Sprintf("hold[%d]", i))
		}
	}
	return hold, nil
}

// getBundle sends a bundle as a download.
func (s *Server) getBundle(c echo.Context) error {
	version, err := strconv.Atoi(c.Param("version"))
	if err != nil || version < 1 {
		return claims.Errorf(claims.Invalid, "The version of a bundle is a whole number from 1 on.").At("version")
	}
	blob, built, err := s.opt.Service.Bundle(c.Request().Context(), actor(c), claims.JobID(c.Param("job")), version, c.Request().Header.Get("Range") != "")
	if err != nil {
		return err
	}
	defer blob.Close()
	h := c.Response().Header()
	h.Set("Content-Type", "application/zip")
	h.Set("Content-Disposition", `attachment; filename="`+built.Name+`"`)
	h.Set("ETag", `"`+string(built.Digest)+`"`)
	h.Set("Cache-Control", "private, no-cache")
	sendFile(c, blob, blob.Size())
	return nil
}
