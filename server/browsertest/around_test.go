package browsertest

import (
	"fmt"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The five views of the vocabulary, in its order, with what a picture of each is said to show (rules.LookAround).
var fiveViews = []struct{ area, title, subject string }{
	{"way-in", "Way in", "surroundings"}, {"floor", "Floor before the unit", "floor"}, {"left-side", "Left side and what stands beside it", "surroundings"},
	{"right-side", "Right side and what stands beside it", "surroundings"}, {"front", "Whole front", "whole-unit"},
}

// Looking around without a line: five pictures on arrival, one tap each; what was seen, place by place; the same five on leaving over the
// outline of the first, kept as pairs; and the pairs side by side afterwards.
func TestLookAround(t *testing.T) {
	t.Parallel()
	s, dir := openShop(t), shotsDir(t)
	p := &phone{t: t, profile: t.TempDir(), camera: true}
	p.start()
	t.Cleanup(func() { p.stop() })
	p.signIn(s)
	p.newJob()
	p.tap("I have arrived")
	p.sees("here since")
	job := ask[string](p, `location.pathname.split("/")[2]`)
	at := "http://" + s.addr + "/job/" + job
	s.cut()

	taps := `window.taps || 0`
	count := func() {
		ask[bool](p, `(() => { window.taps = 0; addEventListener("click", () => { window.taps++; }, true); return true; })()`)
	}
	p.open(at + "/visit?stage=arrive")
	count()
	p.tap("Look around: 5 pictures")
	p.sees("1 of 5: Way in")
	p.showCamera()
	p.sound("looking around")
	p.fits("looking around")
	p.picture(filepath.Join(dir, "around-390.png"))
	before := ask[int](p, taps)
	for i, v := range fiveViews {
		p.sees(fmt.Sprintf("%d of 5: %s", i+1, v.title))
		p.tap("Take it")
	}
	p.sees("Say for each place whether you saw damage there.")
	assert.Equal(t, 5, ask[int](p, taps)-before, "one tap for each picture, and none between")
	p.until(`document.querySelectorAll(".view-row .shot").length === 5 && document.querySelector(".view-row .shot img")`) // the rest are drawn when they come near
	p.settled()
	p.sound("what was seen around")
	p.fits("what was seen around")
	p.picture(filepath.Join(dir, "around-seen-390.png"))

	none := func(n int) {
		p.once(`[...document.querySelectorAll(".view-row .btn")].find((b) => b.innerText.includes("No damage seen here"))`, `(e) => e.click()`)
		p.until(fmt.Sprintf(`document.querySelectorAll(".view-row .mark.met").length === %d`, n))
	}
	none(1)
	none(2)
	p.once(`document.querySelectorAll(".view-row")[3].querySelector("a.btn")`, `(e) => e.click()`)
	p.until(`document.querySelector("input[list=areas]")?.value === "Right side"`)
	p.tap("Dented")
	p.tap("Keep")
	p.until(`!location.pathname.endsWith("/damage")`)

	p.open(at + "/visit?stage=repair")
	p.tap("Work starts now")
	p.until(`![...document.querySelectorAll("button")].some((b) => b.innerText.includes("Work starts now"))`)
	p.open(at + "/visit?stage=leave")
	p.tap("The same views again: 5 pictures")
	p.sees("1 of 5: Way in")
	p.showCamera()
	for i, v := range fiveViews {
		p.sees(fmt.Sprintf("%d of 5: %s", i+1, v.title))
		p.outlined()
		p.tap("Take it")
	}
	p.until(`document.querySelectorAll(".view-row .pair .shot").length === 10 && document.querySelector(".view-row .pair .shot img")`)
	p.settled()
	p.sound("what was seen around on leaving")
	p.fits("what was seen around on leaving")
	p.picture(filepath.Join(dir, "around-leaving-390.png"))

	s.mend()
	p.allSent(s)
	photos := p.bodies(job, "photo")
	require.Len(t, photos, 10)
	by := map[string]map[string]any{} // they come in any order
	for _, b := range photos {
		pair, _ := b["pair"].(string)
		by[b["area"].(string)+" "+b["subject"].(string)+" "+pair] = b
	}
	for _, v := range fiveViews {
		require.Contains(t, by, v.area+" "+v.subject+" ")
		require.Contains(t, by, v.area+" "+v.subject+" before-after")
		assert.NotEmpty(t, by[v.area+" "+v.subject+" before-after"]["pairedWith"])
	}
	damages := p.bodies(job, "damage")
	require.Len(t, damages, 3, "entries without bytes go up in their order")
	for i, area := range []string{"way-in", "floor"} {
		assert.Equal(t, []any{area, "none", "on-arrival"}, []any{damages[i]["area"], damages[i]["kind"], damages[i]["seen"]})
		assert.Len(t, damages[i]["photos"], 1, "the picture that shows it")
	}
	assert.Equal(t, []any{"right-side", "dented"}, []any{damages[2]["area"], damages[2]["kind"]})

	p.open(at)
	p.until(`document.querySelectorAll(".pairs > li").length === 5`)
	p.once(`document.querySelector(".pairs button.shot")`, `(e) => e.click()`)
	p.until(`document.querySelectorAll("dialog.viewer .pair.twins img").length === 2`)
	beside := ask[[]float64](p, `[...document.querySelectorAll("dialog.viewer .pair.twins img")].map((i) => i.getBoundingClientRect()).flatMap((r) => [r.left, r.top, r.width])`)
	assert.Less(t, beside[0]+beside[2], beside[3]+1, "before stands left of after")
	assert.InDelta(t, beside[1], beside[4], 2, "and at its height")
	p.settled()
	p.sound("a pair side by side")
	p.picture(filepath.Join(dir, "pair-390.png"))
	p.whole(job, p.made())
}

// The left hand: the next thing to do moves under its thumb, and so do the keys that end or mend what is typed; nothing is cut off.
func TestLeftHanded(t *testing.T) {
	t.Parallel()
	s, p, dir := openShop(t), newPhone(t), shotsDir(t)
	job := p.onSite(s)
	at := "http://" + s.addr + "/job/" + job
	middle := func(selector string) float64 {
		t.Helper()
		p.until(`document.querySelector(` + quote(selector) + `)`)
		return ask[float64](p, `(() => { const r = document.querySelector(`+quote(selector)+`).getBoundingClientRect(); return (r.left + r.right) / 2; })()`)
	}
	flow := []string{"/visit?stage=measure", "/missing", "/shoot?subject=symptom", "/read?component=defrost-heater&quantity=resistance", "/around", "/mark", "/leave"}
	sides := func(left bool) {
		for _, path := range flow {
			p.open(at + path)
			p.sees("All sent")
			p.settled()
			if ask[int](p, `document.querySelectorAll(".plate-in > *").length`) > 1 {
				main := middle(".plate-in > .main")
				assert.Equal(t, left, main < 195, "the main button of %s, at %v of 390", path, main)
			}
			p.fits(path)
		}
		p.open(at + flow[3])
		rubout := middle(`.pad button[aria-label="Erase"]`)
		assert.Equal(t, left, rubout < 195, "the key that erases, at %v", rubout)
		seven, nine := middle(`.pad button[aria-label="7"]`), middle(`.pad button[aria-label="9"]`)
		assert.Less(t, seven, nine, "the digits keep their order")
	}
	sides(false)
	p.open("http://" + s.addr + "/phone")
	p.tap("Buttons for the left hand")
	sides(true)
	p.picture(filepath.Join(dir, "left-handed-390.png"))
	p.sound("the reading pad for the left hand")
}
