package bundle

import (
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

var update = flag.Bool("update", false, "write the bundles in testdata/bundles anew")

// verdict is what a test bundle must come out as; all of them stand in verdicts.json.
type verdict struct {
	Holds bool   `json:"holds"`
	Area  string `json:"area,omitempty"`
	File  string `json:"file,omitempty"`
	Says  string `json:"says,omitempty"`
}

// smallParcel is a job of two photos: its bundle is small enough to keep.
func smallParcel(t testing.TB, hold claims.Hold) claims.Parcel {
	s := newScene(t)
	s.add(claims.KindOpen, claims.Open{Number: "2026-0418", Complaint: "Dryer stops after two minutes.", Technician: "R. Vance"})
	s.add(claims.KindCustomer, claims.Customer{Name: "Jonas Tiller", Phone: "+1 555 010 9090"})
	s.add(claims.KindUnit, claims.Unit{Kind: "dryer-electric", Maker: "Castlemere", Model: "CD-7", Serial: "CD7-00418"})
	s.photo("rating-plate", "", drawn(160, 120, 1), nil)
	wrong := s.photo("failed-part", "dryer-fuse", drawn(160, 120, 2), func(p *claims.Photo, f *claims.PhotoFacts) {
		p.Position = &claims.Position{Lat: 41.5, Lon: -73.9, Accuracy: 20}
		f.GPS = p.Position
	})
	s.entry(claims.KindPhoto, claims.Photo{Digest: claims.DigestOf(drawn(160, 120, 2)), Bytes: int64(len(drawn(160, 120, 2))), Subject: "failed-part", Component: "dryer-thermostat", Source: "camera"}, wrong, "it is the thermostat")
	s.add(claims.KindReading, claims.Reading{Component: "dryer-fuse", Quantity: "resistance", State: "open", Moment: "as-found"})
	s.add(claims.KindStrike, claims.Strike{Entry: s.add(claims.KindNote, claims.Note{Text: "belongs elsewhere"}), Reason: "wrong job"})
	s.add(claims.Kind("later-kind"), map[string]any{"a": 1})
	p := s.parcel()
	p.Hold = hold
	return p
}

// kept are the tampers of which a bundle is kept; every kind is tested in TestVerifyNamesEachTamper.
var kept = []string{"changed original", "missing original", "extra file", "changed manifest", "path out of the bag", "exchanged original", "changed serial", "changed entry"}

// former are bundles that earlier formats left behind; nothing writes them anew.
func former() map[string]verdict {
	return map[string]verdict{"format-1-good.zip": {Holds: true}, "format-1-held-back.zip": {Holds: true},
		"format-1-bad-changed-entry.zip": {false, "custody", "", "was changed"},
		"format-2-good.zip":              {Holds: true}, "format-2-held-back.zip": {Holds: true},
		"format-2-bad-changed-entry.zip": {false, "custody", "", "was changed"}}
}

// The bundles in testdata were made once and must come out the same with every later version of the program. -update writes
// them anew, for a new format or a new kind; the old ones then keep their place beside them.
func TestVectors(t *testing.T) {
	if *update {
		writeVectors(t)
	}
	raw, err := os.ReadFile(vectors + "/verdicts.json")
	require.NoError(t, err)
	var want map[string]verdict
	require.NoError(t, json.Unmarshal(raw, &want))
	files := vectorFiles(t)
	require.Len(t, files, len(want))
	for _, file := range files {
		name := filepath.Base(file)
		t.Run(name, func(t *testing.T) {
			data, err := os.ReadFile(file)
			require.NoError(t, err)
			r := verify(t, data)
			w, ok := want[name]
			require.True(t, ok, "verdicts.json does not speak of it")
			assert.Equal(t, w.Holds, r.Holds, r.Text())
			named := w.Holds
			for _, c := range r.Checks {
				named = named || c.Result == Broken && c.Area == w.Area && strings.Contains(c.File, w.File) && strings.Contains(c.Says, w.Says)
			}
			assert.True(t, named, "want [%s] %s %q in:\n%s", w.Area, w.File, w.Says, r.Text())
		})
	}
}

func writeVectors(t *testing.T) {
	good, _ := pack(t, smallParcel(t, claims.Hold{}))
	held, _ := pack(t, smallParcel(t, claims.Hold{Customer: true, Position: true}))
	about, _ := pack(t, disputeParcel(t, 96, 72))
	files := map[string][]byte{"good.zip": good, "held-back.zip": held, "dispute.zip": about}
	verdicts := map[string]verdict{"good.zip": {Holds: true}, "held-back.zip": {Holds: true}, "dispute.zip": {Holds: true}}
	covered, _ := pack(t, coverParcel(t, claims.Hold{Covered: true}))
	files["covered.zip"], files["bad-not-covered.zip"] = covered, uncover(t, covered)
	verdicts["covered.zip"], verdicts["bad-not-covered.zip"] = verdict{Holds: true}, verdict{false, "pictures", "-covered.jpg", "is not black"}
	for _, c := range disputeTampers() {
		if c.name == "changed finding" || c.name == "what speaks against removed" {
			file := "bad-dispute-" + safeName(c.name, "x") + ".zip"
			files[file], verdicts[file] = c.spoil(t, about), verdict{false, c.area, c.file, c.says}
		}
	}
	for name, v := range former() {
		verdicts[name] = v
	}
	for _, name := range kept {
		for _, c := range tampers() {
			if c.name == name {
				file := "bad-" + safeName(name, "x") + ".zip"
				files[file], verdicts[file] = smallTamper(t, c, good), verdict{false, c.area, c.file, c.says}
			}
		}
	}
	require.Len(t, files, len(kept)+7)
	for name, data := range files {
		require.NoError(t, os.WriteFile(filepath.Join(vectors, name), data, 0o644))
	}
	raw, err := json.MarshalIndent(verdicts, "", "  ")
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(vectors+"/verdicts.json", append(raw, '\n'), 0o644))
}

// smallTamper spoils the small bundle in the way of the large one.
func smallTamper(t testing.TB, c tamper, good []byte) []byte {
	switch c.name {
	case "changed serial":
		return repack(true, func(t testing.TB, c *contents) {
			c.edit(t, func(e map[string]any) { e["unit"].(map[string]any)["serial"] = "CD7-00419" })
		})(t, good)
	case "changed entry":
		return repack(true, func(_ testing.TB, c *contents) {
			c.data[entriesPath] = []byte(strings.Replace(string(c.data[entriesPath]), "two minutes", "ten minutes", 1))
		})(t, good)
	}
	return c.spoil(t, good)
}
