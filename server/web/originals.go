package web

import (
	"net/http"
	"os"

	"github.com/labstack/echo/v4"

	"kickplate/claims"
)

// putOriginal takes a whole upload. The order is: spool, compare the hash, examine, keep (durable), answer.
func (s *Server) putOriginal(c echo.Context) error {
	d, err := digestParam(c)
	if err != nil {
		return err
	}
	spool, done, err := s.takeIn(c, d)
	if err != nil {
		return err
	}
	defer done()
	return s.receive(c, d, spool.file, spool.size)
}

// takeIn takes a whole upload into a temporary file and holds it against its digest. done gives the file and the turn back.
func (s *Server) takeIn(c echo.Context, d claims.Digest) (_ *spool, done func(), err error) {
	release, err := s.turn(c, s.uploads, "uploads")
	if err != nil {
		return nil, nil, err
	}
	spool, err := s.incoming.spool(c.Request().Body)
	if err != nil {
		release()
		return nil, nil, err
	}
	done = func() {
		spool.remove()
		release()
	}
	if spool.sum != d {
		done()
		return nil, nil, wrongDigest(spool.sum)
	}
	return spool, done, nil
}

func wrongDigest(got claims.Digest) error {
	return claims.Errorf(claims.Invalid, "The bytes have the SHA-256 %s…, not the one they were sent under. Nothing was kept; send them again from the start.", got[:12]).At("sha256")
}

// receive examines and keeps a finished file, and answers with its facts.
func (s *Server) receive(c echo.Context, d claims.Digest, f *os.File, size int64) error {
	release, err := s.turn(c, s.examinations, "photos to examine")
	if err != nil {
		return err
	}
	defer release()
	ctx := c.Request().Context()
	status := http.StatusOK
	if _, err := s.opt.Service.Held(ctx, actor(c), d); claims.CodeOf(err) == claims.NotFound {
		status = http.StatusCreated
	} else if err != nil {
		return err
	}
	facts, err := s.opt.Service.Receive(ctx, actor(c), claims.Upload{Digest: d, Size: size, Bytes: f, Path: f.Name()})
	if err != nil {
		return err
	}
	return answer(c, status, facts)
}
