package media

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"kickplate/claims"
	"kickplate/media/measure"
)

// zintCode makes a code with zint (Debian zint): type is zint's number or name, scale its module factor.
func zintCode(t testing.TB, kind, data string, scale float64) image.Image {
	t.Helper()
	path := filepath.Join(t.TempDir(), "code.png")
	tool(t, "zint", "zint", "-b", kind, "-o", path, "--scale", fmt.Sprint(scale), "-d", data, "--height", "40", "--quietzones", "--square")
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	img, err := png.Decode(f)
	require.NoError(t, err)
	return img
}

// plate pastes codes below each other on a scene, as labels with a white border.
func plate(seed uint64, w, h int, codes ...image.Image) *image.RGBA {
	img := scene(seed, w, h)
	y := 60
	for i, c := range codes {
		b := c.Bounds()
		x := 100 + 40*i
		for dy := -20; dy < b.Dy()+20; dy++ {
			for dx := -20; dx < b.Dx()+20; dx++ {
				img.Set(x+dx, y+dy, color.White)
			}
		}
		for dy := range b.Dy() {
			for dx := range b.Dx() {
				img.Set(x+dx, y+dy, c.At(b.Min.X+dx, b.Min.Y+dy))
			}
		}
		y += b.Dy() + 70
	}
	return img
}

// blurred is the grey picture with a Gaussian blur and noise, both in pixels and grey levels.
func blurred(g measure.Grey, sigma, noise float64, seed uint64) measure.Grey {
	out := measure.Grey{Pix: bytes.Clone(g.Pix), W: g.W, H: g.H}
	if sigma > 0 {
		r := int(math.Ceil(3 * sigma))
		k := make([]float64, 2*r+1)
		var sum float64
		for i := range k {
			k[i] = math.Exp(-float64((i-r)*(i-r)) / (2 * sigma * sigma))
			sum += k[i]
		}
		tmp := make([]float64, len(g.Pix))
		for y := range g.H {
			for x := range g.W {
				var v float64
				for i, f := range k {
					v += f * float64(g.Pix[y*g.W+min(max(x+i-r, 0), g.W-1)])
				}
				tmp[y*g.W+x] = v / sum
			}
		}
		for y := range g.H {
			for x := range g.W {
				var v float64
				for i, f := range k {
					v += f * tmp[min(max(y+i-r, 0), g.H-1)*g.W+x]
				}
				out.Pix[y*g.W+x] = level(v / sum)
			}
		}
	}
	if noise > 0 {
		rng := rand.New(rand.NewPCG(seed, 3))
		for i, v := range out.Pix {
			out.Pix[i] = level(float64(v) + noise*rng.NormFloat64())
		}
	}
	return out
}

func greyImage(g measure.Grey) *image.Gray {
	return &image.Gray{Pix: g.Pix, Stride: g.W, Rect: image.Rect(0, 0, g.W, g.H)}
}

// zbar reads a picture with zbarimg (Debian zbar-tools): "EAN-13:123…" lines.
func zbar(t testing.TB, g measure.Grey) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "plate.png")
	require.NoError(t, os.WriteFile(path, pngBytes(t, greyImage(g)), 0o600))
	return string(tool(t, "zbar-tools", "zbarimg", "-q", path))
}

// codeCase is one code of the test set; zbarName is zbar's word for the format, "" where zbar reads none.
type codeCase struct {
	kind, data     string
	scale          float64
	format, text   string
	zbarName, zbar string
}

func codeCases() []codeCase {
	return []codeCase{
		{"CODE128", "OTM-2048-AX7", 1.5, FormatCode128, "OTM-2048-AX7", "CODE-128", "OTM-2048-AX7"},
		{"CODE128", "PJJ123C", 1.5, FormatCode128, "PJJ123C", "CODE-128", "PJJ123C"}, // the published worked example
		{"CODE39", "SN4711X09", 1.5, FormatCode39, "SN4711X09", "CODE-39", "SN4711X09"},
		{"QRCODE", "MODEL=OT-9;SERIAL=0012345", 2.5, FormatQR, "MODEL=OT-9;SERIAL=0012345", "QR-Code", "MODEL=OT-9;SERIAL=0012345"},
		{"DATAMATRIX", "P/N 3392519-7", 3, FormatDataMatrix, "P/N 3392519-7", "", ""},
		// GS1 published examples: check digits 1, 2 and 7.
		{"EANX", "400638133393", 1.5, FormatEAN13, "4006381333931", "EAN-13", "4006381333931"},
		{"UPCA", "03600029145", 1.5, FormatUPCA, "036000291452", "EAN-13", "0036000291452"},
		{"EANX", "7351353", 1.5, FormatEAN8, "73513537", "EAN-8", "73513537"},
	}
}

