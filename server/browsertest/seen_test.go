package browsertest

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// bodies are the bodies of a job's entries of one kind, as the server has them.
func (p *phone) bodies(job, kind string) []map[string]any {
	p.t.Helper()
	return ask[[]map[string]any](p, `fetch("/api/v1/jobs/`+job+`/entries?limit=1000").then((r) => r.json()).then((r) => r.entries.map((e) => e.entry).filter((e) => e.kind === `+quote(kind)+`).map((e) => e.body))`)
}

// made is how many entries this phone has made: the number of the last one in its chain.
func (p *phone) made() int {
	p.t.Helper()
	return ask[int](p, `new Promise((done) => { const q = indexedDB.open("kickplate"); q.onsuccess = () => { const d = q.result, r = d.transaction("meta").objectStore("meta").get("chain"); r.onsuccess = () => { d.close(); done(r.result.seq); }; }; })`)
}

// touch puts a finger down on a photo to be marked and lifts it, at thousandths of the picture's width and height.
func (p *phone) touch(x1, y1, x2, y2 int) {
	p.t.Helper()
	ask[bool](p, fmt.Sprintf(`(() => { const s = document.querySelector(".marks-layer"), m = s.getScreenCTM(), h = s.viewBox.baseVal.height;
		s.setPointerCapture = () => {};
		const send = (type, x, y) => { const q = new DOMPoint(x, y * h / 1000).matrixTransform(m); s.dispatchEvent(new PointerEvent(type, { bubbles: true, pointerId: 1, clientX: q.x, clientY: q.y })); };
		send("pointerdown", %d, %d); send("pointerup", %d, %d); return true; })()`, x1, y1, x2, y2))
}

// Marks are a layer of their own: what is drawn arrives as drawn, is shown over the photo, and the photo stays byte for byte.
func TestMarks(t *testing.T) {
	t.Parallel()
	s, p := openShop(t), newPhone(t)
	job := p.onSite(s)
	file, data := photo(t, t.TempDir(), "unit.jpg", 1600, 1200, 71, false)
	p.shoot("Open the camera", file)
	p.sees("Sharp and well lit")
	p.tap("Point something out")
	p.until(`document.querySelector(".marks-layer")`)
	marks := func(n int) { p.until(fmt.Sprintf(`document.querySelectorAll(".marks-layer > g").length === %d`, n)) }

	p.touch(100, 200, 600, 700) // an arrow in one stroke
	marks(1)
	p.touch(800, 100, 800, 100) // an arrow by two taps
	p.sees("Now tap where the arrow points")
	p.touch(500, 500, 500, 500)
	marks(2)
	p.tap("Ring")
	p.touch(250, 750, 250, 750)
	marks(3)
	p.tap("Words")
	p.touch(300, 300, 300, 300)
	p.says("Write the words first")
	p.fill("Words beside it", "burnt <through>")
	p.tap("Place it in the middle") // without pointing
	marks(4)
	p.press(`button[aria-label="To the right"]`)
	p.tap("Keep the marks")
	p.until(`!location.pathname.endsWith("/mark")`)
	p.allSent(s)

	sent := p.bodies(job, "markup")
	require.Len(t, sent, 1)
	raw, err := json.Marshal(sent[0]["marks"])
	require.NoError(t, err)
	var got []struct {
		Shape          string
		X1, Y1, X2, Y2 int
		Text           string
	}
	require.NoError(t, json.Unmarshal(raw, &got))
	require.Len(t, got, 4)
	near := func(want, is int) { t.Helper(); assert.InDelta(t, want, is, 3, "%+v", got) }
	assert.Equal(t, []string{"arrow", "arrow", "ring", "words"}, []string{got[0].Shape, got[1].Shape, got[2].Shape, got[3].Shape})
	near(100, got[0].X1)
	near(700, got[0].Y2)
	near(800, got[1].X1)
	near(500, got[1].X2)
	near(750, got[2].Y1)
	near(525, got[3].X1)
	assert.Equal(t, "burnt <through>", got[3].Text)
	assert.Equal(t, digest(data), p.original(digest(data)), "the original is as it was taken")

	p.open("http://" + s.addr + "/job/" + job)
	p.openPhoto(0)
	p.sees("4 marks, drawn over the picture")
	p.until(`document.querySelectorAll("dialog .marks-layer > g").length === 4`)
	p.sound("a photo with marks")
	p.tap("Without marks")
	p.until(`!document.querySelector("dialog .marks-layer")`)
	p.tap("Point something out") // changing them is a correction with the reason, not a second layer
	p.until(`document.querySelectorAll(".marks-layer > g").length === 4`)
	p.tap("Undo the last")
	p.tap("Keep the marks")
	p.until(`!location.pathname.endsWith("/mark")`)
	p.allSent(s)
	p.open("http://" + s.addr + "/job/" + job)
	p.openPhoto(0)
	p.sees("3 marks, drawn over the picture")
	p.whole(job, p.made())
}

