package browsertest

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// onSite brings the phone to the camera of a new job, with everything before it sent.
func (p *phone) onSite(s *shop) (job string) {
	p.t.Helper()
	if !ask[bool](p, `location.origin === `+quote("http://"+s.addr)) {
		p.signIn(s)
	}
	p.newJob()
	p.tap("I have arrived")
	p.sees("here since")
	p.sees("All sent")
	job = ask[string](p, `location.pathname.split("/")[2]`)
	p.open("http://" + s.addr + "/job/" + job + "/shoot?subject=whole-unit")
	p.sees("Open the camera")
	return job
}

// pairing is a one-use token with which the office lets another phone in.
func (p *phone) pairing() string {
	p.t.Helper()
	return ask[string](p, `fetch("/api/v1/pairings", { method: "POST", headers: { "Content-Type": "application/json" }, body: "{}" }).then((r) => r.json()).then((r) => r.token)`)
}

// pair lets the phone in by the office's code, as a phone in the field is: its token does not hang on a cookie.
func (p *phone) pair(s *shop) {
	p.t.Helper()
	token := p.pairing()
	p.open("http://" + s.addr + "/new") // another address than that of the code, so that it is opened anew
	p.open("http://" + s.addr + "/#pair=" + token)
	p.tap("Let this phone in")
	p.sees("There are no jobs yet")
	assert.NotContains(p.t, ask[string](p, `location.href`), token, "the token does not stay in the address")
}

// allSent waits until the outbox is empty; the app itself finds out when sending works again.
func (p *phone) allSent(s *shop) {
	p.t.Helper()
	p.open("http://" + s.addr + "/outbox")
	// The app may send by itself at any moment, so looking and pressing are one step; pressing once a second is what a person would do at most.
	p.until(`(() => {
		if (document.body.innerText.includes("All is sent")) return true;
		const b = [...document.querySelectorAll("button")].find((b) => b.innerText.includes("Send now"));
		if (b && !b.disabled && performance.now() > (window.pressed || 0) + 1000) { window.pressed = performance.now(); b.click(); }
		return false; })()`)
}

// A line that breaks in the middle of a photo: the upload goes on from where the server has come to, and is not begun again.
func TestCutInMidUpload(t *testing.T) {
	s, p := openShop(t), newPhone(t)
	job := p.onSite(s)
	file, data := photo(t, t.TempDir(), "big.jpg", 3600, 2700, 5, true)
	require.Greater(t, len(data), 4_000_000)
	s.slow.Store(int64(4 * time.Millisecond))
	s.left.Store(2_000_000)
	s.sent.Store(0)
	p.shoot("Open the camera", file)
	p.sees("waiting")
	require.Eventually(t, func() bool { s.mu.Lock(); defer s.mu.Unlock(); return s.ln == nil }, patience, 20*time.Millisecond, "the line breaks")
	p.sees("No connection")
	kept := p.kept()
	assert.Equal(t, 1, kept.Files, "the bytes are still on the phone")
	assert.Equal(t, 1, kept.Entries)
	s.slow.Store(0)
	s.mend()
	p.allSent(s)
	assert.Equal(t, digest(data), p.original(digest(data)))
	assert.Less(t, s.sent.Load(), int64(len(data))*14/10, "bytes that went up in all")
	t.Logf("%d bytes of photo, %d bytes went up", len(data), s.sent.Load())
	p.whole(job, p.kept().Journal)
}

// A phone that dies in the middle of a photo: after the next start everything is there and goes on.
func TestPhoneKilledInMidUpload(t *testing.T) {
	s, p := openShop(t), newPhone(t)
	p.signIn(s)
	p.pair(s)
	job := p.onSite(s)
	file, data := photo(t, t.TempDir(), "big.jpg", 3600, 2700, 6, true)
	s.sent.Store(0)
	s.hold.Store(1_000_000)
	p.shoot("Open the camera", file)
	p.says("Photo kept")
	require.Eventually(t, func() bool { return s.held.Load() > 0 }, patience, 10*time.Millisecond)
	p.kill()
	require.Less(t, s.sent.Load(), int64(len(data)), "killed before the photo was up")
	s.free()
	p.start()
	p.open("http://" + s.addr + "/")
	p.sees("R. Ostrander")
	p.allSent(s)
	assert.Equal(t, digest(data), p.original(digest(data)))
	p.whole(job, p.kept().Journal)
}

