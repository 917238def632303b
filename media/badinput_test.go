package media

import (
	"bytes"
	"compress/zlib"
	"context"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"image"
	"image/color"
	"image/gif"
	"image/png"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

func pngBytes(t testing.TB, img image.Image) []byte {
	t.Helper()
	var buf bytes.Buffer
	require.NoError(t, png.Encode(&buf, img))
	return buf.Bytes()
}

func pngChunk(name string, body []byte) []byte {
	out := binary.BigEndian.AppendUint32(nil, uint32(len(body)))
	out = append(append(out, name...), body...)
	return binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(out[4:]))
}

// rawPNG builds a PNG of 8 bit a sample from its already filtered rows.
func rawPNG(w, h uint32, colour byte, palette, rows []byte) []byte {
	ihdr := binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, w), h)
	out := append([]byte("\x89PNG\r\n\x1a\n"), pngChunk("IHDR", append(ihdr, 8, colour, 0, 0, 0))...)
	if palette != nil {
		out = append(out, pngChunk("PLTE", palette)...)
	}
	var z bytes.Buffer
	zw := zlib.NewWriter(&z)
	_, _ = zw.Write(rows)
	zw.Close()
	return append(append(out, pngChunk("IDAT", z.Bytes())...), pngChunk("IEND", nil)...)
}

// jpegHeader is a JPEG that claims a size and then has nothing.
func jpegHeader(w, h int) []byte {
	sof := []byte{8, byte(h >> 8), byte(h), byte(w >> 8), byte(w), 3, 1, 0x22, 0, 2, 0x11, 1, 3, 0x11, 1}
	return append(append([]byte{0xff, 0xd8}, segment(0xc0, sof)...), segment(0xda, []byte{3, 1, 0, 2, 0x11, 3, 0x11, 0, 63, 0})...)
}