// What was seen counts: even frost and a repaired sealed system do not fit, and the phone says so without a line.
func TestSeenAndConflict(t *testing.T) {
	t.Parallel()
	s, p := openShop(t), newPhone(t)
	job := p.onSite(s)
	s.cut()
	at := "http://" + s.addr + "/job/" + job
	p.open(at + "/visit?stage=measure")
	p.tap("Something seen or heard")
	p.tap("Evaporator coil: thick, even frost over all of it")
	p.fill("In words", "Solid ice from top to bottom.")
	p.tap("Keep")
	p.until(`!location.pathname.endsWith("/write")`)
	p.open(at)
	p.sees("What was seen")
	p.sees("Solid ice from top to bottom.")
	conflict := `[...document.querySelectorAll(".notice.care")].some((n) => /sealed system/i.test(n.innerText) && /frost/i.test(n.innerText))`
	assert.False(t, ask[bool](p, conflict), "frost alone contradicts nothing")
	p.open(at + "/write?what=part&component=sealed-system")
	p.fill("Part number", "NV-C900")
	p.tap("Replaced")
	p.tap("Keep")
	p.until(`!location.pathname.endsWith("/write")`)
	p.open(at)
	p.until(conflict)
	s.mend()
	p.allSent(s)
	sent := p.bodies(job, "sign")
	require.Len(t, sent, 1)
	assert.Equal(t, "coil-even-frost", sent[0]["sign"])
	assert.Equal(t, "evaporator-coil", sent[0]["component"])
}

// clip is an MP4 file of a stated length without a picture in it, laid out as ISO/IEC 14496-12 says: ftyp, mdat, moov with mvhd.
func clip(seconds uint32, long bool) []byte {
	box := func(name string, parts ...[]byte) []byte {
		var b []byte
		for _, p := range parts {
			b = append(b, p...)
		}
		return append(binary.BigEndian.AppendUint32(nil, uint32(8+len(b))), append([]byte(name), b...)...)
	}
	u32 := func(v uint32) []byte { return binary.BigEndian.AppendUint32(nil, v) }
	rest := make([]byte, 80) // rate, volume, matrix, next track: 14496-12, 8.2.2
	lead := box("mvhd", u32(0), u32(0), u32(0), u32(600), u32(600*seconds), rest)
	if long {
		lead = box("mvhd", u32(1<<24), u32(0), u32(0), u32(0), u32(0), u32(600), u32(0), u32(600*seconds), rest)
	}
	noise := make([]byte, 40_000)
	for i := range noise {
		noise[i] = byte(i * i / 7)
	}
	return append(append(box("ftyp", []byte("isom"), u32(512), []byte("isommp41")), box("mdat", noise)...), box("moov", lead)...)
}