// A server that dies in the middle of a photo, as by a power cut: what it acknowledged is there, the rest comes again.
func TestServerKilledInMidUpload(t *testing.T) {
	s, p := openShop(t), newPhone(t)
	job := p.onSite(s)
	dir := t.TempDir()
	s.slow.Store(int64(10 * time.Millisecond))
	var digests []string
	for i := range 4 {
		file, data := photo(t, dir, fmt.Sprintf("%d.jpg", i), 2000, 1500, uint64(40+i), true)
		digests = append(digests, digest(data))
		s.sent.Store(0)
		p.open("http://" + s.addr + "/job/" + job + "/shoot?subject=symptom")
		p.shoot("Open the camera", file)
		p.says("Photo kept")
		if i < 3 {
			require.Eventually(t, func() bool { return s.sent.Load() > 400_000 }, patience, 10*time.Millisecond)
			s.kill()
			s.start()
		}
	}
	s.slow.Store(0)
	p.allSent(s)
	for _, d := range digests {
		assert.Equal(t, d, p.original(d))
	}
	p.whole(job, p.kept().Journal)
}

// An entry that the server refuses is set aside with the server's sentence; the others go on.
func TestRefusedEntryHoldsUpNothing(t *testing.T) {
	t.Parallel()
	s, p := openShop(t), newPhone(t)
	job := p.onSite(s)
	before := p.kept().Journal
	s.cut()
	ask[bool](p, `(async () => {
		const base = document.querySelector('script[type="module"]').src.replace(/main\.js$/, "");
		const { record } = await import(base + "record.js");
		const job = location.pathname.split("/")[2];
		await record(job, "note", { text: "before" });
		await record(job, "fetched", { version: 1, digest: "ab".repeat(32), how: "only the server may say this" });
		for (let i = 0; i < 30; i++) record(job, "note", { text: "one of many " + i });
		await record(job, "note", { text: "after" });
		return true; })()`)
	s.mend()
	p.open("http://" + s.addr + "/outbox")
	p.sees("made by the server")
	p.keeps(counts{Entries: 1, Journal: before + 32}) // only the refused one is left
	p.open("http://" + s.addr + "/job/" + job)
	p.sees("1 entry was refused")
	p.open("http://" + s.addr + "/outbox")
	p.tap("Delete")
	p.sees("for good?")
	p.tap("Delete it")
	p.sees("All is sent")
	assert.Zero(t, p.kept().Entries)
}

// shownVersion is the version of the app that a window shows.
const shownVersion = `document.querySelector('meta[name="kickplate-version"]').content`

// newerProgram builds the same program with one more comment in its style sheet.
func newerProgram(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	css := filepath.Join("..", "..", "pwa", "static", "app.css")
	abs, err := filepath.Abs(css)
	require.NoError(t, err)
	text, err := os.ReadFile(css)
	require.NoError(t, err)
	changed := filepath.Join(dir, "app.css")
	require.NoError(t, os.WriteFile(changed, append(text, "/* newer */\n"...), 0o644))
	overlay := filepath.Join(dir, "overlay.json")
	require.NoError(t, os.WriteFile(overlay, fmt.Appendf(nil, `{"Replace":{%q:%q}}`, abs, changed), 0o644))
	newer := filepath.Join(dir, "newer")
	says, err := exec.Command("go", "build", "-overlay", overlay, "-o", newer, "kickplate/server").CombinedOutput()
	require.NoError(t, err, "%s", says)
	return newer
}

// A new version of the app while the outbox is full: it waits until the person wants it, and nothing is lost by it.
func TestNewVersionWithFullOutbox(t *testing.T) {
	t.Parallel()
	s, p := openShop(t), newPhone(t)
	job := p.onSite(s)
	file, data := photo(t, t.TempDir(), "big.jpg", 3600, 2700, 8, true)
	old := ask[string](p, shownVersion)

	newer := newerProgram(t)
	s.kill()
	s.program = newer
	s.start()
	s.hold.Store(1_000_000) // the photo stays on its way
	p.shoot("Open the camera", file)
	p.says("Photo kept")
	p.open("http://" + s.addr + "/outbox")
	p.sees("waiting")
	assert.Equal(t, old, ask[string](p, shownVersion), "still the old one: nothing changes under one's hands")
	kept := p.kept()
	require.NotZero(t, kept.Files)
	ask[bool](p, `navigator.serviceWorker.getRegistration().then((r) => r.update()).then(() => true)`)
	p.sees("A new version is here")
	p.tap("Load it")
	p.until(shownVersion + ` !== ` + quote(old))
	assert.Equal(t, kept.Files, p.kept().Files, "the photo is still on its way")
	s.free()
	p.allSent(s)
	assert.Equal(t, digest(data), p.original(digest(data)))
	p.whole(job, p.kept().Journal)
	p.until(`caches.keys().then((k) => k.filter((n) => n !== "kickplate-core").length === 2)`) // the one before stays for windows that still show it
}

