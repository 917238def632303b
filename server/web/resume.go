package web

import (
	"errors"
	"mime"
	"net/http"
	"os"
	"strconv"

	"github.com/labstack/echo/v4"

	"kickplate/claims"
)

// The header names are those of tus 1.0; the rest of that protocol is not used: an upload's address is its SHA-256.
const (
	headOffset = "Upload-Offset"
	headLength = "Upload-Length"
	kindOffset = "application/offset+octet-stream"
)

// uploadOffset tells how much of an upload is here: 200 all of it, durable; 204 a part of this device's; 404 nothing.
func (s *Server) uploadOffset(c echo.Context) error {
	d, err := digestParam(c)
	if err != nil {
		return err
	}
	size, err := s.opt.Service.Held(c.Request().Context(), actor(c), d)
	if err == nil {
		setOffset(c, size, size)
		return c.NoContent(http.StatusOK)
	}
	if claims.CodeOf(err) != claims.NotFound {
		return err
	}
	_, offset, length, err := s.incoming.slot(actor(c), d).part()
	if errors.Is(err, claims.ErrAbsent) {
		return claims.Errorf(claims.NotFound, "Nothing of this upload is here.")
	}
	if err != nil {
		return err
	}
	setOffset(c, offset, length)
	return c.NoContent(http.StatusNoContent)
}

func setOffset(c echo.Context, offset, length int64) {
	c.Response().Header().Set(headOffset, strconv.FormatInt(offset, 10))
	c.Response().Header().Set(headLength, strconv.FormatInt(length, 10))
}

// piece is what a PATCH says about itself.
type piece struct {
	digest         claims.Digest
	offset, length int64
}

func (s *Server) pieceOf(c echo.Context) (piece, error) {
	d, err := digestParam(c)
	if err != nil {
		return piece{}, err
	}
	h := c.Request().Header
	if kind, _, err := mime.ParseMediaType(h.Get("Content-Type")); err != nil || kind != kindOffset {
		return piece{}, claims.Errorf(claims.Unsupported, "A piece of an upload is sent with Content-Type: %s.", kindOffset)
	}
	p := piece{digest: d}
	for name, into := range map[string]*int64{headOffset: &p.offset, headLength: &p.length} {
		if *into, err = strconv.ParseInt(h.Get(name), 10, 64); err != nil || *into < 0 {
			return piece{}, claims.Errorf(claims.Invalid, "%s must be a whole number of bytes.", name).At(name)
		}
	}
	switch {
	case p.length == 0:
		return piece{}, claims.Errorf(claims.Invalid, "The file is empty; there is nothing to keep.").At(headLength)
	case p.length > s.opt.Limits.Upload:
		return piece{}, claims.Errorf(claims.TooLarge, "A file has at most %s here; this one has %d bytes.", bytesText(s.opt.Limits.Upload), p.length).At(headLength)
	case p.offset > p.length || c.Request().ContentLength > p.length-p.offset:
		return piece{}, claims.Errorf(codeLength, "These bytes would go beyond the file's length of %d.", p.length).At(headLength)
	}
	return p, nil
}

// continueUpload takes the next piece of an upload; the last one makes it an original.
func (s *Server) continueUpload(c echo.Context) error {
	p, err := s.pieceOf(c)
	if err != nil {
		return err
	}
	release, err := s.turn(c, s.uploads, "uploads")
	if err != nil {
		return err
	}
	defer release()
	body := c.Get(keyBody).(*steadyBody)
	place := s.incoming.slot(actor(c), p.digest)
	done, err := s.incoming.hold(c.Request().Context(), place, body.stop)
	if err != nil {
		return err
	}
	defer done()
	if held, err := s.alreadyKept(c, p.digest); held || err != nil {
		return err
	}
	path, at, err := s.partFor(c, place, p)
	if err != nil {
		return err
	}
	n, err := grow(path, c.Request().Body, p.length-at)
	setOffset(c, at+n, p.length)
	if err != nil {
		return err
	}
	if at+n < p.length {
		return c.NoContent(http.StatusNoContent)
	}
	return s.finishUpload(c, p.digest, path)
}

// alreadyKept answers when the original is here, whoever sent it.
func (s *Server) alreadyKept(c echo.Context, d claims.Digest) (bool, error) {
	ctx := c.Request().Context()
	size, err := s.opt.Service.Held(ctx, actor(c), d)
	if claims.CodeOf(err) == claims.NotFound {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	blob, facts, err := s.opt.Service.Original(ctx, actor(c), d)
	if err != nil {
		return false, err
	}
	blob.Close()
	if path, _, _, err := s.incoming.slot(actor(c), d).part(); err == nil {
		os.Remove(path) // a left-over; the sweep would take it later
	}
	setOffset(c, size, size)
	return true, answer(c, http.StatusOK, facts)
}

// partFor finds or makes the part that the piece belongs to, and refuses a piece that does not fit on.
func (s *Server) partFor(c echo.Context, place slot, p piece) (path string, at int64, err error) {
	path, at, length, err := place.part()
	switch {
	case errors.Is(err, claims.ErrAbsent):
		at = 0
	case err != nil:
		return "", 0, err
	case length != p.length:
		// One SHA-256, two lengths: one of them was wrong, and nobody knows which. Begin again.
		if err := os.Remove(path); err != nil {
			return "", 0, err
		}
		setOffset(c, 0, p.length)
		return "", 0, claims.Errorf(codeOffset, "The length was %d before. The part was dropped; begin again at 0.", length).At(headLength)
	}
	if p.offset != at {
		setOffset(c, at, p.length)
		return "", 0, claims.Errorf(codeOffset, "%d bytes are here; go on from there.", at).At(headOffset)
	}
	if path == "" {
		path, err = s.incoming.create(place, p.length)
	}
	return path, at, err
}

// finishUpload hashes the whole part and keeps it. Bytes that are wrong, or no acceptable file, are dropped.
func (s *Server) finishUpload(c echo.Context, d claims.Digest, path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return err
	}
	sum, err := hashFile(c.Request().Context(), f)
	if err != nil {
		return err
	}
	if sum != d {
		err = wrongDigest(sum)
	} else {
		err = s.receive(c, d, f, info.Size())
	}
	switch claims.CodeOf(err) {
	case claims.Invalid, claims.Unsupported, claims.TooLarge:
		c.Response().Header().Del(headOffset)
		c.Response().Header().Del(headLength)
		return errors.Join(err, ignoreAbsent(os.Remove(path)))
	}
	if err == nil {
		err = ignoreAbsent(os.Remove(path)) // gone already when the store took the file over
	}
	return err
}
