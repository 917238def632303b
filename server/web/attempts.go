package web

import (
	"net/netip"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/labstack/echo/v4"
	"golang.org/x/time/rate"

	"kickplate/claims"
)

// attempts limits how often one address, and one name, may try to get in.
type attempts struct {
	burst int
	every time.Duration
	now   func() time.Time

	mu   sync.Mutex
	seen map[string]*rate.Limiter
}

// mostAttempts bounds the memory for addresses and names.
const mostAttempts = 20_000

func newAttempts(burst int, every time.Duration, now func() time.Time) *attempts {
	return &attempts{burst: burst, every: every, now: now, seen: map[string]*rate.Limiter{}}
}

// wait returns how long the key has to wait before its next attempt; 0 = this one is granted.
func (a *attempts) wait(key string) time.Duration {
	a.mu.Lock()
	defer a.mu.Unlock()
	now := a.now()
	l, ok := a.seen[key]
	if !ok {
		if len(a.seen) >= mostAttempts {
			a.forget(now)
		}
		l = rate.NewLimiter(rate.Every(a.every), a.burst)
		a.seen[key] = l
	}
	if l.AllowN(now, 1) {
		return 0
	}
	return time.Duration((1 - l.TokensAt(now)) * float64(a.every))
}

// forget drops keys that have waited long enough to begin anew; when somebody sends from so many addresses that none has,
// it drops them all: the cap on password checks still holds then.
func (a *attempts) forget(now time.Time) {
	for key, l := range a.seen {
		if l.TokensAt(now) >= float64(a.burst) {
			delete(a.seen, key)
		}
	}
	if len(a.seen) >= mostAttempts {
		clear(a.seen)
	}
}

// attempt counts one try to get in against the client's address; of IPv6, the /64 that one household has.
func (s *Server) attempt(c echo.Context) error {
	key := c.RealIP()
	if addr, err := netip.ParseAddr(key); err == nil && addr.Unmap().Is6() {
		if p, err := addr.WithZone("").Prefix(64); err == nil {
			key = p.String()
		}
	}
	return s.grant(c, "ip "+key)
}

// attemptFor counts one try of a password against the name, so that many addresses can't share the guessing.
func (s *Server) attemptFor(c echo.Context, name string) error {
	return s.grant(c, "name "+strings.ToLower(strings.Join(strings.Fields(name), " ")))
}

func (s *Server) grant(c echo.Context, key string) error { return s.granted(c, s.attempts, key) }

func (s *Server) granted(c echo.Context, by *attempts, key string) error {
	wait := by.wait(key)
	if wait == 0 {
		return nil
	}
	seconds := int(wait/time.Second) + 1
	c.Response().Header().Set("Retry-After", strconv.Itoa(seconds))
	return claims.Errorf(codeSlowDown, "Too many attempts. Wait %d seconds and try again.", seconds)
}
