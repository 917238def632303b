package bundle

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"kickplate/claims"
)

// The report as an independent reader (poppler) takes it.
func TestReportText(t *testing.T) {
	data, _ := pack(t, goodParcel(t))
	dir := unpack(t, data)
	text := tool(t, "poppler-utils", dir, "pdftotext", "-layout", "data/report.pdf", "-")
	pages := strings.Split(strings.TrimRight(text, "\f"), "\f")
	t.Run("page one answers the reviewer", func(t *testing.T) {
		for _, want := range []string{"BC/88-1021", "BH-FF220", "K7 41 0093", "2025-01-18", "Brightholm Care", "gets warm", "Defrost heater open", "Heater replaced", "BH-20-771", "196.45 USD", "Checklist: complete", "Rating plate: photo 1"} {
			assert.Contains(t, pages[0], want)
		}
	})
	t.Run("the rest", func(t *testing.T) {
		for _, want := range []string{"8 Damage, close", "open circuit", "33.1 Ω", "Struck from the account", "taken of the wrong unit", "the point was missing", "sniffed", "the display is dead", "may be blurred",
			"corroborated", "sha256sum -c manifest-sha256.txt", "Grüße, Ελλάδα, Москва", "□ stands for a character"} {
			assert.Contains(t, strings.Join(strings.Fields(text), " "), want)
		}
		assert.NotContains(t, text, "修")
	})
	t.Run("pages are numbered", func(t *testing.T) {
		for i, page := range pages {
			assert.Contains(t, page, fmt.Sprintf("Page %d of %d", i+1, len(pages)))
		}
	})
	t.Run("bookmarks", func(t *testing.T) {
		list := tool(t, "qpdf", dir, "qpdf", "--json=2", "--json-key=outlines", "data/report.pdf")
		for _, want := range []string{"Summary", "Checklist", "Readings", "Photos", "Custody and how to check"} {
			assert.Contains(t, list, want)
		}
	})
	t.Run("no words of promise that nobody can keep", func(t *testing.T) {
		for name, content := range open(t, data).data {
			for _, word := range []string{"tamper-proof", "tamperproof", "admissible", "court-proof", "legally binding"} {
				assert.NotContains(t, strings.ToLower(string(content)), word, name)
			}
		}
		assert.NotContains(t, strings.ToLower(text), "admissible")
	})
}

// Long texts, long words and rows longer than a page stay on the paper.
func TestReportHoldsLongTexts(t *testing.T) {
	s := newScene(t)
	long := strings.Repeat("water under the door ", 380)
	word := strings.Repeat("W", 3000)
	s.add(claims.KindOpen, claims.Open{Number: strings.Repeat("9", 150), Complaint: long + "END-OF-COMPLAINT"})
	s.add(claims.KindUnit, claims.Unit{Kind: "refrigerator", Model: strings.Repeat("M", 200), Unreadable: long})
	s.add(claims.KindDamage, claims.Damage{Area: "floor", Kind: "wet", Seen: "on-arrival", Words: word + long[:4000] + "END-OF-DAMAGE"})
	s.add(claims.KindNote, claims.Note{Text: strings.Repeat("line\n", 1500) + "END-OF-NOTE {nb} \x01 \u202e\ufeff"})
	for i := range 12 {
		s.photo("symptom", "liner", drawn(64+8*(i%3), 48+16*(i%2), float64(i)), func(p *claims.Photo, _ *claims.PhotoFacts) { p.Caption = long })
	}
	data, _ := pack(t, s.parcel())
	dir := unpack(t, data)
	tool(t, "qpdf", dir, "qpdf", "--check", "data/report.pdf")
	text := tool(t, "poppler-utils", dir, "pdftotext", "-layout", "data/report.pdf", "-")
	for _, want := range []string{"END-OF-COMPLAINT", "END-OF-DAMAGE", "END-OF-NOTE"} {
		assert.Contains(t, text, want)
	}
	// Every word lies within the page: poppler gives the box of each.
	boxes := tool(t, "poppler-utils", dir, "pdftotext", "-bbox", "data/report.pdf", "-")
	found := regexp.MustCompile(`<word xMin="([0-9.-]+)" yMin="([0-9.-]+)" xMax="([0-9.-]+)" yMax="([0-9.-]+)">`).FindAllStringSubmatch(boxes, -1)
	require.Greater(t, len(found), 1000)
	for _, b := range found {
		var x1, y1, x2, y2 float64
		_, err := fmt.Sscan(b[1]+" "+b[2]+" "+b[3]+" "+b[4], &x1, &y1, &x2, &y2)
		require.NoError(t, err)
		require.True(t, x1 >= 40 && x2 <= 612-40 && y1 >= 20 && y2 <= 792-20, "a word leaves the page: %v", b[0])
	}
}

// Every size of text that people may enter packs, verifies, and gives a PDF that another reader takes.
func TestReportOfAnyText(t *testing.T) {
	dir := t.TempDir()
	rapid.Check(t, func(rt *rapid.T) {
		d := &Document{Title: rapid.String().Draw(rt, "title"), Foot: rapid.String().Draw(rt, "foot"), Sections: []Section{{ID: "a", Title: rapid.String().Draw(rt, "section"), Blocks: []Block{
			Text{Head, rapid.String().Draw(rt, "head")}, Text{Plain, rapid.StringN(0, 3000, -1).Draw(rt, "text")},
			Pairs{Rows: []Pair{{rapid.String().Draw(rt, "label"), rapid.String().Draw(rt, "value"), Plain}}},
			Table{Head: []string{rapid.String().Draw(rt, "column"), "b"}, Widths: []float64{1, 30}, Rows: [][]Cell{{{Text: rapid.StringN(0, 400, -1).Draw(rt, "cell")}, {Text: "x"}}}},
		}}}}
		raw, err := renderPDF(t.Context(), d, &pictureSet{})
		require.NoError(rt, err)
		_, err = renderHTML(d)
		require.NoError(rt, err)
		require.NoError(rt, os.WriteFile(filepath.Join(dir, "a.pdf"), raw, 0o600))
	})
	tool(t, "qpdf", dir, "qpdf", "--check", "a.pdf") // the last one; the loop is about not failing
}

