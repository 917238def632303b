package media

import (
	"bytes"
	"encoding/json"
	"image/jpeg"
	"io"
	"runtime"
	"testing"
	"time"

	"github.com/bep/imagemeta"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

// smallFiles are seeds of every kind that is taken, small enough to fuzz.
func smallFiles(t testing.TB) [][]byte {
	out := [][]byte{
		nil, encodeJPEG(t, scene(1, 24, 17), 60), encodeJPEG(t, greyImage(greyOfRGBA(scene(2, 9, 9))), 60), pngBytes(t, scene(3, 20, 20)),
		rawPNG(8, 8, 3, []byte{1, 2, 3, 4, 5, 6}, bytes.Repeat([]byte{0, 0, 1, 2, 3, 9, 0, 1, 0}, 8)),
		clipFile("mp42", 20), clipFile("qt  ", 20), []byte("%PDF-1.4\n%%EOF"), []byte("<html>"), hugeInSmallCanvas(), jpegHeader(60_000, 60_000),
		withSegments(encodeJPEG(t, scene(1, 16, 16), 60), exifSegment(newBlock(60).dir(8, 0, [4]uint32{tagExifIFD, 4, 1, 40}).dir(40, 0, [4]uint32{0x9003, 2, 4, 1}))),
	}
	for _, path := range sampleFiles(t, 12, "goexif/f?-exif.jpg", "ximage/gopher-doc.with-alpha.lossless.webp", "goexif-corrupt/infinite*.jpg", "ximage/yellow_rose.lossy.webp", "heic/test8.heic") {
		out = append(out, readFile(t, path))
	}
	return append(out, recordings(t)...)
}

// bounded runs do and fails when it takes long or allocates much.
func bounded(t *testing.T, seconds float64, bytes uint64, do func()) {
	t.Helper()
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	start := time.Now()
	do()
	took := time.Since(start)
	runtime.ReadMemStats(&after)
	require.Less(t, took.Seconds(), seconds, "seconds")
	require.Less(t, after.TotalAlloc-before.TotalAlloc, bytes, "bytes allocated")
}

// The walkers and both EXIF readers, on any bytes taken as a TIFF block: no panic, no more memory than a small multiple of the
// limit, and goexif agrees with our own reading of what was checked for it.
func FuzzExifBlock(f *testing.F) {
	for _, path := range sampleFiles(f, 45, "goexif/20*.jpg") {
		data := readFile(f, path)
		h, _ := walkJPEG(&upload{ctx: f.Context(), src: bytes.NewReader(data), size: int64(len(data))})
		if h.exif != nil && len(h.exif) < 12_000 {
			f.Add(h.exif)
		}
	}
	f.Add([]byte(newBlock(26).dir(8, 0, [4]uint32{0x010f, 3, 0x80000001, 8})))
	f.Add([]byte(newBlock(44).dir(8, 26, [4]uint32{0x0112, 3, 1, 6}).dir(26, 8, [4]uint32{0x0112, 3, 1, 6})))
	f.Fuzz(func(t *testing.T, raw []byte) {
		bounded(t, 30, 64<<20, func() {
			b, ok := walkExif(raw)
			if ok {
				require.LessOrEqual(t, len(b.entries), mostTags)
				own := b.own()
				seen, err := readGoexif(b)
				if err == nil && !b.overlaps {
					for _, tag := range exifTags() {
						if v, ok := seen[tag.name]; ok && own[tag.name] != "" {
							require.True(t, sameTag(tag.as, own[tag.name], v), "%s: %q, goexif %q", tag.name, own[tag.name], v)
						}
					}
				}
			}
			_, _ = readImagemeta(bytes.NewReader(raw), imagemeta.TIFF)
			var facts claims.PhotoFacts
			cameraFacts(raw, nil, &facts)
			_, err := json.Marshal(facts)
			require.NoError(t, err)
		})
	})
}

// The containers: segments, chunks and boxes.
func FuzzWalkers(f *testing.F) {
	for _, data := range smallFiles(f) {
		f.Add(data)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		u := &upload{ctx: t.Context(), src: bytes.NewReader(data), size: int64(len(data))}
		bounded(t, 30, 64<<20, func() {
			k, err := sniff(data[:min(len(data), sniffBytes)])
			require.Equal(t, err == nil, k.mime != "")
			_, _ = walkJPEG(u)
			_, _ = walkPNG(u)
			_, _ = walkWebP(u)
			_, _ = walkHEIF(u)
			_, _ = checkClip(u)
			_, _ = checkWebM(u)
			_ = checkPDF(u)
			_, _ = readImagemeta(io.NewSectionReader(u.src, 0, u.size), imagemeta.JPEG)
		})
	})
}

// A whole examination of any bytes: an answer with a sentence, or facts that make sense and a view that can be decoded. HEIC is
// left out, its decoder being in a sandbox and slow.
func FuzzExamine(f *testing.F) {
	for _, data := range smallFiles(f) {
		f.Add(data)
	}
	e := New(Options{MaxPixels: 300_000, Time: time.Minute})
	f.Fuzz(func(t *testing.T, data []byte) {
		if k, err := sniff(data[:min(len(data), sniffBytes)]); err == nil && k.mime == mimeHEIC {
			return
		}
		bounded(t, 30, 256<<20, func() {
			facts, made, err := examine(t, e, data)
			if err != nil {
				require.NotEmpty(t, claims.CodeOf(err), "%v", err)
				require.Zero(t, facts)
				return
			}
			require.Equal(t, claims.DigestOf(data), facts.Digest)
			if made.View != nil {
				c, err := jpeg.DecodeConfig(bytes.NewReader(made.View))
				require.NoError(t, err)
				require.LessOrEqual(t, max(c.Width, c.Height), viewSide)
				w, h := fitted(facts.Width, facts.Height, viewSide)
				require.Equal(t, []int{w, h}, []int{c.Width, c.Height})
			}
		})
	})
}

// Code reading on any small grey picture: no panic, and only codes that can be printed.
func FuzzCodes(f *testing.F) {
	g := greyOfRGBA(scene(1, 90, 60))
	f.Add(g.Pix, uint8(90))
	f.Add(bytes.Repeat([]byte{0, 0, 255, 255, 0, 255}, 700), uint8(60))
	for _, c := range codeCases()[:1] {
		code := greyOf(mustNormalise(f, zintCode(f, c.kind, c.data, 1)))
		f.Add(code.Reduce(min(code.W, 255), 30).Pix, uint8(min(code.W, 255)))
	}
	f.Fuzz(func(t *testing.T, pix []byte, width uint8) {
		w := int(width)
		if w == 0 || len(pix) < w || len(pix)/w > 64 {
			return
		}
		bounded(t, 30, 1<<30, func() {
			for _, c := range findCodes(t.Context(), greyFrom(pix, w)) {
				require.NotEmpty(t, c.Text)
				require.LessOrEqual(t, len(c.Text), mostCodeText)
			}
		})
	})
}
