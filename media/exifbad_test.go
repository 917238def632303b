package media

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/jpeg"
	"math"
	"path/filepath"
	"runtime"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"kickplate/claims"
	"kickplate/media/measure"
)

// tiffBlock builds a little-endian EXIF block: directories at given offsets.
type tiffBlock []byte

func newBlock(size int) tiffBlock {
	b := make(tiffBlock, size)
	copy(b, "II*\x00\x08\x00\x00\x00")
	return b
}

// dir writes a directory at offset at; entries are tag, type, count, value.
func (b tiffBlock) dir(at int, next uint32, entries ...[4]uint32) tiffBlock {
	binary.LittleEndian.PutUint16(b[at:], uint16(len(entries)))
	for i, e := range entries {
		p := b[at+2+12*i:]
		binary.LittleEndian.PutUint16(p, uint16(e[0]))
		binary.LittleEndian.PutUint16(p[2:], uint16(e[1]))
		binary.LittleEndian.PutUint32(p[4:], e[2])
		binary.LittleEndian.PutUint32(p[8:], e[3])
	}
	binary.LittleEndian.PutUint32(b[at+2+12*len(entries):], next)
	return b
}

// What measured harm to goexif: 26 bytes that make it allocate 8 GiB (type size times count overflows), 44 bytes that keep it
// going for ever (directories in a circle), 5000 overlapping tags. The photo is accepted, with a note, in no time and
// with no memory.
func TestHostileExif(t *testing.T) {
	many := newBlock(62_000)
	binary.LittleEndian.PutUint16(many[8:], 5000)
	for i := range 5000 {
		p := many[10+12*i:]
		if len(p) < 12 {
			break
		}
		binary.LittleEndian.PutUint16(p, 0x9000+uint16(i%100))
		binary.LittleEndian.PutUint16(p[2:], 1)
		binary.LittleEndian.PutUint32(p[4:], 60_000)
		binary.LittleEndian.PutUint32(p[8:], 8)
	}
	cut := newBlock(22)
	binary.LittleEndian.PutUint16(cut[8:], 1)
	for _, c := range []struct {
		name  string
		block []byte
		note  bool
	}{
		{"8 GiB from 26 bytes", newBlock(26).dir(8, 0, [4]uint32{0x010f, 3, 0x80000001, 8}), true},
		{"12 GiB from doubles", newBlock(42).dir(8, 0, [4]uint32{0x010f, 12, 0x20000001, 8}, [4]uint32{0x0110, 5, 0x60000001, 8}), true},
		{"max count", newBlock(26).dir(8, 0, [4]uint32{0x010f, 2, 0xffffffff, 8}), true},
		{"directory that follows itself", newBlock(26).dir(8, 8, [4]uint32{0x0112, 3, 1, 6}), true},
		{"directories in a circle", newBlock(44).dir(8, 26, [4]uint32{0x0112, 3, 1, 6}).dir(26, 8, [4]uint32{0x0112, 3, 1, 6}), true},
		{"Exif directory that is the main one", newBlock(26).dir(8, 0, [4]uint32{tagExifIFD, 4, 1, 8}), true},
		{"Exif and GPS directory the same", newBlock(60).dir(8, 0, [4]uint32{tagExifIFD, 4, 1, 40}, [4]uint32{tagGPSIFD, 4, 1, 40}).dir(40, 0, [4]uint32{1, 3, 1, 1}), true},
		{"5000 overlapping tags", many, true},
		{"pointer out of the block", newBlock(26).dir(8, 0, [4]uint32{tagGPSIFD, 4, 1, 0xfffffff0}), true},
		{"main directory out of the block", []byte("II*\x00\xff\xff\xff\x7f\x00\x00"), true},
		{"nothing but a mark", []byte("MM\x00*"), true},
		{"not TIFF", []byte("hello there, this is no TIFF"), true},
		{"65535 tags", append(newBlock(10)[:8], 0xff, 0xff, 1, 2, 3), true},
		{"negative count of tags", append(newBlock(10)[:8], 0x00, 0x80, 1, 2, 3), true},
		{"cut in a tag", cut, false},
		{"link missing behind the last tag", newBlock(26).dir(8, 0, [4]uint32{0x0112, 3, 1, 6})[:22], false},
	} {
		t.Run(c.name, func(t *testing.T) {
			data := withSegments(encodeJPEG(t, scene(1, 32, 24), 80), exifSegment(c.block))
			e := patient()
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			start := time.Now()
			f, made, err := examine(t, e, data)
			runtime.ReadMemStats(&after)
			require.NoError(t, err)
			require.NotEmpty(t, made.View)
			require.Less(t, time.Since(start), time.Minute)
			require.Less(t, after.TotalAlloc-before.TotalAlloc, uint64(8<<20))
			if c.note {
				require.NotEmpty(t, f.Notes)
			}
		})
	}
}

