package web

import (
	"bytes"
	"context"
	"crypto/rand"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/openapi3filter"
	"github.com/getkin/kin-openapi/routers"
	"github.com/getkin/kin-openapi/routers/gorillamux"
	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
	"kickplate/claims/bundle"
	"kickplate/claims/custody"
	"kickplate/claims/memstore"
	"kickplate/media"
	"kickplate/media/memblobs"
	"kickplate/rules/packs"
)

const testShop claims.ShopID = "shop"

// clock is a clock that tests move.
type clock struct {
	mu sync.Mutex
	at time.Time
}

func (c *clock) now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.at
}

func (c *clock) move(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.at = c.at.Add(d)
}

// fixture is a whole server over stores in memory, on a real port.
type fixture struct {
	t      testing.TB
	srv    *Server
	url    string
	clock  *clock
	access *claims.Access
	log    *logText
	routes routers.Router
	opt    Options
	owner  *client
}

// shipped are our own packs, read once: nobody changes a set.
var shipped = sync.OnceValues(packs.Default)

// logText is a log that tests read.
type logText struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *logText) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *logText) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

func newFixture(t testing.TB, change ...func(*Options)) *fixture {
	t.Helper()
	dir := t.TempDir()
	stores := memstore.Open()
	keys, err := custody.OpenKeys(filepath.Join(dir, "custody.key"))
	require.NoError(t, err)
	set, err := shipped()
	require.NoError(t, err)
	shelf, err := NewShelf(set)
	require.NoError(t, err)
	f := &fixture{t: t, clock: &clock{at: time.Now().UTC().Truncate(time.Millisecond)}, log: &logText{}}
	log := slog.New(slog.NewTextHandler(f.log, &slog.HandlerOptions{Level: slog.LevelDebug}))
	makeID := func() string { return uuid.Must(uuid.NewV7()).String() }
	f.access = &claims.Access{Stores: stores, Passwords: NewPasswords(2), Now: f.clock.now, Random: rand.Reader, MakeID: makeID}
	f.opt = Options{
		Service: &claims.Service{Stores: stores, Blobs: memblobs.New(), Examiner: media.New(media.Options{}), Aligner: media.New(media.Options{}), Packager: bundle.New(),
			Notary: &custody.Notary{Keys: keys}, Packs: shelf, Now: f.clock.now, MakeID: makeID, Scratch: dir, Log: log},
		Access: f.access, Shop: testShop, Packs: shelf, Incoming: filepath.Join(dir, "incoming"), Now: f.clock.now, Log: log,
		App:    http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { io.WriteString(w, "the app") }),
		Limits: Limits{Attempts: 1000},
	}
	for _, c := range change {
		c(&f.opt)
	}
	f.srv, err = New(f.opt)
	require.NoError(t, err)
	ln := httptest.NewServer(f.srv)
	f.url = ln.URL
	t.Cleanup(func() {
		ln.CloseClientConnections()
		ln.Close()
		f.srv.Close()
	})
	token, err := f.access.FirstLink(context.Background(), testShop)
	require.NoError(t, err)
	f.owner = f.enter(token)
	return f
}

// client is somebody who sends requests; every request and every answer is held against the document.
type client struct {
	t     testing.TB
	url   string
	http  *http.Client
	token string
}

// anybody is a client who is not signed in.
func (f *fixture) anybody() *client {
	return &client{t: f.t, url: f.url, http: &http.Client{
		Transport:     f.checked(),
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}}
}

// enter signs in by a one-time token.
func (f *fixture) enter(token string) *client {
	c := f.anybody()
	res := c.do(http.MethodPost, "/session", map[string]string{"token": token})
	require.Equal(f.t, http.StatusOK, res.status, res.text())
	c.token = cookieOf(f.t, res)
	return c
}

func cookieOf(t testing.TB, res *answered) string {
	t.Helper()
	for _, c := range (&http.Response{Header: res.header}).Cookies() {
		if c.Name == cookieName {
			require.True(t, c.HttpOnly)
			require.Equal(t, http.SameSiteStrictMode, c.SameSite)
			return c.Value
		}
	}
	t.Fatalf("no session cookie in %v", res.header)
	return ""
}

