package browsertest

import (
	"bufio"
	"context"
	"encoding/pem"
	"io"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// ownHTTPS runs the program with an authority of its own, called kickplate.lan.
func ownHTTPS(t *testing.T) (port, token string, stop func()) {
	cmd := exec.Command(program, "serve", "--data", t.TempDir(), "--listen", "127.0.0.1:0", "--own-authority", "--name", "kickplate.lan", "--log-level", "warn")
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	cmd.Stderr = os.Stderr
	require.NoError(t, cmd.Start())
	stop = func() { cmd.Process.Kill(); cmd.Wait() }
	t.Cleanup(stop)
	at, link := regexp.MustCompile(`http://127\.0\.0\.1:(\d+) `), regexp.MustCompile(`#enter=(\S+)`)
	in := bufio.NewScanner(out)
	for in.Scan() && token == "" {
		if m := at.FindStringSubmatch(in.Text()); m != nil {
			port = m[1]
		}
		if m := link.FindStringSubmatch(in.Text()); m != nil {
			token = m[1]
		}
	}
	require.NotEmpty(t, port)
	require.NotEmpty(t, token)
	go io.Copy(io.Discard, out)
	return port, token, stop
}

// homePhone is a browser whose user's home, with the certificates that the user trusts, is the folder home.
func homePhone(t *testing.T, home string) (tab context.Context, stop func()) {
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.NoSandbox, chromedp.UserDataDir(filepath.Join(home, "profile")),
		chromedp.Flag("host-resolver-rules", "MAP kickplate.lan 127.0.0.1"), chromedp.Env("HOME="+home, "LANGUAGE=en_US"))
	all, stopAll := chromedp.NewExecAllocator(context.Background(), opts...)
	tab, stopTab := chromedp.NewContext(all)
	require.NoError(t, chromedp.Do(tab), "start chromium")
	return tab, func() { stopTab(); stopAll() }
}

func answers[T any](t *testing.T, tab context.Context, js string) T {
	t.Helper()
	ctx, cancel := context.WithTimeout(tab, patience)
	defer cancel()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T]("(async () => "+js+")()", chromedp.EvalAwaitPromise))
	require.NoError(t, err, js)
	return v
}

func eventually(t *testing.T, tab context.Context, js string) {
	t.Helper()
	for end := time.Now().Add(patience); time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
		ctx, cancel := context.WithTimeout(tab, 5*time.Second)
		ok, err := chromedp.Run(ctx, chromedp.Evaluate[bool]("(async () => Boolean("+js+"))()", chromedp.EvalAwaitPromise))
		cancel()
		if err == nil && ok {
			return
		}
	}
	require.Fail(t, "waited in vain for "+js)
}

// A shop without a public name: by plain http the phone has neither service worker nor cryptography and is led to the page on trust; once its
// user trusts the shop's authority it has both, the owner gets in, and the app opens with the server gone.
func TestPhoneTrustsTheShopsOwnAuthority(t *testing.T) {
	if _, err := exec.LookPath("certutil"); err != nil {
		t.Fatal("this test needs the apt package libnss3-tools")
	}
	port, token, stopServer := ownHTTPS(t)
	home := t.TempDir()
	plain, secure := "http://kickplate.lan:"+port, "https://kickplate.lan:"+port

	tab, stop := homePhone(t, home)
	require.NoError(t, chromedp.Do(tab, chromedp.Navigate(plain+"/")))
	assert.Equal(t, plain+"/trust", answers[string](t, tab, "location.href"))
	assert.False(t, answers[bool](t, tab, "isSecureContext"))
	assert.Contains(t, answers[string](t, tab, "document.body.innerText"), "Let this phone trust the shop")
	assert.True(t, answers[bool](t, tab, "document.querySelector('.code svg').getBoundingClientRect().width > 100"), "the QR code shows")
	assert.True(t, answers[bool](t, tab, "getComputedStyle(document.querySelector('.button')).minHeight === '48px'"), "the style sheet came through the policy")
	err := chromedp.Do(tab, chromedp.Navigate(secure+"/"))
	assert.ErrorContains(t, err, "ERR_CERT_AUTHORITY_INVALID")
	stop()

	trust(t, home, "http://127.0.0.1:"+port+"/trust/kickplate.crt")
	tab, stop = homePhone(t, home)
	defer stop()
	require.NoError(t, chromedp.Do(tab, chromedp.Navigate(secure+"/#enter="+url.PathEscape(token))))
	assert.True(t, answers[bool](t, tab, "isSecureContext && !!crypto.subtle"))
	eventually(t, tab, "(await fetch('/api/v1/session')).ok")
	assert.True(t, answers[bool](t, tab, "(await (await fetch('/api/v1/session')).json()).secure"))
	eventually(t, tab, "(await navigator.serviceWorker.ready).active.state === 'activated'")
	stopServer()
	require.NoError(t, chromedp.Do(tab, chromedp.Navigate(secure+"/")))
	eventually(t, tab, "document.querySelector('main') && document.querySelector('main').innerText.trim().length > 0")
	assert.True(t, answers[bool](t, tab, "fetch('/api/v1/clock').then(() => false, () => true)"), "the server is really gone")
}

// trust does what the page asks the phone's user to do, by NSS's own tool: Chromium on Linux reads that store.
func trust(t *testing.T, home, from string) {
	t.Helper()
	res, err := http.Get(from)
	require.NoError(t, err)
	defer res.Body.Close()
	der, err := io.ReadAll(res.Body)
	require.NoError(t, err)
	file, store := filepath.Join(home, "kickplate.pem"), filepath.Join(home, ".pki", "nssdb")
	require.NoError(t, os.WriteFile(file, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}), 0o600))
	require.NoError(t, os.MkdirAll(store, 0o700))
	for _, args := range [][]string{{"-N", "--empty-password"}, {"-A", "-n", "kickplate", "-t", "C,,", "-i", file}} {
		out, err := exec.Command("certutil", append([]string{"-d", "sql:" + store}, args...)...).CombinedOutput()
		require.NoError(t, err, string(out))
	}
}