func TestDamagedCameraSamples(t *testing.T) {
	for _, path := range sampleFiles(t, 3, "goexif-corrupt/*.jpg") {
		t.Run(filepath.Base(path), func(t *testing.T) {
			data := readFile(t, path)
			start := time.Now()
			_, f := photoFacts(t, data)
			require.Less(t, time.Since(start), time.Minute)
			require.NotEmpty(t, f.Notes)
		})
	}
}

// Two EXIF segments with different content: the readers that take different ones are caught disagreeing, and ours is the
// first, as the standard has it.
func TestDisagreementIsReported(t *testing.T) {
	text := func(maker string) []byte {
		b := newBlock(26+len(maker)+1).dir(8, 0, [4]uint32{0x010f, 2, uint32(len(maker) + 1), 26})
		copy(b[26:], maker)
		return b
	}
	own := tagValues{"Make": "Ottermark", "SubSecTimeOriginal": "007", "GPSLatitude": "47.12345678"}
	require.Empty(t, disagreements(own, tagValues{}, tagValues{"SubSecTimeOriginal": "7", "GPSLatitude": "47.12345670"}))
	require.Equal(t, []string{`Make: "Ottermark", "Ottermark", "Birchline"`}, disagreements(own, tagValues{"Make": "Ottermark"}, tagValues{"Make": "Birchline"}))
	require.Equal(t, []string{`GPSLatitude: "47.12345678", "47.12400000"`}, disagreements(own, tagValues{"GPSLatitude": "47.12400000"}, nil))

	data := withSegments(encodeJPEG(t, scene(1, 32, 24), 80), exifSegment(text("Ottermark")), exifSegment(text("Birchline")))
	f, _, err := examine(t, patient(), data)
	require.NoError(t, err)
	require.Equal(t, "Ottermark", f.Camera)
}

func TestCaptureTimes(t *testing.T) {
	for _, c := range []struct {
		name  string
		tags  tagValues
		local string
		off   string
		notes int
	}{
		{"original", tagValues{"DateTimeOriginal": "2026:01:02 03:04:05", "OffsetTimeOriginal": "-03:30"}, "2026-01-02T03:04:05", "-03:30", 0},
		{"blank zone", tagValues{"DateTimeOriginal": "2026:01:02 03:04:05", "OffsetTimeOriginal": "   :  "}, "2026-01-02T03:04:05", "", 0},
		{"impossible zone", tagValues{"DateTimeOriginal": "2026:01:02 03:04:05", "OffsetTimeOriginal": "+25:00"}, "2026-01-02T03:04:05", "", 1},
		{"digitized only", tagValues{"DateTimeDigitized": "2026:01:02 03:04:05"}, "2026-01-02T03:04:05", "", 1},
		{"changed only", tagValues{"DateTime": "2026:01:02 03:04:05"}, "", "", 1},
		{"blank", tagValues{"DateTimeOriginal": "    :  :     :  :  "}, "", "", 0},
		{"zeros", tagValues{"DateTimeOriginal": "0000:00:00 00:00:00"}, "", "", 0},
		{"29 February of a common year", tagValues{"DateTimeOriginal": "2025:02:29 00:00:00"}, "", "", 1},
		{"month 13", tagValues{"DateTimeOriginal": "2026:13:01 00:00:00"}, "", "", 1},
		{"year 1", tagValues{"DateTimeOriginal": "0001:01:01 00:00:00"}, "", "", 1},
		{"year 9999", tagValues{"DateTimeOriginal": "9999:12:31 23:59:59"}, "", "", 1},
		{"a clock that was never set", tagValues{"DateTimeOriginal": "1970:01:01 00:00:07"}, "1970-01-01T00:00:07", "", 0},
		{"words", tagValues{"DateTimeOriginal": "yesterday at noon.."}, "", "", 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			notes := 0
			got := c.tags.taken(func(string, ...any) { notes++ })
			require.Equal(t, c.notes, notes)
			if c.local == "" {
				require.Nil(t, got)
				return
			}
			require.Equal(t, c.local, got.Local)
			require.Equal(t, c.off, got.Offset)
		})
	}
}

