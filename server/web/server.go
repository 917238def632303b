package web

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"time"

	"github.com/labstack/echo/v4"
	"golang.org/x/sync/semaphore"

	"kickplate/claims"
	"kickplate/claims/register"
)

// Options are what a Server works with. Service, Access, Shop, Packs, Incoming, Now and Log are required.
type Options struct {
	Service *claims.Service
	Access  *claims.Access
	// Shares are the links to bundles; nil = made from Service.
	Shares *claims.Shares
	// Register is the list of customers and units; nil = made from Service's stores.
	Register *register.Register
	// Shop is the shop that people sign in to by name and password.
	Shop  claims.ShopID
	Packs *Shelf
	// App serves everything that is not the API; Trust serves /trust, the page about our own certificate authority. Both may be nil.
	App, Trust http.Handler
	// Incoming is a folder for uploads under way, on the file system of the originals. The server owns it.
	Incoming string
	// PublicURL is the address phones reach the server at, for links and QR codes; empty = the one a request came to.
	PublicURL string
	// TrustedProxies are the addresses of reverse proxies whose X-Forwarded-For and X-Forwarded-Proto are believed.
	TrustedProxies []netip.Prefix
	// HSTS is how long browsers shall insist on HTTPS; 0 = not said.
	HSTS   time.Duration
	Limits Limits
	Now    func() time.Time
	Log    *slog.Logger
}

// Limits bound what one request and all together may take. A zero field means its default.
type Limits struct {
	// Upload is the largest original, in bytes (100 MiB, the largest clip an Examiner takes by default).
	Upload int64
	// Uploads, Appends, Examinations and Builds are how many may go on at once (32, 8, 4, 2). Wait is how long others wait for
	// their turn before they are asked to come back (20 s).
	Uploads, Appends, Examinations, Builds int64
	Wait                                   time.Duration
	// Idle is the longest pause within a body (30 s); Body and UploadBody how long a body may take in all (1 min, 30 min).
	Idle, Body, UploadBody time.Duration
	// PartAge is after how long without a byte a part is swept (7 days); Parts how many a device may have (200).
	PartAge time.Duration
	Parts   int
	// Attempts is how many sign-ins and pairings one address may try at a stretch (10); one more is granted every AttemptEvery (6 s).
	Attempts     int
	AttemptEvery time.Duration
	// Looks is how many files are read over one reviewer's link at a stretch (600); one more is granted every LookEvery (50 ms).
	Looks     int
	LookEvery time.Duration
}

func (l Limits) withDefaults() Limits {
	setDefault(&l.Upload, 100<<20)
	setDefault(&l.Uploads, 32)
	setDefault(&l.Appends, 8)
	setDefault(&l.Examinations, 4)
	setDefault(&l.Builds, 2)
	setDefault(&l.Wait, 20*time.Second)
	setDefault(&l.Idle, 30*time.Second)
	setDefault(&l.Body, time.Minute)
	setDefault(&l.UploadBody, 30*time.Minute)
	setDefault(&l.PartAge, 7*24*time.Hour)
	setDefault(&l.Parts, 200)
	setDefault(&l.Attempts, 10)
	setDefault(&l.AttemptEvery, 6*time.Second)
	setDefault(&l.Looks, 600)
	setDefault(&l.LookEvery, 50*time.Millisecond)
	return l
}

func setDefault[T int | int64 | time.Duration](v *T, def T) {
	if *v <= 0 {
		*v = def
	}
}

// mailsAtOnce is how many messages go out at a stretch; one more is granted each minute.
const mailsAtOnce = 30

// Server answers requests. Make it with New, run it with Serve or use it as an http.Handler, and Close it.
type Server struct {
	opt      Options
	echo     *echo.Echo
	cross    *http.CrossOriginProtection
	incoming *incoming
	attempts *attempts
	looks    *attempts
	mails    *attempts
	work     *background

	uploads, appends, examinations, builds, exports *semaphore.Weighted
}

