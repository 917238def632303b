package browsertest

import (
	"fmt"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"
)

// aJob keeps a job with something of everything on it, and returns its address.
func (p *phone) aJob(s *shop) string {
	p.t.Helper()
	dir := p.t.TempDir()
	p.newJob()
	job := "http://" + s.addr + "/job/" + ask[string](p, `location.pathname.split("/")[2]`)
	p.tap("I have arrived")
	p.sees("here since")
	for i, subject := range []string{"whole-unit", "surroundings", "rating-plate", "symptom"} {
		file, _ := photo(p.t, dir, subject+".jpg", 1800, 1350, uint64(20+i), false)
		p.open(job + "/shoot?subject=" + subject)
		p.shoot("Open the camera", file)
		p.sees("Sharp and well lit")
	}
	p.open(job + "/write?what=papers&field=unit.model")
	p.fill("Model number", "NV-418")
	p.fill("Serial number", "AB1234567")
	p.fill("Use", "household")
	p.tap("Keep")
	p.until(`!location.pathname.endsWith("/write")`)
	p.open(job + "/damage?seen=on-arrival")
	p.fill("Where", "floor in front of the unit")
	p.tap("Scratched")
	wide, _ := photo(p.t, dir, "wide.jpg", 1600, 1200, 31, false)
	close, _ := photo(p.t, dir, "close.jpg", 1600, 1200, 32, false)
	p.shoot("Wide: where it is", wide)
	p.until(`document.querySelectorAll(".shots .shot").length === 1`)
	p.shoot("Close: what it is", close)
	p.until(`document.querySelectorAll(".shots .shot").length === 2`)
	p.fill("In words", "Scratch along the grain, edges dull.")
	p.tap("Keep")
	p.sees("I have seen these pictures")
	p.draw()
	p.tap("Keep")
	p.until(`!location.pathname.endsWith("/sign")`)
	p.open(job + "/read?component=defrost-heater&quantity=resistance")
	for n := 2; n > 0; n-- {
		p.until(fmt.Sprintf(`document.querySelectorAll(".caution").length === %d`, n))
		p.tap("I have read this")
	}
	display, _ := photo(p.t, dir, "display.jpg", 1600, 1200, 33, false)
	p.shoot("Photograph the display", display)
	p.sees("Display kept")
	p.tap("OL (over range)")
	p.sees("OL")
	p.tap("Keep the reading")
	p.until(`!location.pathname.endsWith("/read")`)
	p.open(job + "/write?what=cause&component=defrost-heater")
	p.fill("What was found to be at fault", "Defrost heater open, OL at its terminals; evaporator iced solid.")
	p.tap("Keep")
	p.until(`!location.pathname.endsWith("/write")`)
	p.open(job + "/write?what=part&component=defrost-heater")
	p.fill("Part number", "NV-H220")
	p.tap("Replaced")
	p.tap("Yes")
	p.fill("Where is the old part?", "held")
	p.tap("Keep")
	p.until(`!location.pathname.endsWith("/write")`)
	p.open(job + "/write?what=note")
	p.fill("Note", "Water shut-off valve is behind the dishwasher.")
	p.tap("Keep")
	p.until(`!location.pathname.endsWith("/write")`)
	p.open(job + "/write?what=sign")
	p.tap("Evaporator coil: thick, even frost over all of it")
	p.fill("In words", "Solid ice from top to bottom.")
	p.tap("Keep")
	p.until(`!location.pathname.endsWith("/write")`)
	p.open(job)
	p.openPhoto(0)
	p.tap("Point something out")
	p.until(`document.querySelector(".marks-layer")`)
	p.fill("Words beside it", "iced over")
	p.tap("Place it in the middle")
	p.tap("Keep the marks")
	p.until(`!location.pathname.endsWith("/mark")`)
	p.sees("All sent")
	return job
}

// openPhoto opens one of the job's photos in full.
func (p *phone) openPhoto(n int) {
	p.t.Helper()
	p.once(fmt.Sprintf(`document.querySelectorAll("section[aria-labelledby=h-photos] button.shot")[%d]`, n), `(e) => e.click()`)
	p.until(`document.querySelector("dialog.viewer[open]")`)
}

// draw signs on the pad.
func (p *phone) draw() {
	p.t.Helper()
	p.do(chromedp.ScrollIntoView(chromedp.CSS("canvas.sign-pad")))
	ask[bool](p, `(() => { const c = document.querySelector("canvas.sign-pad"), r = c.getBoundingClientRect();
		c.setPointerCapture = () => {};
		const send = (type, x, y) => c.dispatchEvent(new PointerEvent(type, { bubbles: true, pointerId: 1, clientX: r.left + x * r.width, clientY: r.top + y * r.height }));
		send("pointerdown", 0.15, 0.6);
		for (let i = 0; i <= 40; i++) send("pointermove", 0.15 + i * 0.015, 0.55 + 0.25 * Math.sin(i / 3));
		send("pointerup", 0.75, 0.5);
		return true; })()`)
}

