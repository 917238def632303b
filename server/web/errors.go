package web

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"os"
	"strconv"
	"syscall"

	"github.com/labstack/echo/v4"

	"kickplate/claims"
)

// Codes of this package's own refusals, beside those of claims.
const (
	codeOffset   claims.ErrorCode = "offset"    // an upload goes on from another offset
	codeSlowDown claims.ErrorCode = "slow-down" // too many attempts
	codeMethod   claims.ErrorCode = "method"    // the address exists, the method does not
	codeTimeout  claims.ErrorCode = "timeout"   // the request came too slowly, or broke off
	codeLength   claims.ErrorCode = "length"    // the body's length is not what was said
	codeFull     claims.ErrorCode = "full"      // the server's disk is full
	codeFault    claims.ErrorCode = "fault"     // a fault of ours
)

// statusOf is the one map from codes to HTTP status.
func statusOf(code claims.ErrorCode) int {
	switch code {
	case claims.Invalid, codeLength:
		return http.StatusUnprocessableEntity
	case claims.NotFound:
		return http.StatusNotFound
	case claims.Conflict, claims.Stale, claims.Missing, codeOffset:
		return http.StatusConflict
	case claims.Erased:
		return http.StatusGone
	case claims.Forbidden:
		return http.StatusForbidden
	case claims.SignIn:
		return http.StatusUnauthorized
	case claims.TooLarge:
		return http.StatusRequestEntityTooLarge
	case claims.Unsupported:
		return http.StatusUnsupportedMediaType
	case claims.Busy:
		return http.StatusServiceUnavailable
	case claims.Undelivered:
		return http.StatusBadGateway
	case codeSlowDown:
		return http.StatusTooManyRequests
	case codeMethod:
		return http.StatusMethodNotAllowed
	case codeTimeout:
		return http.StatusRequestTimeout
	case codeFull:
		return http.StatusInsufficientStorage
	}
	return http.StatusInternalServerError
}

// problem is an RFC 9457 problem details object. Its type is always about:blank, so title is the status's own phrase; code,
// where and request are extensions.
type problem struct {
	Type    string           `json:"type"`
	Title   string           `json:"title"`
	Status  int              `json:"status"`
	Detail  string           `json:"detail"`
	Code    claims.ErrorCode `json:"code"`
	Where   string           `json:"where,omitempty"`
	Request string           `json:"request"`
}

// errSlow says that a body did not come in time.
var errSlow = errors.New("the body came too slowly")

// errBroken says that the connection broke before the end of a body.
var errBroken = errors.New("the body broke off")

// asProblem turns any error into what the client may know of it. Faults of ours keep their detail for the log.
func asProblem(err error) *claims.Error {
	if own, ok := errors.AsType[*claims.Error](err); ok {
		return own
	}
	if big, ok := errors.AsType[*http.MaxBytesError](err); ok {
		return claims.Errorf(claims.TooLarge, "That is too much at once; the most here is %s.", bytesText(big.Limit))
	}
	if he, ok := errors.AsType[*echo.HTTPError](err); ok {
		switch he.Code {
		case http.StatusNotFound:
			return claims.Errorf(claims.NotFound, "There is nothing at this address. The API is described at /api/v1/openapi.yaml.")
		case http.StatusMethodNotAllowed:
			return claims.Errorf(codeMethod, "This address does not know that method. The API is described at /api/v1/openapi.yaml.")
		}
	}
	switch {
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT):
		return &claims.Error{Code: codeFull, Err: err, Says: "The server's disk is full, so nothing more can be kept. Tell the operator to make room; what was kept before is safe, and the phone goes on holding the rest."}
	case errors.Is(err, errSlow), errors.Is(err, os.ErrDeadlineExceeded):
		return claims.Errorf(codeTimeout, "The request came too slowly. Send it again; an upload goes on from where HEAD says.")
	case errors.Is(err, errBroken):
		return &claims.Error{Code: codeTimeout, Err: err, Says: "The connection broke before the end of the request. Send it again; an upload goes on from where HEAD says."}
	case errors.Is(err, context.DeadlineExceeded):
		return claims.Errorf(claims.Busy, "This took too long. Try again in a moment.")
	}
	return nil
}

// fail answers with a problem. It is echo's error handler: every refusal and every fault goes through it.
func (s *Server) fail(err error, c echo.Context) {
	if c.Response().Committed {
		s.opt.Log.Error("answer broken off", "request", requestID(c), "error", err)
		return
	}
	own := asProblem(err)
	if own == nil && errors.Is(err, context.Canceled) && c.Request().Context().Err() != nil {
		// Most often there is nobody to answer any more. Without an answer net/http would say 200, and whoever is there might believe it.
		own = claims.Errorf(claims.Busy, "The connection broke before this was done. Ask again.")
		c.Response().Header().Set("Connection", "close")
	}
	if own == nil {
		s.opt.Log.Error("fault", "request", requestID(c), "route", c.Path(), "error", err)
		own = claims.Errorf(codeFault, "Something went wrong on our side. Nothing you sent is to blame; try again, and if it stays, tell the operator the request number %s.", requestID(c))
	} else if own.Code == codeFull {
		s.opt.Log.Error("the disk is full", "request", requestID(c), "error", err)
	} else if own.Err != nil {
		s.opt.Log.Info("refused", "request", requestID(c), "code", string(own.Code), "cause", own.Err)
	}
	p := problem{Type: "about:blank", Status: statusOf(own.Code), Detail: own.Says, Code: own.Code, Where: own.Where, Request: requestID(c)}
	p.Title = http.StatusText(p.Status)
	h := c.Response().Header()
	switch p.Status {
	case http.StatusServiceUnavailable, http.StatusTooManyRequests, http.StatusInsufficientStorage:
		if h.Get("Retry-After") == "" {
			h.Set("Retry-After", "5")
		}
	case http.StatusUnauthorized:
		h.Set("WWW-Authenticate", "Bearer")
	case http.StatusRequestTimeout:
		h.Set("Connection", "close")
	}
	for _, name := range []string{"ETag", "Last-Modified", "Content-Disposition", "Content-Encoding"} {
		h.Del(name)
	}
	h.Set("Cache-Control", "no-store")
	h.Set("Content-Type", "application/problem+json")
	body, err := json.Marshal(p)
	if err != nil {
		s.opt.Log.Error("write a problem", "request", requestID(c), "error", err)
		body = []byte(`{}`)
	}
	h.Set("Content-Length", strconv.Itoa(len(body)))
	c.Response().WriteHeader(p.Status)
	if c.Request().Method != http.MethodHead {
		if _, err := c.Response().Write(body); err != nil {
			s.opt.Log.Debug("client gone before the problem", "request", requestID(c), "error", err)
		}
	}
}

func bytesText(n int64) string {
	if n >= 1<<20 {
		return strconv.FormatInt(n>>20, 10) + " MiB"
	}
	return strconv.FormatInt(n>>10, 10) + " KiB"
}