// person adds somebody and signs them in.
func (f *fixture) person(name string, role claims.Role) *client {
	res := f.owner.do(http.MethodPost, "/people", map[string]any{"name": name, "role": role})
	require.Equal(f.t, http.StatusCreated, res.status, res.text())
	_, token, ok := strings.Cut(res.json()["enter"].(string), "#enter=")
	require.True(f.t, ok)
	return f.enter(token)
}

// lax is the same client, for requests that break the document on purpose; answers are still checked.
func (c *client) lax() *client {
	l := *c
	l.http = &http.Client{Transport: c.http.Transport.(*checked).forgiving(), CheckRedirect: c.http.CheckRedirect}
	return &l
}

// answered is an answer, read whole.
type answered struct {
	t      testing.TB
	status int
	header http.Header
	body   []byte
}

func (a *answered) text() string { return string(a.body) }

func (a *answered) json() map[string]any {
	a.t.Helper()
	var v map[string]any
	require.NoError(a.t, json.Unmarshal(a.body, &v), a.text())
	return v
}

// problem checks that the answer is a problem of the code.
func (a *answered) problem(status int, code claims.ErrorCode) problem {
	a.t.Helper()
	require.Equal(a.t, status, a.status, a.text())
	require.Equal(a.t, "application/problem+json", a.header.Get("Content-Type"))
	var p problem
	require.NoError(a.t, json.Unmarshal(a.body, &p))
	require.Equal(a.t, code, p.Code, a.text())
	require.Equal(a.t, status, p.Status)
	require.Equal(a.t, a.header.Get("X-Request-Id"), p.Request)
	require.NotEmpty(a.t, p.Detail)
	return p
}

type header map[string]string

// do sends a JSON body, raw bytes or nothing.
func (c *client) do(method, path string, body any, headers ...header) *answered {
	c.t.Helper()
	var r io.Reader
	kind := ""
	switch b := body.(type) {
	case nil:
	case []byte:
		r, kind = bytes.NewReader(b), "application/octet-stream"
	case string:
		r, kind = strings.NewReader(b), "application/json"
	case io.Reader:
		r, kind = b, "application/octet-stream"
	default:
		raw, err := json.Marshal(b)
		require.NoError(c.t, err)
		r, kind = bytes.NewReader(raw), "application/json"
	}
	req, err := http.NewRequest(method, c.url+"/api/v1"+path, r)
	require.NoError(c.t, err)
	if kind != "" {
		req.Header.Set("Content-Type", kind)
	}
	if c.token != "" {
		req.Header.Set("Authorization", "Bearer "+c.token)
	}
	for _, h := range headers {
		for k, v := range h {
			if v == "" {
				req.Header.Del(k)
			} else {
				req.Header.Set(k, v)
			}
		}
	}
	res, err := c.http.Do(req)
	require.NoError(c.t, err, "%s %s", method, path)
	defer res.Body.Close()
	raw, err := io.ReadAll(res.Body)
	require.NoError(c.t, err)
	return &answered{c.t, res.StatusCode, res.Header, raw}
}

// checked is a transport that holds requests and answers against openapi.yaml.
type checked struct {
	t       testing.TB
	base    http.RoundTripper
	router  routers.Router
	anyBody bool
}

func (f *fixture) checked() *checked {
	if f.routes == nil {
		doc := *loadDocument(f.t)
		doc.Servers = openapi3.Servers{{URL: f.url + "/api/v1"}}
		var err error
		f.routes, err = gorillamux.NewRouter(&doc)
		require.NoError(f.t, err)
	}
	base := &http.Transport{}
	f.t.Cleanup(base.CloseIdleConnections)
	return &checked{t: f.t, base: base, router: f.routes}
}

func (c *checked) forgiving() *checked {
	l := *c
	l.anyBody = true
	return &l
}

