package browsertest

import (
	"archive/zip"
	"bytes"
	"encoding/base64"
	"fmt"
	"image"
	"image/jpeg"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// download is what the server answers at an address, through the page.
func (p *phone) download(path string) []byte {
	p.t.Helper()
	raw, err := base64.StdEncoding.DecodeString(ask[string](p, `fetch(`+quote(path)+`).then((r) => r.blob()).then((b) => new Promise((done) => { const f = new FileReader(); f.onload = () => done(f.result.split(",")[1]); f.readAsDataURL(b); }))`))
	require.NoError(p.t, err)
	return raw
}

// program runs one of the program's commands and returns what it says.
func (s *shop) run(args ...string) (string, error) {
	out, err := exec.Command(s.program, args...).CombinedOutput()
	return string(out), err
}

// unzipped are a bundle's files, without the folder's name.
func unzipped(t *testing.T, data []byte) map[string][]byte {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	require.NoError(t, err)
	out := map[string][]byte{}
	for _, f := range z.File {
		r, err := f.Open()
		require.NoError(t, err)
		raw, err := io.ReadAll(r)
		require.NoError(t, err)
		_, name, _ := strings.Cut(f.Name, "/")
		out[name] = raw
	}
	return out
}

// A cover is drawn by pointing and without; the bundle shows the covered picture, its check passes, and the page in it shows it too.
func TestCoverInBundle(t *testing.T) {
	t.Parallel()
	s, p, dir := openShop(t), newPhone(t), shotsDir(t)
	job := p.onSite(s)
	file, data := photo(t, t.TempDir(), "unit.jpg", 1600, 1200, 71, false)
	p.shoot("Open the camera", file)
	p.sees("Sharp and well lit")
	p.allSent(s)
	p.open("http://" + s.addr + "/job/" + job)
	p.openPhoto(0)
	p.tap("Cover something")
	p.until(`document.querySelector(".marks-layer.covers")`)
	shapes := func(n int) {
		p.until(fmt.Sprintf(`document.querySelectorAll(".covers rect, .covers ellipse").length === %d`, n))
	}
	p.touch(100, 200, 300, 600) // in one stroke
	shapes(1)
	p.tap("Oval")
	p.touch(900, 200, 900, 200) // by two taps, from the right to the left
	p.sees("Now tap the opposite corner")
	p.touch(600, 500, 600, 500)
	shapes(2)
	p.tap("Rectangle")
	p.tap("Place one in the middle") // without pointing
	shapes(3)
	for range 4 {
		p.press(`button[aria-label="Down"]`)
	}
	p.press(`button[aria-label="Wider"]`)
	p.settled()
	p.sound("covering a photo")
	p.fits("covering a photo")
	p.picture(filepath.Join(dir, "cover-390.png"))
	p.size(1280, 800)
	p.picture(filepath.Join(dir, "cover-1280.png"))
	p.tap("Keep the covers")
	p.until(`!location.pathname.endsWith("/cover")`)
	p.allSent(s)
	sent := p.bodies(job, "cover")
	require.Len(t, sent, 1)
	list := sent[0]["shapes"].([]any)
	require.Len(t, list, 3)
	assert.InDelta(t, 600, list[1].(map[string]any)["x1"], 3, "from whichever corner it was drawn")
	assert.Equal(t, map[string]any{"shape": "rectangle", "x1": 375.0, "y1": 500.0, "x2": 625.0, "y2": 700.0}, list[2], "moved down four times, then wider")

	p.open("http://" + s.addr + "/job/" + job)
	p.openPhoto(0)
	p.sees("3 shapes lie over it")
	p.tap("Close")
	p.sees("(1 photo has a cover)")
	p.until(`[...document.querySelectorAll("label.tick")].find((l) => l.innerText.includes("what is covered"))?.querySelector("input").checked`) // drawn for a reason
	p.tap("Build the bundle")
	p.sees("Bundle 1")
	p.sees("left out: what is covered in photos")
	p.picture(filepath.Join(dir, "cover-bundle-1280.png"))
	p.open("http://" + s.addr + "/job/" + job)
	p.sees("As chosen for Norrvik Care the last time.")

	bundle := p.download("/api/v1/jobs/" + job + "/bundles/1")
	path := filepath.Join(t.TempDir(), "b.zip")
	require.NoError(t, os.WriteFile(path, bundle, 0o600))
	said, err := s.run("verify", path)
	require.NoError(t, err, said)
	assert.Contains(t, said, "1 photo is covered by hand")
	files := unzipped(t, bundle)
	var covered, thumb []byte
	for name, raw := range files {
		assert.NotEqual(t, data, raw, "the original is held back")
		if strings.HasSuffix(name, "-covered.jpg") {
			covered = raw
		}
		if strings.HasPrefix(name, "data/thumbnails/") {
			thumb = raw
		}
	}
	for _, raw := range [][]byte{covered, thumb} {
		img, err := jpeg.Decode(bytes.NewReader(raw))
		require.NoError(t, err)
		for _, at := range [][2]int{{200, 400}, {750, 350}, {500, 600}} { // the middles of the three, in thousandths
			assert.Less(t, bright(img, at), 30, "%v", at)
		}
	}
	// The page in the bundle, unpacked, shows the covered picture.
	folder := t.TempDir()
	for name, raw := range files {
		require.NoError(t, os.MkdirAll(filepath.Dir(filepath.Join(folder, name)), 0o755))
		require.NoError(t, os.WriteFile(filepath.Join(folder, name), raw, 0o644))
	}
	p.open("file://" + filepath.Join(folder, "data", "index.html"))
	p.sees("parts of the picture are covered by hand")
	p.until(`(() => { const i = [...document.images].find((i) => i.src.includes("thumbnails/")); i?.scrollIntoView(); return i?.complete && i.naturalWidth > 0; })()`)
	p.picture(filepath.Join(dir, "cover-page-1280.png"))
}

func bright(img image.Image, at [2]int) int {
	b := img.Bounds()
	r, g, bl, _ := img.At(b.Min.X+at[0]*b.Dx()/1000, b.Min.Y+at[1]*b.Dy()/1000).RGBA()
	return int((r + g + bl) / 3 / 257)
}

// The owner hands over a copy, puts a job under a hold and lifts it, and erases the customer; a phone that held the job drops it; the log still holds.
func TestEraseCustomer(t *testing.T) {
	t.Parallel()
	s, p, dir := openShop(t), newPhone(t), shotsDir(t)
	p.signIn(s)
	p.size(1280, 800)
	job := p.worked("Ottoline Quillfeather", "Q-1", 9, nil)
	again := p.worked("ottoline quillfeather", "Q-2", 200, nil)
	p.worked("R. Ostrander", "O-1", 3, nil)
	p.told(job, "settle", time.Hour, map[string]any{"outcome": "paid"})

	van := newPhone(t)
	token := p.pairing()
	van.open("http://" + s.addr + "/#pair=" + token)
	van.tap("Let this phone in")
	van.sees("R. Ostrander")
	van.open("http://" + s.addr + "/job/" + job)
	van.sees("Ottoline Quillfeather")

	p.open("http://" + s.addr + "/job/" + job)
	p.sees("Ottoline Quillfeather")
	p.tap("Build the bundle")
	p.sees("Bundle 1")
	p.press(`a[href="/privacy?job=` + job + `"]`)
	p.sees("Jobs of this customer")
	p.sees("same name")
	p.tap("Save the copy")
	p.says("Copy made (")

	p.tap("Put this job under a hold")
	p.sees("Say why.")
	p.fill("Who asks for it, and why", "the insurer asks for it")
	p.tap("Put this job under a hold")
	p.sees("This job is under a legal hold.")
	p.tap("See what would go")
	p.sees("Under a legal hold: the insurer asks for it")
	assert.True(t, ask[bool](p, `[...document.querySelectorAll("button")].find((b) => b.innerText === "Erase for good …").disabled`))
	p.fill("Why it is lifted", "the insurer has closed the case")
	p.tap("Lift the hold")
	p.says("The hold is lifted.")

	p.once(`[...document.querySelectorAll("label.tick")].find((l) => l.innerText.includes("Q-2"))?.querySelector("input:not(:checked)")`, `(e) => e.click()`)
	p.tap("See what would go of 2 jobs")
	p.sees("Goes:")
	p.sees("Before you erase")
	p.settled()
	p.sound("before erasing")
	p.picture(filepath.Join(dir, "privacy-erase-1280.png"))
	p.size(390, 844)
	p.settled()
	p.sound("before erasing, small")
	p.fits("before erasing")
	ask[bool](p, `(document.querySelector("#h-erase").scrollIntoView(), true)`)
	p.picture(filepath.Join(dir, "privacy-erase-390.png"))
	p.size(1280, 800)
	for _, w := range ask[[]string](p, `[...document.querySelectorAll("fieldset")].find((f) => f.innerText.includes("Before you erase")) ? [...[...document.querySelectorAll("fieldset")].find((f) => f.innerText.includes("Before you erase")).querySelectorAll("label")].map((l) => l.innerText.trim()) : []`) {
		p.tap(w)
	}
	p.fill("Reason", "letter of Mrs Quillfeather")
	p.tap("Erase for good …")
	p.sees("It can't be called back, by nobody.")
	p.sound("the last question before erasing")
	p.tap("Erase now")
	p.sees("must not name the customer")
	p.fill("Reason", "letter of 3 March")
	p.tap("Erase for good …")
	p.tap("Erase now")
	p.sees("The content of 2 jobs is gone.")
	p.picture(filepath.Join(dir, "privacy-done-1280.png"))
	p.open("http://" + s.addr + "/job/" + job)
	p.sees("The content of this job was erased.")
	p.sees("letter of 3 March")
	p.settled()
	p.sound("an erased job")
	p.picture(filepath.Join(dir, "privacy-shell-1280.png"))
	p.size(390, 844)
	p.settled()
	p.fits("an erased job")
	p.picture(filepath.Join(dir, "privacy-shell-390.png"))

	// The van's phone learns of it when it next looks, and keeps nothing.
	van.open("http://" + s.addr + "/")
	van.sees("R. Ostrander")
	van.until(`!document.body.innerText.includes("Quillfeather")`)
	van.until(`(` + everything + `).then((text) => !text.includes("Quillfeather"))`)
	van.open("http://" + s.addr + "/job/" + job)
	van.sees("The content of this job was erased.")
	p.until(`(` + everything + `).then((text) => !text.toLowerCase().includes("quillfeather"))`)

	// Nothing of her is left in the shop's files, and the log is whole.
	s.kill()
	require.NoError(t, filepath.WalkDir(s.data, func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		raw, err := os.ReadFile(path)
		require.NoError(t, err)
		assert.False(t, bytes.Contains(bytes.ToLower(raw), []byte("quillfeather")), "%s", path)
		return nil
	}))
	said, err := s.run("custody", "check", "--data", s.data)
	require.NoError(t, err, said)
	assert.Contains(t, said, "Everything agrees.")
	assert.Contains(t, said, "Erased: ")
	assert.Contains(t, said, again[:8])
}

