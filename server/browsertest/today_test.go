package browsertest

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The day's jobs and the open ones are lists of their own, with and without a line; and whoever is on a visit gets from the first screen to
// a kept photo with one tap there and one on the camera.
func TestTodayAndHereNow(t *testing.T) {
	t.Parallel()
	s, p, dir := openShop(t), newPhone(t), shotsDir(t)
	p.signIn(s)
	p.tap("New job")
	p.fill("What the customer says is wrong", "Does not drain.")
	p.fill("Customer", "L. Abara")
	p.fill("Day of the visit", "2031-04-01")
	p.tap("Begin the job")
	p.sees("I have arrived")
	p.open("http://" + s.addr + "/")
	p.sees("L. Abara")
	assert.False(t, ask[bool](p, `document.body.innerText.includes("You are at")`), "nobody has arrived yet")
	p.newJob() // today
	p.tap("I have arrived")
	p.sees("here since")
	job := ask[string](p, `location.pathname.split("/")[2]`)
	p.sees("All sent")

	lists := func() {
		t.Helper()
		p.open("http://" + s.addr + "/")
		p.tap("Today")
		p.until(`document.querySelectorAll(".job-card").length === 1 && document.querySelector(".job-card").innerText.includes("R. Ostrander")`)
		p.tap("Open")
		p.until(`document.querySelectorAll(".job-card").length === 2`)
	}
	lists()
	s.cut()
	lists()
	p.sees("You are at R. Ostrander")
	p.sound("the list while on a visit")
	p.fits("the list while on a visit")
	p.picture(filepath.Join(dir, "here-now-390.png"))
	button := ask[string](p, `document.querySelector("section[aria-labelledby=h-here-now] input[type=file]").getAttribute("aria-label")`)
	require.Equal(t, "Photograph: Whole unit", button, "the first picture that the checklist asks for")
	file, data := photo(t, t.TempDir(), "unit.jpg", 1600, 1200, 91, false)
	p.shoot(button, file) // the one tap, and the camera's
	p.says("Photo kept")
	p.sees("Sharp and well lit")
	s.mend()
	p.allSent(s)
	sent := p.bodies(job, "photo")
	require.Len(t, sent, 1)
	assert.Equal(t, []any{digest(data), "whole-unit"}, []any{sent[0]["digest"], sent[0]["subject"]})
	p.open("http://" + s.addr + "/job/" + job + "/leave")
	p.fill("Why it stays open", "Part on order.")
	p.tap("Leave all the same")
	p.sees("Left with")
	p.open("http://" + s.addr + "/")
	p.sees("R. Ostrander")
	assert.False(t, ask[bool](p, `document.body.innerText.includes("You are at")`), "the visit has ended")
}