func (c *checked) RoundTrip(req *http.Request) (*http.Response, error) {
	route, params, err := c.router.FindRoute(req)
	if err != nil {
		if c.anyBody {
			return c.base.RoundTrip(req)
		}
		return nil, fmt.Errorf("the document has no %s %s: %w", req.Method, req.URL.Path, err)
	}
	binary := strings.HasPrefix(req.URL.Path, "/api/v1/originals/") && !strings.HasSuffix(req.URL.Path, "/facts")
	in := &openapi3filter.RequestValidationInput{Request: req, PathParams: params, Route: route, Options: &openapi3filter.Options{
		AuthenticationFunc: openapi3filter.NoopAuthenticationFunc, ExcludeRequestBody: binary, SkipSettingDefaults: true,
		RejectWhenRequestBodyNotSpecified: true,
	}}
	if !c.anyBody {
		if err := openapi3filter.ValidateRequest(req.Context(), in); err != nil {
			return nil, fmt.Errorf("the request is not as the document says: %w", err)
		}
	}
	res, err := c.base.RoundTrip(req)
	if err != nil {
		return nil, err
	}
	raw, err := io.ReadAll(res.Body)
	res.Body.Close()
	if err != nil {
		return nil, err
	}
	res.Body = io.NopCloser(bytes.NewReader(raw))
	kind := res.Header.Get("Content-Type")
	isData := kind != "application/json" && kind != "application/problem+json"
	out := &openapi3filter.ResponseValidationInput{RequestValidationInput: in, Status: res.StatusCode, Header: res.Header,
		Options: &openapi3filter.Options{IncludeResponseStatus: true, ExcludeResponseBody: isData}}
	out.SetBodyBytes(raw)
	if err := openapi3filter.ValidateResponse(req.Context(), out); err != nil && req.Method != http.MethodHead {
		return nil, fmt.Errorf("the answer %d to %s %s is not as the document says: %w\n%s", res.StatusCode, req.Method, req.URL.Path, err, raw)
	}
	return res, nil
}

// photo draws a picture that no other seed gives.
func photo(t testing.TB, seed int) []byte {
	t.Helper()
	m := image.NewRGBA(image.Rect(0, 0, 320, 240))
	for y := range 240 {
		for x := range 320 {
			v := uint8((x*(seed%13+3) + y*(seed%7+5) + (x*y/(seed+9))%91) % 256)
			m.SetRGBA(x, y, color.RGBA{v, uint8(int(v) * seed % 251), 255 - v, 255})
		}
	}
	var b bytes.Buffer
	require.NoError(t, jpeg.Encode(&b, m, &jpeg.Options{Quality: 85}))
	return b.Bytes()
}

func newID() string { return uuid.Must(uuid.NewV7()).String() }

// entry writes an entry as a phone does.
func (f *fixture) entry(job, kind string, body any, change ...func(map[string]any)) string {
	f.t.Helper()
	e := map[string]any{"id": newID(), "shop": testShop, "job": job, "kind": kind, "at": f.clock.now().Format(time.RFC3339Nano),
		"by": "Ana", "device": "phone-1", "body": body}
	for _, c := range change {
		c(e)
	}
	raw, err := json.Marshal(e)
	require.NoError(f.t, err)
	return string(raw)
}

// own has an entry in the name of who sends it.
func own(name string) func(map[string]any) { return func(e map[string]any) { e["by"] = name } }

func batch(entries ...string) string { return `{"entries":[` + strings.Join(entries, ",") + `]}` }

// upload puts a photo and returns its digest.
func (c *client) upload(data []byte) claims.Digest {
	c.t.Helper()
	d := claims.DigestOf(data)
	res := c.do(http.MethodPut, "/originals/"+string(d), data)
	require.Equal(c.t, http.StatusCreated, res.status, res.text())
	return d
}

func photoBody(data []byte, subject string) map[string]any {
	return map[string]any{"digest": claims.DigestOf(data), "bytes": len(data), "subject": subject, "source": "camera", "name": "IMG_0001.jpg"}
}

// openJob makes a job with a plate photo and returns its id.
func (f *fixture) openJob(c *client, seed int) string {
	f.t.Helper()
	job := newID()
	data := photo(f.t, seed)
	c.upload(data)
	res := c.do(http.MethodPost, "/entries", batch(
		f.entry(job, "open", map[string]any{"complaint": "Does not cool", "number": fmt.Sprintf("J-%d", seed)}),
		f.entry(job, "unit", map[string]any{"kind": "refrigerator", "maker": "Alpenfrost", "model": "AF-200", "serial": fmt.Sprintf("SN-%d", seed)}),
		f.entry(job, "coverage", map[string]any{"kind": "maker-warranty", "payer": "Alpenfrost"}),
		f.entry(job, "photo", photoBody(data, "rating-plate")),
	))
	require.Equal(f.t, http.StatusOK, res.status, res.text())
	return job
}
