package web

import (
	"archive/zip"
	"errors"
	"fmt"
	"io"
	"net/http"
	"path"
	"strings"

	"github.com/labstack/echo/v4"

	"kickplate/claims"
)

// The reviewer's side of a link. The secret comes in the body of one request, from the page's fragment, and so stands in no log, no
// Referer and no history of a proxy; what the browser holds afterwards is a cookie that reaches this link's addresses alone.
const (
	reviewPage   = "/r"
	reviewAPI    = "/api/v1/review/"
	reviewCookie = "kickplate-review"
)

// codeDamaged says that a bundle on the server's disk is not what was packed.
const codeDamaged claims.ErrorCode = "damaged"

func (s *Server) openReview(c echo.Context) error {
	if err := s.attempt(c); err != nil {
		return err
	}
	id := c.Param("link")
	if err := s.grant(c, "link "+id); err != nil {
		return err
	}
	var in struct {
		Token string `json:"token"`
	}
	if err := readJSON(c, &in, false); err != nil {
		return err
	}
	before := ticket(c)
	now, opened, err := s.opt.Shares.Open(c.Request().Context(), id, in.Token, before)
	if err != nil {
		return err
	}
	if now != before {
		c.SetCookie(&http.Cookie{Name: reviewCookie, Value: now, Path: reviewAPI + id, MaxAge: int(claims.SeenFor.Seconds()), HttpOnly: true,
			Secure: s.overTLS(c.Request()), SameSite: http.SameSiteStrictMode})
	}
	return answer(c, http.StatusOK, opened)
}

func ticket(c echo.Context) string {
	cookie, err := c.Cookie(reviewCookie)
	if err != nil {
		return ""
	}
	return cookie.Value
}

// looking limits how much is read over one link, before anything is looked up.
func (s *Server) looking(c echo.Context) error {
	return s.granted(c, s.looks, "link "+c.Param("link"))
}

// getReviewBundle sends the whole bundle as a download.
func (s *Server) getReviewBundle(c echo.Context) error {
	if err := s.looking(c); err != nil {
		return err
	}
	blob, opened, err := s.opt.Shares.Read(c.Request().Context(), c.Param("link"), ticket(c), true)
	if err != nil {
		return err
	}
	defer blob.Close()
	h := c.Response().Header()
	h.Set("Content-Type", "application/zip")
	h.Set("Content-Disposition", `attachment; filename="`+opened.Name+`"`)
	h.Set("ETag", `"`+string(opened.Digest)+`"`)
	sendFile(c, blob, blob.Size())
	return nil
}

// getReviewFile sends one file out of the bundle, as the bundle names it ("data/evidence.json").
func (s *Server) getReviewFile(c echo.Context) error {
	if err := s.looking(c); err != nil {
		return err
	}
	blob, _, err := s.opt.Shares.Read(c.Request().Context(), c.Param("link"), ticket(c), false)
	if err != nil {
		return err
	}
	defer blob.Close()
	release, err := s.turn(c, s.uploads, "people reading")
	if err != nil {
		return err
	}
	defer release()
	name := c.QueryParam("name")
	f, err := fileInBundle(blob, name)
	if err != nil {
		return err
	}
	r, err := f.Open()
	if err != nil {
		return damagedBundle(err)
	}
	defer r.Close()
	h := c.Response().Header()
	h.Set("Content-Type", typeOf(name))
	h.Set("Content-Disposition", `attachment; filename="`+path.Base(name)+`"`)
	// No length is stated: whether the file has its checksum is known at its end, and only then may the answer be whole.
	downloadDeadline(c, int64(f.UncompressedSize64))
	c.Response().WriteHeader(http.StatusOK)
	if _, err := io.Copy(c.Response(), r); err != nil {
		// Its checksum does not fit, or the reader has gone: break the answer off, so that nobody takes it for whole.
		if errors.Is(err, zip.ErrChecksum) {
			s.opt.Log.Error("a bundle on the disk was changed", "request", requestID(c), "file", name, "error", err)
		}
		panic(http.ErrAbortHandler)
	}
	return nil
}

const mostInBundle = 20_000

// fileInBundle finds a file below the bundle's one folder.
func fileInBundle(blob claims.Blob, name string) (*zip.File, error) {
	z, err := zip.NewReader(blob, blob.Size())
	if err != nil && !errors.Is(err, zip.ErrInsecurePath) {
		return nil, damagedBundle(err)
	}
	if len(z.File) > mostInBundle {
		return nil, damagedBundle(fmt.Errorf("it has %d files", len(z.File)))
	}
	for _, f := range z.File {
		if _, inner, ok := strings.Cut(f.Name, "/"); ok && inner == name && !strings.HasSuffix(name, "/") {
			return f, nil
		}
	}
	return nil, claims.Errorf(claims.NotFound, "The bundle has no such file.").At("name")
}

func damagedBundle(err error) error {
	return &claims.Error{Code: codeDamaged, Err: err, Says: "The bundle on the shop's server can't be read any more: it is not what was packed. Tell the shop that sent the link."}
}

// typeOf goes by the names that bundles use; whatever else is there is only bytes.
func typeOf(name string) string {
	switch path.Ext(name) {
	case ".json":
		return "application/json"
	case ".txt", ".csv":
		return "text/plain; charset=utf-8"
	case ".pdf":
		return "application/pdf"
	case ".jpg":
		return "image/jpeg"
	case ".png":
		return "image/png"
	case ".webp":
		return "image/webp"
	}
	return "application/octet-stream"
}

// putTheirs takes a picture of the other side's.
func (s *Server) putTheirs(c echo.Context) error {
	d, err := digestParam(c)
	if err != nil {
		return err
	}
	if err := s.looking(c); err != nil {
		return err
	}
	ctx, id := c.Request().Context(), c.Param("link")
	// Before any of it is read.
	if err := s.opt.Shares.MayAdd(ctx, id, ticket(c)); err != nil {
		return err
	}
	spool, done, err := s.takeIn(c, d)
	if err != nil {
		return err
	}
	defer done()
	release, err := s.turn(c, s.examinations, "photos to examine")
	if err != nil {
		return err
	}
	defer release()
	got, err := s.opt.Shares.Picture(ctx, id, ticket(c), claims.Upload{Digest: d, Size: spool.size, Bytes: spool.file, Path: spool.file.Name()})
	if err != nil {
		return err
	}
	return answer(c, http.StatusCreated, got)
}

// addStatement takes what the other side says.
func (s *Server) addStatement(c echo.Context) error {
	if err := s.looking(c); err != nil {
		return err
	}
	var in struct {
		Name     string          `json:"name"`
		Words    string          `json:"words"`
		Pictures []claims.Digest `json:"pictures"`
	}
	if err := readJSON(c, &in, false); err != nil {
		return err
	}
	out, err := s.opt.Shares.State(c.Request().Context(), c.Param("link"), ticket(c), in.Name, in.Words, in.Pictures)
	if err != nil {
		return err
	}
	return answer(c, http.StatusCreated, out)
}
