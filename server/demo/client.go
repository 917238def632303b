package demo

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strconv"
	"time"

	"kickplate/claims"
	"kickplate/rules"
)

// client speaks to a server as a phone does.
type client struct {
	base  string // such as http://127.0.0.1:8080, without a slash at its end
	token string
	http  *http.Client
}

// patience is how often a request is repeated when the server is busy.
const patience = 4

// problem is a refusal (RFC 9457).
type problem struct {
	Status int    `json:"status"`
	Title  string `json:"title"`
	Detail string `json:"detail"`
	Code   string `json:"code"`
	Where  string `json:"where"`
}

func (p *problem) Error() string {
	text := p.Detail
	if text == "" {
		text = p.Title
	}
	if p.Where != "" {
		text = p.Where + ": " + text
	}
	return fmt.Sprintf("the server answered %d: %s", p.Status, text)
}

// do sends one request and hands the answer to read; 503 and 429 are waited for.
func (c *client) do(ctx context.Context, method, path, kind string, body []byte, read func(*http.Response) error) error {
	for try := 1; ; try++ {
		req, err := http.NewRequestWithContext(ctx, method, c.base+"/api/v1"+path, bytes.NewReader(body))
		if err != nil {
			return fmt.Errorf("%s %s: %w", method, path, err)
		}
		if kind != "" {
			req.Header.Set("Content-Type", kind)
		}
		req.Header.Set("Authorization", "Bearer "+c.token)
		resp, err := c.http.Do(req)
		if err != nil {
			return fmt.Errorf("%s %s: %w", method, path, err)
		}
		busy := resp.StatusCode == http.StatusServiceUnavailable || resp.StatusCode == http.StatusTooManyRequests
		if busy && try < patience {
			pause := after(resp)
			_ = resp.Body.Close()
			select {
			case <-ctx.Done():
				return ctx.Err()
			case <-time.After(pause):
			}
			continue
		}
		err = answer(resp, read)
		if err = errors.Join(err, resp.Body.Close()); err != nil {
			return fmt.Errorf("%s %s: %w", method, path, err)
		}
		return nil
	}
}

func after(resp *http.Response) time.Duration {
	if s, err := strconv.Atoi(resp.Header.Get("Retry-After")); err == nil && s > 0 && s <= 30 {
		return time.Duration(s) * time.Second
	}
	return time.Second
}

func answer(resp *http.Response, read func(*http.Response) error) error {
	if resp.StatusCode >= 300 {
		p := &problem{}
		raw, _ := io.ReadAll(io.LimitReader(resp.Body, 64<<10))
		if json.Unmarshal(raw, p) != nil || p.Detail == "" && p.Title == "" {
			p.Title = http.StatusText(resp.StatusCode)
		}
		p.Status = resp.StatusCode
		return p
	}
	if read == nil {
		return nil
	}
	return read(resp)
}

// into decodes an answer of at most 32 MiB.
func into(v any) func(*http.Response) error {
	return func(r *http.Response) error {
		return json.NewDecoder(io.LimitReader(r.Body, 32<<20)).Decode(v)
	}
}

// has reports whether the server keeps an original already.
func (c *client) has(ctx context.Context, d claims.Digest) (bool, error) {
	kept := false
	err := c.do(ctx, http.MethodHead, "/originals/"+string(d), "", nil, func(r *http.Response) error {
		kept = r.StatusCode == http.StatusOK
		return nil
	})
	if p, ok := errors.AsType[*problem](err); ok && p.Status == http.StatusNotFound {
		return false, nil
	}
	return kept, err
}

func (c *client) put(ctx context.Context, o *Original) (claims.PhotoFacts, error) {
	var f claims.PhotoFacts
	err := c.do(ctx, http.MethodPut, "/originals/"+string(o.Digest), o.Type, o.Bytes, into(&f))
	return f, err
}

// sent is what became of one entry.
type sent struct {
	ID     claims.EntryID `json:"id"`
	Job    claims.JobID   `json:"job"`
	Status string         `json:"status"`
	Leaf   uint64         `json:"leaf"`
}

// append sends entries, each with its exact bytes: the list is put together by hand, since an encoder might rewrite them.
func (c *client) append(ctx context.Context, raws []json.RawMessage) ([]sent, error) {
	var body bytes.Buffer
	body.WriteString(`{"entries":[`)
	for i, r := range raws {
		if i > 0 {
			body.WriteByte(',')
		}
		body.Write(r)
	}
	body.WriteString(`]}`)
	var got struct {
		Results []sent `json:"results"`
	}
	if err := c.do(ctx, http.MethodPost, "/entries", "application/json", body.Bytes(), into(&got)); err != nil {
		return nil, err
	}
	if len(got.Results) != len(raws) {
		return nil, fmt.Errorf("POST /entries: %d results for %d entries", len(got.Results), len(raws))
	}
	return got.Results, nil
}

func (c *client) check(ctx context.Context, job claims.JobID) (rules.Report, error) {
	var got struct {
		Report rules.Report `json:"report"`
	}
	err := c.do(ctx, http.MethodGet, "/jobs/"+url.PathEscape(string(job))+"/check", "", nil, into(&got))
	return got.Report, err
}

func (c *client) build(ctx context.Context, job claims.JobID) (claims.Built, error) {
	var b claims.Built
	err := c.do(ctx, http.MethodPost, "/jobs/"+url.PathEscape(string(job))+"/bundles", "application/json", []byte(`{"hold":[]}`), into(&b))
	return b, err
}

// finding is what the server says about one allegation.
type finding struct {
	Area    string `json:"area"`
	Finding struct {
		Title   string   `json:"title"`
		Says    string   `json:"says"`
		Against []any    `json:"against"`
		Missing []string `json:"missing"`
	} `json:"finding"`
}

func (c *client) disputes(ctx context.Context, job claims.JobID) ([]finding, error) {
	var got struct {
		Allegations []finding `json:"allegations"`
	}
	err := c.do(ctx, http.MethodGet, "/jobs/"+url.PathEscape(string(job))+"/disputes", "", nil, into(&got))
	return got.Allegations, err
}

// answer has the letter recorded as it is drafted, and the dispute file built.
func (c *client) answer(ctx context.Context, job claims.JobID) (claims.Built, error) {
	var got claims.BuiltDispute
	err := c.do(ctx, http.MethodPost, "/jobs/"+url.PathEscape(string(job))+"/dispute-files", "application/json", []byte(`{}`), into(&got))
	return got.Built, err
}

// fetch copies a bundle to w.
func (c *client) fetch(ctx context.Context, job claims.JobID, version int, w io.Writer) error {
	path := "/jobs/" + url.PathEscape(string(job)) + "/bundles/" + strconv.Itoa(version)
	return c.do(ctx, http.MethodGet, path, "", nil, func(r *http.Response) error {
		_, err := io.Copy(w, r.Body)
		return err
	})
}
