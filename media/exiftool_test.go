package media

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

// exiftoolTags asks ExifTool (Debian libimage-exiftool-perl) for the tags of exifTags, by path. A tag that is absent is not
// in the map.
func exiftoolTags(t *testing.T, paths []string) map[string]tagValues {
	t.Helper()
	places := map[ifd]string{ifd0: "IFD0", ifdExif: "ExifIFD", ifdGPS: "GPS"}
	args := []string{"-j", "-n", "-G1", "-q"}
	for _, tag := range exifTags() {
		args = append(args, "-"+places[tag.in]+":"+imagemetaName(tag.name))
	}
	dec := json.NewDecoder(bytes.NewReader(tool(t, "libimage-exiftool-perl", "exiftool", append(args, paths...)...)))
	dec.UseNumber()
	var list []map[string]any
	require.NoError(t, dec.Decode(&list))
	out := map[string]tagValues{}
	for _, m := range list {
		v := tagValues{}
		for _, tag := range exifTags() {
			if x, ok := m[places[tag.in]+":"+imagemetaName(tag.name)]; ok {
				v[tag.name] = fmt.Sprint(x)
			}
		}
		out[m["SourceFile"].(string)] = v
	}
	return out
}

// sameAsExiftool compares one tag of ours with ExifTool's.
func sameAsExiftool(tag exifTag, ours, theirs string) bool {
	if tag.as == asClock {
		part := strings.Split(theirs, ":")
		if len(part) == 3 {
			var secs float64
			for _, p := range part {
				f, err := strconv.ParseFloat(p, 64)
				if err != nil {
					return false
				}
				secs = 60*secs + f
			}
			theirs = fmt.Sprintf("%.3f", secs)
		}
	}
	return sameTag(tag.as, ours, strings.TrimSpace(theirs))
}

// photoFacts reads the camera's data as Examine does, also where the picture behind it is missing.
func photoFacts(t *testing.T, data []byte) (tagValues, claims.PhotoFacts) {
	t.Helper()
	u := &upload{ctx: t.Context(), src: bytes.NewReader(data), size: int64(len(data))}
	h, _ := walkJPEG(u)
	var f claims.PhotoFacts
	if h.exif == nil {
		return tagValues{}, f
	}
	end := h.scan
	if end == 0 {
		end = u.size
	}
	cameraFacts(h.exif, io.NewSectionReader(bytes.NewReader(data), 0, end), &f)
	b, ok := walkExif(h.exif)
	if !ok {
		return tagValues{}, f
	}
	return b.own(), f
}

// Every tag of every camera sample is what ExifTool says, and what we do not see ExifTool does not see either.
func TestCameraSamplesAgainstExiftool(t *testing.T) {
	paths := sampleFiles(t, 63, "goexif/*.jpg", "dsoprea/*.jpg", "evanoberholster/*.jpg")
	// ExifTool reads a segment only when another one follows it: the samples that end in the middle of the segment behind
	// their EXIF get an end marker there instead.
	dir := t.TempDir()
	for i, path := range paths {
		paths[i] = filepath.Join(dir, strings.ReplaceAll(filepath.ToSlash(strings.TrimPrefix(path, photosDir+"/")), "/", "_"))
		require.NoError(t, os.WriteFile(paths[i], wholeSegments(readFile(t, path)), 0o600))
	}
	theirs := exiftoolTags(t, paths)
	dated, placed, compared := 0, 0, 0
	for _, path := range paths {
		t.Run(filepath.Base(path), func(t *testing.T) {
			ours, f := photoFacts(t, readFile(t, path))
			for _, tag := range exifTags() {
				o, okO := ours[tag.name]
				x, okX := theirs[path][tag.name]
				if !okO && (!okX || noValue(x)) || !okX && o == "" {
					continue
				}
				// This camera wrote its degrees as text ("52,00000,50,00000,34,01180"), which is no EXIF: ExifTool takes
				// the first three numbers, which is wrong; we take nothing.
				if strings.HasSuffix(path, "geodegrees_as_string.jpg") && strings.HasPrefix(tag.name, "GPS") && !okO {
					require.Nil(t, f.GPS)
					continue
				}
				compared++
				require.True(t, okO && okX, "%s: ours %q (%v), ExifTool %q (%v)", tag.name, o, okO, x, okX)
				require.True(t, sameAsExiftool(tag, o, x), "%s: ours %q, ExifTool %q", tag.name, o, x)
			}
			require.Empty(t, f.Disagreements)
			if f.Taken != nil {
				dated++
			}
			if f.GPS != nil {
				placed++
			}
		})
	}
	t.Logf("%d files, %d tags compared, %d with a capture time, %d with a position", len(paths), compared, dated, placed)
	require.GreaterOrEqual(t, compared, 390)
	require.GreaterOrEqual(t, dated, 50)
	require.GreaterOrEqual(t, placed, 4)
}

