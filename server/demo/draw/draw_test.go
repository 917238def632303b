package draw

import (
	"bytes"
	"encoding/json"
	"image"
	"image/jpeg"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func studio(t testing.TB) *Studio {
	t.Helper()
	s, err := NewStudio(7)
	require.NoError(t, err)
	return s
}

// scenes are one of each kind, with the options that change what is drawn.
func scenes() map[string]Scene {
	return map[string]Scene{
		"plate":       plate,
		"dark plate":  Plate{Maker: "M", Model: "M1", Serial: "S1", Dark: true},
		"receipt":     Receipt{Store: "STORE", Head: []string{"a"}, Items: [][2]string{{"THING", "1.00"}}, Foot: []string{"b"}, Number: "N-1"},
		"label":       label,
		"old label":   Label{Maker: "M", Number: "P-1", Title: "PART", Old: true},
		"meter":       Meter{Value: "OL", Unit: "MΩ", Mode: "AUTO", On: "heater"},
		"outlet":      Meter{Value: "118.4", Unit: "V~", Mode: "AUTO", On: "outlet", Look: 1},
		"pump meter":  Meter{Value: "22.4", Unit: "Ω", On: "pump", Look: 2},
		"heater":      HeaterPart{Broken: true},
		"pump":        Pump{Blocked: true},
		"kitchen":     Room{Unit: "refrigerator", Place: "kitchen", Maker: "M"},
		"floor":       Room{Unit: "dishwasher", Place: "kitchen", Maker: "M", Look: 2, Low: true, Wet: true},
		"laundry":     Room{Unit: "dryer", Place: "laundry", Maker: "M", Look: 3},
		"garage":      Room{Unit: "freezer", Place: "garage", Maker: "M", Look: 3},
		"range":       Room{Unit: "range", Place: "kitchen", Maker: "M", Near: true},
		"freezer":     Compartment{Freezer: true, Frost: 0.6, Display: "23.4", Unit: "°F"},
		"fresh food":  Compartment{Look: 1},
		"melted":      Compartment{Freezer: true, Empty: true, Melted: true},
		"coil":        Coil{Frost: 0.7},
		"trough":      Coil{Low: true, Chipped: true, Iced: true},
		"melt close":  DamageClose{Kind: "melted"},
		"chip close":  DamageClose{Kind: "chipped"},
		"tub":         Tub{Water: true},
		"vent":        Vent{Lint: 0.9},
		"oven":        Oven{Broken: true},
		"sound oven":  Oven{},
		"clean vent":  Vent{},
		"washer look": Room{Unit: "washer", Place: "laundry", Maker: "M"},
	}
}

var (
	plate = Plate{Maker: "PELLWORROW", Kind: "REFRIGERATOR-FREEZER", Model: "PW-RF2214S", Serial: "PW4418A07265", Made: "2025-02", Lines: []string{"120 V ~  60 Hz  6.5 A"}}
	label = Label{Maker: "PELLWORROW", Number: "PW-DH-30214", Title: "DEFROST HEATER ASSY", Lines: []string{"120 V  450 W"}}
)

// sketches is a studio whose photographs have a ninth of the pixels.
func sketches(t testing.TB) *Studio {
	s := studio(t)
	s.long, s.short = Long/3, Short/3
	return s
}

func TestEverySceneIsAPhotograph(t *testing.T) {
	s := sketches(t)
	nothing, err := s.Photo(blank{}, Shot{Seed: 3})
	require.NoError(t, err)
	empty, err := jpeg.Decode(bytes.NewReader(nothing))
	require.NoError(t, err)
	for name, scene := range scenes() {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			b, err := s.Photo(scene, Shot{Seed: 3})
			require.NoError(t, err)
			img, err := jpeg.Decode(bytes.NewReader(b))
			require.NoError(t, err)
			assert.Equal(t, image.Rect(0, 0, Long/3, Short/3), img.Bounds())
			assert.Greater(t, contrast(img), 2*contrast(empty), "hardly more than an empty picture")
		})
	}
}

// blank is a grey wall.
type blank struct{}

func (blank) paint(c *canvas) { c.wash(flat(hex(0x808080))) }

// contrast is the standard deviation of the brightness.
func contrast(img image.Image) float64 {
	var sum, sq float64
	y := img.(*image.YCbCr).Y
	for _, v := range y {
		sum, sq = sum+float64(v), sq+float64(v)*float64(v)
	}
	mean := sum / float64(len(y))
	return math.Sqrt(sq/float64(len(y)) - mean*mean)
}

