package web

import (
	"io"
	"mime"
	"net/http"

	"github.com/labstack/echo/v4"

	"kickplate/claims"
	"kickplate/rules"
)

// unitKinds are the kinds of unit that an imported row may name.
func unitKinds() []string {
	var kinds []string
	for _, k := range rules.UnitKinds() {
		kinds = append(kinds, k.ID)
	}
	return kinds
}

func (s *Server) findInRegister(c echo.Context) error {
	ctx, a := c.Request().Context(), actor(c)
	rows, err := s.opt.Register.Find(ctx, a, c.QueryParam("q"))
	if err != nil {
		return err
	}
	n, err := s.opt.Register.Count(ctx, a)
	if err != nil {
		return err
	}
	return answer(c, http.StatusOK, map[string]any{"rows": rows, "count": n})
}

// readCSVFile reads a small file whole.
func readCSVFile(c echo.Context) ([]byte, error) {
	kind, _, err := mime.ParseMediaType(c.Request().Header.Get("Content-Type"))
	if err != nil || kind != "text/csv" {
		return nil, claims.Errorf(claims.Unsupported, "Send the list with Content-Type: text/csv.")
	}
	return io.ReadAll(c.Request().Body)
}

func (s *Server) previewImport(c echo.Context) error {
	raw, err := readCSVFile(c)
	if err != nil {
		return err
	}
	out, err := s.opt.Register.Preview(c.Request().Context(), actor(c), raw)
	return answerOr(c, out, err)
}

func (s *Server) keepImport(c echo.Context) error {
	raw, err := readCSVFile(c)
	if err != nil {
		return err
	}
	out, err := s.opt.Register.Keep(c.Request().Context(), actor(c), raw, claims.Digest(c.QueryParam("file")), c.QueryParam("skip") == "true")
	if err != nil {
		return err
	}
	return answer(c, http.StatusCreated, out)
}

func (s *Server) removeFromRegister(c echo.Context) error {
	if err := s.opt.Register.Remove(c.Request().Context(), actor(c), c.Param("row")); err != nil {
		return err
	}
	return c.NoContent(http.StatusNoContent)
}
