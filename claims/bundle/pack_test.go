package bundle

import (
	"archive/zip"
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

// tool runs a program that CI installs; its absence is a failure that names the Debian package.
func tool(t testing.TB, pkg, dir, name string, args ...string) string {
	path, err := exec.LookPath(name)
	require.NoError(t, err, "install the Debian package %s", pkg)
	cmd := exec.Command(path, args...)
	cmd.Dir = dir
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, "%s %v: %s", name, args, out)
	return string(out)
}

func unpack(t testing.TB, data []byte) string {
	dir := t.TempDir()
	file := filepath.Join(dir, "bundle.zip")
	require.NoError(t, os.WriteFile(file, data, 0o600))
	tool(t, "unzip", dir, "unzip", "-q", file)
	list, err := filepath.Glob(filepath.Join(dir, "claim-*"))
	require.NoError(t, err)
	require.Len(t, list, 1)
	return list[0]
}

func TestPackPassesOutsideTools(t *testing.T) {
	data, packed := pack(t, goodParcel(t))
	require.Equal(t, "claim-bc-88-1021-v1.zip", packed.Name)
	dir := unpack(t, data)
	tool(t, "unzip", dir, "unzip", "-t", filepath.Join(filepath.Dir(dir), "bundle.zip"))
	tool(t, "coreutils", dir, "sha256sum", "--strict", "-c", "manifest-sha256.txt")
	tool(t, "coreutils", dir, "sha256sum", "--strict", "-c", "tagmanifest-sha256.txt")
	tool(t, "qpdf", dir, "qpdf", "--check", "data/report.pdf")

	t.Run("leaf hash by the README's own command", func(t *testing.T) {
		readme, err := os.ReadFile(filepath.Join(dir, "data/README.txt"))
		require.NoError(t, err)
		command := regexp.MustCompile(`(?m)^ +(\(printf .*sha256sum)$`).FindSubmatch(readme)
		require.NotNil(t, command)
		out := tool(t, "coreutils", dir, "sh", "-c", string(command[1]))
		records := goodParcel(t).Records
		require.Equal(t, hexSum(append([]byte{0}, records[0].Line...)), strings.Fields(out)[0])
	})
	t.Run("originals are in the reviewer's order", func(t *testing.T) {
		list, err := os.ReadDir(filepath.Join(dir, "data/originals"))
		require.NoError(t, err)
		var names []string
		for _, f := range list {
			names = append(names, f.Name())
			assert.Regexp(t, `^[0-9]{4}-[a-z0-9-]+\.(jpg|pdf)$`, f.Name())
		}
		assert.Equal(t, []string{"0001-rating-plate.jpg", "0002-proof-of-purchase.pdf", "0003-symptom-evaporator-coil.jpg", "0004-meter-display-defrost-heater.jpg",
			"0005-failed-part-defrost-heater.jpg", "0006-part-label-defrost-heater.jpg", "0007-whole-unit.jpg", "0008-damage-close-door.jpg"}, names)
	})
}

// Equal parcels give equal bytes: made twice from nothing, packed twice, with the reduced pictures new and kept, and
// with one processor or many.
func TestPackIsDeterministic(t *testing.T) {
	want, _ := pack(t, goodParcel(t))
	again := goodParcel(t)
	for _, procs := range []int{1, 2, 8} {
		before := runtime.GOMAXPROCS(procs)
		got, _ := pack(t, again)
		runtime.GOMAXPROCS(before)
		require.True(t, bytes.Equal(want, got), "%d processors give other bytes", procs)
	}
	other := goodParcel(t)
	other.BuiltBy = "Somebody else"
	got, _ := pack(t, other)
	require.False(t, bytes.Equal(want, got))
}

// spoilt is a store in which one original is no longer what it was.
type spoilt struct {
	claims.Blobs
	digest claims.Digest
	change func([]byte) []byte
}

func (s *spoilt) Open(ctx context.Context, d claims.Digest) (claims.Blob, error) {
	b, err := s.Blobs.Open(ctx, d)
	if err != nil || d != s.digest {
		return b, err
	}
	data, err := io.ReadAll(b)
	return memoryBlob{bytes.NewReader(s.change(data))}, err
}

type memoryBlob struct{ *bytes.Reader }

func (memoryBlob) Close() error { return nil }

