package browsertest

import (
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// another opens a second tab of the same browser.
func (p *phone) another() *phone {
	p.t.Helper()
	tab, stop := chromedp.NewContext(p.tab)
	p.t.Cleanup(stop)
	require.NoError(p.t, chromedp.Do(tab))
	q := &phone{t: p.t, profile: p.profile, tab: tab, stop: stop}
	q.size(1280, 800)
	return q
}

// printed prints the present screen and gives the text of the PDF, as pdftotext of poppler reads it.
func (p *phone) printed(name string) string {
	p.t.Helper()
	_, err := exec.LookPath("pdftotext")
	require.NoError(p.t, err, "install the Debian package poppler-utils")
	got, err := chromedp.Call(p.tab, page.PrintToPDF, page.PrintToPDFParams{PaperWidth: 8.27, PaperHeight: 11.69})
	require.NoError(p.t, err)
	file := filepath.Join(shotsDir(p.t), name+".pdf")
	require.NoError(p.t, os.WriteFile(file, got.Data, 0o644))
	text, err := exec.Command("pdftotext", "-layout", file, "-").Output()
	require.NoError(p.t, err)
	return string(text)
}

func (p *phone) unit(job string) map[string]any {
	p.t.Helper()
	return ask[map[string]any](p, `fetch("/api/v1/jobs/`+job+`").then((r) => r.json()).then((j) => j.unit)`)
}

func (p *phone) clashes(job string) int {
	p.t.Helper()
	return ask[int](p, `fetch("/api/v1/jobs/`+job+`/clashes").then((r) => r.json()).then((j) => j.clashes.length)`)
}

// Two people at one job: nobody's change is lost unseen.
func TestTwoTabs(t *testing.T) {
	t.Parallel()
	s, p := openShop(t), newPhone(t)
	p.signIn(s)
	p.size(1280, 800)
	job := p.worked("I. Both", "K-31", 2, nil)
	at := "http://" + s.addr + "/job/" + job
	q := p.another()

	// One form of several fields, open in both.
	for _, x := range []*phone{p, q} {
		x.open(at + "/write?what=papers&field=unit.serial")
		x.sees("Only what you change is kept")
	}
	p.fill("Serial number", "S-ONE")
	p.fill("Refrigerant on the plate", "R-600a")
	p.tap("Keep")
	p.until(`!location.pathname.endsWith("/write")`)
	p.sees("All sent")
	q.fill("Serial number", "S-TWO")
	q.fill("Model number", "M-TWO")
	q.tap("Keep")
	q.sees("Somebody else has changed this")
	q.sees("S-ONE")
	q.sound("two tabs at one form")
	assert.Len(t, q.bodies(job, "unit"), 2, "nothing is kept before somebody has chosen")
	q.tap("Theirs")
	q.tap("Keep what I chose")
	q.until(`!location.pathname.endsWith("/write")`)
	q.sees("All sent")
	unit := q.unit(job)
	assert.Equal(t, []any{"S-ONE", "M-TWO", "R-600a"}, []any{unit["serial"], unit["model"], unit["refrigerant"]})
	assert.Equal(t, map[string]any{"model": "M-TWO"}, q.bodies(job, "unit")[2], "what was not touched is not sent")

	// One entry, corrected in both.
	cause := ask[string](p, `fetch("/api/v1/jobs/`+job+`").then((r) => r.json()).then((j) => j.causes[0].entry)`)
	for _, x := range []*phone{p, q} {
		x.open(at + "/write?what=cause&entry=" + cause)
		x.sees("Why it is corrected")
	}
	p.fill("What was found to be at fault", "Heater open, by the first.")
	p.fill("Why it is corrected", "More exact.")
	p.tap("Keep the correction")
	p.until(`!location.pathname.endsWith("/write")`)
	p.sees("All sent")
	q.fill("What was found to be at fault", "Heater open, by the second.")
	q.fill("Why it is corrected", "Still more exact.")
	q.tap("Keep the correction")
	q.sees("Somebody else has changed this")
	q.sees("Heater open, by the first.")
	q.tap("Yours")
	q.tap("Keep what I chose")
	q.until(`!location.pathname.endsWith("/write")`)
	q.sees("All sent")
	assert.Equal(t, 0, q.clashes(job), "the second corrects the first's version, knowing it")

	// A phone that was away sends what it wrote before: the job's page shows both, and somebody chooses.
	p.told(job, "unit", time.Hour, map[string]any{"serial": "S-AWAY"})
	assert.Equal(t, "S-ONE", p.unit(job)["serial"], "the later one stands")
	p.open(at)
	p.sees("Two people changed this")
	p.sees("S-AWAY")
	p.sound("a clash")
	p.picture(filepath.Join(shotsDir(t), "desk-clash-1280.png"))
	p.tap("Take this one")
	p.until(`!document.body.innerText.includes("Two people changed this")`)
	assert.Equal(t, "S-AWAY", p.unit(job)["serial"])
	assert.Equal(t, 0, p.clashes(job))
}

// The record of a job in order, two photos against each other, and what is printed.
func TestRecordAndPhotos(t *testing.T) {
	t.Parallel()
	s, p, dir := openShop(t), newPhone(t), t.TempDir()
	p.signIn(s)
	job := p.worked("J. Record", "K-41", 2, map[string]any{"submitDays": 30})
	at := "http://" + s.addr + "/job/" + job
	for i, subject := range []string{"failed-part", "after-repair"} {
		file, _ := photo(t, dir, subject+".jpg", 1600, 1200, uint64(70+i), false)
		p.open(at + "/shoot?subject=" + subject)
		p.shoot("Open the camera", file)
		p.sees("Sharp and well lit")
	}
	p.open(at + "/write?what=cause&entry=" + ask[string](p, `fetch("/api/v1/jobs/`+job+`").then((r) => r.json()).then((j) => j.causes[0].entry)`))
	p.fill("What was found to be at fault", "Defrost heater open at its terminals.")
	p.fill("Why it is corrected", "Said where.")
	p.tap("Keep the correction")
	p.until(`!location.pathname.endsWith("/write")`)
	p.sees("All sent")
	p.size(1280, 800)
	p.open(at)
	p.sees("Everything on record")
	p.sees("corrected once")                                              // once the rules have loaded
	p.until(`document.querySelectorAll(".record .event b").length >= 14`) // long lists are drawn part by part
	record := ask[string](p, `document.querySelector(".record").innerText.replaceAll("\u00a0", " ")`)
	for _, want := range []string{"Defrost heater open at its terminals.", "Said where.", "corrected once", "by the clock of van-2, never held against the server's", "s off the server's, give or take", "received ", "Serial number: SK-41", "Send the claim within so many days: 30"} {
		assert.Contains(t, record, want)
	}
	order := ask[[]string](p, `[...document.querySelectorAll(".record .event b")].map((b) => b.innerText)`)
	assert.Equal(t, []string{"Job opened", "Customer", "Site", "Unit", "Who pays", "Arrival", "Cause", "Reading", "Part", "Labour", "Leaving", "Photo", "Photo", "Cause"}, order)
	p.tap("Also what the server noted")
	p.sees("Photo examined")
	printed := p.printed("desk-job")
	assert.Contains(t, printed, "Everything on record")
	assert.NotContains(t, printed, "Plate and papers", "buttons are not printed")
	assert.NotContains(t, printed, "Still missing", "nor is the band at the foot")

	p.open(at + "/compare")
	p.sees("Side by side")
	p.until(`document.querySelectorAll(".two-panes img").length === 2 && [...document.images].every((i) => i.complete)`)
	p.tap("One over the other")
	p.until(`document.querySelector("input[type=range]")`)
	ask[bool](p, `(() => { document.querySelector("input[type=range]").focus(); return true; })()`)
	for range 10 {
		p.keys(kb.ArrowRight)
	}
	p.until(`document.querySelector("input[type=range]").value === "60" && getComputedStyle(document.querySelector(".over")).getPropertyValue("--split").trim() === "60%"`)
	ask[bool](p, `(() => { document.activeElement.blur(); return true; })()`)
	p.keys("+")
	p.keys("+")
	p.sees("2 times")
	p.until(`getComputedStyle(document.querySelector(".over img")).transform.startsWith("matrix(2,")`)
	p.keys("0")
	p.sees("1 times")
	p.look(at+"/compare", "One over the other", "compare")

	p.open("http://" + s.addr + "/board")
	p.sees("J. Record")
	board := p.printed("desk-board")
	assert.Contains(t, board, "J. Record")
	assert.Contains(t, board, "Printed ")
	assert.NotContains(t, board, "New job")
}