// The eight orientations show the letter F: upright, all thumbnails are the same picture, up to JPEG noise.
func TestOrientations(t *testing.T) {
	want := decodeThumb(t, "f1-exif.jpg")
	for _, name := range []string{"f2", "f3", "f4", "f5", "f6", "f7", "f8"} {
		got := decodeThumb(t, name+"-exif.jpg")
		require.Equal(t, want.Bounds(), got.Bounds(), name)
		var sum, n float64
		for y := range want.Bounds().Dy() {
			for x := range want.Bounds().Dx() {
				a, _, _, _ := want.At(x, y).RGBA()
				b, _, _, _ := got.At(x, y).RGBA()
				sum += abs(float64(a>>8) - float64(b>>8))
				n++
			}
		}
		require.Less(t, sum/n, 8.0, "%s: mean difference of grey levels", name)
	}
}

// The short way and the general way make the same view of the same photo, up to the rounding of colours: turned in all
// eight ways, at sizes that are halved, scaled and kept, in colour and grey.
func TestShortWayMakesTheSameView(t *testing.T) {
	for _, size := range [][2]int{{3300, 801}, {1001, 1803}, {201, 150}, {3201, 90}} {
		img := scene(uint64(size[0]), size[0], size[1])
		grey := greyImage(greyOfRGBA(img))
		for orientation := 1; orientation <= 8; orientation++ {
			if size[0]*size[1] > 100_000 && orientation != 1 && orientation != 7 {
				continue // turning is the same at every size
			}
			var src image.Image = img
			if orientation%4 == 3 {
				src = grey
			}
			data := encodeJPEG(t, src, 92)
			full, err := jpeg.Decode(bytes.NewReader(data))
			require.NoError(t, err)
			var a, b claims.PhotoFacts
			want, err := derive(full, orientation, &a)
			require.NoError(t, err)
			fast, err := decodeFast(data, max(size[0], size[1]) >= 2*viewSide)
			require.NoError(t, err)
			got, err := derivePlanar(fast, size[0], size[1], orientation, &b)
			require.NoError(t, err)
			require.Equal(t, []int{a.Width, a.Height}, []int{b.Width, b.Height})
			require.InDelta(t, a.Mean, b.Mean, 1)
			require.InEpsilon(t, a.Sharpness, b.Sharpness, 0.2)
			require.Equal(t, []string{a.Sharp, a.Dark, a.Bright}, []string{b.Sharp, b.Dark, b.Bright})
			pa, err := strconv.ParseUint(a.Fingerprint, 16, 64)
			require.NoError(t, err)
			pb, err := strconv.ParseUint(b.Fingerprint, 16, 64)
			require.NoError(t, err)
			require.LessOrEqual(t, measure.Distance(pa, pb), 2)
			for _, pair := range [][2][]byte{{want.View, got.View}, {want.Thumb, got.Thumb}} {
				x, err := jpeg.Decode(bytes.NewReader(pair[0]))
				require.NoError(t, err)
				y, err := jpeg.Decode(bytes.NewReader(pair[1]))
				require.NoError(t, err)
				require.Equal(t, x.Bounds(), y.Bounds())
				require.Greater(t, similarity(x, y), 26.0, "%v, orientation %d: PSNR in dB", size, orientation)
			}
		}
	}
}

// similarity is the peak signal-to-noise ratio of two pictures over red, green and blue, in decibels.
func similarity(a, b image.Image) float64 {
	var sum, n float64
	for y := range a.Bounds().Dy() {
		for x := range a.Bounds().Dx() {
			r1, g1, b1, _ := a.At(x, y).RGBA()
			r2, g2, b2, _ := b.At(x, y).RGBA()
			for _, d := range []float64{float64(r1>>8) - float64(r2>>8), float64(g1>>8) - float64(g2>>8), float64(b1>>8) - float64(b2>>8)} {
				sum += d * d
				n++
			}
		}
	}
	return 10 * math.Log10(255*255/(sum/n+1e-9))
}

func TestSameBytesSamePictures(t *testing.T) {
	data := readFile(t, photosDir+"/evanoberholster/JPEG.jpg")
	_, a, err := examine(t, patient(), data)
	require.NoError(t, err)
	_, b, err := examine(t, New(Options{Workers: 1}), data)
	require.NoError(t, err)
	require.True(t, bytes.Equal(a.View, b.View) && bytes.Equal(a.Thumb, b.Thumb))
	require.NotContains(t, string(a.View), "Exif")
}
