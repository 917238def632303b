package browsertest

import (
	"bytes"
	"fmt"
	"image"
	"image/jpeg"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// bar is a progress bar of the outbox with the words beside it.
type bar struct {
	Value, Max float64
	Says       string
}

// bars are the outbox's progress bars: that of everything, and those of the photos in order of making.
func (p *phone) bars() (all bar, photos []bar) {
	p.t.Helper()
	list := ask[[]bar](p, `[...document.querySelectorAll("main .progress")].map((x) => ({ Value: x.querySelector("progress").value, Max: x.querySelector("progress").max, Says: x.innerText.replaceAll("\u00a0", " ").trim() }))`)
	require.NotEmpty(p.t, list)
	return list[0], list[1:]
}

// came is how much of a file the server has: whole, or so many bytes, or nothing of it (-1).
func (p *phone) came(digest string) int64 {
	p.t.Helper()
	return ask[int64](p, `fetch("/api/v1/originals/`+digest+`", { method: "HEAD", cache: "no-store" }).then((r) => r.status === 404 ? -1 : Number(r.headers.get("Upload-Offset")))`)
}

// Three photos wait, two of them are sent at a time; the outbox says of each and of all together how far it has come.
func TestTwoFilesAtOnce(t *testing.T) {
	s, p, dir := openShop(t), newPhone(t), t.TempDir()
	p.onSite(s)
	s.cut()
	base := p.kept()
	var files [][]byte
	for i, button := range []string{"Open the camera", "One more", "One more"} {
		file, data := photo(t, dir, "big.jpg", 2400, 1800, uint64(60+i), true)
		require.Greater(t, len(data), 1_500_000)
		files = append(files, data)
		p.shoot(button, file)
		p.keeps(counts{Entries: base.Entries + i + 1, Files: i + 1, Journal: base.Journal})
	}
	p.press("a.line") // the outbox, without loading the page anew
	p.sees("Send now")
	s.hold.Store(700_000)
	s.mend()
	p.tap("Send now")
	require.Eventually(t, func() bool { return s.held.Load() == 2 }, patience, 10*time.Millisecond)
	// The sum is drawn a moment after its parts.
	p.until(`(() => { const [all, ...each] = document.querySelectorAll("main .progress progress"); return each.filter((x) => x.value > 0).length === 2 && all.value === each.reduce((n, x) => n + x.value, 0); })()`)

	all, photos := p.bars()
	require.Len(t, photos, 3)
	sum, size := 0.0, 0
	for i, b := range photos {
		size += len(files[i])
		sum += b.Value
		assert.EqualValues(t, len(files[i]), b.Max)
		came := p.came(digest(files[i]))
		if i < 2 {
			assert.Positive(t, b.Value)
			assert.LessOrEqual(t, b.Value, float64(came), "no more than the server has")
			assert.Less(t, came, int64(len(files[i])))
			assert.Regexp(t, `^\d+(\.\d)? kB of \d(\.\d)? MB$`, b.Says)
		} else {
			assert.Zero(t, b.Value)
			assert.EqualValues(t, -1, came, "the third waits for its turn")
			assert.Regexp(t, `^0 byte of \d(\.\d)? MB$`, b.Says)
		}
	}
	assert.Equal(t, sum, all.Value, "all together is the sum of each")
	assert.Greater(t, all.Max, float64(size))
	assert.Less(t, all.Max, float64(size+10_000), "the photos and their entries")
	p.until(`document.querySelector(".line progress")?.value === document.querySelector("main .progress progress").value`) // the line at the top says the same
	assert.NotContains(t, p.where(), "does not answer", "it does now")
	s.free()
	p.allSent(s)
	for _, data := range files {
		assert.Equal(t, digest(data), p.original(digest(data)))
	}
}

// A photo that is taken while one other is sent does not wait for it.
func TestPhotoPassesAnother(t *testing.T) {
	t.Parallel()
	s, p, dir := openShop(t), newPhone(t), t.TempDir()
	p.onSite(s)
	p.sees("All sent")
	base := p.kept()
	big, large := photo(t, dir, "big.jpg", 2400, 1800, 64, true)
	require.Greater(t, len(large), 1_500_000)
	file, small := photo(t, dir, "small.jpg", 640, 480, 65, false)
	require.Less(t, len(small), 500_000)
	s.hold.Store(700_000)
	p.shoot("Open the camera", big)
	require.Eventually(t, func() bool { return s.held.Load() == 1 }, patience, 10*time.Millisecond)
	p.shoot("One more", file)
	p.keeps(counts{Entries: base.Entries + 1, Files: base.Files + 1, Journal: base.Journal + 1})
	assert.Equal(t, digest(small), p.original(digest(small)))
	assert.Less(t, p.came(digest(large)), int64(len(large)), "which is still held")
	s.free()
	p.allSent(s)
	assert.Equal(t, digest(large), p.original(digest(large)))
}

// While it fails, the phone waits longer each time, by chance apart from other phones, never shorter than the server asked for; when the line is
// back it sends by itself, and what comes after is not kept waiting.
func TestWaitsLongerEachTime(t *testing.T) {
	t.Parallel()
	s, p := openShop(t), newPhone(t)
	job := p.onSite(s)
	wait := func(failures int, retryAfter, chance float64) float64 {
		t.Helper()
		return ask[float64](p, `(async (args) => { `+own+` return (await at("outbox")).pause(...args); })([`+num(failures)+`, `+num(retryAfter)+`, `+num(chance)+`])`)
	}
	for n := 1; n < 6; n++ {
		assert.Equal(t, 2*wait(n, 0, 0.5), wait(n+1, 0, 0.5), "twice as long after %d failures", n)
	}
	assert.Equal(t, wait(10, 0, 0.5), wait(2000, 0, 0.5), "there is a longest wait")
	assert.LessOrEqual(t, wait(2000, 0, 0.999), 180.0)
	assert.Positive(t, wait(1, 0, 0))
	assert.GreaterOrEqual(t, wait(4, 0, 0.999), 2*wait(4, 0, 0), "by chance")
	// RFC 9110, 10.2.3: Retry-After says how long the client ought to wait.
	for _, chance := range []float64{0, 0.5, 0.999} {
		assert.GreaterOrEqual(t, wait(1, 600, chance), 600.0)
	}
	assert.Greater(t, wait(1, 600, 0.9), wait(1, 600, 0.1), "by chance here too: else all phones of a shop come back at once")

	s.cut()
	before := p.kept().Journal
	p.writes(job, "note", `{ text: "Written without a line." }`)
	p.sees("No connection")
	s.mend()
	p.keeps(counts{Journal: before + 1}) // nobody pressed anything
	p.sees("All sent")
	p.writes(job, "note", `{ text: "Written with a line." }`)
	p.keeps(counts{Journal: before + 2})
}

// The pad offers the unit used last, for each quantity its own.
func TestPadRemembersUnits(t *testing.T) {
	t.Parallel()
	s, p := openShop(t), newPhone(t)
	job := p.onSite(s)
	at := "http://" + s.addr + "/job/" + job
	unit := `document.querySelector("input[name=unit]:checked")?.value`
	open := func(quantity string) {
		t.Helper()
		p.open(at + "/read?component=evaporator-fan&quantity=" + quantity)
		p.until(unit)
	}
	take := func(quantity, want string) {
		t.Helper()
		open(quantity)
		require.NotEqual(t, want, ask[string](p, unit), "a unit that is not the first one")
		p.once(`document.querySelector('input[name=unit][value="`+want+`"]')`, `(e) => e.click()`)
		p.until(unit + ` === ` + quote(want))
		p.tap("7")
		p.tap("Keep the reading")
		p.until(`!location.pathname.endsWith("/read")`)
	}
	take("resistance", "kOhm")
	take("temperature", "[degF]")
	for quantity, want := range map[string]string{"resistance": "kOhm", "temperature": "[degF]"} {
		open(quantity)
		p.until(unit + ` === ` + quote(want))
	}
	p.sees("All sent")
	var units []any
	for _, b := range p.bodies(job, "reading") {
		units = append(units, b["unit"])
	}
	assert.Equal(t, []any{"kOhm", "[degF]"}, units)
}

// A signature names the SHA-256 of exactly those pictures that were on the screen: not one that is no part of it, and not one that could not be shown.
func TestSignedForWhatWasShown(t *testing.T) {
	t.Parallel()
	s, p, dir := openShop(t), newPhone(t), t.TempDir()
	job := p.onSite(s)
	at := "http://" + s.addr + "/job/" + job
	var digests, entries []string
	for i := range 3 {
		_, data := photo(t, dir, "damage.jpg", 1200, 900, uint64(70+i), false)
		digests = append(digests, digest(data))
		entries = append(entries, p.takesIn(job, `{ subject: "damage-close" }`, data))
	}
	p.writes(job, "damage", `{ area: "floor", kind: "scratched", seen: "on-arrival", photos: [`+quote(entries[0])+`, `+quote(entries[1])+`] }`)
	p.open(at)
	p.sees("All sent")
	p.open(at + "/sign?about=damage-on-arrival")
	p.sees("I have seen these pictures.")
	shown := `[...document.querySelectorAll("main .shots img")].filter((i) => i.complete && i.naturalWidth > 0).length`
	p.until(shown + ` === 2`)
	numbers := ask[[]string](p, `[...document.querySelectorAll("main .shots .nr")].map((n) => n.innerText)`)
	onScreen := ask[[]string](p, `fetch("/api/v1/jobs/`+job+`").then((r) => r.json()).then((j) => [`+quote(numbers[0])+`, `+quote(numbers[1])+`].map((n) => j.photos.find((x) => String(x.number) === n).body.digest))`)
	assert.Equal(t, digests[:2], onScreen)
	p.draw()
	p.tap("Keep")
	p.until(`!location.pathname.endsWith("/sign")`)
	p.sees("All sent")
	signed := p.bodies(job, "acknowledge")
	require.Len(t, signed, 1)
	assert.Equal(t, []any{onScreen[0], onScreen[1]}, signed[0]["shownDigests"])
	assert.Equal(t, []any{entries[0], entries[1]}, signed[0]["shown"])

	// One of them is not on this phone, and there is no line to fetch it by.
	s.cut()
	ask[bool](p, `new Promise((done) => { const q = indexedDB.open("kickplate"); q.onsuccess = () => { const d = q.result, tx = d.transaction(["thumbs", "files"], "readwrite");
		for (const store of ["thumbs", "files"]) tx.objectStore(store).delete(`+quote(digests[1])+`);
		tx.oncomplete = () => { d.close(); done(true); }; }; })`)
	p.open(at + "/sign?about=damage-on-arrival")
	p.sees("1 picture is not shown here yet: it is not signed for.")
	p.until(shown + ` === 1`)
	p.sound("a signature for pictures of which one is missing")
	p.draw()
	p.tap("Keep")
	p.until(`!location.pathname.endsWith("/sign")`)
	s.mend()
	p.allSent(s)
	signed = p.bodies(job, "acknowledge")
	require.Len(t, signed, 2)
	assert.Equal(t, []any{digests[0]}, signed[1]["shownDigests"])
}

// A photo that is too dark is called that right after it was taken, with what to do.
func TestTooDark(t *testing.T) {
	t.Parallel()
	s, p, dir := openShop(t), newPhone(t), t.TempDir()
	p.onSite(s)
	lit, data := photo(t, dir, "lit.jpg", 1600, 1200, 85, false)
	img, err := jpeg.Decode(bytes.NewReader(data))
	require.NoError(t, err)
	night := image.NewGray(img.Bounds()) // the same scene with an eighteenth of its brightness
	for y := range 1200 {
		for x := range 1600 {
			r, _, _, _ := img.At(x, y).RGBA()
			night.Pix[y*night.Stride+x] = uint8((r >> 8) / 18)
		}
	}
	var b bytes.Buffer
	require.NoError(t, jpeg.Encode(&b, night, &jpeg.Options{Quality: 92}))
	dark := filepath.Join(dir, "dark.jpg")
	require.NoError(t, os.WriteFile(dark, b.Bytes(), 0o600))
	says := "It is too dark. Use the torch and take it again."
	p.shoot("Open the camera", dark)
	p.sees(says)
	p.sound("a photo that is too dark")
	p.shoot("Take it again", lit)
	p.sees("Sharp and well lit")
	p.until(`!document.body.innerText.includes(` + quote(says) + `)`)
}

func num[N int | float64](n N) string { return fmt.Sprint(n) }