type screen struct{ name, path, sees string }

func screensOf(job, photo string) []screen {
	return []screen{
		{"jobs", "/", "R. Ostrander"},
		{"new-job", "/new", "What the customer says"},
		{"outbox", "/outbox", "safely kept"},
		{"phone", "/phone", "Room on this phone"},
		{"job", job, "Checklist"},
		{"missing", job + "/missing", "Still missing"},
		{"visit-look", job + "/visit?stage=look", "Also here"},
		{"visit-measure", job + "/visit?stage=measure", "Before a part comes off"},
		{"visit-repair", job + "/visit?stage=repair", "Work starts now"},
		{"shoot", job + "/shoot?subject=rating-plate", "Open the camera"},
		{"sound", job + "/sound", "Start recording"},
		{"read", job + "/read?component=defrost-heater&quantity=resistance", "Held against"},
		{"damage", job + "/damage", "Pictures, wide and close"},
		{"sign", job + "/sign?about=damage-on-arrival", "How does it end?"},
		{"leave", job + "/leave", "Why it stays open"},
		{"papers", job + "/write?what=papers", "Unit and rating plate"},
		{"seen", job + "/write?what=sign", "What is seen or heard"},
		{"mark", job + "/mark?photo=" + photo, "What to draw"},
		{"cover", job + "/cover?photo=" + photo, "What to draw"},
		{"part", job + "/write?what=part&component=defrost-heater", "Where is the old part?"},
	}
}

// Every screen, at phone and desk size, in light and dark, and with text at 200 %: axe-core finds nothing, nothing is cut off at the side,
// and a picture of it is kept as build output (KICKPLATE_SHOTS names the folder).
func TestEveryScreen(t *testing.T) {
	t.Parallel()
	s, p, dir := openShop(t), newPhone(t), shotsDir(t)
	p.open(s.enter)
	p.sees("Come in")
	p.sound("enter")
	p.picture(filepath.Join(dir, "enter-390.png"))
	p.tap("Come in")
	p.sees("There are no jobs yet")
	p.ready()
	job := p.aJob(s)
	path := job[len("http://"+s.addr):]
	marked := ask[string](p, `fetch("/api/v1`+strings.Replace(path, "/job/", "/jobs/", 1)+`/entries").then((r) => r.json()).then((r) => r.entries.map((e) => e.entry).find((e) => e.kind === "markup").body.photo)`)
	for _, c := range screensOf(path, marked) {
		for _, scheme := range []string{"light", "dark"} {
			p.scheme(scheme)
			p.size(390, 844)
			p.open("http://" + s.addr + c.path)
			p.sees(c.sees)
			p.settled()
			name := fmt.Sprintf("%s-%s", c.name, scheme)
			p.sound(name)
			p.fits(name)
			p.picture(filepath.Join(dir, name+"-390.png"))
			if scheme == "light" {
				p.wide(filepath.Join(dir, name+"-390-whole.png"))
			}
			p.size(1280, 800)
			p.settled()
			p.sound(name + " at the desk")
			p.picture(filepath.Join(dir, name+"-1280.png"))
		}
		p.scheme("light")
		p.size(390, 844)
		p.open("http://" + s.addr + c.path)
		p.sees(c.sees)
		p.text(32)
		p.settled()
		p.fits(c.name + " at 200 %")
		p.sound(c.name + " at 200 %")
		p.picture(filepath.Join(dir, c.name+"-200-percent.png"))
		p.text(16)
	}
}

// settled waits until the pictures in view are there and nothing moves.
func (p *phone) settled() {
	p.t.Helper()
	p.until(`document.fonts.ready.then(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => done(true)))))`)
	p.until(`[...document.images].every((i) => i.complete)`)
	p.until(`!document.querySelector(".said")`)
}

// text sets the size of text in the browser's settings, in pixels; 16 is what browsers begin with.
func (p *phone) text(px int64) {
	p.t.Helper()
	_, err := chromedp.Call(p.tab, page.SetFontSizes, page.SetFontSizesParams{FontSizes: &page.FontSizes{Standard: px, Fixed: px}})
	require.NoError(p.t, err)
}

