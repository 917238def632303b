package browsertest

import (
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// wrongAt waits until a field says what is wrong with it.
func (p *phone) wrongAt(field, says string) {
	p.t.Helper()
	p.until(`[...document.querySelectorAll(".bad")].some((f) => f.querySelector("span, legend").innerText.includes(` + quote(field) + `) && f.querySelector(".wrong-here").innerText.includes(` + quote(says) + `))`)
}

const chosen = `[...document.querySelectorAll("input[type=radio]:checked")].map((r) => r.name + "=" + r.value).join()`

// What a form keeps as a fact somebody has chosen: nothing is said by leaving it as it was.
func TestNothingIsStatedUnasked(t *testing.T) {
	t.Parallel()
	s, p := openShop(t), newPhone(t)
	job := p.onSite(s)
	at := "http://" + s.addr + "/job/" + job
	made := p.made()
	p.open(at + "/write?what=part")
	p.sees("Where is the old part?")
	assert.Empty(t, ask[string](p, chosen))
	p.tap("Keep")
	p.wrongAt("Which part", "Choose which part it is.")
	p.fill("Which part", "defrost-heater")
	p.tap("Keep")
	p.wrongAt("What was done", "Choose one.")
	p.sound("a part of which nothing was said")
	p.fits("a part of which nothing was said")
	assert.Equal(t, made, p.made(), "nothing is kept")
	p.tap("Replaced")
	p.tap("Keep")
	p.until(`!location.pathname.endsWith("/write")`)
	p.sees("All sent")
	assert.Equal(t, []map[string]any{{"component": "defrost-heater", "action": "replaced", "quantity": 1.0}}, p.bodies(job, "part"))

	// The checklist's "complete the part" completes it: entered once more it would be a second one.
	p.open(at + "/write?what=part&component=defrost-heater&for=any")
	p.fill("Part number", "NV-H220")
	p.fill("Why it is corrected", "Number added.")
	p.tap("Keep the correction")
	p.until(`!location.pathname.endsWith("/write")`)
	p.sees("All sent")
	assert.Equal(t, []string{"NV-H220"}, ask[[]string](p, `fetch("/api/v1/jobs/`+job+`").then((r) => r.json()).then((j) => j.parts.map((x) => x.body.number))`))

	p.open(at + "/write?what=refrigerant")
	p.fill("Refrigerant", "R-600a")
	p.fill("Grams", "58")
	assert.Empty(t, ask[string](p, chosen))
	p.tap("Keep")
	p.wrongAt("What was done", "Choose one.")
	p.tap("Recovered")
	p.tap("Keep")
	p.until(`!location.pathname.endsWith("/write")`)
	p.sees("All sent")
	assert.Equal(t, []map[string]any{{"type": "R-600a", "action": "recovered", "grams": "58"}}, p.bodies(job, "refrigerant"))
}

// Once work has begun, "on arrival" is nobody's default, and the form says how the clocks will read it; it may still be said.
func TestDamageAfterWorkBegan(t *testing.T) {
	t.Parallel()
	s, p := openShop(t), newPhone(t)
	job := p.onSite(s)
	at := "http://" + s.addr + "/job/" + job
	p.open(at + "/damage?seen=on-arrival")
	p.until(chosen + ` === "seen=on-arrival"`) // what the button said
	assert.NotContains(t, ask[string](p, `document.body.innerText`), "Work began")
	start := p.writes(job, "work-start", "{}")
	p.open(at + "/damage")
	p.sees("Work began at")
	assert.Empty(t, ask[string](p, chosen))
	p.open(at + "/damage?seen=on-arrival")
	p.sees("Work began at")
	assert.Empty(t, ask[string](p, chosen))
	p.until(`fetch("/api/v1/jobs/` + job + `/entries").then((r) => r.json()).then((r) => r.entries.map((e) => e.entry).find((e) => e.id === ` + quote(start) + `)).then((e) => e && document.body.innerText.includes("Work began at " + new Date(e.at).toLocaleTimeString("en-US", { timeStyle: "short" })))`)
	p.tap("Keep")
	p.wrongAt("Where", "Say where it is.")
	p.fill("Where", "left door")
	p.tap("Scratched")
	p.tap("Keep")
	p.wrongAt("Seen", "Choose one.")
	p.sound("damage after work began")
	p.fits("damage after work began")
	p.tap("During the work")
	p.until(`!document.body.innerText.includes("Work began at")`)
	p.tap("On arrival")
	p.sees("Work began at")
	p.tap("Keep")
	p.until(`location.pathname.endsWith("/sign")`)
	p.sees("All sent")
	damage := p.bodies(job, "damage")
	require.Len(t, damage, 1)
	assert.Equal(t, "on-arrival", damage[0]["seen"])
}

// A paired phone is called by its name, and no machine's id stands on the screen.
func TestPhoneSaysItsName(t *testing.T) {
	t.Parallel()
	s, p := openShop(t), newPhone(t)
	p.signIn(s)
	bare := func() {
		t.Helper()
		p.open("http://" + s.addr + "/phone")
		p.sees("Room on this phone")
		p.until(`document.querySelector(".facts")`)
		assert.NotRegexp(t, `[0-9a-f]{8}-[0-9a-f]{4}`, ask[string](p, `document.querySelector(".facts").innerText`))
	}
	bare()
	token := p.pairing()
	p.open("http://" + s.addr + "/new")
	p.open("http://" + s.addr + "/#pair=" + token)
	p.fill("A name for this phone", "Van 4")
	p.tap("Let this phone in")
	p.sees("There are no jobs yet")
	for range 2 { // also after the server was asked who is here
		bare()
		p.until(`[...document.querySelectorAll(".facts dd")].some((d) => d.innerText === "Van 4")`)
	}
}

// What is due stands on job cards in the language of the texts, as on the board.
func TestDueInSpanish(t *testing.T) {
	t.Parallel()
	s, p := openShop(t), newPhone(t)
	p.signIn(s)
	job := p.worked("E. Plazo", "K-61", 2, map[string]any{"submitDays": 30})
	at := "http://" + s.addr
	for _, path := range []string{"/", "/board", "/job/" + job} {
		p.open(at + path)
		p.sees("send the claim")
	}
	p.open(at + "/phone")
	p.tap("Español")
	p.until(`document.documentElement.lang === "es"`)
	for _, path := range []string{"/", "/board", "/job/" + job} {
		p.open(at + path)
		p.sees("enviar el reclamo")
		p.until(`!document.body.innerText.includes("send the claim")`)
	}
}

// A choice between two versions is made once: while it waits to be sent the question is not put again, so no second choice can clash with it.
func TestChoiceIsMadeOnce(t *testing.T) {
	t.Parallel()
	s, p := openShop(t), newPhone(t)
	p.signIn(s)
	job := p.worked("I. Twice", "K-62", 2, nil)
	at := "http://" + s.addr + "/job/" + job
	note := p.told(job, "note", 0, map[string]any{"text": "The first."})
	for i, text := range []string{"From the van.", "From the desk."} {
		said := ask[string](p, `fetch("/api/v1/session").then((r) => r.json()).then((s) => fetch("/api/v1/entries", { method: "POST", headers: { "Content-Type": "application/json" },
			body: JSON.stringify({ entries: [{ id: `+quote(uuid.Must(uuid.NewV7()).String())+`, shop: s.actor.shop, by: s.actor.person, job: `+quote(job)+`, kind: "note", at: new Date(Date.now() + `+quote([]string{"10", "20"}[i])+` * 1).toISOString(),
				device: "van-2", supersedes: `+quote(note)+`, why: "More exact.", body: { text: `+quote(text)+` } }] }) })).then(async (r) => r.ok ? "" : r.text())`)
		require.Empty(t, said)
	}
	require.Equal(t, 1, p.clashes(job))
	p.open(at)
	p.sees("Two people changed this")
	p.sees("From the van.")
	s.cut()
	p.tap("Take this one")
	p.says("Kept")
	p.until(`!document.body.innerText.includes("Two people changed this")`)
	assert.Equal(t, 1, p.kept().Entries, "the choice waits to be sent")
	s.mend()
	p.allSent(s)
	assert.Zero(t, p.clashes(job))
	assert.Equal(t, []string{"From the van."}, ask[[]string](p, `fetch("/api/v1/jobs/`+job+`").then((r) => r.json()).then((j) => j.notes.map((n) => n.body.text))`))
	p.open(at)
	p.sees("From the van.")
	p.until(`!document.body.innerText.includes("Two people changed this")`)
}