func TestCodesOnPlates(t *testing.T) {
	conditions := []struct {
		name         string
		angle        int
		sigma, noise float64
		must         bool // every code must be read
	}{
		{"straight", 0, 0, 0, true},
		{"blur 1 noise 6", 0, 1, 6, true},
		{"upside down", 180, 0.5, 3, true},
		{"quarter", 90, 0.8, 4, true},
		{"15 degrees", 15, 0.8, 4, true},
		{"-20 degrees", -20, 0.8, 4, true},
		{"37 degrees", 37, 0.8, 4, true},
		{"blur 1.6", 0, 1.6, 3, false}, // half a module: some are read, and nothing wrong may be
	}
	read, tried := map[string]int{}, map[string]int{}
	for _, c := range codeCases() {
		img := zintCode(t, c.kind, c.data, c.scale)
		base := greyOfRGBA(plate(11, 700, 300, img))
		if c.zbarName != "" {
			require.Contains(t, zbar(t, base), c.zbarName+":"+c.zbar, "the second reader reads the clean plate")
		}
		for i, k := range conditions {
			if strings.HasPrefix(c.kind, "EAN") || c.kind == "UPCA" {
				if k.angle != 0 && k.angle != 15 {
					continue // bars are bars: turning is tried on the others
				}
			}
			tried[k.name]++
			g := blurred(rotate(base, k.angle), k.sigma, k.noise, uint64(i))
			got := findCodes(t.Context(), g)
			for _, x := range got {
				require.Equal(t, claims.Code{Format: c.format, Text: c.text}, x, "%s, %s: nothing but what is there", c.text, k.name)
			}
			if k.must {
				require.Len(t, got, 1, "%s %s, %s", c.format, c.text, k.name)
			}
			read[k.name] += len(got)
		}
	}
	for _, k := range conditions {
		t.Logf("%-16s %d of %d", k.name, read[k.name], tried[k.name])
	}
}

func greyOfRGBA(img *image.RGBA) measure.Grey {
	return measure.FromRGBA(img.Pix, img.Stride, img.Rect.Dx(), img.Rect.Dy())
}

// A rating plate with model, serial and a QR code: all three are found, through JPEG and the whole examiner.
func TestSeveralCodesOnOnePlate(t *testing.T) {
	img := plate(12, 900, 700, zintCode(t, "CODE128", "OT-9/230-50", 1.5), zintCode(t, "CODE39", "00123456789", 1), zintCode(t, "QRCODE", "OT-9 00123456789", 3))
	data := encodeJPEG(t, img, 80)
	got, err := patient().Codes(t.Context(), bytes.NewReader(data), int64(len(data)))
	require.NoError(t, err)
	require.ElementsMatch(t, []claims.Code{{Format: FormatCode128, Text: "OT-9/230-50"}, {Format: FormatCode39, Text: "00123456789"}, {Format: FormatQR, Text: "OT-9 00123456789"}}, got)
	second := zbar(t, greyOfRGBA(img))
	for _, c := range got {
		require.Contains(t, second, c.Text)
	}
}

// Small codes on a large photo, lost at the usual size, are found at full size.
func TestSmallCodeOnLargePhoto(t *testing.T) {
	img := plate(13, 3000, 500, zintCode(t, "CODE128", "OTM-2048-AX7", 1))
	got := findCodes(t.Context(), blurred(greyOfRGBA(img), 0.7, 4, 1))
	require.Equal(t, []claims.Code{{Format: FormatCode128, Text: "OTM-2048-AX7"}}, got)
}

// Nothing is found where nothing is: scenes and photos without a code.
func TestNoCodes(t *testing.T) {
	for seed := range uint64(2) {
		require.Empty(t, findCodes(t.Context(), blurred(greyOfRGBA(scene(100+seed, 600, 400)), 0.5, 4, seed)), "scene %d", seed)
	}
	for _, path := range sampleFiles(t, 3, "evanoberholster/[aN]*.jpg", "dsoprea/gps-*.jpg") {
		data := readFile(t, path)
		got, err := patient().Codes(t.Context(), bytes.NewReader(data), int64(len(data)))
		require.NoError(t, err)
		require.Empty(t, got, path)
	}
}

func TestCodesAreBoundedInTime(t *testing.T) {
	data := encodeJPEG(t, scene(1, 1600, 1000), 85)
	start := time.Now()
	got, err := New(Options{CodeTime: 300 * time.Millisecond}).Codes(t.Context(), bytes.NewReader(data), int64(len(data)))
	require.NoError(t, err)
	require.Empty(t, got)
	require.Less(t, time.Since(start), time.Minute)

	_, err = New(Options{}).Codes(t.Context(), strings.NewReader("%PDF-1.4\n%%EOF"), 14)
	require.Equal(t, claims.Unsupported, claims.CodeOf(err))
}

// Check digits of published GS1 examples (EAN-13 400638133393→1, 629104150021→3, EAN-8 7351353→7, 9638507→4, UPC-A
// 03600029145→2) and of ISBN-13 978020137962→4.
func TestValidGTIN(t *testing.T) {
	for _, s := range []string{"4006381333931", "6291041500213", "73513537", "96385074", "036000291452", "0036000291452", "9780201379624"} {
		require.True(t, ValidGTIN(s), s)
		for d := byte('0'); d <= '9'; d++ {
			if d != s[len(s)-1] {
				require.False(t, ValidGTIN(s[:len(s)-1]+string(d)))
			}
		}
	}
	for _, s := range []string{"", "1", "400638133393", "40063813339312", "abcdefgh", "4006381333931 "} {
		require.False(t, ValidGTIN(s), s)
	}
}

func BenchmarkCodesNone(b *testing.B) {
	g := greyOfRGBA(scene(3, 2016, 1512))
	for b.Loop() {
		findCodes(b.Context(), g)
	}
}

func greyFrom(pix []byte, w int) measure.Grey {
	return measure.Grey{Pix: pix[:len(pix)/w*w], W: w, H: len(pix) / w}
}

func mustNormalise(t testing.TB, img image.Image) image.Image {
	t.Helper()
	out, err := normalise(img)
	require.NoError(t, err)
	return out
}
