package web

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"

	"github.com/labstack/echo/v4"

	"kickplate/claims"
	"kickplate/claims/dispute"
	"kickplate/rules"
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

// buildDisputeFile answers allegations: the letter is recorded and the file built, in one step.
func (s *Server) buildDisputeFile(c echo.Context) error {
	var in struct {
		Allegations []claims.EntryID `json:"allegations"`
		Letter      string           `json:"letter"`
		Include     []string         `json:"include"`
		Hold        []string         `json:"hold"`
	}
	if err := readJSON(c, &in, false); err != nil {
		return err
	}
	hold, err := holdOf(in.Hold)
	if err != nil {
		return err
	}
	slices.Sort(in.Include)
	in.Include = slices.Compact(in.Include)
	for i, x := range in.Include {
		if !slices.ContainsFunc(rules.FileExtras(), func(t rules.Term) bool { return t.ID == x }) {
			return claims.Errorf(claims.Invalid, "%q is nothing that can be added to a dispute file.", x).At(fmt.Sprintf("include[%d]", i))
		}
	}
	ctx, who, job := c.Request().Context(), actor(c), claims.JobID(c.Param("job"))
	j, v, err := s.disputed(c)
	if err != nil {
		return err
	}
	shop, err := s.opt.Service.Shop(ctx, who)
	if err != nil {
		return err
	}
	draft, err := dispute.Draft(&j, v, shop, in.Allegations, j.Today(s.opt.Now()))
	if err != nil {
		return err
	}
	if in.Letter == "" {
		in.Letter = draft.Letter
	}
	release, err := s.turn(c, s.builds, "bundles being built")
	if err != nil {
		return err
	}
	defer release()
	out, err := s.opt.Service.BuildDispute(ctx, who, job, claims.DisputeFile{DisputeParcel: claims.DisputeParcel{Allegations: draft.Allegations, Include: in.Include},
		Letter: in.Letter, Leans: draft.Leans, Hold: hold})
	if err != nil {
		return err
	}
	c.Response().Header().Set("Location", "/api/v1/jobs/"+string(job)+"/bundles/"+strconv.Itoa(out.Built.Version))
	return answer(c, http.StatusCreated, out)
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
