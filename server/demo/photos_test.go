package demo

import (
	"bytes"
	"context"
	"encoding/json"
	"image/jpeg"
	"math/bits"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
	"kickplate/media"
	"kickplate/rules"
	"kickplate/rules/packs"
)

// pictured is one photograph with what is said and found out about it.
type pictured struct {
	job   int
	entry claims.Entry
	body  claims.Photo
	bytes []byte
	facts claims.PhotoFacts
}

// examined looks at every photograph of the day once, as the server does.
var examined = sync.OnceValues(func() ([]pictured, error) {
	d, err := realDay()
	if err != nil {
		return nil, err
	}
	ctx, ex := context.Background(), media.New(media.Options{CodeTime: 30 * time.Second, Time: time.Minute})
	var out []pictured
	for n, j := range d.Jobs {
		for _, a := range j.Actions {
			if a.Photo == nil {
				continue
			}
			p := pictured{job: n, bytes: a.Photo.Bytes}
			if p.entry, err = claims.ParseEntry(a.Raw); err != nil {
				return nil, err
			}
			if err = json.Unmarshal(p.entry.Body, &p.body); err != nil {
				return nil, err
			}
			r, size := bytes.NewReader(p.bytes), int64(len(p.bytes))
			if p.facts, _, err = ex.Examine(ctx, r, size); err != nil {
				return nil, err
			}
			if s := p.body.Subject; s == "rating-plate" || s == "part-label" {
				if p.facts.Codes, err = ex.Codes(ctx, r, size); err != nil {
					return nil, err
				}
				p.facts.CodesSought = true
			}
			out = append(out, p)
		}
	}
	return out, nil
})

func photos(t testing.TB) []pictured {
	t.Helper()
	p, err := examined()
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(p), 50)
	return p
}

func TestPhotosAreOriginals(t *testing.T) {
	digests := map[claims.Digest]bool{}
	for _, p := range photos(t) {
		require.Equal(t, claims.DigestOf(p.bytes), p.body.Digest)
		require.Equal(t, int64(len(p.bytes)), p.body.Bytes)
		require.False(t, digests[p.body.Digest], "the same bytes twice: %s", p.body.Name)
		digests[p.body.Digest] = true
		_, err := jpeg.DecodeConfig(bytes.NewReader(p.bytes))
		require.NoError(t, err)
		require.Empty(t, p.facts.Disagreements)
		require.Empty(t, p.facts.Notes)
	}
}

func tool(t *testing.T, name, pkg string, args ...string) string {
	t.Helper()
	bin, err := exec.LookPath(name)
	require.NoErrorf(t, err, "this test needs %s: apt-get install %s", name, pkg)
	cmd := exec.Command(bin, args...)
	var out, errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errs
	require.NoErrorf(t, cmd.Run(), "%s: %s", name, &errs)
	return out.String()
}

// ExifTool reads of every photograph the moment and the place that its entry states.
func TestExifSaysWhatTheEntrySays(t *testing.T) {
	dir := t.TempDir()
	all := map[string]pictured{}
	for i, p := range photos(t) {
		name := strconv.Itoa(i) + ".jpg"
		all[name] = p
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), p.bytes, 0o600))
	}
	var got []struct {
		FileName, Make, DateTimeOriginal, OffsetTimeOriginal string
		SubSecTimeOriginal                                   json.RawMessage
		Orientation                                          int
		ImageWidth, ImageHeight                              int
		GPSLatitude, GPSLongitude, GPSHPositioningError      *float64
	}
	out := tool(t, "exiftool", "libimage-exiftool-perl", "-j", "-n", dir)
	require.NoError(t, json.Unmarshal([]byte(out), &got))
	require.Len(t, got, len(all))
	turned := 0
	for _, g := range got {
		p := all[g.FileName]
		if p.body.From != "" { // as received: another telephone, no place, and no clock of ours
			assert.Equal(t, "Pocketmate", g.Make)
			assert.Empty(t, p.body.Captured)
			assert.Nil(t, g.GPSLatitude)
			continue
		}
		assert.Equal(t, "Handheld", g.Make)
		stamp := g.DateTimeOriginal + "." + strings.Trim(string(g.SubSecTimeOriginal), `"`) + g.OffsetTimeOriginal
		taken, err := time.Parse("2006:01:02 15:04:05.000-07:00", stamp)
		require.NoError(t, err, g.FileName)
		stated, err := time.Parse(time.RFC3339Nano, p.body.Captured)
		require.NoError(t, err)
		assert.True(t, taken.Equal(stated), "EXIF %s, entry %s", stamp, p.body.Captured)
		assert.Less(t, p.entry.At.Sub(taken), time.Second)
		if p.body.Position == nil {
			assert.Nil(t, g.GPSLatitude)
		} else if assert.NotNil(t, g.GPSLatitude, g.FileName) {
			assert.InDelta(t, p.body.Position.Lat, *g.GPSLatitude, 1e-7)
			assert.InDelta(t, p.body.Position.Lon, *g.GPSLongitude, 1e-7)
			assert.InDelta(t, p.body.Position.Accuracy, *g.GPSHPositioningError, 1e-3)
		}
		if g.Orientation == 6 {
			turned++
			assert.Greater(t, p.facts.Height, p.facts.Width, "shown upright")
		}
		assert.Greater(t, g.ImageWidth, g.ImageHeight)
	}
	assert.GreaterOrEqual(t, turned, 5, "some are held upright")
}

