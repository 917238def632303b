package media

import (
	"bytes"
	"fmt"
	"image"
	"image/jpeg"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// cjpegLike returns JPEGs of many kinds: the encoder of Go gives 4:2:0 only, so others come from OpenCV when asked for.
func fastSamples(t testing.TB) map[string][]byte {
	t.Helper()
	out := map[string][]byte{}
	for i, size := range [][2]int{{64, 48}, {65, 49}, {1, 1}, {7, 9}, {17, 16}, {640, 480}, {333, 211}} {
		img := scene(uint64(i), size[0], size[1])
		for _, q := range []int{30, 75, 95, 100} {
			out[fmt.Sprintf("%dx%d q%d", size[0], size[1], q)] = encodeJPEG(t, img, q)
		}
		g := greyOfRGBA(img)
		out[fmt.Sprintf("%dx%d grey", size[0], size[1])] = encodeJPEG(t, greyImage(g), 85)
	}
	return out
}

// opencvJPEGs are JPEGs in other samplings, with restart markers and optimised tables, written by libjpeg-turbo in OpenCV (Debian
// python3-opencv).
func opencvJPEGs(t testing.TB) map[string][]byte {
	t.Helper()
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "in.png"), pngBytes(t, scene(9, 331, 227)), 0o600))
	script := `import sys, cv2
d = sys.argv[1]
img = cv2.imread(d + "/in.png")
cv2.imwrite(d + "/optimised.jpg", img, [cv2.IMWRITE_JPEG_QUALITY, 90, cv2.IMWRITE_JPEG_OPTIMIZE, 1])
cv2.imwrite(d + "/restart.jpg", img, [cv2.IMWRITE_JPEG_QUALITY, 80, cv2.IMWRITE_JPEG_RST_INTERVAL, 3])
cv2.imwrite(d + "/progressive.jpg", img, [cv2.IMWRITE_JPEG_QUALITY, 80, cv2.IMWRITE_JPEG_PROGRESSIVE, 1])
cv2.imwrite(d + "/tiny.jpg", img[:5,:3], [cv2.IMWRITE_JPEG_QUALITY, 98])
`
	require.NoError(t, os.WriteFile(filepath.Join(dir, "make.py"), []byte(script), 0o600))
	tool(t, "python3-opencv", "/usr/bin/python3", filepath.Join(dir, "make.py"), dir)
	out := map[string][]byte{}
	for _, name := range []string{"optimised", "restart", "progressive", "tiny"} {
		out[name] = readFile(t, filepath.Join(dir, name+".jpg"))
	}
	return out
}

// planeDiff is the largest and the mean difference of two planes.
func planeDiff(a []uint8, as int, b []uint8, bs, w, h int) (most int, mean float64) {
	for y := range h {
		for x := range w {
			d := int(a[y*as+x]) - int(b[y*bs+x])
			most = max(most, max(d, -d))
			mean += math.Abs(float64(d))
		}
	}
	return most, mean / float64(w*h)
}

// sameAsStandard compares a full decode with image/jpeg: no sample differs by more than the rounding of the two transforms.
func sameAsStandard(t *testing.T, data []byte, got *image.YCbCr, most int) {
	t.Helper()
	img, err := jpeg.Decode(bytes.NewReader(data))
	require.NoError(t, err)
	require.Equal(t, img.Bounds(), got.Bounds())
	w, h := got.Rect.Dx(), got.Rect.Dy()
	switch want := img.(type) {
	case *image.Gray:
		require.Nil(t, got.Cb)
		d, _ := planeDiff(want.Pix, want.Stride, got.Y, got.YStride, w, h)
		require.LessOrEqual(t, d, most)
	case *image.YCbCr:
		require.Equal(t, want.SubsampleRatio, got.SubsampleRatio)
		d, _ := planeDiff(want.Y, want.YStride, got.Y, got.YStride, w, h)
		require.LessOrEqual(t, d, most, "luma")
		cw, ch := chromaSize(got)
		for i, p := range [][2][]uint8{{want.Cb, got.Cb}, {want.Cr, got.Cr}} {
			d, _ := planeDiff(p[0], want.CStride, p[1], got.CStride, cw, ch)
			require.LessOrEqual(t, d, most, "chroma %d", i)
		}
	default:
		t.Fatalf("a %T was decoded fast", img)
	}
}

func TestFastEqualsStandard(t *testing.T) {
	all := fastSamples(t)
	for name, data := range opencvJPEGs(t) {
		if name != "progressive" {
			all[name] = data
		}
	}
	for name, data := range all {
		t.Run(name, func(t *testing.T) {
			full, err := decodeFast(data, false)
			require.NoError(t, err)
			sameAsStandard(t, data, full, 2)
			half, err := decodeFast(data, true)
			require.NoError(t, err)
			require.Equal(t, []int{(full.Rect.Dx() + 1) / 2, (full.Rect.Dy() + 1) / 2}, []int{half.Rect.Dx(), half.Rect.Dy()})
			// At half size each sample is about the mean of the four it stands for: the transform keeps frequencies, the mean
			// does not quite, so edges differ.
			var mean, n float64
			for y := range full.Rect.Dy() / 2 {
				for x := range full.Rect.Dx() / 2 {
					p, s := full.Y[2*y*full.YStride+2*x:], full.YStride
					want := (float64(p[0]) + float64(p[1]) + float64(p[s]) + float64(p[s+1])) / 4
					mean += math.Abs(want - float64(half.Y[y*half.YStride+x]))
					n++
				}
			}
			if n > 0 {
				require.Less(t, mean/n, 9.0)
			}
		})
	}
}