// A clip is kept and sent as it is; one that is too long is refused before it fills the phone, with the numbers.
func TestClips(t *testing.T) {
	t.Parallel()
	s, p, dir := openShop(t), newPhone(t), t.TempDir()
	job := p.onSite(s)
	at := "http://" + s.addr + "/job/" + job
	p.open(at + "/visit?stage=look")
	before := p.kept()
	write := func(name string, b []byte) string {
		file := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(file, b, 0o644))
		return file
	}
	const button = "Film it, up to 60 s"
	for name, c := range map[string]struct {
		file []byte
		says string
	}{
		"long.mp4":   {clip(90, false), "The clip is 90 seconds long; at most 60 are kept."},
		"longer.mp4": {clip(3600, true), "The clip is 3,600 seconds long"},
		"other.webm": {append([]byte{0x1a, 0x45, 0xdf, 0xa3}, make([]byte, 200)...), "This kind of recording is not taken"},
	} {
		p.until(`!document.querySelector(".said")`)
		p.shoot(button, write(name, c.file))
		p.says(c.says)
	}
	assert.Equal(t, before, p.kept(), "nothing of these is kept")
	s.cut()
	good := clip(20, false)
	p.shoot(button, write("good.mp4", good))
	p.says("Clip kept")
	p.open(at)
	p.openPhoto(0)
	p.until(`document.querySelector("dialog video.clip")?.src.startsWith("blob:")`)
	s.mend()
	p.allSent(s)
	assert.Equal(t, digest(good), p.original(digest(good)))
	p.open(at)
	p.openPhoto(0)
	p.until(`document.querySelector("dialog video.clip")?.src.includes("/originals/")`)
	p.whole(job, p.made())
}

// outlined waits until the outline of an earlier picture lies over the camera: neither next to nothing nor half of the picture.
func (p *phone) outlined() {
	p.t.Helper()
	p.until(`(() => { const c = document.querySelector(".finder canvas"); if (!c || c.width < 100) return false;
		const d = c.getContext("2d").getImageData(0, 0, c.width, c.height).data; let n = 0;
		for (let i = 3; i < d.length; i += 4) if (d[i]) n++;
		return n > 200 && n < d.length / 8; })()`)
}

// showCamera opens the page's own camera, unless it opened by itself, and waits for its picture.
func (p *phone) showCamera() {
	p.t.Helper()
	p.once(fmt.Sprintf(`document.querySelector(".finder video") || (%s)("Show the camera here")`, finder), `(e) => e.matches("video") || e.click()`)
	p.until(`document.querySelector(".finder video")?.videoWidth > 0`)
}

// matches picks the earlier photo that shows this; it stands in the list with its number.
func (p *phone) matches(what string) {
	p.t.Helper()
	option := fmt.Sprintf(`[...document.querySelectorAll("option")].find((o) => /^\d+ %s/.test(o.textContent))`, what)
	p.until(option)
	p.fill("Match an earlier picture", ask[string](p, option+`.value`))
}

// The camera on the page: the camera's own bytes are kept, and an earlier picture is matched by its outline and kept as its pair. The
// outline comes also when the app was closed right after the picture was taken, when the picture is pale, and when it is not here yet.
func TestViewfinder(t *testing.T) {
	t.Parallel()
	s := openShop(t)
	p := &phone{t: t, profile: t.TempDir(), camera: true}
	p.start()
	t.Cleanup(func() { p.stop() })
	job := p.onSite(s)
	p.tap("Series, or match an earlier picture")
	p.showCamera()
	p.tap("Take it")
	p.says("Photo kept")
	p.open("http://" + s.addr + "/job/" + job + "/shoot?subject=after-repair&match=yes") // before anything was made of it
	p.showCamera()
	p.matches("Whole unit")
	p.outlined()
	p.sound("the camera on the page")
	p.fits("the camera on the page")
	p.tap("Take it")
	p.says("Photo kept")
	p.allSent(s)
	sent := p.bodies(job, "photo")
	require.Len(t, sent, 2)
	assert.Equal(t, "before-after", sent[1]["pair"])
	assert.NotEmpty(t, sent[1]["pairedWith"])
	for _, b := range sent {
		assert.Equal(t, b["digest"], p.original(b["digest"].(string)))
	}

	file, _ := pale(t, t.TempDir(), "pale.jpg")
	p.open("http://" + s.addr + "/job/" + job + "/shoot?subject=surroundings&match=yes")
	p.shoot("Open the camera", file)
	p.says("Photo kept")
	p.showCamera()
	p.matches("Surroundings")
	p.outlined()
	p.allSent(s)

	// A phone that has none of the pictures, and no line: it says so, and the outline comes with the line.
	ask[bool](p, `new Promise((done) => { const q = indexedDB.open("kickplate"); q.onsuccess = () => { const d = q.result, tx = d.transaction("thumbs", "readwrite"); tx.objectStore("thumbs").clear(); tx.oncomplete = () => { d.close(); done(true); }; }; })`)
	s.cut()
	p.open("http://" + s.addr + "/job/" + job + "/shoot?subject=surroundings&match=yes")
	p.showCamera()
	p.matches("Whole unit")
	p.sees("The earlier picture is not on this phone yet")
	s.mend()
	p.outlined()
	p.until(`!document.querySelector(".no-outline")`)
}