func TestPackFindsDamage(t *testing.T) {
	big := append(drawn(64, 48, 12), make([]byte, atOnce)...)
	for _, c := range []struct {
		name   string
		change func([]byte) []byte
	}{
		{"flipped bit", func(b []byte) []byte { return flipAt(b, len(b)/2) }},
		{"cut short", func(b []byte) []byte { return b[:len(b)-1] }},
		{"grown", func(b []byte) []byte { return append(b, 0) }},
	} {
		for _, size := range []string{"small", "large"} {
			t.Run(size+", "+c.name, func(t *testing.T) {
				s := newScene(t)
				s.add(claims.KindOpen, claims.Open{Number: "9", Complaint: "warm"})
				data := drawn(64, 48, 11)
				if size == "large" {
					data = big
				}
				s.photo("symptom", "liner", data, nil)
				p := s.parcel()
				p.Blobs = &spoilt{p.Blobs, claims.DigestOf(data), c.change}
				var out bytes.Buffer
				_, err := New().Pack(context.Background(), &out, p)
				require.Error(t, err)
				assert.Contains(t, err.Error(), "photo 1 (symptom, "+string(claims.DigestOf(data))+")")
				_, err = zip.NewReader(bytes.NewReader(out.Bytes()), int64(out.Len()))
				assert.Error(t, err, "what was written before the error must not pass for a bundle")
			})
		}
	}
	t.Run("missing", func(t *testing.T) {
		s := newScene(t)
		s.add(claims.KindOpen, claims.Open{Number: "9", Complaint: "warm"})
		s.photo("symptom", "", drawn(64, 48, 11), nil)
		p := s.parcel()
		p.Job.Photos[0].Body.Digest = claims.DigestOf([]byte("never stored"))
		_, err := New().Pack(context.Background(), io.Discard, p)
		require.ErrorIs(t, err, claims.ErrAbsent)
		assert.Contains(t, err.Error(), "photo 1 (symptom")
	})
	t.Run("ended context", func(t *testing.T) {
		ctx, cancel := context.WithCancel(context.Background())
		cancel()
		_, err := New().Pack(ctx, io.Discard, goodParcel(t))
		require.ErrorIs(t, err, context.Canceled)
	})
	t.Run("large and whole", func(t *testing.T) {
		s := newScene(t)
		s.add(claims.KindOpen, claims.Open{Number: "9", Complaint: "warm"})
		s.photo("symptom", "", big, nil)
		data, _ := pack(t, s.parcel())
		r := verify(t, data)
		require.True(t, r.Holds, r.Text())
	})
}

// A bare job packs too: nothing is needed but that it exists.
func TestPackBareJob(t *testing.T) {
	s := newScene(t)
	s.add(claims.KindOpen, claims.Open{Number: "/../ Ünïcode \"x\"", Complaint: "warm"})
	p := s.parcel()
	p.Report, p.Pack, p.Custody = claims.Parcel{}.Report, nil, claims.CustodyParcel{}
	data, packed := pack(t, p)
	assert.Equal(t, "claim-n-code-x-v1.zip", packed.Name)
	r := verify(t, data)
	assert.True(t, r.Holds, r.Text())
	assert.Contains(t, r.Text(), "was not sealed")
	tool(t, "qpdf", unpack(t, data), "qpdf", "--check", "data/report.pdf")
}

// The same bytes entered twice are one file in the bundle and two photos on record.
func TestPackSameBytesTwice(t *testing.T) {
	s := newScene(t)
	s.add(claims.KindOpen, claims.Open{Number: "9", Complaint: "warm"})
	s.photo("symptom", "", drawn(64, 48, 11), nil)
	s.photo("failed-part", "belt", drawn(64, 48, 11), nil)
	data, _ := pack(t, s.parcel())
	r := verify(t, data)
	require.True(t, r.Holds, r.Text())
	c := open(t, data)
	assert.NotNil(t, c.data["data/originals/0001-symptom.jpg"])
	assert.Nil(t, c.data["data/originals/0002-failed-part-belt.jpg"])
	assert.Contains(t, string(c.data["data/index.html"]), "the same bytes as photo 1")
}

// allText is everything in a bundle that can be read: the text files, and the PDF's text.
func allText(t testing.TB, data []byte) string {
	dir := unpack(t, data)
	var all strings.Builder
	for name, content := range open(t, data).data {
		if !strings.HasSuffix(name, ".jpg") && !strings.HasSuffix(name, ".pdf") {
			fmt.Fprintf(&all, "== %s\n%s\n", name, content)
		}
	}
	return all.String() + tool(t, "poppler-utils", dir, "pdftotext", "-layout", "data/report.pdf", "-")
}