func TestRefused(t *testing.T) {
	whole := encodeJPEG(t, scene(3, 640, 480), 85)
	wholePNG := pngBytes(t, scene(4, 200, 150))
	var g bytes.Buffer
	require.NoError(t, gif.Encode(&g, scene(5, 20, 20), nil))
	heicFile := readFile(t, filepath.Join(photosDir, "heic/test8.heic"))
	webpFile := readFile(t, filepath.Join(photosDir, "ximage/yellow_rose.lossy.webp"))
	bomb := rawPNG(19_000, 19_000, 2, nil, make([]byte, 1000))
	for _, c := range []struct {
		name  string
		data  []byte
		code  claims.ErrorCode
		words string // in the sentence
	}{
		{"empty", nil, claims.Invalid, "empty"},
		{"one byte", []byte{0xff}, claims.Unsupported, "JPEG"},
		{"web page named .jpg", []byte("<!DOCTYPE html><html><title>Sign in</title>"), claims.Unsupported, "web page"},
		{"web page behind blanks and a mark", []byte("\xef\xbb\xbf \r\n<HTML>"), claims.Unsupported, "web page"},
		{"SVG", []byte(`<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg"><script>1</script></svg>`), claims.Unsupported, "SVG"},
		{"text", []byte("just words\n"), claims.Unsupported, "text"},
		{"GIF", g.Bytes(), claims.Unsupported, "GIF"},
		{"BMP", []byte("BM\x46\x00\x00\x00\x00\x00\x00\x00"), claims.Unsupported, "BMP"},
		{"TIFF", []byte("II*\x00\x08\x00\x00\x00"), claims.Unsupported, "TIFF"},
		{"ZIP", []byte("PK\x03\x04rest"), claims.Unsupported, "ZIP"},
		{"AVIF", []byte("\x00\x00\x00\x18ftypavif\x00\x00\x00\x00mif1avif"), claims.Unsupported, "AVIF"},
		{"noise", bytes.Repeat([]byte{7, 1, 200}, 500), claims.Unsupported, "kind of file"},
		{"JPEG cut in the picture", whole[:len(whole)*2/3], claims.Invalid, "cut off"},
		{"JPEG cut at its last bytes", whole[:len(whole)-40], claims.Invalid, "cut off"},
		{"JPEG cut in the header", whole[:100], claims.Invalid, "cut off"},
		{"JPEG with nothing behind the mark", []byte{0xff, 0xd8, 0xff}, claims.Invalid, "cut off"},
		{"JPEG that ends at once", []byte{0xff, 0xd8, 0xff, 0xd9}, claims.Invalid, "cut off"},
		{"JPEG with a segment of length 1", []byte{0xff, 0xd8, 0xff, 0xe0, 0, 1, 0, 0, 0, 0}, claims.Invalid, "damaged"},
		{"JPEG of 60,000 x 60,000", jpegHeader(60_000, 60_000), claims.TooLarge, "60000 × 60000"},
		{"JPEG of 65,535 x 1", jpegHeader(65_535, 1), claims.TooLarge, "65535"},
		{"JPEG without a size", jpegHeader(0, 100), claims.Invalid, "damaged"},
		{"JPEG scan before the frame", append([]byte{0xff, 0xd8}, segment(0xda, []byte{1, 1, 0, 0, 63, 0})...), claims.Invalid, "damaged"},
		{"lossless JPEG", append([]byte{0xff, 0xd8}, segment(0xc3, []byte{8, 0, 9, 0, 9, 1, 1, 0x11, 0})...), claims.Unsupported, "rare"},
		{"JPEG of noise", append(jpegHeader(64, 64), bytes.Repeat([]byte{1, 2, 3}, 100)...), claims.Invalid, ""},
		{"PNG of 60,000 x 60,000", rawPNG(60_000, 60_000, 2, nil, make([]byte, 100)), claims.TooLarge, "60000 × 60000"},
		{"PNG that claims far more than it has", bomb, claims.TooLarge, "19000"},
		{"PNG of 2^31 x 2^31", rawPNG(1<<31, 1<<31, 2, nil, nil), claims.Invalid, "damaged"},
		{"PNG cut off", wholePNG[:len(wholePNG)/2], claims.Invalid, "cut off"},
		{"PNG without an end", wholePNG[:len(wholePNG)-12], claims.Invalid, "cut off"},
		{"PNG with a flipped bit", flipped(wholePNG, len(wholePNG)/2), claims.Invalid, "damaged"},
		{"WebP cut off", webpFile[:len(webpFile)-100], claims.Invalid, "cut off"},
		{"WebP with a small canvas and a huge picture", hugeInSmallCanvas(), claims.TooLarge, "16383"},
		{"animated WebP", riff("WEBP", chunk("VP8X", make([]byte, 10)), chunk("ANIM", make([]byte, 6))), claims.Unsupported, "animated"},
		{"HEIC garbage", append([]byte("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic"), bytes.Repeat([]byte{3, 200, 7, 0}, 400)...), claims.Invalid, "HEIC"},
		{"HEIC cut off", heicFile[:len(heicFile)/2], claims.Invalid, "HEIC"},
		{"HEIC brand only", []byte("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic"), claims.Invalid, "HEIC"},
		{"PDF cut off", append([]byte("%PDF-1.7\n"), bytes.Repeat([]byte("x"), 5000)...), claims.Invalid, "cut off"},
		{"clip cut off", clipFile("mp42", 5000)[:3000], claims.Invalid, "cut off"},
		{"clip without a movie", append(box("ftyp", []byte("mp42\x00\x00\x00\x00")), box("mdat", make([]byte, 100))...), claims.Invalid, "cut off"},
		{"clip of endless empty boxes", append(box("ftyp", []byte("mp42\x00\x00\x00\x00")), bytes.Repeat(box("free", nil), 30_000)...), claims.Invalid, "too many parts"},
		{"WebM", []byte("\x1aE\xdf\xa3\x01\x00\x00\x00"), claims.Unsupported, "WebM"},
	} {
		t.Run(c.name, func(t *testing.T) {
			e := patient()
			f, made, err := examine(t, e, c.data)
			require.Error(t, err)
			own, ok := errors.AsType[*claims.Error](err)
			require.True(t, ok, "%v", err)
			require.Equal(t, c.code, own.Code, own.Says)
			require.Contains(t, own.Says, c.words)
			require.True(t, strings.HasSuffix(own.Says, "."), own.Says)
			require.Zero(t, f)
			require.Zero(t, made)
			_, err = e.Codes(t.Context(), bytes.NewReader(c.data), int64(len(c.data)))
			require.Error(t, err, "a search for codes refuses it as well")
		})
	}
}

