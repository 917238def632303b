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
		chromedp.Flag("host-resolver-rules", "MAP kickplate.lan 127.0.0.1"), chromedp.Env("HOME="+home, "LANGUAGE=en_US"), chromedp.WSURLReadTimeout(patience))
	all, stopAll := chromedp.NewExecAllocator(context.Background(), opts...)
	tab, stopTab := chromedp.NewContext(all)
	require.NoError(t, chromedp.Do(tab), "start chromium")
	return tab, func() { stopTab(); stopAll() }
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
	before := &phone{t: t, tab: tab, stop: stop}
	require.NoError(t, chromedp.Do(tab, chromedp.Navigate(plain+"/")))
	before.until("location.href === " + quote(plain+"/trust"))
	assert.False(t, ask[bool](before, "isSecureContext"))
	before.sees("Let this phone trust the shop")
	before.until("document.querySelector('.code svg').getBoundingClientRect().width > 100")  // the QR code shows
	before.until("getComputedStyle(document.querySelector('.button')).minHeight === '48px'") // the style sheet came through the policy
	err := chromedp.Do(tab, chromedp.Navigate(secure+"/"))
	assert.ErrorContains(t, err, "ERR_CERT_AUTHORITY_INVALID")
	stop()

	trust(t, home, "http://127.0.0.1:"+port+"/trust/kickplate.crt")
	tab, stop = homePhone(t, home)
	defer stop()
	p := &phone{t: t, tab: tab, stop: stop}
	p.open(secure + "/#enter=" + url.PathEscape(token))
	assert.True(t, ask[bool](p, "isSecureContext && Boolean(crypto.subtle)"))
	p.tap("Come in")
	p.sees("There are no jobs yet")
	assert.True(t, ask[bool](p, "fetch('/api/v1/session').then((r) => r.json()).then((s) => s.secure)"))
	p.ready()
	stopServer()
	p.open(secure + "/")
	p.sees("There are no jobs yet")
	assert.True(t, ask[bool](p, "fetch('/api/v1/clock').then(() => false, () => true)"), "the server is really gone")
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
