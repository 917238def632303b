package bundle

import (
	"bytes"
	"encoding/json"
	"image/color"
	"image/jpeg"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

// cameraPhotos are the camera and sample JPEGs in testdata that the standard library decodes.
func cameraPhotos(t testing.TB) map[string][]byte {
	t.Helper()
	out := map[string][]byte{}
	require.NoError(t, filepath.WalkDir("../../testdata/photos", func(path string, e os.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		data, err := os.ReadFile(path)
		if err != nil || !bytes.HasPrefix(data, []byte("\xff\xd8\xff")) || len(data) > 4<<20 {
			return err
		}
		if c, err := jpeg.DecodeConfig(bytes.NewReader(data)); err != nil || c.Width*c.Height > 8<<20 {
			return nil
		}
		if _, err := jpeg.Decode(bytes.NewReader(data)); err == nil {
			out[path] = data
		}
		return nil
	}))
	require.NotEmpty(t, out, "no camera photos found")
	return out
}

// ExifTool finds nothing but the picture's own data, the colour profile and the orientation in what is stripped; image/jpeg decodes the same
// pixels from it.
func TestStripAgainstExifTool(t *testing.T) {
	dir := t.TempDir()
	list, seen, turned, placed := []string{}, 0, 0, 0
	before := map[string]string{}
	photos := cameraPhotos(t)
	var known []struct {
		SourceFile  string
		Orientation int
		GPSLatitude any
	}
	require.NoError(t, json.Unmarshal([]byte(exif(t, append([]string{"-json", "-n", "-q", "-q", "-IFD0:Orientation", "-GPSLatitude"}, slices.Sorted(maps.Keys(photos))...)...)), &known))
	require.Len(t, known, len(photos))
	for _, k := range known {
		path, data, orientation := k.SourceFile, photos[k.SourceFile], k.Orientation
		out, ok := stripJPEG(data, orientation)
		require.True(t, ok, path)
		again, ok := stripJPEG(out, orientation)
		require.True(t, ok, path)
		require.Equal(t, out, again, "%s: nothing is left to be stripped", path)
		if seen < 12 { // decoding is slow; the walk is the same for all
			a, b := decoded(t, data), decoded(t, out)
			require.Equal(t, a.Bounds(), b.Bounds())
			for y := a.Bounds().Min.Y; y < a.Bounds().Max.Y; y += 7 {
				for x := a.Bounds().Min.X; x < a.Bounds().Max.X; x += 5 {
					require.Equal(t, color.RGBAModel.Convert(a.At(x, y)), color.RGBAModel.Convert(b.At(x, y)), path)
				}
			}
		}
		seen++
		name := filepath.Join(dir, strings.NewReplacer("/", "_", "..", "").Replace(path))
		require.NoError(t, os.WriteFile(name, out, 0o600))
		list = append(list, name)
		if orientation > 1 {
			turned++
			before[name] = string(rune('0' + orientation))
		}
		if k.GPSLatitude != nil {
			placed++
		}
	}
	require.Positive(t, placed, "some of the samples hold a position")
	require.Positive(t, turned, "some of the samples lie turned")
	var tags []map[string]any
	require.NoError(t, json.Unmarshal([]byte(exif(t, append([]string{"-json", "-n", "-q", "-q", "-G0:1", "-a"}, list...)...)), &tags))
	require.Len(t, tags, len(list))
	for _, file := range tags {
		name := file["SourceFile"].(string)
		for tag, value := range file {
			group, _, _ := strings.Cut(tag, ":")
			switch {
			case group == "EXIF" && strings.HasSuffix(tag, ":Orientation"):
				assert.Equal(t, before[name], string(rune('0'+int(value.(float64)))), name)
				delete(before, name)
			case group == "EXIF" || group == "XMP" || group == "IPTC" || group == "MakerNotes" || group == "Photoshop" || group == "MPF":
				assert.Fail(t, "left behind", "%s: %s = %v", name, tag, value)
			case strings.Contains(tag, "GPS"), strings.HasSuffix(tag, ":Comment"):
				assert.Fail(t, "left behind", "%s: %s = %v", name, tag, value)
			}
		}
	}
	assert.Empty(t, before, "what lay turned still says so")
}

func exif(t testing.TB, args ...string) string {
	t.Helper()
	return strings.TrimSpace(tool(t, "libimage-exiftool-perl", ".", "exiftool", args...))
}

func TestVerifyStripped(t *testing.T) {
	good, _ := pack(t, coverParcel(t, claims.Hold{Position: true}))
	r := verify(t, good)
	require.True(t, r.Holds, r.Text())
	assert.Contains(t, r.Text(), "1 photo is without metadata as the index says")
	const file = "data/originals/0002-symptom-stripped.jpg"
	for name, change := range map[string]func(data []byte) []byte{
		"a comment put in":    func(d []byte) []byte { return append([]byte("\xff\xd8\xff\xfe\x00\x06here"), d[2:]...) },
		"more after the end":  func(d []byte) []byte { return append(d, "here"...) },
		"a block of Exif":     func(d []byte) []byte { return append(append([]byte("\xff\xd8"), orientationSegment(3)...), d[2:]...) },
		"not a whole picture": func(d []byte) []byte { return d[:len(d)-2] },
	} {
		t.Run(name, func(t *testing.T) {
			r := verify(t, repack(true, func(t testing.TB, c *contents) {
				c.data[file] = change(bytes.Clone(c.data[file]))
				c.edit(t, func(e map[string]any) { photo(e, 1)["fileSha256"] = hexSum(c.data[file]) })
			})(t, good))
			require.False(t, r.Holds)
			assert.Contains(t, r.Text(), "holds more than a picture")
		})
	}
}

// Whatever the bytes, stripping ends; what it gives out is stripped.
func FuzzStrip(f *testing.F) {
	for _, data := range [][]byte{drawn(32, 24, 1), append(drawn(32, 24, 2), "behind the end"...), append([]byte("\xff\xd8\xff\xe1\x00\x08Exif\x00\x00"), drawn(32, 24, 3)[2:]...)} {
		f.Add(data, 6)
		f.Add(data[:len(data)/2], 0)
	}
	f.Fuzz(func(t *testing.T, data []byte, orientation int) {
		out, ok := stripJPEG(data, orientation)
		if !ok {
			return
		}
		again, ok := stripJPEG(out, orientation)
		require.True(t, ok)
		require.Equal(t, out, again)
		require.LessOrEqual(t, len(out), len(data)+len(orientationSegment(6)))
	})
}