func TestPage(t *testing.T) {
	s := newScene(t)
	attack := `"><script>alert(1)</script><img src=x onerror=alert(1)> javascript:alert(1) </style>`
	s.add(claims.KindOpen, claims.Open{Number: "9", Complaint: attack})
	s.photo("symptom", "", drawn(64, 48, 1), func(p *claims.Photo, _ *claims.PhotoFacts) { p.Caption = attack })
	s.add(claims.KindReading, claims.Reading{Component: "defrost-heater", Quantity: "resistance", Value: "33", Unit: "Ohm", Where: attack,
		Profile: []byte(`{"name":"heater-450w-120v","title":"<script>alert(2)</script>"}`)})
	s.add(claims.Kind("odd"), map[string]any{"x": attack})
	data, _ := pack(t, s.parcel())
	page := string(open(t, data).data["data/index.html"])
	low := strings.ToLower(page)
	for _, bad := range []string{"<script", "<img src=x", "onerror=alert(1)>"} {
		assert.False(t, strings.Contains(low, bad), bad)
	}
	for _, ref := range regexp.MustCompile(`(?:src|href)="([^"]*)"`).FindAllStringSubmatch(page, -1) {
		if strings.HasPrefix(ref[1], "#") {
			assert.Contains(t, page, `id="`+ref[1][1:]+`"`)
			continue
		}
		assert.NotContains(t, ref[1], ":", "a link leads out of the bundle")
		assert.NotNil(t, open(t, data).data["data/"+ref[1]], "the link %s leads nowhere", ref[1])
	}
	assert.False(t, strings.Contains(strings.ReplaceAll(low, `xmlns="http://www.w3.org/2000/svg"`, ""), "://"), "nothing is fetched")
}

// The page opened from the unzipped folder in a real browser, with no network: all its pictures load, nothing is wider than a phone.
func TestPageInBrowser(t *testing.T) {
	data, _ := pack(t, goodParcel(t))
	dir := unpack(t, data)
	probe := `<script>addEventListener("load",()=>{let b=[...document.images].filter(i=>{i.loading="eager";return !i.complete||!i.naturalWidth}).length;` +
		`document.title="broken="+b+" images="+document.images.length+" wide="+(document.documentElement.scrollWidth>innerWidth)})</script>`
	file := filepath.Join(dir, "data/index.html")
	page, err := os.ReadFile(file)
	require.NoError(t, err)
	page = regexp.MustCompile(`<meta http-equiv="Content-Security-Policy"[^>]*>`).ReplaceAll(page, nil)
	page = bytes.ReplaceAll(page, []byte(` loading="lazy"`), nil)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "data/probe.html"), append(page, probe...), 0o600))
	for _, width := range []int{500, 1280} { // headless Chromium has no window narrower than 500
		out := tool(t, "chromium", dir, "chromium", "--headless=new", "--no-sandbox", "--disable-dev-shm-usage", "--disable-gpu", "--allow-file-access-from-files",
			"--user-data-dir="+t.TempDir(), fmt.Sprintf("--window-size=%d,900", width), "--virtual-time-budget=4000", "--dump-dom", "file://"+filepath.Join(dir, "data/probe.html"))
		title := regexp.MustCompile(`<title>([^<]*)</title>`).FindStringSubmatch(out)
		require.NotNil(t, title)
		assert.Equal(t, "broken=0 images=8 wide=false", title[1])
	}
}

// RFC 4180 as the standard library reads it; cells that a spreadsheet would calculate are made harmless and can be had back.
func TestCSV(t *testing.T) {
	data, _ := pack(t, goodParcel(t))
	raw := open(t, data).data["data/evidence.csv"]
	assert.Equal(t, bytes.Count(raw, []byte("\n")), bytes.Count(raw, []byte("\r\n")))
	r := csv.NewReader(bytes.NewReader(raw))
	rows, err := r.ReadAll()
	require.NoError(t, err)
	assert.Equal(t, csvHead(), rows[0])
	kinds := map[string]int{}
	for _, row := range rows[1:] {
		kinds[row[0]]++
		for _, cell := range row {
			if cell != "" && !plainDecimal(cell) {
				assert.NotContains(t, "=+-@\t", cell[:1])
			}
		}
	}
	assert.Equal(t, map[string]int{"photo": 8, "reading": 2, "cause": 1, "correction": 1, "damage": 2, "part": 1, "labour": 1, "trip": 1, "bill-line": 3, "acknowledgement": 1, "note": 1, "waiver": 1, "struck photo": 1, "unknown sniffed": 1}, kinds)
	assert.Contains(t, string(raw), `"'=HYPERLINK(`)

	rapid.Check(t, func(rt *rapid.T) {
		s := rapid.String().Draw(rt, "cell")
		cell := claims.SafeCell(s)
		back := strings.TrimPrefix(cell, "'")
		want := strings.NewReplacer("\r\n", "\n", "\r", "\n", "\x00", "").Replace(s)
		require.Equal(rt, want, back)
		require.False(rt, cell != "" && !plainDecimal(cell) && strings.ContainsRune("=+-@\t", rune(cell[0])))
	})
}

func plainDecimal(s string) bool { return regexp.MustCompile(`^-?[0-9]+(\.[0-9]+)?$`).MatchString(s) }
