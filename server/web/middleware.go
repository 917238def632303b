package web

import (
	"crypto/rand"
	"encoding/hex"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"runtime/debug"
	"strconv"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"kickplate/claims"
)

const (
	keyRequest  = "request"
	keyIdentity = "identity"
	keyToken    = "token"
)

// answerFor is how long an answer may take, from the request's head to its own last byte, uploads included.
const answerFor = 40 * time.Minute

// requestID is the number by which a person and the log find the same request.
func requestID(c echo.Context) string {
	id, _ := c.Get(keyRequest).(string)
	return id
}

// observe numbers a request, logs it when it is done, and turns a panic into a fault. Neither queries, bodies, cookies nor
// tokens enter the log.
func (s *Server) observe(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		began := time.Now()
		var b [6]byte
		if _, err := rand.Read(b[:]); err != nil {
			return err
		}
		id := hex.EncodeToString(b[:])
		c.Set(keyRequest, id)
		c.Response().Header().Set("X-Request-Id", id)
		// A client that does not fetch its answer is let go; downloads get more time, see downloadDeadline.
		_ = http.NewResponseController(c.Response()).SetWriteDeadline(began.Add(answerFor))
		if err := s.run(next, c); err != nil {
			s.fail(err, c)
		}
		level := slog.LevelInfo
		if !strings.HasPrefix(c.Request().URL.Path, "/api/") || c.Path() == "/api/v1/clock" {
			level = slog.LevelDebug
		}
		r, w := c.Request(), c.Response()
		s.opt.Log.Log(r.Context(), level, "request", "request", id, "method", r.Method, "path", loggedPath(r.URL.Path), "status", w.Status,
			"bytes", w.Size, "ms", time.Since(began).Milliseconds(), "ip", c.RealIP(), "person", who(c).Actor.Person)
		return nil
	}
}

// loggedPath is the path without the one secret that stands in a path: a calendar program can send it in no other way.
func loggedPath(path string) string {
	if strings.HasPrefix(path, calendarPath) {
		return calendarPath + "…"
	}
	return path
}

func (s *Server) run(next echo.HandlerFunc, c echo.Context) (err error) {
	defer func() {
		p := recover()
		if p == http.ErrAbortHandler {
			panic(p)
		}
		if p != nil {
			err = fmt.Errorf("panic: %v\n%s", p, debug.Stack())
		}
	}()
	return next(c)
}

// apiPolicy lets nothing be loaded or framed: what the API sends is data, never a page.
const apiPolicy = "default-src 'none'; frame-ancestors 'none'; sandbox"

// protect sets the headers every answer has and refuses what other sites make a browser send.
func (s *Server) protect(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		h := c.Response().Header()
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		if s.opt.HSTS > 0 && s.overTLS(c.Request()) {
			h.Set("Strict-Transport-Security", "max-age="+strconv.Itoa(int(s.opt.HSTS.Seconds())))
		}
		if strings.HasPrefix(c.Request().URL.Path, "/api/") {
			h.Set("Content-Security-Policy", apiPolicy)
			h.Set("Cache-Control", "no-store")
		}
		if p := c.Request().URL.Path; p == reviewPage || strings.HasPrefix(p, reviewAPI) {
			h.Set("X-Robots-Tag", "noindex, nofollow, noarchive")
		}
		if err := s.cross.Check(c.Request()); err != nil {
			return &claims.Error{Code: claims.Forbidden, Says: "This request came from another site's page and was refused. Open Kickplate itself.", Err: err}
		}
		return next(c)
	}
}

// guard asks who is there and whether they may, before any of the body is read, and bounds the body.
func (s *Server) guard(r route) echo.HandlerFunc {
	return func(c echo.Context) error {
		if r.act != "" {
			id, err := s.authenticate(c)
			if err != nil {
				return err
			}
			c.Set(keyIdentity, id)
			if r.act != signedIn {
				if err := id.Actor.Allow(r.act); err != nil {
					return err
				}
			}
		}
		return s.bounded(r, c)
	}
}

// bounded runs the handler with a body that can neither be too long nor too slow.
func (s *Server) bounded(r route, c echo.Context) error {
	req := c.Request()
	if r.body == 0 {
		req.Body = http.NoBody
		return r.handle(c)
	}
	if req.ContentLength > r.body {
		c.Response().Header().Set("Connection", "close")
		return &http.MaxBytesError{Limit: r.body}
	}
	rc := http.NewResponseController(c.Response())
	all := s.opt.Limits.Body
	if r.act == claims.ActUpload {
		all = s.opt.Limits.UploadBody
	}
	body := newSteadyBody(rc, req, s.opt.Limits.Idle, all)
	req.Body = http.MaxBytesReader(c.Response().Writer, body, r.body)
	c.Set(keyBody, body)
	defer body.finish()
	return r.handle(c)
}

// authenticate finds out who sends the request, by the Authorization header or else the cookie.
func (s *Server) authenticate(c echo.Context) (claims.Identity, error) {
	token := ""
	if h := c.Request().Header.Get("Authorization"); h != "" {
		scheme, rest, _ := strings.Cut(h, " ")
		if !strings.EqualFold(scheme, "Bearer") {
			return claims.Identity{}, claims.Errorf(claims.SignIn, "Sign in with `Authorization: Bearer <token>` or by the page.")
		}
		token = strings.TrimSpace(rest)
	} else if cookie, err := c.Cookie(cookieName); err == nil {
		token = cookie.Value
	}
	if token == "" {
		return claims.Identity{}, claims.Errorf(claims.SignIn, "Sign in first.")
	}
	c.Set(keyToken, token)
	return s.opt.Access.Authenticate(c.Request().Context(), token)
}

// who is the identity that guard found; the zero one on open routes.
func who(c echo.Context) claims.Identity {
	id, _ := c.Get(keyIdentity).(claims.Identity)
	return id
}

func actor(c echo.Context) claims.Actor { return who(c).Actor }

// ipExtractor believes X-Forwarded-For only when it comes from a stated proxy.
func ipExtractor(proxies []netip.Prefix) echo.IPExtractor {
	if len(proxies) == 0 {
		return echo.ExtractIPDirect()
	}
	trust := []echo.TrustOption{echo.TrustLoopback(false), echo.TrustLinkLocal(false), echo.TrustPrivateNet(false)}
	for _, p := range proxies {
		p = p.Masked()
		trust = append(trust, echo.TrustIPRange(&net.IPNet{IP: p.Addr().AsSlice(), Mask: net.CIDRMask(p.Bits(), p.Addr().BitLen())}))
	}
	return echo.ExtractIPFromXFFHeader(trust...)
}

// overTLS reports whether the client's side of the connection is encrypted, as far as we can know.
func (s *Server) overTLS(r *http.Request) bool {
	if r.TLS != nil {
		return true
	}
	peer, err := netip.ParseAddrPort(r.RemoteAddr)
	if err != nil {
		return false
	}
	for _, p := range s.opt.TrustedProxies {
		if p.Contains(peer.Addr().Unmap()) {
			return strings.EqualFold(r.Header.Get("X-Forwarded-Proto"), "https")
		}
	}
	return false
}

// secureContext reports whether a browser gives the page offline mode and cryptography: over TLS, or on this machine.
func (s *Server) secureContext(r *http.Request) bool {
	if s.overTLS(r) {
		return true
	}
	host := r.Host
	if h, _, err := net.SplitHostPort(host); err == nil {
		host = h
	}
	addr, err := netip.ParseAddr(strings.Trim(host, "[]"))
	return host == "localhost" || strings.HasSuffix(host, ".localhost") || err == nil && addr.IsLoopback()
}