// New prepares a Server: it clears Incoming of what an earlier process left half-written, and starts the background work.
func New(o Options) (*Server, error) {
	o.Limits = o.Limits.withDefaults()
	if o.Shares == nil {
		o.Shares = &claims.Shares{Service: o.Service, Random: rand.Reader}
	}
	if o.Register == nil {
		o.Register = &register.Register{Stores: o.Service.Stores, Kinds: unitKinds(), Now: o.Now, MakeID: o.Service.MakeID}
	}
	in, err := openIncoming(o.Incoming, o.Limits, o.Now)
	if err != nil {
		return nil, err
	}
	s := &Server{
		opt: o, echo: echo.New(), cross: http.NewCrossOriginProtection(), incoming: in,
		attempts: newAttempts(o.Limits.Attempts, o.Limits.AttemptEvery, o.Now),
		mails:    newAttempts(mailsAtOnce, time.Minute, o.Now),
		looks:    newAttempts(o.Limits.Looks, o.Limits.LookEvery, o.Now),
		uploads:  semaphore.NewWeighted(o.Limits.Uploads), appends: semaphore.NewWeighted(o.Limits.Appends),
		examinations: semaphore.NewWeighted(o.Limits.Examinations), builds: semaphore.NewWeighted(o.Limits.Builds),
		exports: semaphore.NewWeighted(exportsAtOnce),
	}
	e := s.echo
	e.HideBanner, e.HidePort = true, true
	e.IPExtractor = ipExtractor(o.TrustedProxies)
	e.HTTPErrorHandler = s.fail
	e.Use(s.observe, s.protect)
	for _, r := range s.routes() {
		e.Add(r.method, "/api/v1"+r.path, s.guard(r))
	}
	if o.Trust != nil {
		e.GET("/trust", echo.WrapHandler(o.Trust))
		e.GET("/trust/*", echo.WrapHandler(o.Trust))
	}
	if o.App != nil {
		e.GET("/*", echo.WrapHandler(o.App))
		e.HEAD("/*", echo.WrapHandler(o.App))
	}
	e.GET(calendarPath+":token", s.feedCalendar)
	e.HEAD(calendarPath+":token", s.feedCalendar)
	// Before the app, whose every path is a screen: under /api what is not there is not there.
	nothing := func(echo.Context) error { return echo.ErrNotFound }
	e.GET("/api/*", nothing)
	e.HEAD("/api/*", nothing)
	s.work = startBackground(s)
	return s, nil
}

// ServeHTTP answers one request.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.echo.ServeHTTP(w, r) }

// Close stops the background work after the piece at hand.
func (s *Server) Close() { s.work.stop() }

// Serve answers requests on the listener until the context ends; requests under way then have grace to finish.
func (s *Server) Serve(ctx context.Context, ln net.Listener, grace time.Duration) error {
	hs := &http.Server{
		Handler: s,
		// Bodies have deadlines of their own that move with the bytes; see steadyBody.
		ReadHeaderTimeout: 10 * time.Second,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    32 << 10,
		ErrorLog:          slog.NewLogLogger(s.opt.Log.Handler(), slog.LevelDebug),
	}
	failed := make(chan error, 1)
	go func() { failed <- hs.Serve(ln) }()
	select {
	case err := <-failed:
		return fmt.Errorf("serve on %s: %w", ln.Addr(), err)
	case <-ctx.Done():
	}
	late, cancel := context.WithTimeout(context.WithoutCancel(ctx), grace)
	defer cancel()
	err := hs.Shutdown(late)
	if errors.Is(err, context.DeadlineExceeded) {
		s.opt.Log.Warn("some requests did not end in time and are cut off")
		err = hs.Close()
	}
	<-failed
	return err
}

// turn waits for one of a limited number of places; the error is Busy when none becomes free in time.
func (s *Server) turn(c echo.Context, places *semaphore.Weighted, what string) (release func(), err error) {
	ctx, cancel := context.WithTimeout(c.Request().Context(), s.opt.Limits.Wait)
	defer cancel()
	if err := places.Acquire(ctx, 1); err != nil {
		if c.Request().Context().Err() != nil {
			return nil, c.Request().Context().Err()
		}
		c.Response().Header().Set("Retry-After", "10")
		return nil, claims.Errorf(claims.Busy, "Too many %s at once. Try again in a moment.", what)
	}
	return func() { places.Release(1) }, nil
}
