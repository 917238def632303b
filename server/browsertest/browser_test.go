package browsertest

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// phone is one browser profile: what it keeps outlives the browser.
type phone struct {
	t       *testing.T
	profile string
	rules   string // host names of the test's own, for the browser
	camera  bool   // whether the browser has a camera (a drawn one) and the person lets pages use it
	tab     context.Context
	stop    func()
	steps   atomic.Int64 // taken so far
}

// lean is the same engine without windows, where Debian's package chromium-headless-shell is installed: the tests take three quarters of the
// time with it. The program itself, since the script in the path would outlive what kill ends.
const lean = "/usr/lib/chromium/chromium-headless-shell"

// patience is how long a condition may take to come true. It says nothing about how fast the app is: the machine may be small and shared.
const patience = 2 * time.Minute

// newPhone starts a browser with an empty profile.
func newPhone(t *testing.T) *phone {
	p := &phone{t: t, profile: t.TempDir()}
	p.start()
	t.Cleanup(func() { p.stop() })
	return p
}

// start opens the browser with its one tab at phone size.
func (p *phone) start() {
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.NoSandbox, chromedp.UserDataDir(p.profile),
		chromedp.Flag("lang", "en-US"), chromedp.Env("LANGUAGE=en_US", "TZ=America/Chicago"), chromedp.WSURLReadTimeout(patience))
	if _, err := os.Stat(lean); err == nil {
		opts = append(opts, chromedp.ExecPath(lean))
	}
	if p.rules != "" {
		opts = append(opts, chromedp.Flag("host-resolver-rules", p.rules))
	}
	if p.camera {
		opts = append(opts, chromedp.Flag("use-fake-device-for-media-stream", true), chromedp.Flag("use-fake-ui-for-media-stream", true))
	}
	all, stopAll := chromedp.NewExecAllocator(context.Background(), opts...)
	var stop context.CancelFunc
	p.tab, stop = chromedp.NewContext(all)
	heard := make(chan struct{})
	listening := false
	p.stop = func() {
		stop()
		stopAll()
		if listening { // a test that has ended must not be told anything
			<-heard
		}
	}
	require.NoError(p.t, chromedp.Do(p.tab), "start chromium")
	p.size(390, 844)
	_, err := chromedp.Call(p.tab, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: listener})
	require.NoError(p.t, err)
	messages := chromedp.Console(p.tab)
	listening = true
	go func() {
		defer close(heard)
		for m, err := range messages {
			if err != nil {
				return
			}
			if m.IsException() || strings.Contains(m.Text, "Content Security Policy") {
				p.t.Errorf("the page threw: %s (%s:%d)", m.Text, m.URL, m.Line)
			}
		}
	}()
}

// listener writes down the short sentences that the app shows for some seconds: a test on a busy machine may look too late.
const listener = `(() => { window.told = []; new MutationObserver(() => { const s = document.querySelector(".said")?.textContent; if (s && s !== window.told.at(-1)) window.told.push(s); }).observe(document, { childList: true, subtree: true, characterData: true }); })()`

// says waits until the app has said this, since the page was loaded.
func (p *phone) says(text string) {
	p.t.Helper()
	p.until(`window.told.some((s) => s.includes(` + quote(text) + `))`)
}

// kill ends the browser at once, as a phone does that runs out of memory or power.
func (p *phone) kill() {
	p.t.Helper()
	require.NoError(p.t, chromedp.FromContext(p.tab).Browser.Process().Kill())
	p.stop()
	for _, f := range []string{"SingletonLock", "SingletonSocket", "SingletonCookie"} {
		os.Remove(filepath.Join(p.profile, f))
	}
}

func (p *phone) do(steps ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.tab, patience)
	defer cancel()
	require.NoError(p.t, chromedp.Do(ctx, steps...), "on %s", p.where())
}

func (p *phone) size(w, h int64) {
	opts := []chromedp.EmulateViewportOption{}
	if w < 600 {
		opts = append(opts, chromedp.EmulateMobile, chromedp.EmulateTouch, chromedp.EmulateScale(2))
	}
	p.do(chromedp.EmulateViewport(w, h, opts...))
}

// scheme switches between light and dark.
func (p *phone) scheme(name string) {
	_, err := chromedp.Call(p.tab, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: name}},
	})
	require.NoError(p.t, err)
}

func (p *phone) open(url string) { p.t.Helper(); p.do(chromedp.Navigate(url)) }

func (p *phone) where() string {
	ctx, cancel := context.WithTimeout(p.tab, 20*time.Second)
	defer cancel()
	url, _ := chromedp.Run(ctx, chromedp.Evaluate[string](`location.href + " :: " + (document.querySelector("main") || document.body).innerText.slice(0, 600)`))
	return url
}

// ask evaluates JavaScript, promises awaited.
func ask[T any](p *phone, js string) T {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.tab, patience)
	defer cancel()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](js, chromedp.EvalAwaitPromise))
	require.NoError(p.t, err, "%s on %s", js, p.where())
	return v
}