func flipped(data []byte, at int) []byte {
	out := bytes.Clone(data)
	out[at] ^= 0x40
	return out
}

func box(name string, body []byte) []byte {
	return append(append(binary.BigEndian.AppendUint32(nil, uint32(8+len(body))), name...), body...)
}

func clipFile(brand string, data int) []byte {
	out := box("ftyp", append([]byte(brand), "\x00\x00\x00\x00isom"...))
	out = append(out, box("moov", make([]byte, 200))...)
	return append(out, box("mdat", make([]byte, data))...)
}

func chunk(name string, body []byte) []byte {
	out := append([]byte(name), binary.LittleEndian.AppendUint32(nil, uint32(len(body)))...)
	out = append(out, body...)
	if len(body)&1 == 1 {
		out = append(out, 0)
	}
	return out
}

func riff(form string, chunks ...[]byte) []byte {
	body := []byte(form)
	for _, c := range chunks {
		body = append(body, c...)
	}
	return chunk("RIFF", body)
}

// hugeInSmallCanvas says 16 x 16 in the extended header and 16,383 x 16,383 in the picture's own.
func hugeInSmallCanvas() []byte {
	vp8x := []byte{0, 0, 0, 0, 15, 0, 0, 15, 0, 0}
	vp8 := append([]byte{0x10, 0, 0, 0x9d, 0x01, 0x2a, 0xff, 0x3f, 0xff, 0x3f}, make([]byte, 50)...)
	return riff("WEBP", chunk("VP8X", vp8x), chunk("VP8 ", vp8))
}

// Refusing a header takes next to no memory, whatever it claims.
func TestHugeClaimsTakeNoMemory(t *testing.T) {
	e := patient()
	for name, data := range map[string][]byte{
		"JPEG": jpegHeader(60_000, 60_000), "PNG": rawPNG(60_000, 60_000, 6, nil, make([]byte, 100)), "WebP": hugeInSmallCanvas(),
	} {
		t.Run(name, func(t *testing.T) {
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			_, _, err := examine(t, e, data)
			runtime.ReadMemStats(&after)
			require.Equal(t, claims.TooLarge, claims.CodeOf(err))
			require.Less(t, after.TotalAlloc-before.TotalAlloc, uint64(1<<20))
		})
	}
}

// A zlib stream that unpacks to far more than the picture needs is read to the picture's end only.
func TestPNGWithEndlessData(t *testing.T) {
	data := rawPNG(8, 8, 2, nil, make([]byte, 64<<20))
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	_, _, err := examine(t, patient(), data)
	runtime.ReadMemStats(&after)
	require.Less(t, after.TotalAlloc-before.TotalAlloc, uint64(4<<20))
	if err != nil {
		require.Equal(t, claims.Invalid, claims.CodeOf(err))
	}
}

func TestLimitsOfBytes(t *testing.T) {
	e := New(Options{MaxImage: 10_000, MaxDocument: 5000, MaxClip: 7000})
	pdf := append(append([]byte("%PDF-1.4\n"), make([]byte, 6000)...), "%%EOF\n"...)
	for name, data := range map[string][]byte{"photo": append(encodeJPEG(t, scene(1, 40, 30), 80), make([]byte, 10_000)...), "document": pdf, "clip": clipFile("qt  ", 8000)} {
		_, _, err := examine(t, e, data)
		require.Equal(t, claims.TooLarge, claims.CodeOf(err), "%s: %v", name, err)
		require.Contains(t, err.Error(), name)
	}
}