// wholeSegments cuts a JPEG that ends within a segment behind its last whole one, and ends it properly.
func wholeSegments(data []byte) []byte {
	at := 2
	for at+4 <= len(data) && data[at] == 0xff && data[at+1] != 0xda {
		next := at + 2 + int(data[at+2])<<8 + int(data[at+3])
		if next > len(data) {
			return append(append([]byte{}, data[:at]...), 0xff, 0xd9)
		}
		at = next
	}
	return data
}

// noValue reports whether ExifTool shows a tag that has no usable value: blanks, or the 0/0 of an unknown number.
func noValue(x string) bool {
	return strings.TrimSpace(x) == "" || strings.Contains(x, "undef") || strings.Contains(x, "inf")
}

// What ExifTool writes we read: zone offsets, sub-seconds with leading zeros, GPS with accuracy on all quarters of the
// globe, both byte orders, EXIF behind other segments, and in PNG and WebP.
func TestWrittenByExiftool(t *testing.T) {
	dir := t.TempDir()
	base := encodeJPEG(t, scene(1, 160, 120), 80)
	for i, c := range []struct {
		name, order string
		lat, lon    float64
		want        claims.ExifTime
		args        []string
	}{
		{"north west", "II", 47.37690123, -122.00010456, claims.ExifTime{Local: "2026-03-08T01:59:59", Fraction: "007", Offset: "-08:00", GPSUTC: "2026-03-08T09:59:58Z"}, nil},
		{"south east", "MM", -33.8688197, 151.2092955, claims.ExifTime{Local: "2024-02-29T23:59:00", Fraction: "9", Offset: "+11:00", GPSUTC: "2024-02-29T12:59:00Z"}, nil},
		{"no zone", "II", 0.5, 179.99999, claims.ExifTime{Local: "1999-12-31T00:00:00", Fraction: "123456"}, nil},
		{"half hour zone", "MM", -0.25, -179.5, claims.ExifTime{Local: "2025-07-01T12:00:00", Offset: "+05:30"}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := filepath.Join(dir, fmt.Sprintf("%d.jpg", i))
			// Behind an APP5 and an APP11, where a reader that looks for FF E1 only at the start does not find it.
			data := base
			args := []string{"-q", "-overwrite_original", "-n", "-api", "ByteUnit=SI",
				"-ExifByteOrder=" + c.order, "-IFD0:Make=Ottermark", "-IFD0:Model=OT-9", "-IFD0:Software=camera 3.1", "-IFD0:Orientation=6",
				"-ExifIFD:DateTimeOriginal=" + strings.NewReplacer("-", ":", "T", " ").Replace(c.want.Local),
				"-ExifIFD:SubSecTimeOriginal=" + c.want.Fraction,
				fmt.Sprintf("-GPS:GPSLatitude=%v", abs(c.lat)), "-GPS:GPSLatitudeRef=" + pick(c.lat >= 0, "N", "S"),
				fmt.Sprintf("-GPS:GPSLongitude=%v", abs(c.lon)), "-GPS:GPSLongitudeRef=" + pick(c.lon >= 0, "E", "W"),
				"-GPS:GPSHPositioningError=4.5"}
			if c.want.Offset != "" {
				args = append(args, "-ExifIFD:OffsetTimeOriginal="+c.want.Offset)
			}
			if g := c.want.GPSUTC; g != "" {
				args = append(args, "-GPS:GPSDateStamp="+strings.ReplaceAll(g[:10], "-", ":"), "-GPS:GPSTimeStamp="+g[11:19])
			}
			require.NoError(t, os.WriteFile(path, data, 0o600))
			tool(t, "libimage-exiftool-perl", "exiftool", append(args, path)...)
			theirs := exiftoolTags(t, []string{path})[path]
			require.Greater(t, len(theirs), 8)

			data = readFile(t, path)
			data = withSegments(data, segment(0xe5, bytes.Repeat([]byte{0xff, 0xe1, 0x00}, 100)), segment(0xeb, []byte("JP\x00\x00 not Exif")),
				segment(0xe1, []byte("http://ns.adobe.com/xap/1.0/\x00<x/>")))
			f, _, err := examine(t, patient(), data)
			require.NoError(t, err)
			require.Empty(t, f.Disagreements)
			require.Empty(t, f.Notes)
			require.Equal(t, &c.want, f.Taken)
			require.Equal(t, "Ottermark OT-9", f.Camera)
			require.Equal(t, "camera 3.1", f.Software)
			require.Equal(t, 6, f.Orientation)
			require.Equal(t, []int{120, 160}, []int{f.Width, f.Height}, "upright")
			require.NotNil(t, f.GPS)
			require.InDelta(t, c.lat, f.GPS.Lat, 1e-6)
			require.InDelta(t, c.lon, f.GPS.Lon, 1e-6)
			require.InDelta(t, 4.5, f.GPS.Accuracy, 1e-3)

			ours, _ := photoFacts(t, data)
			for _, tag := range exifTags() {
				require.Equal(t, theirs[tag.name] != "", ours[tag.name] != "", tag.name)
				if ours[tag.name] != "" {
					require.True(t, sameAsExiftool(tag, ours[tag.name], theirs[tag.name]), "%s: %q, %q", tag.name, ours[tag.name], theirs[tag.name])
				}
			}
		})
	}
}

