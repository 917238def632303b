package web

import (
	"context"
	"net/http"

	"github.com/labstack/echo/v4"
	"golang.org/x/mod/sumdb/tlog"

	"kickplate/claims"
)

// getCheckpoint seals the shop's log as it stands and sends the signed checkpoint.
func (s *Server) getCheckpoint(c echo.Context) error {
	log, err := s.opt.Service.Logbook(c.Request().Context(), actor(c))
	if err != nil {
		return err
	}
	if n, err := log.LogSize(c.Request().Context()); err != nil {
		return err
	} else if n == 0 {
		return claims.Errorf(claims.NotFound, "The log has no entries yet, so there is nothing to sign.")
	}
	sealed, err := s.opt.Service.Checkpoint(c.Request().Context(), actor(c))
	if err != nil {
		return err
	}
	c.Response().Header().Set("Log-Key", sealed.Key)
	return c.Blob(http.StatusOK, "text/plain; charset=utf-8", sealed.Checkpoint)
}

// hashes reads stored tree hashes for package tlog.
func hashes(ctx context.Context, log claims.Logbook) tlog.HashReader {
	return tlog.HashReaderFunc(func(indexes []int64) ([]tlog.Hash, error) {
		raw, err := log.LogHashes(ctx, indexes)
		out := make([]tlog.Hash, len(raw))
		for i, h := range raw {
			out[i] = tlog.Hash(h)
		}
		return out, err
	})
}

// logbook opens the log and refuses a size it does not have.
func (s *Server) logbook(c echo.Context, size int64, where string) (tlog.HashReader, error) {
	ctx := c.Request().Context()
	log, err := s.opt.Service.Logbook(ctx, actor(c))
	if err != nil {
		return nil, err
	}
	have, err := log.LogSize(ctx)
	if err != nil {
		return nil, err
	}
	if uint64(size) > have {
		return nil, claims.Errorf(claims.Invalid, "The log has %d entries so far, not %d.", have, size).At(where)
	}
	return hashes(ctx, log), nil
}

// getProof proves that a leaf is in the log of a size (RFC 6962, section 2.1.1).
func (s *Server) getProof(c echo.Context) error {
	leaf, err := number(c, "leaf", -1, 0)
	if err != nil {
		return err
	}
	size, err := number(c, "size", -1, 1)
	if err != nil {
		return err
	}
	if leaf >= size {
		return claims.Errorf(claims.Invalid, "A log of %d entries has the leaves 0 to %d.", size, size-1).At("leaf")
	}
	read, err := s.logbook(c, size, "size")
	if err != nil {
		return err
	}
	proof, err := tlog.ProveRecord(size, leaf, read)
	if err != nil {
		return err
	}
	root, err := tlog.TreeHash(size, read)
	if err != nil {
		return err
	}
	return answer(c, http.StatusOK, map[string]any{"leaf": leaf, "size": size, "root": root, "hashes": texts(proof)})
}

// getConsistency proves that the log only grew between two sizes (RFC 6962, section 2.1.2).
func (s *Server) getConsistency(c echo.Context) error {
	from, err := number(c, "from", -1, 1)
	if err != nil {
		return err
	}
	to, err := number(c, "to", -1, 1)
	if err != nil {
		return err
	}
	if from > to {
		return claims.Errorf(claims.Invalid, "The log of %d entries can't be the beginning of one of %d.", from, to).At("from")
	}
	read, err := s.logbook(c, to, "to")
	if err != nil {
		return err
	}
	proof, err := tlog.ProveTree(to, from, read)
	if err != nil {
		return err
	}
	older, err := tlog.TreeHash(from, read)
	if err != nil {
		return err
	}
	newer, err := tlog.TreeHash(to, read)
	if err != nil {
		return err
	}
	return answer(c, http.StatusOK, map[string]any{"from": from, "to": to, "fromRoot": older, "toRoot": newer, "hashes": texts(proof)})
}

func texts[H interface{ String() string }](hashes []H) []string {
	out := make([]string, len(hashes))
	for i, h := range hashes {
		out[i] = h.String()
	}
	return out
}
