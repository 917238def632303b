package browsertest

import (
	"fmt"
	"slices"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func (p *phone) slowdown(times float64) {
	_, err := chromedp.Call(p.tab, emulation.SetCPUThrottlingRate, emulation.SetCPUThrottlingRateParams{Rate: times})
	require.NoError(p.t, err)
}

func median(list []float64) float64 {
	slices.Sort(list)
	return list[len(list)/2]
}

// The app's own time, reported and not judged, since the machine may be shared. The goals: from the camera's picture (12 megapixels) to "kept"
// 300 ms, from the core's start to its first verdict 300 ms, what is still missing and a reading 50 ms each.
func TestSpeed(t *testing.T) {
	s, p := openShop(t), newPhone(t)
	job := p.onSite(s)
	measured := func(name string) []float64 {
		return ask[[]float64](p, fmt.Sprintf(`performance.getEntriesByName(%q).map((m) => m.duration)`, name))
	}
	dir, photos := t.TempDir(), make([]string, 8)
	for n := range photos {
		photos[n], _ = photo(t, dir, fmt.Sprintf("12mp-%d.jpg", n), 4000, 3000, uint64(11+n), true)
	}
	half := len(photos) / 2
	p.slowdown(4)
	for n, file := range photos {
		if n < half { // whoever takes a picture with a phone's camera needs some seconds for it: what came before is done
			p.until(`performance.getEntriesByName("core-ready").length > 0`)
			p.sees("All sent")
		}
		p.shoot(map[bool]string{true: "Open the camera", false: "One more"}[n == 0], file)
		// One question that waits, not many: each would take some of the slowed-down thread's time.
		ask[bool](p, fmt.Sprintf(`new Promise((done) => { const see = () => performance.getEntriesByName("photo-kept").length > %d && done(true); new PerformanceObserver(see).observe({ type: "measure" }); see(); })`, n))
		p.until(`document.querySelector(".notice, .mark.met")`)
	}
	kept := measured("photo-kept")
	assert.Len(t, kept, len(photos), "every photo was kept and measured")
	t.Logf("kept after %.0f ms, 4 times slowed down, with nothing else to do; while the one before is sent: %.0f ms", kept[:half], kept[half:])
	p.slowdown(1)

	p.open("http://" + s.addr + "/job/" + job)
	p.until(`performance.getEntriesByName("core-ready").length > 0`)
	ready := measured("core-ready")
	t.Logf("core ready after %.0f ms from its start, beside a page that is just opening", ready[0])
	assert.Len(t, ready, 1)

	times := func(call string) float64 {
		return median(ask[[]float64](p, `(async () => { `+own+`
			const source = await at("source"), core = await at("core"), list = [];
			for (let i = 0; i < 15; i++) { const from = performance.now(); await `+call+`; list.push(performance.now() - from); }
			return list; })()`))
	}
	missing := times(fmt.Sprintf(`source.readJob(%q)`, job))
	t.Logf("what is still missing, from the phone's store: %.1f ms", missing)
	assert.Positive(t, missing)
	reading := times(`core.judge(` + heater + `)`)
	t.Logf("a reading, judged and drawn: %.1f ms", reading)
	assert.Positive(t, reading)
	p.slowdown(4)
	t.Logf("the same 4 times slowed down: %.1f ms and %.1f ms", times(fmt.Sprintf(`source.readJob(%q)`, job)), times(`core.judge(`+heater+`)`))
	p.slowdown(1)
	p.coreAlone(s, job)
}

// heater is a reading as the pad asks about it.
const heater = `{ text: "31.4", unit: "Ohm", pack: "", reading: { component: "defrost-heater", quantity: "resistance", profile: { model: "resistive-heater", ratedWatts: 450, ratedVolts: 115, tolerancePercent: 7 }, conditions: { circuit: "isolated" } } }`

// coreAlone starts the core a few times on a page of the shop's address that is not the app, so that nothing else runs, and reports from its
// start when it had the rule packs, gave its first verdict on a reading, and had looked at the whole job.
func (p *phone) coreAlone(s *shop, job string) {
	p.t.Helper()
	p.open("http://" + s.addr + "/manifest.webmanifest")
	for range 3 {
		times := ask[[]float64](p, fmt.Sprintf(`(async () => { %s
			const page = await (await fetch("/")).text(), script = page.match(/src="([^"]*)main\.js"/)[1] + "core-worker.js", core = page.match(/name="kickplate-core" content="([^"]*)"/)[1];
			const d = await settled(indexedDB.open("kickplate")), entries = (await settled(d.transaction("journal").objectStore("journal").getAll())).filter((e) => e.job === %q);
			d.close();
			await (await fetch(core + "core.wasm")).arrayBuffer();
			await new Promise((done) => setTimeout(done, 1000));
			const from = performance.now(), worker = new Worker(script, { type: "module" }), times = [];
			const ask = (what, value) => new Promise((done, fail) => {
				worker.onmessage = ({ data }) => {
					if (data.error || /^{"error"/.test(data.text || "")) return fail(new Error(data.error || data.text));
					times.push(performance.now() - from);
					done();
				};
				worker.postMessage({ id: 1, what, value });
			});
			await ask("start", { at: core });
			await ask("packs");
			await ask("judge", %s);
			await ask("look", { entries, now: new Date().toISOString(), seen: {}, suspect: "" });
			worker.terminate();
			return times; })()`, settled, job, heater))
		require.Len(p.t, times, 4)
		p.t.Logf("the core alone, from its start: answers after %.0f ms, has the rule packs after %.0f, the first verdict on a reading after %.0f, the first look at the job after %.0f", times[0], times[1], times[2], times[3])
	}
}

// A hundred photos in one visit without a line: each is kept, the screens stay usable, and all arrive.
func TestHundredPhotos(t *testing.T) {
	t.Parallel()
	s, p := openShop(t), newPhone(t)
	job := p.onSite(s)
	s.cut()
	dir := t.TempDir()
	var digests []string
	for n := range 5 {
		file, data := photo(t, dir, fmt.Sprintf("%d.jpg", n), 800, 600, uint64(60+n), false)
		digests = append(digests, digest(data))
		p.shoot(map[bool]string{true: "Open the camera", false: "One more"}[n == 0], file)
		p.until(fmt.Sprintf(`performance.getEntriesByName("photo-kept").length === %d`, n+1))
	}
	// The other ninety-five through the same door, without a hand on the button.
	ask[bool](p, `(async () => {
		const base = document.querySelector('script[type="module"]').src.replace(/main\.js$/, ""), { keepPhoto } = await import(base + "intake.js");
		const job = location.pathname.split("/")[2];
		for (let i = 0; i < 95; i++) {
			const c = new OffscreenCanvas(640, 480), g = c.getContext("2d");
			for (let k = 0; k < 60; k++) { g.fillStyle = "hsl(" + ((i * 37 + k * 61) % 360) + " 60% 50%)"; g.fillRect((k * 97 + i * 13) % 640, (k * 53 + i * 29) % 480, 60, 40); }
			await keepPhoto(job, new File([await c.convertToBlob({ type: "image/jpeg" })], i + ".jpg", { type: "image/jpeg" }), { subject: "work-area" }, true);
		}
		return true; })()`)
	k := p.kept()
	assert.Equal(t, 100, k.Files)
	p.open("http://" + s.addr + "/job/" + job)
	p.sees("100 photos")
	s.mend()
	p.allSent(s)
	assert.Zero(t, p.kept().Files)
	for _, d := range digests {
		assert.Equal(t, d, p.original(d))
	}
	p.whole(job, p.kept().Journal)
}