// recordsOnly leaves the browser only those kinds of file to record whose name has this in it, until the page is loaded again. What the page then
// plays is held in window.recorded.
func (p *phone) recordsOnly(kind string) {
	p.t.Helper()
	ask[bool](p, `(() => { const can = MediaRecorder.isTypeSupported; MediaRecorder.isTypeSupported = (t) => t.includes(`+quote(kind)+`) && can.call(MediaRecorder, t);
		const make = URL.createObjectURL; URL.createObjectURL = (b) => { window.recorded = b; return make.call(URL, b); }; return true; })()`)
}

// A sound alone is recorded on the page, listened to, and kept: in both kinds of file that browsers write, without a line, byte for byte as the
// browser wrote it. The browser's own test device beeps once a second, so what is recorded is not silence.
func TestSound(t *testing.T) {
	t.Parallel()
	s := openShop(t)
	p := &phone{t: t, profile: t.TempDir(), camera: true}
	p.start()
	t.Cleanup(func() { p.stop() })
	job := p.onSite(s)
	at := "http://" + s.addr + "/job/" + job
	dir := shotsDir(t)
	loud := `document.querySelector("audio")?.readyState > 0 && recorded.arrayBuffer().then((b) => new AudioContext().decodeAudioData(b)).then((d) => { const s = d.getChannelData(0); let peak = 0; for (const v of s) peak = Math.max(peak, Math.abs(v)); return peak > 0.01 && d.duration > 1; })`
	live := `Number(document.querySelector("[role=timer]")?.textContent.match(/\d+/)?.[0]) < 58`
	s.cut()
	for i, kind := range []string{"mp4", "webm"} {
		p.open(at + "/visit?stage=look")
		p.tap("Record sound, up to 60 s")
		p.sees("For a noise, without a film")
		p.recordsOnly(kind)
		before := p.kept()
		p.tap("Start recording")
		p.until(`[...document.querySelectorAll("[role=status]")].some((e) => e.innerText.includes("Recording. It stops by itself after 60 seconds."))`)
		p.until(live)
		p.sound("recording a sound")
		p.fits("recording a sound")
		p.picture(filepath.Join(dir, "sound-recording-390.png"))
		p.tap("Stop")
		p.until(`[...document.querySelectorAll("[role=status]")].some((e) => /\d seconds are recorded/.test(e.innerText))`)
		p.until(loud)
		p.sound("a sound just recorded")
		p.fits("a sound just recorded")
		p.picture(filepath.Join(dir, "sound-recorded-390.png"))
		p.tap("Discard")
		p.says("Recording discarded")
		p.until(`!document.querySelector("audio")`)
		p.tap("Start recording")
		p.until(live)
		p.tap("Stop")
		p.until(loud)
		p.tap("Record again") // the first one goes
		p.until(live)
		p.tap("Stop")
		p.until(loud)
		assert.Equal(t, before, p.kept(), "nothing is kept before it is said")
		wrote := ask[string](p, `recorded.arrayBuffer().then((b) => crypto.subtle.digest("SHA-256", b)).then((d) => [...new Uint8Array(d)].map((x) => x.toString(16).padStart(2, "0")).join(""))`)
		p.tap("What it is about")
		p.fill("Which part it concerns", "condenser-fan")
		p.tap("Keep the sound")
		p.says("Sound kept")
		p.until(`location.pathname.endsWith("/visit")`)
		p.open(at)
		p.openPhoto(i)
		p.until(`document.querySelector("dialog audio.clip")?.src.startsWith("blob:")`)
		s.mend()
		p.allSent(s)
		sent := p.bodies(job, "photo")
		got := sent[len(sent)-1]
		assert.Equal(t, wrote, got["digest"])
		assert.Equal(t, wrote, p.original(wrote), "what the browser wrote is what the server has")
		assert.Equal(t, "condenser-fan", got["component"])
		assert.Equal(t, "camera", got["source"])
		assert.Equal(t, "audio/"+kind, ask[string](p, `fetch("/api/v1/originals/`+wrote+`/facts").then((r) => r.json()).then((f) => f.type)`))
		s.cut()
	}
	s.mend()
	p.allSent(s)
	p.whole(job, p.made())
}