func TestHold(t *testing.T) {
	customer := []string{"Kowalczyk", "010 4477", "kowalczyk@example", "Alder Street"}
	position := []string{"41.785", "-73.69", "73.694"}
	for _, c := range []struct {
		hold         claims.Hold
		gone, stays  []string
		whole, views int
	}{
		{claims.Hold{}, nil, append(append([]string{}, customer...), position...), 8, 0},
		{claims.Hold{Customer: true}, customer, []string{"41.7851", "Positions were not held back"}, 8, 0},
		{claims.Hold{Position: true}, position, customer, 7, 1},
		{claims.Hold{Customer: true, Position: true}, append(append([]string{}, customer...), position...), []string{"K7 41 0093"}, 7, 1},
	} {
		t.Run(fmt.Sprint(c.hold.Names()), func(t *testing.T) {
			p := goodParcel(t)
			p.Hold = c.hold
			data, _ := pack(t, p)
			r := verify(t, data)
			require.True(t, r.Holds, r.Text())
			text := allText(t, data)
			for _, s := range c.gone {
				assert.NotContains(t, text, s)
			}
			for _, s := range c.stays {
				assert.Contains(t, text, s)
			}
			views := 0
			for name := range open(t, data).data {
				if strings.HasSuffix(name, "-stripped.jpg") {
					views++
				}
			}
			assert.Equal(t, c.views, views)
			if len(c.hold.Names()) > 0 {
				assert.NotEmpty(t, r.Withheld)
				for _, name := range []string{"data/README.txt", "data/evidence.json", "bag-info.txt", "data/index.html"} {
					assert.Contains(t, strings.ToLower(string(open(t, data).data[name])), "held", name)
				}
			}
		})
	}
	t.Run("texts that name the customer elsewhere", func(t *testing.T) {
		s := newScene(t)
		s.add(claims.KindOpen, claims.Open{Number: "9", Complaint: "Mrs ALMA QUILL says it is warm"})
		first := s.add(claims.KindCustomer, claims.Customer{Name: "Alma Quill", Phone: "555 010 1111"})
		s.entry(claims.KindCustomer, claims.Customer{Name: "Alma Quill", Phone: "555 010 2222"}, first, "wrong number")
		s.add(claims.KindNote, claims.Note{Text: "call 555 010 1111 before coming"})
		s.add(claims.KindReading, claims.Reading{Quantity: "temperature", Value: "4", Unit: "Cel", Instrument: []byte(`{"id":"m1","description":"lent by Alma Quill"}`)})
		s.add(claims.KindStrike, claims.Strike{Entry: s.add(claims.KindNote, claims.Note{Text: "555 010 1111 again"}), Reason: "twice"})
		p := s.parcel()
		p.Hold.Customer = true
		data, _ := pack(t, p)
		text := strings.ToLower(allText(t, data))
		assert.NotContains(t, text, "quill")
		assert.NotContains(t, text, "555 010")
		r := verify(t, data)
		assert.True(t, r.Holds, r.Text())
	})
	t.Run("position in XMP, in a clip, in a file nobody examined", func(t *testing.T) {
		s := newScene(t)
		s.add(claims.KindOpen, claims.Open{Number: "9", Complaint: "warm"})
		xmp := append(drawn(64, 48, 1), []byte(`<x exif:GPSLatitude="41,47.1N"/>`)...)
		s.photo("symptom", "", xmp, nil)
		clip := []byte("\x00\x00\x00\x18ftypmp42 an invented clip")
		s.photo("symptom", "", clip, func(_ *claims.Photo, f *claims.PhotoFacts) { f.Type = "video/mp4" })
		s.photo("symptom", "", drawn(64, 48, 2), nil)
		p := s.parcel()
		delete(p.Job.Facts, claims.DigestOf(drawn(64, 48, 2)))
		p.Hold.Position = true
		data, _ := pack(t, p)
		assert.False(t, bytes.Contains(data, []byte("GPSLatitude")))
		assert.False(t, bytes.Contains(data, clip))
		c := open(t, data)
		assert.NotNil(t, c.data["data/originals/0001-symptom-stripped.jpg"])
		assert.NotNil(t, c.data["data/originals/0003-symptom-view.jpg"])
		assert.Contains(t, string(c.data["data/README.txt"]), string(claims.DigestOf(clip)))
	})
}