func TestPhotoIsDeterministic(t *testing.T) {
	for _, name := range []string{"plate", "coil", "garage"} {
		t.Run(name, func(t *testing.T) {
			shot := Shot{Seed: 11, Portrait: true, Exif: Exif{Make: "Handheld", Model: "M", Taken: time.Unix(1_760_000_000, 0)}}
			a, err := sketches(t).Photo(scenes()[name], shot)
			require.NoError(t, err)
			b, err := sketches(t).Photo(scenes()[name], shot)
			require.NoError(t, err)
			assert.True(t, bytes.Equal(a, b), "two studios of one seed gave different bytes")
			shot.Seed++
			c, err := sketches(t).Photo(scenes()[name], shot)
			require.NoError(t, err)
			assert.False(t, bytes.Equal(a, c), "another seed gave the same bytes")
		})
	}
}

func tool(t *testing.T, name, pkg string, args ...string) string {
	t.Helper()
	bin, err := exec.LookPath(name)
	require.NoErrorf(t, err, "this test needs %s: apt-get install %s", name, pkg)
	cmd := exec.Command(bin, args...)
	var out, errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errs
	require.NoErrorf(t, cmd.Run(), "%s %v: %s", name, args, &errs)
	return out.String()
}

func keep(t *testing.T, name string, b []byte) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), name)
	require.NoError(t, os.WriteFile(file, b, 0o600))
	return file
}

// The judge of the bar codes is zbarimg (zbar-tools), a reader that is not ours.
func TestBarCodesAreRead(t *testing.T) {
	s := studio(t)
	for _, c := range []struct {
		name  string
		scene Scene
		want  []string
	}{
		{"plate", plate, []string{"PW4418A07265", "PW-RF2214S"}},
		{"label", label, []string{"PW-DH-30214"}},
		{"receipt", Receipt{Store: "OVENBRIGHT & SONS", Items: [][2]string{{"TOTAL", "1.00"}}, Number: "OB-3381-250614"}, []string{"OB-3381-250614"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			for seed := range uint64(2) {
				b, err := s.Photo(c.scene, Shot{Seed: seed})
				require.NoError(t, err)
				got := strings.Fields(tool(t, "zbarimg", "zbar-tools", "-q", "--raw", keep(t, "a.jpg", b)))
				assert.ElementsMatch(t, c.want, got)
			}
		})
	}
}

