package browsertest

import (
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The demo's day as README shows it: with KICKPLATE_SHOTS these are its pictures (pwa/screenshots). The screens hold real pictures here, of
// jobs in every state, and are held against axe-core as well.
func TestPicturesOfReadme(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(shotsDir(t), "readme")
	require.NoError(t, os.MkdirAll(dir, 0o755))
	s := &shop{t: t, program: program, data: t.TempDir(), line: newLine(t)}
	said, err := s.run("demo", "--data", s.data, "--no-serve")
	require.NoError(t, err, said)
	assert.NotContains(t, said, "FAILS")
	s.start()
	t.Cleanup(s.kill)
	p := newPhone(t)
	p.open(s.enter)
	p.tap("Come in")
	p.sees("Maren Tindle")
	p.ready()
	at := "http://" + s.addr
	jobOf := func(customer string) string {
		return ask[string](p, `fetch("/api/v1/jobs?q=`+url.QueryEscape(customer)+`").then((r) => r.json()).then((page) => page.jobs[0].job)`)
	}
	dishwasher, disputed := jobOf("Brightwater"), jobOf("Harrow-Vale")
	shot := func(name, path, sees string) {
		p.open(at + path)
		p.sees(sees)
		p.sees("All sent")
		p.settled()
		p.sound("the demo's " + name)
		p.picture(filepath.Join(dir, name+".png"))
	}
	p.open(at + "/jobs")
	p.tap("Later")
	shot("jobs", "/jobs", "Nothing missing")
	shot("visit", "/job/"+dishwasher+"/visit?stage=measure", "Stored charge")
	shot("missing", "/job/"+dishwasher+"/missing", "The photo of the rating plate is blurred.")
	shot("read", "/job/"+dishwasher+"/read?plan=drain-pump-ohms", "Winding of the drain pump")
	p.size(1280, 800)
	shot("board", "/board", "Still to come")
	shot("dispute", "/job/"+disputed+"/dispute", "Shown before work")

	bundle := filepath.Join(s.data, "bundles", "claim-pwc-88217-v1.zip")
	report := filepath.Join(t.TempDir(), "report.pdf")
	raw, err := os.ReadFile(bundle)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(report, unzipped(t, raw)["data/report.pdf"], 0o644))
	out, err := exec.Command("pdftoppm", "-png", "-r", "60", "-f", "1", "-l", "1", report, filepath.Join(dir, "report")).CombinedOutput()
	require.NoError(t, err, "%s (Debian package poppler-utils)", out)
}
