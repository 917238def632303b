package browsertest

import (
	"encoding/base64"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"kickplate/server/demo/draw"
)

// own is the app's own modules, for what a test would otherwise have to tap in at length.
const own = `const at = (m) => import(document.querySelector('script[type="module"]').src.replace(/main\.js.*$/, m + ".js"));`

// writes keeps an entry as the app does, and returns its id.
func (p *phone) writes(job, kind, body string) string {
	p.t.Helper()
	return ask[string](p, `(async () => { `+own+` const { record } = await at("record"); return (await record(`+quote(job)+`, `+quote(kind)+`, `+body+`)).id; })()`)
}

// takesIn keeps a photo as the app does, and returns its entry.
func (p *phone) takesIn(job, body string, data []byte) string {
	p.t.Helper()
	return ask[string](p, `(async () => { `+own+` const { keepPhoto } = await at("intake");
		const bytes = Uint8Array.from(atob("`+base64.StdEncoding.EncodeToString(data)+`"), (c) => c.charCodeAt(0));
		return (await keepPhoto(`+quote(job)+`, new File([bytes], "IMG_1.jpg", { type: "image/jpeg" }), `+body+`, true)).id; })()`)
}

// named types into the field with this name.
func (p *phone) named(name, value string) {
	p.t.Helper()
	p.once(fmt.Sprintf(`document.querySelector('[name="%s"]')`, name),
		fmt.Sprintf(`(i) => { i.value = %s; i.dispatchEvent(new Event("input", { bubbles: true })); i.dispatchEvent(new Event("change", { bubbles: true })); }`, quote(value)))
}

