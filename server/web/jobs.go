package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"kickplate/claims"
	"kickplate/rules"
	"kickplate/rules/readings"
)

// listJobs lists and searches. What the cards carry for the indexes alone is left out.
func (s *Server) listJobs(c echo.Context) error {
	limit, err := number(c, "limit", 50, 1)
	if err != nil {
		return err
	}
	q := claims.CardQuery{
		Order: c.QueryParam("order"), Key: c.QueryParam("key"), Value: claims.FoldKey(c.QueryParam("value")),
		Words: claims.WordsOf(c.QueryParam("q")), Cursor: c.QueryParam("cursor"), Limit: int(min(limit, claims.MaxCardPage+1)),
	}
	page, err := s.opt.Service.Jobs(c.Request().Context(), actor(c), q)
	if err != nil {
		return err
	}
	out := struct {
		Jobs []claims.Card `json:"jobs"`
		Next string        `json:"next,omitempty"`
	}{Jobs: make([]claims.Card, len(page.Cards)), Next: page.Next}
	for i, card := range page.Cards {
		card.Keys, card.Words, card.Prints, card.Missing, card.Reasons = nil, nil, nil, nil, nil
		out.Jobs[i] = card
	}
	return answer(c, http.StatusOK, out)
}

func (s *Server) getJob(c echo.Context) error {
	job, err := s.opt.Service.Job(c.Request().Context(), actor(c), claims.JobID(c.Param("job")))
	if err != nil {
		return err
	}
	return answer(c, http.StatusOK, job)
}

func (s *Server) checkJob(c echo.Context) error {
	checked, err := s.opt.Service.Check(c.Request().Context(), actor(c), claims.JobID(c.Param("job")))
	if err != nil {
		return err
	}
	views := map[claims.EntryID]claims.PhotoView{}
	for i, v := range checked.Job.PhotoViews() {
		views[checked.Job.Photos[i].Entry] = v
	}
	conflicts := checked.Conflicts
	if conflicts == nil {
		conflicts = []readings.Conflict{}
	}
	return answer(c, http.StatusOK, map[string]any{
		"report": checked.Report, "wanted": rules.Wanted(checked.Pack, &checked.Facts), "conflicts": conflicts, "views": views,
	})
}

// getChains says what the chains of the devices that wrote on a job look like.
func (s *Server) getChains(c echo.Context) error {
	chains, err := s.opt.Service.Chains(c.Request().Context(), actor(c), claims.JobID(c.Param("job")))
	if err != nil {
		return err
	}
	if chains == nil {
		chains = []claims.ChainReport{}
	}
	return answer(c, http.StatusOK, map[string]any{"chains": chains})
}
