package browsertest

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A list of customers is looked at, its bad line is named, and a new job is filled in from what was kept.
func TestImport(t *testing.T) {
	t.Parallel()
	s, p, dir := openShop(t), newPhone(t), shotsDir(t)
	p.open(s.enter)
	p.tap("Come in")
	p.sees("There are no jobs yet")
	p.ready()
	p.open("http://" + s.addr + "/phone")
	p.sees("Customers and units from a list")
	file := filepath.Join(t.TempDir(), "list.csv")
	require.NoError(t, os.WriteFile(file, []byte("Name;Phone;Address;Unit;Maker;Model;Serial\r\nOttilie Brandt;+1 555 010 0199;9 Kiln Street;dishwasher;Norrvik;NV-418;AB12\r\nJo;;;teapot;;;\r\n"), 0o600))
	p.do(chromedp.SetUploadFiles(chromedp.CSS(`input[type="file"][accept*="csv"]`), []string{file}, chromedp.NodeReady))
	p.sees("1 line can't be taken.")
	p.sees("Write one of:")
	p.sees("9 Kiln Street")
	assert.True(t, ask[bool](p, `[...document.querySelectorAll("button")].find((b) => b.innerText.trim() === "Keep 1 row").disabled`), "not before the bad line is dealt with")
	p.settled()
	p.sound("import")
	p.fits("import")
	ask[bool](p, `(document.getElementById("h-import").scrollIntoView(), true)`)
	p.picture(filepath.Join(dir, "import-390.png"))
	p.tap("Leave that line out")
	p.tap("Keep 1 row")
	p.sees("1 customer is in the list here.")
	p.open("http://" + s.addr + "/new")
	p.fill("Customer", "Brandt")
	p.tap("Ottilie Brandt")
	p.until(`document.querySelector('input[type="tel"]').value === "+1 555 010 0199"`)
	p.sound("new job from the list")
	p.fill("What the customer says is wrong", "Does not drain.")
	p.fill("Payer", "Norrvik Care")
	p.tap("Begin the job")
	p.sees("I have arrived")
	p.sees("All sent")
	id := ask[string](p, `location.pathname.split("/")[2]`)
	p.until(`fetch("/api/v1/jobs/` + id + `").then((r) => r.json()).then((j) => j.unit?.serial === "AB12" && j.customer?.name === "Ottilie Brandt" && j.site?.address === "9 Kiln Street")`)

	p.open("http://" + s.addr + "/phone")
	p.tap("Make an address")
	p.until(`document.querySelector("[data-calendar]")`)
	got := ask[string](p, `fetch(document.querySelector("[data-calendar]").innerText.trim(), { credentials: "omit" }).then((r) => r.text())`)
	assert.Contains(t, got, "BEGIN:VCALENDAR")
	p.sound("calendar address")
	p.fits("calendar address")
}