// A customer says that a liner was melted. The desk writes it down, sees what the record shows for and against, lays the photos over each
// other, answers, and builds a file that verifies.
func TestDamageDispute(t *testing.T) {
	t.Parallel()
	s, p, dir := openShop(t), newPhone(t), shotsDir(t)
	p.open(s.enter)
	p.tap("Come in")
	p.sees("There are no jobs yet")
	p.ready()
	p.newJob()
	job := ask[string](p, `location.pathname.split("/")[2]`)
	page := "http://" + s.addr + "/job/" + job
	studio, err := draw.NewStudio(7)
	require.NoError(t, err)
	shoot := func(seed uint64, scene draw.Scene) []byte {
		data, err := studio.Photo(scene, draw.Shot{Seed: seed, Gain: 1 - 0.05*float64(seed), Exif: draw.Exif{Make: "Handheld", Model: "Kaleo 3", Taken: time.Now()}})
		require.NoError(t, err)
		return data
	}
	const wall = "freezer-liner-left-wall"
	p.writes(job, "arrive", `{}`)
	before := p.takesIn(job, `{ subject: "damage-close", area: "`+wall+`" }`, shoot(1, draw.DamageClose{Kind: "chipped"}))
	p.writes(job, "damage", `{ area: "`+wall+`", kind: "melted", seen: "on-arrival", widthMm: "60", heightMm: "45", scale: "ruler", photos: ["`+before+`"], view: "fridge-open", x: 292, y: 185 }`)
	p.writes(job, "damage", `{ area: "floor", kind: "none", seen: "on-arrival" }`)
	p.writes(job, "work-start", `{}`)
	p.takesIn(job, `{ subject: "work-area", area: "`+wall+`" }`, shoot(2, draw.DamageClose{Kind: "chipped"}))
	p.writes(job, "work-finish", `{}`)
	p.writes(job, "leave", `{}`)
	p.open(page)
	p.sees("When somebody says that damage was done")
	p.until(`!document.querySelector(".line.busy")`)

	t.Run("the claim is written down", func(t *testing.T) {
		p.open(page + "/dispute")
		p.sees("Nobody has said that damage was done on this job.")
		p.sound("dispute, nothing claimed")
		p.tap("Record what is claimed")
		p.sees("Write down what was said, in their words.")
		p.tap("Keep")
		p.sees("Say where it is: choose a place or write it.")
		// Pointing at the drawing names the place; the list does the same.
		p.named("view", "fridge-open")
		p.until(`document.querySelector(".drawn title")?.textContent === "Gasket"`)
		p.once(`document.querySelector(".drawn.picks")`, `(e) => { const b = e.getBoundingClientRect(); e.dispatchEvent(new MouseEvent("click", { bubbles: true, clientX: b.left + 0.3 * b.width, clientY: b.top + 0.2 * b.height })); }`)
		p.until(`document.querySelector('[name="area"]').value === "` + wall + `"`)
		p.tap("Keep")
		p.sees("Write what was said.")
		p.until(`document.activeElement.name === "words"`)
		p.named("words", "The technician melted the wall of the freezer with his steamer.")
		p.named("amount", "12x")
		p.named("currency", "USD")
		p.tap("Keep")
		p.until(`document.querySelector('[name="amount"]').getAttribute("aria-invalid") === "true"`)
		p.named("amount", "780.00")
		p.named("how", "e-mail")
		p.named("kind", "melted")
		p.named("replyBy", p.dayIn(6))
		mine, _ := photo(t, t.TempDir(), "theirs.jpg", 900, 700, 91, false)
		p.shoot("Add their picture", mine)
		p.sees("Received with it")
		p.sound("claim form")
		p.fits("claim form")
		p.tall(390, filepath.Join(dir, "dispute-claim-390.png"))
		p.tap("Keep")
		p.until(`!location.search.includes("show=")`)
	})
	t.Run("what the record shows", func(t *testing.T) {
		p.sees("Shown before work")
		p.sees("What speaks against the shop")
		p.sees("6 days are left.")
		p.sees("As received: neither trusted nor doubted.")
		p.sees("The file does not say when it was taken.")
		p.until(`document.querySelector(".order-drawing img")?.naturalWidth > 100`)
		p.until(`document.querySelectorAll(".drawings .pin").length === 1`)
		p.tap("Lay the later photo over the earlier one")
		p.sees("Lined up at")
		p.until(`document.querySelector(".lay-over")?.naturalWidth === 1600`)
		p.once(`document.querySelector(".slide input")`, `(i) => { i.value = "80"; i.dispatchEvent(new Event("input", { bubbles: true })); }`)
		p.until(`document.querySelector(".lay-over").style.clipPath.includes("20%")`)
		p.tap("Fading")
		p.until(`document.querySelector(".lay-over").style.opacity === "0.8"`)
		for _, scheme := range []string{"light", "dark"} {
			p.scheme(scheme)
			p.settled()
			p.sound("dispute " + scheme)
			p.fits("dispute " + scheme)
			p.tall(390, filepath.Join(dir, "dispute-"+scheme+"-390.png"))
		}
		p.scheme("light")
		p.text(32)
		p.settled()
		p.fits("dispute at 200 %")
		p.text(16)
		p.size(1280, 800)
		p.settled()
		p.sound("dispute at a desk")
		p.picture(filepath.Join(dir, "dispute-1280.png"))
		p.tall(1280, filepath.Join(dir, "dispute-1280-whole.png"))
	})
	t.Run("the condition record", func(t *testing.T) {
		p.tap("Add to the record")
		p.sees("Write what is to be seen, not who did it.")
		p.named("area", "kick-plate")
		p.named("view", "fridge-front")
		p.until(`document.querySelector(".drawn .pin")`)
		p.named("kind", "none")
		p.sound("condition form")
		p.fits("condition form")
		p.tall(390, filepath.Join(dir, "dispute-condition-390.png"))
		p.tap("Keep")
		p.until(`!location.search.includes("show=")`)
		p.until(`document.querySelectorAll(".drawings .pin").length === 2`)
	})
	t.Run("answer and file", func(t *testing.T) {
		p.tap("Answer and file")
		p.until(`document.querySelector('[name="letter"]')?.value.includes("Dear")`)
		text := ask[string](p, `document.querySelector('[name="letter"]').value`)
		p.named("letter", text+"\nPlease call us if you want to look at the photos together.")
		p.sound("letter")
		p.fits("letter")
		p.tall(390, filepath.Join(dir, "dispute-letter-390.png"))
		p.size(1280, 800)
		p.settled()
		p.picture(filepath.Join(dir, "dispute-letter-1280.png"))
		p.size(390, 844)
		p.tap("Build the dispute file")
		p.until(`document.querySelector('a[download]')`)
		file := filepath.Join(t.TempDir(), "file.zip")
		data := ask[string](p, `fetch(document.querySelector("a[download]").href).then((r) => r.arrayBuffer()).then((b) => { let s = ""; for (const x of new Uint8Array(b)) s += String.fromCharCode(x); return btoa(s); })`)
		raw, err := base64.StdEncoding.DecodeString(data)
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(file, raw, 0o600))
		out, err := exec.Command(s.program, "verify", file).CombinedOutput()
		require.NoError(t, err, string(out))
		p.named("sent", "e-mail")
		p.tap("Record that it was sent")
		p.says("Kept")
	})
	t.Run("read by the other side", func(t *testing.T) {
		link := ask[string](p, `fetch("/api/v1/jobs/`+job+`/links", { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ version: 1, for: "customer", to: "R. Ostrander", add: true }) }).then((r) => r.json()).then((r) => r.url)`)
		other := newPhone(t)
		other.open(link)
		other.sees("Nothing in the bundle was changed since it was built.")
		for _, text := range []string{"Dispute file", "Please call us if you want to look at the photos together.", "Shown before work", "What speaks against the shop", "From before work", "As received from the other side", "Condition record", "Order of events", "Your side"} {
			other.sees(text)
		}
		other.sound("dispute file by link")
		other.fits("dispute file by link")
		other.tall(390, filepath.Join(dir, "dispute-link-390.png"))
		other.fill("Your name", "R. Ostrander")
		other.fill("What you have to say", "I never saw that mark before.")
		other.tap("Send to the shop")
		other.sees("It is with the shop.")
		p.until(`fetch("/api/v1/jobs/` + job + `/entries?limit=1000").then((r) => r.json()).then((r) => r.entries.some((e) => e.entry.kind === "link-statement" && e.entry.body.words === "I never saw that mark before."))`)
	})
	t.Run("settled", func(t *testing.T) {
		p.open(page + "/dispute?show=settle")
		p.sees("it admits nothing")
		p.named("from", "shop")
		p.named("what", "money")
		p.tap("Keep")
		p.until(`document.querySelector('[name="amount"]').getAttribute("aria-invalid") === "true"`)
		p.named("currency", "USD")
		p.named("amount", "60")
		p.named("answerBy", p.dayIn(9))
		p.sound("settle form")
		p.fits("settle form")
		p.tall(390, filepath.Join(dir, "dispute-settle-390.png"))
		p.tap("Keep")
		p.until(`!location.search.includes("show=")`)
		p.sees("The shop offers money")
		p.sees("An offer is out")
		p.open(page + "/dispute?show=settle&step=offer-answer")
		p.until(`document.querySelector('[name="offer"]')?.value`)
		p.named("outcome", "accepted")
		p.tap("Keep")
		p.until(`!location.search.includes("show=")`)
		p.sees("Agreed")
	})
}

// tall takes a picture of the page from top to bottom, on a screen of that width.
func (p *phone) tall(width int64, file string) {
	p.t.Helper()
	p.size(width, ask[int64](p, `Math.min(document.documentElement.scrollHeight, 7000)`))
	p.settled()
	p.picture(file)
	p.size(390, 844)
}
