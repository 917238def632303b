package bundle

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

func deviceWords(t *testing.T, spoil func(*scene)) string {
	s := newScene(t)
	s.seq, s.prev = 10, claims.DigestOf([]byte("on another job")) // the phone wrote there before
	s.add(claims.KindOpen, claims.Open{Number: "5", Complaint: "Leaks."})
	spoil(s)
	s.add(claims.KindNote, claims.Note{Text: "one"})
	s.add(claims.KindNote, claims.Note{Text: "two"})
	data, _ := pack(t, s.parcel())
	text := tool(t, "poppler-utils", unpack(t, data), "pdftotext", "-layout", "data/report.pdf", "-")
	return strings.Join(strings.Fields(text), " ")
}

// What a bundle can tell of the order on a device, and no more.
func TestDevices(t *testing.T) {
	t.Run("whole", func(t *testing.T) {
		text := deviceWords(t, func(*scene) {})
		assert.Contains(t, text, "phone-2: 3 entries of this job, numbered 11 to 13 by the device. Where one follows another here it carries that one's hash.")
		assert.NotContains(t, text, "in between")
	})
	t.Run("other jobs in between", func(t *testing.T) {
		text := deviceWords(t, func(s *scene) { s.seq += 4 })
		assert.Contains(t, text, "numbered 11 to 17 by the device.")
		assert.Contains(t, text, "4 numbers in between are not in this bundle: they may stand on other jobs, not have been sent, or be lost.")
	})
	t.Run("broken", func(t *testing.T) {
		text := deviceWords(t, func(s *scene) { s.prev = claims.DigestOf([]byte("something else")) })
		assert.Contains(t, text, "does not carry the hash of entry 11")
		assert.NotContains(t, text, "Where one follows another")
	})
}

// The server's own remarks about photos take one row together; what people did keeps a row each.
func TestServersRemarksTakeOneRow(t *testing.T) {
	s := newScene(t)
	s.add(claims.KindOpen, claims.Open{Number: "6", Complaint: "Hums."})
	for i := range 3 {
		s.photo("symptom", "", drawn(64, 48, float64(20+i)), nil)
	}
	for i := range 3 {
		data := drawn(64, 48, float64(20+i))
		s.add(claims.KindExamined, claims.PhotoFacts{Digest: claims.DigestOf(data), Bytes: int64(len(data)), Type: "image/jpeg", Width: 64, Height: 48, Sharp: "yes", Dark: "no", Bright: "no", Examiner: "again"})
	}
	p := s.parcel()
	data, _ := pack(t, p)
	text := tool(t, "poppler-utils", unpack(t, data), "pdftotext", "-layout", "data/report.pdf", "-")
	last := p.Records[len(p.Records)-1].Leaf
	assert.Regexp(t, fmt.Sprintf(`examined, 4 times +\S+ \S+ \S+ +%d–%d`, last-3, last), text)
	assert.Equal(t, 3, strings.Count(text, "examined"), text)
	assert.Contains(t, text, "photo 3")
}

// No title of a section and no head of a table stands alone at the foot of a page.
func TestTitlesDoNotStandAlone(t *testing.T) {
	for fill := range 60 {
		d := &Document{Title: "T", Sections: []Section{{ID: "a", Title: "A", Blocks: []Block{Text{Plain, strings.Repeat("x\n", fill) + "x"}}},
			{ID: "b", Title: "TITLE-B", Blocks: []Block{Text{Quiet, "intro"}, Table{Head: []string{"HEAD-B", "c"}, Widths: []float64{1, 1}, Rows: [][]Cell{{{Text: "ROW-B\n2\n3\n4\n5"}, {Text: "1.00", Right: true}}}}}}}}
		raw, err := renderPDF(t.Context(), d, &pictureSet{})
		require.NoError(t, err)
		dir := t.TempDir()
		require.NoError(t, os.WriteFile(filepath.Join(dir, "a.pdf"), raw, 0o600))
		for _, page := range strings.Split(tool(t, "poppler-utils", dir, "pdftotext", "-layout", "a.pdf", "-"), "\f") {
			assert.Equal(t, strings.Contains(page, "TITLE-B"), strings.Contains(page, "ROW-B"), "after %d lines", fill)
			assert.Equal(t, strings.Contains(page, "HEAD-B"), strings.Contains(page, "ROW-B"), "after %d lines", fill)
		}
	}
}
