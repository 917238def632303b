package browsertest

import (
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// manyPhotos adds photo entries to a job as another device of the shop would have sent them; every tenth shows another picture.
func (p *phone) manyPhotos(job string, count int) {
	p.t.Helper()
	p.until(`fetch("/api/v1/session").then((r) => r.ok)`)
	digests := ask[[][]any](p, `Promise.all(Array.from({ length: 10 }, async (_, i) => {
		const c = new OffscreenCanvas(640, 480), g = c.getContext("2d");
		for (let k = 0; k < 60; k++) { g.fillStyle = "hsl(" + ((i * 37 + k * 61) % 360) + " 60% 50%)"; g.fillRect((k * 97 + i * 13) % 640, (k * 53 + i * 29) % 480, 60, 40); }
		const blob = await c.convertToBlob({ type: "image/jpeg" }), bytes = await blob.arrayBuffer();
		const digest = [...new Uint8Array(await crypto.subtle.digest("SHA-256", bytes))].map((b) => b.toString(16).padStart(2, "0")).join("");
		const r = await fetch("/api/v1/originals/" + digest, { method: "PATCH", body: blob, headers: { "Content-Type": "application/offset+octet-stream", "Upload-Offset": "0", "Upload-Length": String(blob.size) } });
		if (!r.ok) throw new Error(await r.text());
		return [digest, blob.size];
	}))`)
	shop := ask[string](p, `fetch("/api/v1/session").then((r) => r.json()).then((s) => s.actor.shop)`)
	for from := 0; from < count; from += 100 {
		var list []map[string]any
		for i := from; i < min(count, from+100); i++ {
			d := digests[i%len(digests)]
			list = append(list, map[string]any{"id": uuid.Must(uuid.NewV7()).String(), "shop": shop, "job": job, "kind": "photo", "at": time.Now().Format(time.RFC3339), "by": "Ida Roe", "device": "van-2",
				"body": map[string]any{"digest": d[0], "bytes": d[1], "subject": "work-area", "caption": fmt.Sprintf("photo %d", i)}})
		}
		raw, err := json.Marshal(map[string]any{"entries": list})
		require.NoError(p.t, err)
		said := ask[string](p, `fetch("/api/v1/entries", { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(`+string(raw)+`) }).then(async (r) => r.ok ? "" : r.text())`)
		require.Empty(p.t, said)
	}
}

// scrolled scrolls through the whole page, a third of a screen a frame, and returns how long each frame took, in ms.
func (p *phone) scrolled() []float64 {
	p.t.Helper()
	return ask[[]float64](p, `new Promise((done) => {
		const times = [];
		let last = performance.now();
		scrollTo(0, 0);
		const step = () => {
			const now = performance.now();
			times.push(now - last);
			last = now;
			scrollBy(0, innerHeight / 3);
			if (scrollY + innerHeight >= document.documentElement.scrollHeight - 2 || times.length > 3000) done(times); else requestAnimationFrame(step);
		};
		requestAnimationFrame(step);
	})`)
}

// A job with five hundred photos: only what is near the screen is drawn in full and decoded, at the top, after scrolling to the end, and back;
// each one can be reached and opened. Frame times are reported, not judged.
func TestFiveHundredPhotos(t *testing.T) {
	t.Parallel()
	s, p := openShop(t), newPhone(t)
	job := p.onSite(s)
	p.manyPhotos(job, 500)
	p.open("http://" + s.addr + "/job/" + job)
	p.sees("500 photos")
	p.until(`document.querySelectorAll(".shots > li").length === 500`)
	live := func(when string) {
		t.Helper()
		p.until(`(() => { const near = [...document.querySelectorAll(".shots > li")].filter((l) => { const r = l.getBoundingClientRect(); return r.bottom > 0 && r.top < innerHeight; }); return near.every((l) => l.querySelector("button.shot")); })()`)
		p.until(`document.querySelectorAll(".shots button.shot").length < 80 && document.images.length < 60`)
		nodes, pictures := ask[int](p, `document.querySelectorAll(".shots *").length`), ask[int](p, `document.images.length`)
		t.Logf("%s: %d elements in the grid of 500, %d pictures", when, nodes, pictures)
		assert.Less(t, nodes, 500*2+80*20)
	}
	live("at the top")
	frames := p.scrolled()
	t.Logf("scrolling through 500 photos: %d frames, median %.1f ms, worst %.1f ms", len(frames), median(frames), frames[len(frames)-1])
	ask[bool](p, `(() => { document.querySelector(".shots > li:last-child").scrollIntoView({ block: "center" }); return true; })()`)
	p.until(`document.querySelector(".shots > li:last-child img")`)
	live("at the end")
	p.once(`document.querySelector(".shots > li:last-child button.shot")`, `(e) => e.click()`)
	p.sees("photo 499")
	p.tap("Previous photo")
	p.sees("photo 498")
	p.tap("Close")
	ask[bool](p, `(() => { scrollTo(0, 0); return true; })()`)
	live("back at the top")
}
