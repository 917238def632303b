package browsertest

import (
	"fmt"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The core comes late, or never. A job shows what it looked like last, then what came since; a form is held against the job of this moment
// all the same; and where the core never comes, the server's answers are shown and the pad says what it can't do.
func TestCoreLateOrNever(t *testing.T) {
	t.Parallel()
	s, p := openShop(t), newPhone(t)
	p.signIn(s)
	_, err := chromedp.Call(p.tab, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: `(() => {
		const how = localStorage.getItem("core"), Real = Worker;
		if (how) window.Worker = class extends Real {
			postMessage(m, ...more) {
				if (m.what !== "start") super.postMessage(m, ...more);
				else if (how === "late") setTimeout(() => super.postMessage(m, ...more), 2000);
				else setTimeout(() => this.onerror(new Event("error")), 50);
			}
		};
	})()`})
	require.NoError(t, err)
	job := p.worked("C. Late", "K-50", 2, nil)
	at := "http://" + s.addr + "/job/" + job
	p.open(at)
	p.until(`(async () => { ` + settled + ` const d = await settled(indexedDB.open("kickplate")), a = await settled(d.transaction("answers").objectStore("answers").get(` + quote(job) + `));
		d.close(); return a?.text && a.of > 10; })()`)

	// now gives the serial number that a form would be held against, once another tab has brought what was told last.
	now := func() string {
		return ask[string](p, `(async (job) => { `+own+`
			await Promise.race([(await at("source")).pull(job), new Promise((done) => setTimeout(done, 500))]);
			return (await (await at("meanwhile")).jobNow(job)).unit.serial; })(`+quote(job)+`)`)
	}
	for _, how := range []string{"late", "never"} {
		ask[bool](p, fmt.Sprintf(`(localStorage.setItem("core", %q), true)`, how))
		p.open(at)
		p.sees("C. Late")
		assert.Zero(t, ask[int](p, `performance.getEntriesByName("core-ready").length`), "%s: what it looked like last is shown before the core is here", how)
		p.told(job, "unit", 0, map[string]any{"serial": "S-" + how})
		assert.Equal(t, "S-"+how, now(), how)
		p.open(at + "/write?what=papers")
		p.until(fmt.Sprintf(`[...document.querySelectorAll("input")].some((i) => i.value === "S-%s")`, how))
	}
	p.told(job, "unit", 0, map[string]any{"serial": "S-last"})
	p.open(at)
	p.sees("S-last")
	assert.Zero(t, ask[int](p, `performance.getEntriesByName("core-ready").length`))
	p.open(at + "/missing")
	p.sees("Use of the unit is not recorded.")
	p.open(at + "/read")
	p.sees("The meaning of the reading is shown when the rules have loaded")
}