// What is not a plain baseline JPEG, or damaged, is left to image/jpeg.
func TestNotFast(t *testing.T) {
	whole := encodeJPEG(t, scene(3, 200, 150), 85)
	for name, data := range map[string][]byte{
		"progressive": opencvJPEGs(t)["progressive"], "empty": nil, "cut": whole[:len(whole)*3/4], "end missing": whole[:len(whole)-2],
		"bytes before the end": append(append(bytes.Clone(whole[:len(whole)-2]), 1, 2, 3), 0xff, 0xd9),
		"header only":          jpegHeader(64, 64), "lossless": append([]byte{0xff, 0xd8}, segment(0xc3, make([]byte, 9))...),
	} {
		_, err := decodeFast(data, false)
		require.ErrorIs(t, err, errNotFast, name)
	}
}

// Every sample photo that image/jpeg decodes to YCbCr or grey is decoded alike, or left to it.
func TestFastOnSamples(t *testing.T) {
	fast := 0
	for _, path := range sampleFiles(t, 60, "goexif/*.jpg", "dsoprea/*.jpg", "evanoberholster/*.jpg") {
		data := readFile(t, path)
		got, err := decodeFast(data, false)
		if err == nil {
			sameAsStandard(t, data, got, 2)
			fast++
		}
	}
	t.Logf("%d decoded fast", fast)
	require.GreaterOrEqual(t, fast, 4)
}

// What is decoded fast, image/jpeg decodes as well, to the same size: the fast decoder is never more lenient.
func FuzzFastJPEG(f *testing.F) {
	for _, data := range fastSamples(f) {
		if len(data) < 3000 {
			f.Add(data)
		}
	}
	for _, path := range sampleFiles(f, 8, "goexif/f?-exif.jpg") {
		f.Add(readFile(f, path))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		if h, err := walkJPEG(&upload{ctx: t.Context(), src: bytes.NewReader(data), size: int64(len(data))}); err != nil || h.width*h.height > 1<<20 {
			return
		}
		full, err := decodeFast(data, false)
		half, errHalf := decodeFast(data, true)
		require.Equal(t, err == nil, errHalf == nil)
		if err != nil {
			return
		}
		img, err := jpeg.Decode(bytes.NewReader(data))
		require.NoError(t, err, "image/jpeg refuses what was decoded fast")
		require.Equal(t, img.Bounds(), full.Bounds())
		require.Equal(t, (full.Rect.Dx()+1)/2, half.Rect.Dx())
	})
}

func BenchmarkFastHalf12MP(b *testing.B) {
	data := bigPhoto(b)
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		_, err := decodeFast(data, true)
		require.NoError(b, err)
	}
}

func BenchmarkStandard12MP(b *testing.B) {
	data := bigPhoto(b)
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		_, err := jpeg.Decode(bytes.NewReader(data))
		require.NoError(b, err)
	}
}

// The transforms against the definition (ITU-T T.81 A.3.3) in floating point: the block, and at half size the transform of its
// 4 x 4 lowest frequencies, scaled so that the mean stays.
func TestTransforms(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	reference := func(c *[64]int32, n, x, y int) float64 {
		var sum float64
		for v := range n {
			for u := range n {
				f := float64(c[8*v+u]) * math.Cos(float64((2*x+1)*u)*math.Pi/float64(2*n)) * math.Cos(float64((2*y+1)*v)*math.Pi/float64(2*n))
				if u == 0 {
					f /= math.Sqrt2
				}
				if v == 0 {
					f /= math.Sqrt2
				}
				sum += f
			}
		}
		return math.Max(0, math.Min(255, 128+sum/4)) // 1/4 at both sizes: 2/n for the transform, n/8 for the scale
	}
	for round := range 300 {
		var c [64]int32
		top := 0
		for k := range 1 + rng.IntN(64) {
			c[zigzag[k]] = int32(rng.NormFloat64() * 400 / float64(1+k))
			top = k
		}
		var full [64]uint8
		idct8(&c, top, full[:], 8)
		var half [16]uint8
		idct4(&c, top, half[:], 4)
		for y := range 8 {
			for x := range 8 {
				require.InDelta(t, reference(&c, 8, x, y), float64(full[8*y+x]), 1.01, "round %d", round)
			}
		}
		for y := range 4 {
			for x := range 4 {
				require.InDelta(t, reference(&c, 4, x, y), float64(half[4*y+x]), 1.01, "round %d", round)
			}
		}
	}
}