// everything is all that a browser's database holds, as text.
const everything = `new Promise((done) => { const q = indexedDB.open("kickplate"); q.onsuccess = () => { const d = q.result, all = []; const tx = d.transaction([...d.objectStoreNames]);
	for (const name of d.objectStoreNames) tx.objectStore(name).getAll().onsuccess = (e) => all.push(JSON.stringify(e.target.result)); tx.oncomplete = () => { d.close(); done(all.join("\n")); }; }; })`

// Rules propose, the owner erases.
func TestRetentionScreen(t *testing.T) {
	t.Parallel()
	s, p := openShop(t), newPhone(t)
	p.signIn(s)
	p.size(1280, 800)
	old := p.worked("Ottoline Quillfeather", "Q-1", 400, nil)
	p.told(old, "settle", 395*day, map[string]any{"outcome": "paid"})
	held := p.worked("Held Holder", "H-1", 400, nil)
	p.told(held, "settle", 395*day, map[string]any{"outcome": "paid"})
	p.told(held, "hold", 390*day, map[string]any{"state": "on", "reason": "the insurer asks"})
	p.worked("R. Ostrander", "O-1", 3, nil)
	p.open("http://" + s.addr + "/privacy")
	p.sees("How long jobs are kept")
	p.fill("Months after the claim was settled", "700")
	p.tap("Keep these rules")
	p.sees("A term is 1 to 600 months")
	p.fill("Months after the claim was settled", "12")
	p.tap("Keep these rules")
	p.says("Rules kept")
	p.tap("See what is due")
	p.sees("1 job is due")
	p.sees("under a legal hold: the insurer asks")
	p.look("http://"+s.addr+"/privacy", "How long jobs are kept", "privacy")
	p.tap("See what is due")
	p.sees("1 job is due")
	p.settled()
	p.sound("what is due")
	p.picture(filepath.Join(shotsDir(t), "privacy-due-1280.png"))
	p.tap("Erase 1 job …")
	p.tap("Erase now")
	p.says("1 job erased.")
	p.tap("What was done so far")
	p.sees("1 job erased")
	p.open("http://" + s.addr + "/job/" + old)
	p.sees("The shop's rule: kept for 12 months after the claim was settled.")
	p.open("http://" + s.addr + "/job/" + held)
	p.sees("Held Holder")
	p.sees("Under a legal hold since")
}