// Where a page can't record, or may not, one sentence says what to do, and a file can still be chosen: also the WebM of another browser, and
// not one that is too long.
func TestSoundWithoutMicrophone(t *testing.T) {
	t.Parallel()
	s, p, dir := openShop(t), newPhone(t), t.TempDir() // a browser with no microphone
	job := p.onSite(s)
	at := "http://" + s.addr + "/job/" + job
	p.open(at + "/sound")
	p.tap("Start recording")
	p.sees("did not get at a microphone. Record with the phone's own recorder")
	p.sound("no microphone")
	ask[bool](p, `(() => { navigator.mediaDevices.getUserMedia = () => Promise.reject(new DOMException("", "NotAllowedError")); return true; })()`)
	p.tap("Start recording")
	p.sees("was not allowed to use the microphone. Allow it in the browser's settings")
	_, err := chromedp.Call(p.tab, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: `delete window.MediaRecorder`})
	require.NoError(t, err)
	p.open(at + "/sound")
	p.sees("This browser can't record sound on a page")
	assert.False(t, ask[bool](p, `document.body.innerText.includes("Start recording")`))
	p.sound("no recorder")

	before := p.kept()
	samples, err := filepath.Abs(filepath.Join("..", "..", "testdata", "sound"))
	require.NoError(t, err)
	tone, err := os.ReadFile(filepath.Join(samples, "tone.webm")) // says that it lasts 1,040 ms; see SOURCES.md beside it
	require.NoError(t, err)
	lasts := bytes.Index(tone, []byte{0x44, 0x89, 0x84}) // Duration, a float of four bytes
	require.Positive(t, lasts)
	long := bytes.Clone(tone)
	binary.BigEndian.PutUint32(long[lasts+3:], math.Float32bits(90_000))
	const button = "Choose a recording from this device"
	file := filepath.Join(dir, "other.webm")
	require.NoError(t, os.WriteFile(file, long, 0o644))
	p.shoot(button, file)
	p.says("The clip is 90 seconds long; at most 60 are kept.")
	p.shoot(button, filepath.Join(samples, "film.webm"))
	p.says("This kind of recording is not taken")
	assert.Equal(t, before, p.kept(), "nothing of these is kept")
	for i, name := range []string{"tone.webm", "live.webm", "tone.mp4"} {
		data, err := os.ReadFile(filepath.Join(samples, name))
		require.NoError(t, err)
		p.open(at + "/sound")
		p.shoot(button, filepath.Join(samples, name))
		p.says("Sound kept")
		p.allSent(s)
		require.Len(t, p.bodies(job, "photo"), i+1)
		assert.Equal(t, digest(data), p.original(digest(data)), name)
	}
}
