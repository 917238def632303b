package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"kickplate/claims"
	"kickplate/rules"
	"kickplate/rules/packs"
)

// PackInfo is a pack without its requirements. Digest is the SHA-256 of its JSON.
type PackInfo struct {
	ID       string        `json:"id"`
	Version  string        `json:"version"`
	Title    string        `json:"title"`
	Note     string        `json:"note,omitempty"`
	Coverage []string      `json:"coverage,omitempty"`
	Units    []string      `json:"units,omitempty"`
	Digest   claims.Digest `json:"digest"`
}

// Shelf holds the rule packs: for the checks of claims.Service, and as JSON for phones to fetch. It never changes.
type Shelf struct {
	set   *packs.Set
	infos []PackInfo
	json  map[string][]byte
}

var _ claims.PackBook = (*Shelf)(nil)

// NewShelf puts up the packs of a set. Abstract ones are there to be extended only and are not shown.
func NewShelf(set *packs.Set) (*Shelf, error) {
	s := &Shelf{set: set, infos: []PackInfo{}, json: map[string][]byte{}}
	for _, p := range set.All() {
		k := p.Pack()
		if k.Abstract {
			continue
		}
		raw, err := packs.JSON(p)
		if err != nil {
			return nil, err
		}
		s.json[k.ID] = raw
		s.infos = append(s.infos, PackInfo{k.ID, k.Version, k.Title, k.Note, k.Coverage, k.Units, claims.DigestOf(raw)})
	}
	return s, nil
}

// Pack returns the pack with the id, or false.
func (s *Shelf) Pack(id string) (*rules.Compiled, bool) {
	p, ok := s.set.Get(id)
	if !ok || p.Pack().Abstract {
		return nil, false
	}
	return p.Compiled, true
}

// Pick returns the pack for a kind of coverage and of unit, or false when none fits.
func (s *Shelf) Pick(coverage, unit string) (*rules.Compiled, bool) {
	p, ok := s.set.Pick(unit, coverage)
	if !ok {
		return nil, false
	}
	return p.Compiled, true
}

func (s *Server) listPacks(c echo.Context) error {
	return answer(c, http.StatusOK, map[string]any{"packs": s.opt.Packs.infos})
}

func (s *Server) getPack(c echo.Context) error {
	raw, ok := s.opt.Packs.json[c.Param("pack")]
	if !ok {
		return claims.Errorf(claims.NotFound, "There is no rule pack of that name here.")
	}
	etag := `"` + string(claims.DigestOf(raw)) + `"`
	c.Response().Header().Set("ETag", etag)
	c.Response().Header().Set("Cache-Control", "private, no-cache")
	if c.Request().Header.Get("If-None-Match") == etag {
		return c.NoContent(http.StatusNotModified)
	}
	return answerRaw(c, http.StatusOK, raw)
}