// until waits for a JavaScript condition. What it looks at may be drawn again, or the page loaded again, at any moment: a look that
// fails is repeated.
func (p *phone) until(js string) {
	p.t.Helper()
	var last error
	for end := time.Now().Add(patience); time.Now().Before(end); {
		ctx, cancel := context.WithTimeout(p.tab, patience/4)
		ok, err := chromedp.Run(ctx, chromedp.Evaluate[bool]("(async () => Boolean(await ("+js+")))()", chromedp.EvalAwaitPromise))
		cancel()
		if err == nil && ok {
			return
		}
		last = err
		time.Sleep(40 * time.Millisecond)
	}
	require.Fail(p.t, "waited in vain", "for %s (%v) on %s", js, last, p.where())
}

const finder = `(text, sel) => [...document.querySelectorAll(sel || "button, a, summary, label")].find((e) => e.checkVisibility() && (e.innerText.trim() === text || e.getAttribute("aria-label") === text))
  || [...document.querySelectorAll(sel || "button, a, summary, label")].find((e) => e.checkVisibility() && e.innerText.includes(text))`

func quote(s string) string { b, _ := json.Marshal(s); return string(b) }

// sees waits for a text on the screen.
func (p *phone) sees(text string) {
	p.t.Helper()
	p.until(`document.body.innerText.replaceAll("\u00a0", " ").includes(` + quote(text) + `)`)
}

// once waits until the JavaScript finds something to act on (it gives an element, or nothing), and acts on it exactly once. Finding
// and acting are one step, so nothing can be drawn anew between them; acted is remembered, so a step whose answer got lost is not done twice.
func (p *phone) once(find, act string) {
	p.t.Helper()
	step := p.steps.Add(1)
	p.until(fmt.Sprintf(`(() => { if (window.stepDone === %d) return true; const e = (%s); if (!e || e.disabled) return false; window.stepDone = %d; (%s)(e); return true; })()`, step, find, step, act))
}

// tap presses what carries this text.
func (p *phone) tap(text string) {
	p.t.Helper()
	p.once(fmt.Sprintf(`(%s)(%s)`, finder, quote(text)), `(e) => e.click()`)
}

// press presses the first element that the selector finds.
func (p *phone) press(selector string) {
	p.t.Helper()
	p.once(`document.querySelector(`+quote(selector)+`)`, `(e) => e.click()`)
}

// fill types into the field with this label, as far as the app can tell.
func (p *phone) fill(label, value string) {
	p.t.Helper()
	p.once(fmt.Sprintf(`[...document.querySelectorAll("label.field")].find((l) => l.checkVisibility() && l.querySelector("span").innerText.trim() === %s)?.querySelector("input, textarea, select")`, quote(label)),
		fmt.Sprintf(`(i) => { i.value = %s; i.dispatchEvent(new Event("input", { bubbles: true })); i.dispatchEvent(new Event("change", { bubbles: true })); }`, quote(value)))
}

// shoot gives a file to the camera button with this text.
func (p *phone) shoot(button, file string) {
	p.t.Helper()
	field := fmt.Sprintf(`input[type="file"][aria-label=%s]:not([disabled])`, quote(button))
	for end := time.Now().Add(patience); ; {
		p.until(`document.querySelector(` + quote(field) + `)`)
		ctx, cancel := context.WithTimeout(p.tab, patience/4)
		err := chromedp.Do(ctx, chromedp.SetUploadFiles(chromedp.CSS(field), []string{file}, chromedp.NodeReady))
		cancel()
		if err == nil {
			return
		}
		require.True(p.t, time.Now().Before(end), "give a file to %q: %v on %s", button, err, p.where()) // the field was drawn anew in between
	}
}

// shotsDir is where screenshots go: KICKPLATE_SHOTS, or a folder that goes away.
func shotsDir(t *testing.T) string {
	if dir := os.Getenv("KICKPLATE_SHOTS"); dir != "" {
		require.NoError(t, os.MkdirAll(dir, 0o755))
		return dir
	}
	return t.TempDir()
}

// picture takes a screenshot of the whole screen.
func (p *phone) picture(file string) {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.tab, patience)
	defer cancel()
	png, err := chromedp.Run(ctx, chromedp.CaptureScreenshot())
	require.NoError(p.t, err)
	require.NoError(p.t, os.WriteFile(file, png, 0o644))
}

// sound holds the present screen against axe-core: WCAG 2.0 to 2.2, A and AA, and best practice.
func (p *phone) sound(name string) {
	p.t.Helper()
	lib, err := os.ReadFile(filepath.Join("testdata", "axe.min.js"))
	require.NoError(p.t, err)
	ask[bool](p, `(() => { if (!window.axe) {`+string(lib)+`} return Boolean(window.axe); })()`)
	// The bars at head and foot lie over what happens to be under them; it can be scrolled out, so they stand still for the check.
	found := ask[[]string](p, `(() => { const still = new CSSStyleSheet(); still.replaceSync(".top, .plate { position: static !important }"); document.adoptedStyleSheets = [still]; })() ?? axe.run(document, { resultTypes: ["violations"], runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] })
		.then((r) => r.violations.map((v) => v.id + ": " + v.help + " — " + v.nodes.slice(0, 4).map((n) => n.html.slice(0, 160) + " " + n.failureSummary.slice(0, 200)).join(" | "))).finally(() => { document.adoptedStyleSheets = []; })`)
	assert.Empty(p.t, found, "axe-core on %s", name)
}
