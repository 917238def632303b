package web

import (
	"errors"
	"fmt"
	"io"
	"mime"
	"net/http"
	"os"
	"sync"
	"time"

	"github.com/labstack/echo/v4"

	"kickplate/claims"
)

const keyBody = "body"

// steadyBody is a request's body that must keep coming: each read may take idle at most, all together until the end. Its
// deadline moves with the bytes, so a weak line has all the time it needs and a silent one is let go.
type steadyBody struct {
	rc   *http.ResponseController
	body io.ReadCloser
	idle time.Duration
	end  time.Time

	mu      sync.Mutex // orders what sets the deadline
	done    bool
	stopped bool
}

func newSteadyBody(rc *http.ResponseController, req *http.Request, idle, all time.Duration) *steadyBody {
	// Where there is no body, net/http watches for the client's going away from the start, and a deadline would hit that watch.
	return &steadyBody{rc: rc, body: req.Body, idle: idle, end: time.Now().Add(all), done: req.ContentLength == 0}
}

// errStopped says that the same device has begun to send the same bytes anew on another connection.
var errStopped = fmt.Errorf("taken over by a newer request: %w", errSlow)

func (b *steadyBody) Read(p []byte) (int, error) {
	if !b.begin() {
		return 0, errStopped
	}
	n, err := b.body.Read(p)
	b.mu.Lock()
	defer b.mu.Unlock()
	switch {
	case b.stopped && err != nil:
		// Also at the end: net/http's watch for the client's going away has run into stop's deadline, and calls off whatever comes on this
		// connection. The refusal closes it.
		err = errStopped
	case err == nil:
	case err == io.EOF:
		b.done = true
		// Without this the deadline would hit that watch, and end a long answer.
		b.deadline(time.Time{})
	case errors.Is(err, os.ErrDeadlineExceeded):
		err = errSlow
	default: // the line, not this server
		err = fmt.Errorf("%w: %w", errBroken, err)
	}
	return n, err
}

// begin gives the next read its time; false when there is to be none.
func (b *steadyBody) begin() bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.stopped || b.done {
		return !b.stopped
	}
	deadline := time.Now().Add(b.idle)
	if deadline.After(b.end) {
		deadline = b.end
	}
	b.deadline(deadline)
	return true
}

func (b *steadyBody) Close() error { return b.body.Close() }

// stop makes the present and all later reads fail; what has come whole is worked on to its end. It may be called from another goroutine.
func (b *steadyBody) stop() {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.stopped = true
	if !b.done {
		b.deadline(time.Unix(1, 0))
	}
}

// finish gives the rest of an unread body little time to arrive: net/http reads on for a while to keep the connection.
func (b *steadyBody) finish() {
	b.mu.Lock()
	defer b.mu.Unlock()
	if !b.done {
		b.deadline(time.Now().Add(time.Second))
	}
}

func (b *steadyBody) deadline(t time.Time) {
	// Recorders in tests know no deadlines; real connections always do.
	_ = b.rc.SetReadDeadline(t)
}

// readJSON reads a small JSON body strictly. An empty body is refused unless optional.
func readJSON(c echo.Context, into any, optional bool) error {
	raw, err := io.ReadAll(c.Request().Body)
	if err != nil {
		return err
	}
	if len(raw) == 0 && optional {
		return nil
	}
	if err := isJSON(c); err != nil {
		return err
	}
	return claims.ReadStrict(raw, into)
}

func isJSON(c echo.Context) error {
	kind, _, err := mime.ParseMediaType(c.Request().Header.Get("Content-Type"))
	if err != nil || kind != "application/json" {
		return claims.Errorf(claims.Unsupported, "Send this as JSON, with Content-Type: application/json.")
	}
	return nil
}

// downloadDeadline gives a client time for so many bytes: a minute, and more at 32 KiB a second.
func downloadDeadline(c echo.Context, size int64) {
	rc := http.NewResponseController(c.Response())
	_ = rc.SetWriteDeadline(time.Now().Add(time.Minute + time.Duration(size/(32<<10))*time.Second))
}