// cutChoices names the drop-down lists whose chosen text is not readable whole. A list that is seen is measured with its own font, its arrow
// taking at least its height's third; one that lies unseen over its text must stand over the very text, all of it within the box.
const cutChoices = `[...document.querySelectorAll("select")].filter((s) => s.checkVisibility()).flatMap((s) => {
	const said = s.selectedOptions[0]?.text.trim() ?? "", style = getComputedStyle(s), box = s.getBoundingClientRect();
	if (style.opacity !== "0") {
		const pen = document.createElement("canvas").getContext("2d");
		pen.font = style.font;
		const room = s.clientWidth - parseFloat(style.paddingLeft) - parseFloat(style.paddingRight) - box.height / 3, wide = pen.measureText(said).width;
		return wide > room ? [said + ": " + Math.round(wide) + " px in " + Math.round(room)] : [];
	}
	const shown = s.previousElementSibling, text = document.createRange();
	if (shown?.innerText.trim() !== said) return [said + ": it shows " + shown?.innerText];
	text.selectNodeContents(shown);
	const out = [...text.getClientRects()].filter((r) => r.left < box.left || r.right > box.right || r.top < box.top || r.bottom > box.bottom);
	return out.length || shown.scrollWidth > shown.clientWidth || shown.scrollHeight > shown.clientHeight ? [said + ": out of its box"] : [];
})`

// fits demands that nothing has to be scrolled sideways, that targets are large enough, and that chosen texts can be read.
func (p *phone) fits(name string) {
	p.t.Helper()
	// A phone makes its window wider when the page is: the screen's own width is what counts.
	if over := ask[int](p, `document.documentElement.scrollWidth - screen.width`); over > 0 {
		p.t.Errorf("%s is %d px too wide: %s", name, over, ask[string](p, `[...document.querySelectorAll("body *")].filter((e) => e.getBoundingClientRect().right > screen.width + 1).slice(0, 5).map((e) => e.outerHTML.slice(0, 120)).join("\n")`))
	}
	small := ask[[]string](p, `[...document.querySelectorAll("button, a.btn, summary, select, input:not([type=file]):not([type=radio]):not([type=checkbox])")].filter((e) => e.checkVisibility() && e.getBoundingClientRect().height > 0 && e.getBoundingClientRect().height < 47.5).map((e) => e.outerHTML.slice(0, 100))`)
	if len(small) > 0 {
		p.t.Errorf("%s has targets lower than 48 px: %v", name, small)
	}
	if cut := ask[[]string](p, cutChoices); len(cut) > 0 {
		p.t.Errorf("%s cuts off what is chosen in a list: %v", name, cut)
	}
}

// wide takes a picture of the whole length of the page.
func (p *phone) wide(file string) {
	p.t.Helper()
	h := ask[int64](p, `Math.min(document.documentElement.scrollHeight, 6000)`)
	p.size(390, h)
	p.settled()
	p.picture(file)
	p.size(390, 844)
}

// What is chosen in a list can be read whole with text at 200 %, whatever is chosen; the browser's own list would cut it off, and the check
// that every screen goes through sees that.
func TestChosenWhole(t *testing.T) {
	t.Parallel()
	s, p, dir := openShop(t), newPhone(t), shotsDir(t)
	job := p.onSite(s)
	p.open("http://" + s.addr + "/job/" + job + "/shoot")
	p.sees("What it shows")
	p.text(32)
	for i := range 2 { // one after the other, as a person does
		list := fmt.Sprintf(`document.querySelectorAll("select")[%d]`, i)
		want := ask[string](p, `[...`+list+`.options].reduce((l, o) => (o.text.length > l.text.length ? o : l)).text`)
		require.Greater(t, len(want), 15)
		p.once(list, `(s) => { s.selectedIndex = [...s.options].findIndex((o) => o.text === `+quote(want)+`); s.dispatchEvent(new Event("change", { bubbles: true })); }`)
		p.until(list + `.previousElementSibling.innerText.trim() === ` + quote(want))
	}
	p.settled()
	p.fits("the longest choices at 200 %")
	p.sound("the longest choices at 200 %")
	ask[bool](p, `(document.querySelector(".drop").scrollIntoView(), true)`)
	p.picture(filepath.Join(dir, "chosen-200-percent.png"))
	// By keys, as the browser's own list does it: what is shown follows.
	before := ask[string](p, `document.querySelector(".chosen").innerText`)
	ask[bool](p, `(document.querySelector("select").focus(), true)`)
	p.do(chromedp.KeyEvent(kb.Home))
	p.until(`document.querySelector(".chosen").innerText !== ` + quote(before) + ` && document.querySelector(".chosen").innerText.trim() === document.querySelector("select").selectedOptions[0].text`)
	require.Empty(t, ask[[]string](p, cutChoices))
	ask[bool](p, `(() => { for (const s of document.querySelectorAll("select")) { s.style.opacity = "1"; s.selectedIndex = [...s.options].reduce((l, o) => (o.text.length > s.options[l].text.length ? o.index : l), 0); } return true; })()`)
	require.NotEmpty(t, ask[[]string](p, cutChoices))
}
