package bundle

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/jpeg"
	"io"
	"testing"

	"github.com/disintegration/imaging"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

// Our halving shows the same picture as the imaging library's box filter, for every size and subsampling.
func TestScaledAgainstImaging(t *testing.T) {
	for _, ratio := range []image.YCbCrSubsampleRatio{image.YCbCrSubsampleRatio420, image.YCbCrSubsampleRatio422, image.YCbCrSubsampleRatio444} {
		for _, size := range [][2]int{{160, 120}, {159, 121}, {121, 159}, {160, 40}, {160, 41}, {160, 2}, {3, 160}} {
			t.Run(fmt.Sprint(ratio, size), func(t *testing.T) {
				img, err := jpeg.Decode(bytes.NewReader(drawn(size[0], size[1], 3)))
				require.NoError(t, err)
				src := image.NewYCbCr(img.Bounds(), ratio)
				for y := range size[1] {
					for x := range size[0] {
						c := img.(*image.YCbCr).YCbCrAt(x, y)
						src.Y[src.YOffset(x, y)], src.Cb[src.COffset(x, y)], src.Cr[src.COffset(x, y)] = c.Y, c.Cb, c.Cr
					}
				}
				got := scaled(src, 80)
				want := imaging.Resize(src, got.Bounds().Dx(), got.Bounds().Dy(), imaging.Box)
				a, b := reduce(got), reduce(want)
				if min(size[0], size[1]) >= 40 { // a strip is not worth comparing, but must not fail
					assert.Less(t, distance(&a, &b), 4.0)
				}
				assert.LessOrEqual(t, max(got.Bounds().Dx(), got.Bounds().Dy()), 80)
				var out bytes.Buffer
				require.NoError(t, jpeg.Encode(&out, got, nil))
			})
		}
	}
	t.Run("much smaller, and never larger", func(t *testing.T) {
		img, err := jpeg.Decode(bytes.NewReader(drawn(640, 480, 3)))
		require.NoError(t, err)
		assert.Equal(t, image.Rect(0, 0, 100, 75), scaled(img, 100).Bounds())
		assert.Equal(t, image.Rect(0, 0, 640, 480), scaled(img, 900).Bounds())
	})
}

// The picture check keeps apart what the threshold must keep apart; the figures beside tooFar come from here.
func TestThumbnailDistance(t *testing.T) {
	far, near := 256.0, 0.0
	for i := range 7 {
		img, err := decode(drawn(480, 360, float64(i)))
		require.NoError(t, err)
		a := reduce(img)
		for _, filter := range []imaging.ResampleFilter{imaging.Linear, imaging.NearestNeighbor, imaging.Lanczos} {
			for _, turned := range []image.Image{img, imaging.Rotate90(img), imaging.FlipH(img)} {
				small, err := decode(jpegBytes(imaging.Fit(turned, 160, 160, filter), 40))
				require.NoError(t, err)
				b := reduce(small)
				near = max(near, distance(&a, &b))
			}
		}
		for k := range i {
			other, err := decode(drawn(480, 360, float64(k)))
			require.NoError(t, err)
			b := reduce(other)
			far = min(far, distance(&a, &b))
		}
	}
	t.Logf("same picture at most %.1f, another at least %.1f", near, far)
	assert.Less(t, near, tooFar/2)
	assert.Greater(t, far, tooFar)
}

// After Prepare a bundle makes no picture anew, and is the same, byte for byte, as one that makes them itself.
func TestPrepare(t *testing.T) {
	pack := func(prepare bool) (digest claims.Digest, madeByPack int) {
		p := manyPhotos(t, 6, 4096, 1200)
		m := p.Blobs.(*made)
		store := &counting{onDisk: onDisk{made: m, kept: map[string][]byte{}}}
		p.Blobs = store
		if prepare {
			var photos []claims.Digest
			for d := range m.of {
				photos = append(photos, d, d)
			}
			require.NoError(t, New().Prepare(t.Context(), store, photos))
			require.Equal(t, 6, store.puts)
			require.NoError(t, New().Prepare(t.Context(), store, photos))
			require.Equal(t, 6, store.puts, "twice costs nothing")
		}
		before := store.puts
		packed, err := New().Pack(t.Context(), io.Discard, p)
		require.NoError(t, err)
		return packed.Digest, store.puts - before
	}
	cold, made := pack(false)
	assert.Equal(t, 6, made)
	warm, made := pack(true)
	assert.Zero(t, made)
	assert.Equal(t, cold, warm)
}

// counting counts what is kept as derived data, and reads the originals from memory.
type counting struct {
	onDisk
	puts int
}

func (c *counting) Open(ctx context.Context, d claims.Digest) (claims.Blob, error) {
	return c.made.Open(ctx, d)
}

func (c *counting) PutDerived(ctx context.Context, d claims.Digest, name string, data []byte) error {
	c.mu.Lock()
	c.puts++
	c.mu.Unlock()
	return c.onDisk.PutDerived(ctx, d, name, data)
}