// The content decides: what a file is called does not come here at all, and what it is is what it is.
func TestKindsByContent(t *testing.T) {
	e := patient()
	for _, c := range []struct {
		name, mime string
		data       []byte
		picture    bool
	}{
		{"PNG (named .jpg)", "image/png", pngBytes(t, scene(2, 60, 40)), true},
		{"JPEG", "image/jpeg", encodeJPEG(t, scene(2, 60, 40), 80), true},
		{"JPEG, fill bytes before markers", "image/jpeg", withSegments(encodeJPEG(t, scene(2, 60, 40), 80), []byte{0xff, 0xff}, segment(0xe3, nil)), true},
		{"WebP", "image/webp", readFile(t, photosDir+"/ximage/yellow_rose.lossy-with-alpha.webp"), true},
		{"HEIC", "image/heic", readFile(t, photosDir+"/heic/gray.heic"), true},
		{"PDF", "application/pdf", []byte("%PDF-1.4\nbody\n%%EOF\n"), false},
		{"MP4", "video/mp4", clipFile("mp42", 100), false},
		{"MOV", "video/quicktime", clipFile("qt  ", 100), false},
		{"M4A", "audio/mp4", clipFile("M4A ", 100), false},
	} {
		t.Run(c.name, func(t *testing.T) {
			f, made, err := examine(t, e, c.data)
			require.NoError(t, err)
			require.Equal(t, c.mime, f.Type)
			require.Equal(t, claims.DigestOf(c.data), f.Digest)
			require.EqualValues(t, len(c.data), f.Bytes)
			require.Equal(t, Version, f.Examiner)
			require.Equal(t, c.picture, made.View != nil)
			require.Equal(t, c.picture, made.Thumb != nil)
			require.Equal(t, c.picture, f.Width > 0)
			require.Equal(t, c.picture, f.Sharp != "")
		})
	}
}

// A palette with fewer colours than the picture's indexes is what kills a process through imaging; here it is black.
func TestPaletteIndexOutOfRange(t *testing.T) {
	rows := bytes.Repeat(append([]byte{0}, bytes.Repeat([]byte{0, 1, 250, 255}, 10)...), 40)
	data := rawPNG(40, 40, 3, []byte{255, 255, 255, 200, 0, 0}, rows)
	f, made, err := examine(t, patient(), data)
	require.NoError(t, err)
	require.Equal(t, 40, f.Width)
	require.NotEmpty(t, made.View)

	p := image.NewPaletted(image.Rect(3, 5, 13, 15), color.Palette{color.White})
	for i := range p.Pix {
		p.Pix[i] = uint8(i * 3)
	}
	img, err := normalise(p)
	require.NoError(t, err)
	require.Equal(t, color.NRGBA{255, 255, 255, 255}, img.At(0, 0))
	require.Equal(t, color.NRGBA{0, 0, 0, 255}, img.At(1, 0))
}

type panicking struct{}

func (panicking) ReadAt([]byte, int64) (int, error) { panic("index out of range") }

func TestPanicBecomesAnError(t *testing.T) {
	_, _, err := New(Options{}).Examine(t.Context(), panicking{}, 100)
	require.Equal(t, claims.Invalid, claims.CodeOf(err))
	_, err = New(Options{}).Codes(t.Context(), panicking{}, 100)
	require.Equal(t, claims.Invalid, claims.CodeOf(err))
}

// slow reads like a stalled disk.
type slow struct {
	data []byte
	wait time.Duration
}

func (s slow) ReadAt(p []byte, off int64) (int, error) {
	time.Sleep(s.wait)
	return bytes.NewReader(s.data).ReadAt(p, off)
}

func TestTimeIsBounded(t *testing.T) {
	data := encodeJPEG(t, scene(1, 800, 600), 95)
	start := time.Now()
	_, _, err := New(Options{Time: 50 * time.Millisecond}).Examine(t.Context(), slow{data, 30 * time.Millisecond}, int64(len(data)))
	require.Equal(t, claims.Busy, claims.CodeOf(err), "%v", err)
	require.Less(t, time.Since(start), time.Minute)

	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, _, err = New(Options{}).Examine(ctx, bytes.NewReader(data), int64(len(data)))
	require.ErrorIs(t, err, context.Canceled)
}

func TestShorterThanItsSize(t *testing.T) {
	data := encodeJPEG(t, scene(1, 80, 60), 80)
	_, _, err := New(Options{}).Examine(t.Context(), bytes.NewReader(data), int64(len(data))+5000)
	require.Error(t, err)
}

// Decodes share one budget: many at once all succeed, one after the other if need be.
func TestManyAtOnce(t *testing.T) {
	e := New(Options{Memory: 80 << 20, Workers: 8, Time: 3 * time.Minute})
	data := encodeJPEG(t, scene(1, 900, 700), 80)
	errs := make(chan error, 12)
	for range cap(errs) {
		go func() {
			_, _, err := e.Examine(context.Background(), bytes.NewReader(data), int64(len(data)))
			errs <- err
		}()
	}
	for range cap(errs) {
		require.NoError(t, <-errs)
	}
}
