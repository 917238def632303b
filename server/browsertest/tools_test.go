package browsertest

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// button gives the address behind the button with this text in the finding with this title.
func (p *phone) button(finding, text string) string {
	p.t.Helper()
	js := `[...document.querySelectorAll(".sheet")].find((x) => x.querySelector(".finding b")?.innerText === ` + quote(finding) + `)?.querySelector(".btn-row > *")`
	p.until(js + `?.innerText.trim() === ` + quote(text))
	return ask[string](p, `(() => { const b = `+js+`; return b.href ? new URL(b.href).pathname + new URL(b.href).search : b.querySelector("input")?.type ?? ""; })()`)
}

// Every gap names the tool that closes it, and the tool closes it: several pictures of the place are the look around, "looked over" is the record of
// damage, a reading without a picture of its display wants the camera and no second reading.
func TestGapsOpenTheirTools(t *testing.T) {
	t.Parallel()
	s, p, dir := openShop(t), newPhone(t), t.TempDir()
	job := p.onSite(s)
	at := "http://" + s.addr + "/job/" + job
	p.open(at + "/missing")
	assert.Equal(t, "/job/"+job+"/around?", p.button("A look around before work", "Look around")+"?")
	assert.Contains(t, p.button("Unit looked over for damage", "Damage found on arrival"), "/job/"+job+"/damage?seen=on-arrival")
	assert.Equal(t, "file", p.button("Rating plate, legible", "Photograph: Rating plate"), "one picture is one tap")
	p.sees("must be shown before you leave")

	// A reading is kept without its display, which the checklist asks for as soon as the part is replaced.
	p.open(at + "/read?component=defrost-heater&quantity=resistance")
	p.until(`document.querySelectorAll(".caution").length === 2`)
	p.tap("I have read this")
	p.until(`document.querySelectorAll(".caution").length === 1`)
	p.tap("I have read this")
	p.sees("The checklist asks for a picture of the display")
	p.tap("OL (over range)")
	p.tap("Keep the reading")
	p.until(`!location.pathname.endsWith("/read")`)
	p.open(at + "/write?what=part&component=defrost-heater")
	p.fill("Part number", "NV-H220")
	p.tap("Replaced")
	p.tap("Keep")
	p.until(`!location.pathname.endsWith("/write")`)
	p.open(at + "/missing")
	assert.Contains(t, p.button("Display of the meter: defrost heater", "Photograph the display"), "reading=")
	p.tap("Photograph the display")
	for i, button := range []string{"Open the camera", "Take it again"} {
		file, data := photo(t, dir, "display.jpg", 1600, 1200, uint64(80+i), false)
		p.shoot(button, file)
		p.until(`fetch("/api/v1/jobs/` + job + `").then((r) => r.json()).then((j) => j.photos.find((x) => x.entry === j.readings[0].body.photo)?.body.digest === ` + quote(digest(data)) + `)`)
	}
	p.open(at + "/missing")
	p.sees("must be shown before you leave")
	p.until(`!document.body.innerText.includes("Display of the meter: defrost heater")`)
	assert.Empty(t, ask[[]any](p, `fetch("/api/v1/jobs/`+job+`/clashes").then((r) => r.json()).then((r) => r.clashes || [])`), "a picture taken again corrects the last version, not the first")
}

// Nobody signs for pictures that are not on the screen: without damage on record there is nothing to sign for, with words alone the customer signs for words.
func TestNothingToSignFor(t *testing.T) {
	t.Parallel()
	s, p := openShop(t), newPhone(t)
	job := p.onSite(s)
	at := "http://" + s.addr + "/job/" + job
	p.open(at + "/sign?about=damage-on-arrival")
	p.sees("there is nothing to sign for")
	p.sound("nothing to sign for")
	p.draw()
	p.tap("Keep")
	p.says("there is nothing to sign for")
	assert.Empty(t, p.bodies(job, "acknowledge"))
	p.tap("Damage found on arrival")
	p.fill("Where", "floor in front of the unit")
	p.tap("Scratched")
	p.fill("In words", "Scratch along the grain.")
	p.tap("Keep")
	p.sees("I have read this. It was so before work began.")
	p.draw()
	p.tap("Keep")
	p.until(`!location.pathname.endsWith("/sign")`)
	p.sees("All sent")
	signed := p.bodies(job, "acknowledge")
	require.Len(t, signed, 1)
	assert.Equal(t, "I have read this. It was so before work began.", signed[0]["statement"])
}

// A file that is not from just now, handed over as a photo of now, is kept as it is, and the screen says from when it is. One that can't be
// shown is kept too, and is not passed over in silence.
func TestOldFileAsPhoto(t *testing.T) {
	t.Parallel()
	s, p := openShop(t), newPhone(t)
	p.onSite(s)
	file, _ := photo(t, t.TempDir(), "old.jpg", 1600, 1200, 90, false)
	old := time.Date(2025, 6, 12, 15, 4, 0, 0, time.UTC)
	require.NoError(t, os.Chtimes(file, old, old))
	p.shoot("Open the camera", file)
	p.sees("This file is from Jun 12, 2025, 10:04 AM, not from just now.")
	broken := filepath.Join(t.TempDir(), "broken.jpg")
	require.NoError(t, os.WriteFile(broken, []byte("\xff\xd8\xff\xe0 and nothing more"), 0o600))
	p.shoot("One more", broken)
	p.sees("This phone can't show the picture")
	fresh, _ := photo(t, t.TempDir(), "new.jpg", 1600, 1200, 91, false)
	p.shoot("One more", fresh)
	p.sees("Sharp and well lit")
	p.until(`!document.body.innerText.includes("not from just now")`)
}

// While a large file is under way, what is small goes by it.
func TestSmallPassesLarge(t *testing.T) {
	s, p := openShop(t), newPhone(t)
	job := p.onSite(s)
	file, data := photo(t, t.TempDir(), "big.jpg", 3600, 2700, 12, true)
	s.hold.Store(1_000_000)
	p.shoot("Open the camera", file)
	p.says("Photo kept")
	require.Eventually(t, func() bool { return s.held.Load() > 0 }, patience, 10*time.Millisecond)
	p.tap("Back")
	p.tap("Write a note")
	p.fill("Note", "The key is with the caretaker.")
	p.tap("Keep")
	p.until(`fetch("/api/v1/jobs/` + job + `/entries").then((r) => r.json()).then((r) => r.entries.some((e) => e.entry.kind === "note"))`)
	assert.EqualValues(t, 1, s.held.Load(), "it is still the same upload that hangs")
	assert.Equal(t, 1, p.kept().Files)
	s.free()
	p.allSent(s)
	assert.Equal(t, digest(data), p.original(digest(data)))
}