func TestExifInOtherContainers(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"ximage/video-001.png", "ximage/yellow_rose.lossy.webp", "ximage/tux.lossless.webp", "heic/test8.heic"} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(dir, filepath.Base(name))
			require.NoError(t, os.WriteFile(path, readFile(t, filepath.Join(photosDir, name)), 0o600))
			tool(t, "libimage-exiftool-perl", "exiftool", "-q", "-overwrite_original", "-n", "-EXIF:Make=Ottermark", "-EXIF:DateTimeOriginal=2026:05:06 07:08:09",
				"-EXIF:OffsetTimeOriginal=+02:00", "-EXIF:GPSLatitude=12.5", "-EXIF:GPSLatitudeRef=N", "-EXIF:GPSLongitude=7.25", "-EXIF:GPSLongitudeRef=W", path)
			f, made, err := examine(t, patient(), readFile(t, path))
			require.NoError(t, err)
			require.Equal(t, &claims.ExifTime{Local: "2026-05-06T07:08:09", Offset: "+02:00"}, f.Taken)
			require.Equal(t, "Ottermark", f.Camera)
			require.NotNil(t, f.GPS)
			require.InDelta(t, 12.5, f.GPS.Lat, 1e-6)
			require.InDelta(t, -7.25, f.GPS.Lon, 1e-6)
			require.Empty(t, f.Disagreements)
			require.NotEmpty(t, made.View)
		})
	}
}

func abs(v float64) float64 { return max(v, -v) }

func pick(cond bool, yes, no string) string {
	if cond {
		return yes
	}
	return no
}
