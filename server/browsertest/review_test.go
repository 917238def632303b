package browsertest

import (
	"archive/zip"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// From the desk's link to a stranger's phone: the bundle is read and checked there without an account, a changed byte on the shop's disk
// is said, the other side adds its word, and an ended link opens nothing.
func TestReviewByLink(t *testing.T) {
	t.Parallel()
	s, desk, dir := openShop(t), newPhone(t), shotsDir(t)
	desk.open(s.enter)
	desk.tap("Come in")
	desk.sees("There are no jobs yet")
	desk.ready()
	job := desk.aJob(s)
	desk.open(job)
	desk.tap("Build the bundle")
	desk.sees("Bundle 1")
	desk.tap("Links to the bundle")
	desk.tap("Make a link")
	desk.sees("Say whom the link is for.")
	desk.tap("the customer")
	desk.fill("Name", "R. Ostrander")
	desk.tap("They may add a statement and pictures of their own")
	desk.tap("Make a link")
	desk.until(`document.querySelector("[data-link]")`)
	link := ask[string](desk, `document.querySelector("[data-link]").innerText.trim()`)
	require.True(t, strings.HasPrefix(link, "http://"+s.addr+"/r#shop."), link)
	desk.sees("Not opened yet.")
	desk.sound("links on the job page")
	desk.fits("links on the job page")
	ask[bool](desk, `(document.querySelector("details.links").scrollIntoView(), true)`)
	desk.picture(filepath.Join(dir, "links-390.png"))

	t.Run("read and checked by a stranger", func(t *testing.T) {
		p := newPhone(t)
		p.open(link)
		p.sees("Nothing in the bundle was changed since it was built.")
		p.sees("For R. Ostrander. This link works until")
		heads := ask[[]string](p, `[...document.querySelectorAll("section h2 .step")].map((e) => e.parentNode.innerText.replace(/^\d+\s*/, ""))`)
		assert.Equal(t, []string{"Rating plate", "Dates", "Symptom", "Readings", "Failed part", "Fitted part", "Result"}, heads)
		for _, text := range []string{"NV-418", "AB1234567", "Fresh-food side is warm", "Defrost heater open", "OL"} {
			p.sees(text)
		}
		assert.Equal(t, 0, ask[int](p, `navigator.serviceWorker.getRegistrations().then((r) => r.length)`), "no service worker on a stranger's phone")
		assert.Empty(t, ask[string](p, `document.cookie`), "no script can read what it holds")
		assert.Equal(t, link, ask[string](p, `location.href`), "the address can be opened again")
		for _, scheme := range []string{"light", "dark"} {
			p.scheme(scheme)
			p.settled()
			p.sound("review " + scheme)
			p.fits("review " + scheme)
			p.picture(filepath.Join(dir, "review-"+scheme+"-390.png"))
		}
		p.scheme("light")
		p.wide(filepath.Join(dir, "review-390-whole.png"))
		p.text(32)
		p.settled()
		p.fits("review at 200 %")
		p.text(16)
		p.tap("What was checked")
		p.sees("holds")
		p.tap("What this shows, and how to check it yourself")
		p.sees("kickplate verify claim-")
		p.sound("review, all open")
		ask[bool](p, `(document.querySelector("button.shot").click(), true)`)
		p.sees("These are the bytes that the bundle's list names.")
		p.until(`document.querySelector("dialog .pic img")?.naturalWidth > 1000`)
		p.sound("review, one picture")
		p.picture(filepath.Join(dir, "review-photo-390.png"))
		p.tap("Close")
		p.size(1280, 900)
		p.settled()
		p.sound("review at a desk")
		p.picture(filepath.Join(dir, "review-1280.png"))
		p.size(390, 844)

		p.fill("Your name", "R. Ostrander")
		file, _ := photo(t, t.TempDir(), "mine.jpg", 900, 700, 91, false)
		p.do(chromedp.SetUploadFiles(chromedp.CSS(`input[type="file"]`), []string{file}, chromedp.NodeReady))
		p.tap("Send to the shop")
		p.sees("Write what you have to say.")
		p.fill("What you have to say", "The scratch was there when they left.")
		p.tap("Send to the shop")
		p.sees("It is with the shop.")
		p.open("http://" + s.addr + "/r")
		p.sees("This address lacks its last part")
		p.sound("review without a link")
	})
	t.Run("the desk sees it", func(t *testing.T) {
		desk.open(job)
		desk.tap("Links to the bundle")
		desk.sees("Opened once,")
		got := ask[string](desk, `fetch("/api/v1`+strings.Replace(job[len("http://"+s.addr):], "/job/", "/jobs/", 1)+`").then((r) => r.json()).then((j) => j.linkStatements[0].body.from + ": " + j.linkStatements[0].body.words + " " + j.linkStatements[0].body.pictures.length)`)
		assert.Equal(t, "customer: The scratch was there when they left. 1", got)
	})
	t.Run("a changed byte on the shop's disk is said", func(t *testing.T) {
		mend := s.spoil(t, "/data/originals/0001")
		p := newPhone(t)
		p.open(link)
		p.sees("do not hold")
		p.sees("data/originals/0001")
		p.sees("do not rely on what is shown here")
		ask[bool](p, `(document.querySelector("button.shot").click(), true)`)
		p.sees("could not be read to its end")
		p.tap("Close")
		p.sees("One file is not what the bundle's list says")
		p.settled()
		p.sound("review, broken")
		p.picture(filepath.Join(dir, "review-broken-390.png"))
		mend()
	})
	t.Run("ended", func(t *testing.T) {
		p := newPhone(t)
		p.open(link)
		p.sees("Nothing in the bundle was changed")
		desk.tap("End this link")
		desk.until(`document.querySelector("dialog[open]")`)
		ask[bool](desk, `([...document.querySelectorAll("dialog[open] button")].find((b) => b.innerText === "End this link").click(), true)`)
		desk.sees("ended")
		p.do(chromedp.Reload())
		p.sees("This link is not good, or not good any more.")
		assert.NotContains(t, ask[string](p, `document.body.innerText`), "Ostrander")
		p.sound("review, ended")
		p.picture(filepath.Join(dir, "review-ended-390.png"))
	})
}

// spoil changes one byte of a file within the newest bundle on the disk, and returns what mends it.
func (s *shop) spoil(t *testing.T, within string) (mend func()) {
	t.Helper()
	var path string
	var at int64
	require.NoError(t, filepath.WalkDir(filepath.Join(s.data, "originals"), func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		z, err := zip.OpenReader(name)
		if err != nil {
			return nil // a photo
		}
		defer z.Close()
		for _, f := range z.File {
			if strings.Contains(f.Name, within) {
				offset, err := f.DataOffset()
				if err != nil {
					return err
				}
				path, at = name, offset+int64(f.CompressedSize64/2)
			}
		}
		return nil
	}))
	require.NotEmpty(t, path, "no bundle on the disk has %s", within)
	flip := func() {
		require.NoError(t, os.Chmod(path, 0o600))
		f, err := os.OpenFile(path, os.O_RDWR, 0)
		require.NoError(t, err)
		defer f.Close()
		b := make([]byte, 1)
		_, err = f.ReadAt(b, at)
		require.NoError(t, err)
		b[0] ^= 0x55
		_, err = f.WriteAt(b, at)
		require.NoError(t, err)
	}
	flip()
	return flip
}