// Another window takes a new version: this one is told, what is being written in it stays until the person says so, and its screens,
// also those that were never opened, are still there.
func TestNewVersionInAnotherWindow(t *testing.T) {
	t.Parallel()
	s, p := openShop(t), newPhone(t)
	p.signIn(s)
	p.open("http://" + s.addr + "/new")
	p.until(`navigator.serviceWorker.controller`)
	p.fill("What the customer says is wrong", "half a sen")
	old := ask[string](p, shownVersion)
	s.kill()
	s.program = newerProgram(t)
	s.start()

	other := p.another()
	other.open("http://" + s.addr + "/")
	require.Equal(t, old, ask[string](other, shownVersion), "nothing changes by itself")
	ask[bool](other, `navigator.serviceWorker.getRegistration().then((r) => r.update()).then(() => true)`)
	other.sees("A new version is here")
	other.tap("Load it")
	other.until(shownVersion + ` !== ` + quote(old))

	p.sees("The new version was loaded in another window")
	p.sound("a new version in another window")
	assert.Equal(t, "half a sen", ask[string](p, `document.querySelector("textarea").value`))
	_, err := chromedp.Call(p.tab, network.ClearBrowserCache, cdp.Empty{}) // what the browser keeps besides may go at any time
	require.NoError(t, err)
	ask[bool](p, `(() => { history.pushState(null, "", "/outbox"); dispatchEvent(new PopStateEvent("popstate")); return true; })()`)
	p.until(`document.querySelector("h1").innerText === "Outbox"`)
	assert.Equal(t, old, ask[string](p, shownVersion))
	p.tap("Load it")
	p.until(shownVersion + ` !== ` + quote(old))
}

// No room on the phone: that is said, nothing is called kept, and what was kept before stays.
func TestNoRoom(t *testing.T) {
	s, p := openShop(t), newPhone(t)
	p.onSite(s)
	s.cut()
	before := p.kept()
	// Chromium's own override of the quota does not reach IndexedDB, so its error is made here, where it would come from.
	ask[bool](p, `(() => {
		const put = IDBObjectStore.prototype.put;
		IDBObjectStore.prototype.put = function (...a) { if (this.name === "files" && window.full) throw new DOMException("no room", "QuotaExceededError"); return put.apply(this, a); };
		window.full = true;
		return true; })()`)
	file, _ := photo(t, t.TempDir(), "big.jpg", 3600, 2700, 9, true)
	p.shoot("Open the camera", file)
	p.says("no room left")
	assert.Equal(t, before, p.kept())
	assert.Equal(t, 1, ask[int](p, `window.told.length`), "nothing else was said, above all not that it is kept")
	ask[bool](p, `(() => { window.full = false; return true; })()`)
	p.shoot("Open the camera", file)
	p.says("Photo kept")
	assert.Equal(t, before.Files+1, p.kept().Files)
}

// A phone whose clock is three hours fast: the app measures it and says so with every entry.
func TestWrongClock(t *testing.T) {
	t.Parallel()
	s, p := openShop(t), newPhone(t)
	_, err := chromedp.Call(p.tab, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: `(() => {
		const Real = Date, off = 3 * 3600e3;
		globalThis.Date = class extends Real { constructor(...a) { a.length ? super(...a) : super(Real.now() + off); } static now() { return Real.now() + off; } };
	})();`})
	require.NoError(t, err)
	job := p.onSite(s)
	p.open("http://" + s.addr + "/phone")
	p.sees("seconds fast; it is taken into account")
	type clock struct{ OffsetMs, UncertaintyMs float64 }
	clocks := ask[[]clock](p, `fetch("/api/v1/jobs/`+job+`/entries").then((r) => r.json()).then((r) => r.entries.map((e) => e.entry).filter((e) => e.seq && e.clock).map((e) => e.clock))`)
	require.NotEmpty(t, clocks)
	last := clocks[len(clocks)-1]
	assert.InDelta(t, 3*3600e3, last.OffsetMs, last.UncertaintyMs+1000, "within what the app itself says of its measurement, and the clock's whole seconds")
}

// Forty entries at once, from two tabs' worth of code, form one chain without a gap or a fork.
func TestChainUnderHaste(t *testing.T) {
	t.Parallel()
	s, p := openShop(t), newPhone(t)
	job := p.onSite(s)
	ask[bool](p, `(async () => {
		const base = document.querySelector('script[type="module"]').src.replace(/main\.js$/, "");
		const first = await import(base + "record.js"), second = await import(base + "record.js?again");
		const job = location.pathname.split("/")[2];
		await Promise.all(Array.from({ length: 40 }, (_, i) => (i % 2 ? first : second).record(job, "note", { text: "note " + i })));
		return true; })()`)
	p.allSent(s)
	assert.Len(t, p.bodies(job, "note"), 40)
	p.whole(job, p.kept().Journal) // among them what the screen itself wrote down meanwhile
}

// Served by a name without HTTPS the app says plainly that nothing can be kept, and what to do.
func TestInsecure(t *testing.T) {
	t.Parallel()
	s, p := openShop(t), newPhone(t)
	port := s.addr[strings.LastIndex(s.addr, ":"):]
	p.stop()
	p.rules = "MAP shop.test 127.0.0.1"
	p.start()
	p.open("http://shop.test" + port + "/")
	p.sees("Not a secure connection")
	assert.False(t, ask[bool](p, `isSecureContext`))
}
