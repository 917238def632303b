package draw

import (
	"math"
	"math/rand/v2"
)

// tileSize is the side of the noise tiles; a power of two, and the tiles repeat without a seam.
const tileSize = 512

// tile is a square of values 0..1 that repeats.
type tile []float32

// cloud makes a tile of value noise in octaves: lumps of the size tileSize/freq and finer.
func cloud(rng *rand.Rand, freq, octaves int, fade float64) tile {
	t := make(tile, tileSize*tileSize)
	amp, total := 1.0, 0.0
	for range octaves {
		addLattice(t, rng, freq, float32(amp))
		total += amp
		amp *= fade
		freq *= 2
	}
	lo, hi := float32(math.Inf(1)), float32(math.Inf(-1))
	for _, v := range t {
		lo, hi = min(lo, v), max(hi, v)
	}
	for i, v := range t {
		t[i] = (v - lo) / (hi - lo)
	}
	return t
}

func addLattice(t tile, rng *rand.Rand, freq int, amp float32) {
	g := make([]float32, freq*freq)
	for i := range g {
		g[i] = rng.Float32()
	}
	cell := make([]int, tileSize)
	frac := make([]float32, tileSize)
	for i := range cell {
		f := float64(i) * float64(freq) / tileSize
		cell[i] = int(f)
		u := f - math.Floor(f)
		frac[i] = float32(u * u * (3 - 2*u))
	}
	for y := range tileSize {
		a, b := g[cell[y]*freq:][:freq], g[(cell[y]+1)%freq*freq:][:freq]
		ty := frac[y]
		for x := range tileSize {
			i, j := cell[x], (cell[x]+1)%freq
			top := a[i] + (a[j]-a[i])*frac[x]
			bot := b[i] + (b[j]-b[i])*frac[x]
			t[y*tileSize+x] += amp * (top + (bot-top)*ty)
		}
	}
}

// at reads the tile with bilinear smoothing; coordinates in tile pixels.
func (t tile) at(x, y float64) float32 {
	fx, fy := math.Floor(x), math.Floor(y)
	ix, iy := int(fx)&(tileSize-1), int(fy)&(tileSize-1)
	jx, jy := (ix+1)&(tileSize-1), (iy+1)&(tileSize-1)
	tx, ty := float32(x-fx), float32(y-fy)
	a := t[iy*tileSize+ix] + (t[iy*tileSize+jx]-t[iy*tileSize+ix])*tx
	b := t[jy*tileSize+ix] + (t[jy*tileSize+jx]-t[jy*tileSize+ix])*tx
	return a + (b-a)*ty
}

// grain makes a tile of sensor noise: about normal, mean 0, deviation 1.
func grain(rng *rand.Rand) []float32 {
	g := make([]float32, tileSize*tileSize)
	for i := range g {
		g[i] = float32(rng.NormFloat64())
	}
	return g
}
