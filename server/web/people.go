package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"kickplate/claims"
)

func (s *Server) listPeople(c echo.Context) error {
	people, err := s.opt.Access.People(c.Request().Context(), actor(c))
	if err != nil {
		return err
	}
	views := make([]personView, len(people))
	for i, p := range people {
		views[i] = viewOf(p)
	}
	return answer(c, http.StatusOK, map[string]any{"people": views})
}

type personInput struct {
	Name string      `json:"name"`
	Role claims.Role `json:"role"`
}

func (s *Server) addPerson(c echo.Context) error {
	var in personInput
	if err := readJSON(c, &in, false); err != nil {
		return err
	}
	p, token, err := s.opt.Access.AddPerson(c.Request().Context(), actor(c), in.Name, in.Role)
	if err != nil {
		return err
	}
	return answer(c, http.StatusCreated, map[string]any{"person": viewOf(p), "enter": s.origin(c) + "/#enter=" + token})
}

func (s *Server) changePerson(c echo.Context) error {
	var in personInput
	if err := readJSON(c, &in, false); err != nil {
		return err
	}
	p, err := s.opt.Access.ChangePerson(c.Request().Context(), actor(c), c.Param("person"), in.Name, in.Role)
	if err != nil {
		return err
	}
	return answer(c, http.StatusOK, viewOf(p))
}

func (s *Server) removePerson(c echo.Context) error {
	if err := s.opt.Access.RemovePerson(c.Request().Context(), actor(c), c.Param("person")); err != nil {
		return err
	}
	return c.NoContent(http.StatusNoContent)
}

func (s *Server) makeLink(c echo.Context) error {
	token, err := s.opt.Access.MakeLink(c.Request().Context(), actor(c), c.Param("person"))
	if err != nil {
		return err
	}
	return answer(c, http.StatusCreated, map[string]any{"enter": s.origin(c) + "/#enter=" + token, "expires": s.opt.Access.LinkUntil()})
}

// origin is the address under which others reach the server: the stated one, else the one this request came to.
func (s *Server) origin(c echo.Context) string {
	if s.opt.PublicURL != "" {
		return s.opt.PublicURL
	}
	scheme := "http"
	if s.overTLS(c.Request()) {
		scheme = "https"
	}
	return scheme + "://" + c.Request().Host
}