// The judge of the EXIF block is ExifTool (libimage-exiftool-perl): it names every tag back.
func TestExifIsReadBack(t *testing.T) {
	s := studio(t)
	zone := time.FixedZone("", -(5*3600 + 30*60))
	for _, c := range []struct {
		name string
		shot Shot
		want map[string]any
	}{
		{"west, portrait, fraction", Shot{Portrait: true, Exif: Exif{
			Make: "Handheld", Model: "Kaleo 3", Software: "Kaleo camera 5.2", Taken: time.Date(2026, 3, 4, 22, 12, 33, 120e6, zone), Speed: 60, ISO: 125,
			Position: &Position{Lat: 41.918342, Lon: -91.716205, Error: 6.25, Altitude: 218.4},
		}}, map[string]any{
			"Make": "Handheld", "Model": "Kaleo 3", "Software": "Kaleo camera 5.2", "Orientation": 6.0,
			"DateTimeOriginal": "2026:03:04 22:12:33", "CreateDate": "2026:03:04 22:12:33", "ModifyDate": "2026:03:04 22:12:33",
			"OffsetTimeOriginal": "-05:30", "OffsetTime": "-05:30", "OffsetTimeDigitized": "-05:30", "SubSecTimeOriginal": "120", "SubSecTimeDigitized": "120",
			"GPSLatitude": 41.918342, "GPSLongitude": -91.716205, "GPSHPositioningError": 6.25, "GPSAltitude": 218.4,
			"GPSDateStamp": "2026:03:05", "GPSTimeStamp": "03:42:33", "GPSMapDatum": "WGS-84",
			"ExifImageWidth": 2016.0, "ExifImageHeight": 1512.0, "ExposureTime": 1.0 / 60, "ISO": 125.0, "FNumber": 1.8, "ColorSpace": 1.0, "ExifVersion": "0232",
		}},
		{"south, east, below the sea", Shot{Exif: Exif{
			Make: "Handheld", Model: "K", Software: "x", Taken: time.Date(2025, 12, 31, 23, 59, 59, 7e6, time.UTC), Speed: 1000, ISO: 3200,
			Position: &Position{Lat: -0.000278, Lon: 179.999999, Error: 0.5, Altitude: -3.25},
		}}, map[string]any{
			"Orientation": 1.0, "OffsetTimeOriginal": "+00:00", "SubSecTimeOriginal": "007",
			"GPSLatitude": -0.000278, "GPSLongitude": 179.999999, "GPSHPositioningError": 0.5, "GPSAltitude": -3.25,
		}},
		{"no position", Shot{Exif: Exif{Make: "Handheld", Model: "K", Taken: time.Date(2026, 1, 2, 3, 4, 5, 0, zone)}}, map[string]any{
			"Orientation": 1.0, "DateTimeOriginal": "2026:01:02 03:04:05", "SubSecTimeOriginal": "000", "GPSLatitude": nil, "GPSDateStamp": nil,
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			b, err := s.Photo(Label{Number: "X"}, c.shot)
			require.NoError(t, err)
			file := keep(t, "a.jpg", b)
			out := tool(t, "exiftool", "libimage-exiftool-perl", "-j", "-n", "-a", "-all", "-validate", "-warning", file)
			var got []map[string]any
			require.NoError(t, json.Unmarshal([]byte(out), &got))
			assert.Equal(t, "0 0 0", got[0]["Validate"], "errors, warnings, minor warnings: %v", got[0]["Warning"])
			for tag, want := range c.want {
				// Numbers of a fraction may come as text when it begins with a zero.
				switch w := want.(type) {
				case float64:
					assert.InDelta(t, w, got[0][tag], 1e-7, tag)
				case string:
					assert.Equal(t, w, asText(got[0][tag]), tag)
				default:
					assert.Equal(t, want, got[0][tag], tag)
				}
			}
		})
	}
}

// asText undoes ExifTool's habit of printing digits as a number.
func asText(v any) string {
	if s, ok := v.(string); ok {
		return s
	}
	b, _ := json.Marshal(v)
	return string(b)
}

// An upright photograph of a portrait shot is what ExifTool's orientation 6 (rotate 90° clockwise to show) makes of the
// stored one: the label's code can be read from both.
func TestPortraitLiesOnItsSide(t *testing.T) {
	b, err := studio(t).Photo(label, Shot{Seed: 1, Portrait: true})
	require.NoError(t, err)
	img, err := jpeg.Decode(bytes.NewReader(b))
	require.NoError(t, err)
	require.Equal(t, Long, img.Bounds().Dx(), "the stored picture is wide")
	assert.Contains(t, tool(t, "zbarimg", "zbar-tools", "-q", "--raw", keep(t, "a.jpg", b)), "PW-DH-30214")
}

// The segments of the digits as drivers of the 7447 family show them, with the tails of 6 and 9 (74x247): from memory.
func TestSevenSegments(t *testing.T) {
	for sign, want := range map[rune]string{
		'0': "abcdef", '1': "bc", '2': "abdeg", '3': "abcdg", '4': "bcfg", '5': "acdfg", '6': "acdefg", '7': "abc", '8': "abcdefg", '9': "abcdfg",
		'-': "g", 'L': "def", ' ': "",
	} {
		assert.Equal(t, want, lit(sign), "sign %q", sign)
		on, off := digit(0, 0, 10, sign)
		assert.Len(t, on, len(want))
		assert.Len(t, off, 7-len(want))
	}
	on, off := number(10, 0, 1, "118.4")
	assert.Len(t, on, 2+2+7+1+4, "four digits and a point")
	assert.Len(t, off, 4*7-2-2-7-4)
}

func TestNotAJPEG(t *testing.T) {
	x := Exif{Taken: time.Unix(0, 0)}
	_, err := x.insert([]byte("GIF89a"))
	require.ErrorContains(t, err, "not a JPEG")
	x.Make = strings.Repeat("m", 1<<16)
	_, err = x.insert([]byte{0xFF, 0xD8})
	require.ErrorContains(t, err, "do not fit")
}

func BenchmarkPhoto(b *testing.B) {
	s := studio(b)
	all := scenes()
	for _, name := range []string{"plate", "kitchen", "coil", "freezer", "meter", "receipt"} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, err := s.Photo(all[name], Shot{Seed: 1}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
