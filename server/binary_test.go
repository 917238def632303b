package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/stretchr/testify/require"
)

// folderVar names the folder that TestMain makes for the built program.
const folderVar = "TEST_BINARY_FOLDER"

// buildOnce builds the real program once for all tests that kill it or call it over the network.
var buildOnce = sync.OnceValues(func() (string, error) {
	path := filepath.Join(os.Getenv(folderVar), "kickplate")
	out, err := exec.Command("go", "build", "-o", path, ".").CombinedOutput()
	if err != nil {
		return "", fmt.Errorf("go build: %w\n%s", err, out)
	}
	return path, nil
})

func binary(t testing.TB) string {
	t.Helper()
	path, err := buildOnce()
	require.NoError(t, err)
	return path
}

// process is the program serving.
type process struct {
	t   testing.TB
	cmd *exec.Cmd
	// url is where it says it is; link the token of the one-time link, if it printed one; said all lines until then.
	url, link string
	said      []string
	errs      *bytes.Buffer
	once      sync.Once
	waited    error
}

// start runs the program on a free port and waits until it has said where it is.
func start(t testing.TB, data string, wantLink bool, args ...string) *process {
	t.Helper()
	p := &process{t: t, errs: &bytes.Buffer{}}
	p.cmd = exec.Command(binary(t), append([]string{"serve", "--data", data, "--listen", "127.0.0.1:0", "--log-level", "warn"}, args...)...)
	p.cmd.Stderr = p.errs
	out, err := p.cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, p.cmd.Start())
	t.Cleanup(p.kill)
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		p.said = append(p.said, lines.Text())
		if _, rest, ok := strings.Cut(lines.Text(), "Kickplate is at "); ok {
			p.url = strings.Fields(rest)[0]
		}
		if _, token, ok := strings.Cut(lines.Text(), "#enter="); ok {
			p.link = token
		}
		if p.url != "" && (p.link != "" || !wantLink) {
			break
		}
	}
	if p.url == "" {
		p.kill()
		t.Fatalf("the server did not start: %s", p.errs)
	}
	go io.Copy(io.Discard, out)
	return p
}

// kill ends the program as a power cut would: at once, without a word.
func (p *process) kill() {
	p.once.Do(func() {
		_ = p.cmd.Process.Kill()
		p.waited = p.cmd.Wait()
	})
}

// stop asks the program to end and returns how it did.
func (p *process) stop() error {
	p.once.Do(func() {
		if p.waited = p.cmd.Process.Signal(os.Interrupt); p.waited == nil {
			p.waited = p.cmd.Wait()
		}
	})
	return p.waited
}

// enter signs in by the one-time link and returns the session's token.
func (p *process) enter() string {
	p.t.Helper()
	res, err := http.Post(p.url+"/api/v1/session", "application/json", strings.NewReader(`{"token":"`+p.link+`"}`))
	require.NoError(p.t, err)
	defer res.Body.Close()
	require.Equal(p.t, http.StatusOK, res.StatusCode)
	for _, c := range res.Cookies() {
		if c.Name == "kickplate" {
			return c.Value
		}
	}
	p.t.Fatal("no session cookie")
	return ""
}

// request sends one request; the error is the network's.
func request(client *http.Client, token, method, url, kind string, body []byte, headers map[string]string) (int, http.Header, []byte, error) {
	req, err := http.NewRequest(method, url, bytes.NewReader(body))
	if err != nil {
		return 0, nil, nil, err
	}
	if kind != "" {
		req.Header.Set("Content-Type", kind)
	}
	req.Header.Set("Authorization", "Bearer "+token)
	for k, v := range headers {
		req.Header.Set(k, v)
	}
	res, err := client.Do(req)
	if err != nil {
		return 0, nil, nil, err
	}
	defer res.Body.Close()
	raw, err := io.ReadAll(res.Body)
	return res.StatusCode, res.Header, raw, err
}

// asJSON writes maps of plain values, which can't fail.
func asJSON(v any) []byte {
	raw, err := json.Marshal(v)
	if err != nil {
		panic(err)
	}
	return raw
}

// patient is a client that gives up when nothing comes.
func patient() *http.Client {
	return &http.Client{Timeout: 30 * time.Second, Transport: &http.Transport{MaxIdleConnsPerHost: 8}}
}

// housed runs the tests with a folder for the built program, and removes it afterwards.
type housed struct{ *testing.M }

func (h housed) Run() int {
	dir, err := os.MkdirTemp("", "kickplate-test-*")
	if err != nil {
		panic(err)
	}
	defer os.RemoveAll(dir)
	os.Setenv(folderVar, dir)
	return h.M.Run()
}

func TestMain(m *testing.M) {
	testscript.Main(housed{m}, map[string]func(){"kickplate": main})
}

func rawMessages(raws [][]byte) []json.RawMessage {
	out := make([]json.RawMessage, len(raws))
	for i, raw := range raws {
		out[i] = raw
	}
	return out
}
