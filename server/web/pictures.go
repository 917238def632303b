package web

import (
	"io"
	"net/http"
	"time"

	"github.com/labstack/echo/v4"

	"kickplate/claims"
)

// getOriginal sends an original as a download. Its bytes come from a stranger's device, so no browser may run or frame them.
func (s *Server) getOriginal(c echo.Context) error {
	d, err := digestParam(c)
	if err != nil {
		return err
	}
	blob, facts, err := s.opt.Service.Original(c.Request().Context(), actor(c), d)
	if err != nil {
		return err
	}
	defer blob.Close()
	h := c.Response().Header()
	h.Set("Content-Type", facts.Type)
	h.Set("Content-Disposition", `attachment; filename="`+string(d[:16])+facts.Extension()+`"`)
	h.Set("ETag", `"`+string(d)+`"`)
	h.Set("Cache-Control", "private, max-age=31536000, immutable")
	sendFile(c, blob, blob.Size())
	return nil
}

// sendFile answers with a file, whole or in ranges. Errors on the way are the client's going away.
func sendFile(c echo.Context, file io.ReadSeeker, size int64) {
	downloadDeadline(c, size)
	http.ServeContent(c.Response(), c.Request(), "", time.Time{}, file)
}

// getPicture sends the view or the thumbnail.
func (s *Server) getPicture(name string) echo.HandlerFunc {
	return func(c echo.Context) error {
		d, err := digestParam(c)
		if err != nil {
			return err
		}
		release, err := s.turn(c, s.uploads, "pictures")
		if err != nil {
			return err
		}
		defer release()
		data, err := s.opt.Service.Picture(c.Request().Context(), actor(c), d, name)
		if err != nil {
			return err
		}
		return sendPicture(c, data)
	}
}

// sendPicture answers with a picture made from an original: a browser may keep it for a day, and is told when it has it already.
func sendPicture(c echo.Context, data []byte) error {
	etag := `"` + string(claims.DigestOf(data)[:32]) + `"`
	h := c.Response().Header()
	h.Set("ETag", etag)
	h.Set("Cache-Control", "private, max-age=86400")
	if c.Request().Header.Get("If-None-Match") == etag {
		return c.NoContent(http.StatusNotModified)
	}
	return c.Blob(http.StatusOK, "image/jpeg", data)
}

// getFacts sends what an examination found.
func (s *Server) getFacts(c echo.Context) error {
	d, err := digestParam(c)
	if err != nil {
		return err
	}
	blob, facts, err := s.opt.Service.Original(c.Request().Context(), actor(c), d)
	if err != nil {
		return err
	}
	blob.Close()
	return answer(c, http.StatusOK, facts)
}