// zbarimg reads the serial number on every plate but the one that is meant to be blurred.
func TestPlatesAreRead(t *testing.T) {
	d := drawnDay(t)
	read, blurred := 0, 0
	for _, p := range photos(t) {
		if p.body.Subject != "rating-plate" {
			continue
		}
		file := filepath.Join(t.TempDir(), "plate.jpg")
		require.NoError(t, os.WriteFile(file, p.bytes, 0o600))
		if p.facts.Sharp == "no" {
			blurred++
			assert.Empty(t, p.facts.Codes)
			continue
		}
		job := fold(t, d.Jobs[p.job])
		got := strings.Fields(tool(t, "zbarimg", "zbar-tools", "-q", "--raw", file))
		assert.ElementsMatch(t, []string{job.Unit.Serial, job.Unit.Model}, got)
		read++
	}
	assert.Equal(t, 5, read)
	assert.Equal(t, 1, blurred)
}

// The server calls two pictures of different jobs alike when at most 6 bits of their fingerprints differ: none may be.
func TestPhotosOfDifferentJobsDiffer(t *testing.T) {
	all := photos(t)
	prints := make([]uint64, len(all))
	for i, p := range all {
		v, err := strconv.ParseUint(p.facts.Fingerprint, 16, 64)
		require.NoError(t, err)
		prints[i] = v
	}
	closest := 64
	for i := range all {
		for j := range i {
			if all[i].job != all[j].job {
				closest = min(closest, bits.OnesCount64(prints[i]^prints[j]))
			}
			if n := bits.OnesCount64(prints[i] ^ prints[j]); all[i].job != all[j].job {
				assert.Greaterf(t, n, 6, "%s (%s) and %s (%s)", all[i].body.Name, all[i].body.Subject, all[j].body.Name, all[j].body.Subject)
			} else {
				assert.NotZerof(t, n, "%s (%s) and %s (%s)", all[i].body.Name, all[i].body.Subject, all[j].body.Name, all[j].body.Subject)
			}
		}
	}
	t.Logf("closest two of different jobs: %d bits", closest)
}

// Each photograph is fit for its purpose, but for the two that are meant not to be.
func TestPhotosAreLegible(t *testing.T) {
	d := drawnDay(t)
	for _, p := range photos(t) {
		number := d.Jobs[p.job].Number
		if p.body.Subject == "other" || number == "TB-2042" && p.body.Subject == "rating-plate" {
			assert.NotEqual(t, "yes", p.facts.Sharp)
			continue
		}
		what := number + " " + p.body.Subject + " " + p.body.Component
		assert.NotEqual(t, "no", p.facts.Sharp, what)
		assert.Equal(t, "no", p.facts.Dark, what)
		assert.Equal(t, "no", p.facts.Bright, what)
	}
}

// The rule packs find what the day is meant to show: one claim complete to the last advised item, gaps where gaps are
// meant to be, and no others.
func TestChecks(t *testing.T) {
	d := drawnDay(t)
	set, err := packs.Default()
	require.NoError(t, err)
	facts := map[claims.Digest]claims.PhotoFacts{}
	for _, p := range photos(t) {
		facts[p.body.Digest] = p.facts
	}
	want := map[string]struct {
		pack string
		open []string // required findings that stay open
	}{
		"TB-2041": {"generic-maker-warranty-refrigerator", nil},
		"TB-2042": {"generic-maker-warranty-dishwasher", []string{"plate", "serial-agrees", "part-reading-shown:drain-pump", "part-label:drain-pump", "part-record:drain-pump",
			"dry-floor", "purchase-proof", "purchase-date", "coverage-started", "in-term"}},
		"TB-2029": {"generic-maker-warranty-refrigerator", nil},
		"TB-2038": {"generic-maker-warranty-dryer-electric", []string{"in-term"}},
		"TB-2043": {"generic-service-contract-refrigerator", []string{"authorisation", "correction", "freezer-as-left", "result"}},
		"TB-2044": {"generic-maker-warranty-range-electric", []string{"correction", "result", "work-acknowledged", "purchase-proof", "labour"}},
	}
	require.Len(t, d.Jobs, len(want))
	for _, j := range d.Jobs {
		t.Run(j.Number, func(t *testing.T) {
			job := fold(t, j)
			job.Facts = facts
			base := claims.FactsOf(&job, nil, now())
			pack, ok := set.PickFor(&base)
			require.True(t, ok)
			full := claims.FactsOf(&job, pack.Pack(), now())
			report := rules.Check(pack.Compiled, &full)
			assert.Equal(t, want[j.Number].pack, report.Pack)
			var open []string
			for _, f := range report.Findings {
				if f.Open() && (f.Severity == rules.Required || j.Whole) {
					open = append(open, f.ID)
				}
			}
			slices.Sort(open)
			expect := slices.Sorted(slices.Values(want[j.Number].open))
			assert.Equal(t, expect, open)
			for _, r := range full.Readings {
				assert.NotContains(t, r.Says, "can't be judged")
			}
		})
	}
}
