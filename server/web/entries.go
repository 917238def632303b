package web

import (
	"bytes"
	"encoding/json"
	"io"
	"net/http"
	"strconv"
	"time"

	"github.com/labstack/echo/v4"

	"kickplate/claims"
)

// appendEntries takes entries. The raw bytes of each are handed on exactly as they came: they are what is hashed.
func (s *Server) appendEntries(c echo.Context) error {
	release, err := s.turn(c, s.appends, "people writing")
	if err != nil {
		return err
	}
	defer release()
	if err := isJSON(c); err != nil {
		return err
	}
	raw, err := io.ReadAll(c.Request().Body)
	if err != nil {
		return err
	}
	var in struct {
		Entries []json.RawMessage `json:"entries"`
	}
	if err := claims.ReadStrict(raw, &in); err != nil {
		return err
	}
	results, err := s.opt.Service.Append(c.Request().Context(), actor(c), in.Entries)
	if err != nil {
		return err
	}
	s.work.appended(actor(c).Shop, in.Entries, results)
	return answer(c, http.StatusOK, map[string]any{"results": results})
}

const (
	entriesPage = 500
	entriesMost = 1000
)

// getEntries sends a job's entries, byte for byte: what a phone needs to fold the job itself, and anybody to check it.
func (s *Server) getEntries(c echo.Context) error {
	from, err := number(c, "from", 0, 0)
	if err != nil {
		return err
	}
	limit, err := number(c, "limit", entriesPage, 1)
	if err != nil {
		return err
	}
	if limit > entriesMost {
		return claims.Errorf(claims.Invalid, "At most %d entries are sent at once.", entriesMost).At("limit")
	}
	release, err := s.turn(c, s.appends, "people reading")
	if err != nil {
		return err
	}
	defer release()
	recs, head, err := s.opt.Service.Journal(c.Request().Context(), actor(c), claims.JobID(c.Param("job")), claims.Head(from), int(limit))
	if err != nil {
		return err
	}
	// By hand: encoding/json would escape characters within the entries, and their bytes must not change.
	var b bytes.Buffer
	b.WriteString(`{"entries":[`)
	for i, r := range recs {
		k, err := claims.KeptOf(r)
		if err != nil {
			return err
		}
		if i > 0 {
			b.WriteByte(',')
		}
		b.WriteString(`{"leaf":` + strconv.FormatUint(r.Leaf, 10) + `,"received":"` + k.Received.UTC().Format(time.RFC3339Nano) + `",`)
		if k.Erased != "" {
			b.WriteString(`"stub":`)
			b.Write(r.Line)
		} else {
			b.WriteString(`"entry":`)
			b.Write(k.Raw)
		}
		b.WriteByte('}')
	}
	b.WriteString(`],"head":` + strconv.FormatUint(uint64(head), 10) + "}\n")
	return answerRaw(c, http.StatusOK, b.Bytes())
}
