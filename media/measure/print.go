package measure

import "math/bits"

// printSide is the side of the small square picture the fingerprint is taken from.
const printSide = 32

// printTerms are the frequencies (across, down) of the fingerprint, bit 0 first: the lowest ones but the constant, in a
// triangle, so that exchanging across and down gives the same set.
func printTerms() [64][2]int {
	var out [64][2]int
	n := 0
	for sum := 1; sum <= 10; sum++ {
		for u := 0; u <= sum; u++ {
			if u == 5 && sum == 10 {
				continue // 65 terms otherwise; this one is its own mirror, so the set stays symmetric without it
			}
			out[n] = [2]int{u, sum - u}
			n++
		}
	}
	return out
}

// Print is a 64-bit perceptual fingerprint: the picture is averaged down to 32 x 32, and bit i is the sign of one of the 64
// lowest frequencies of its cosine transform (DCT-II). Scaling, recompression and brightness hardly change these signs,
// other pictures differ in about half of them. The idea is the pHash of Zauner's thesis (2010); taking signs instead of the
// median makes a quarter turn of the picture a fixed permutation of the bits (see Turn), so that one fingerprint finds
// all four. It works in integers: every machine gives the same bits.
//
// ok is false for a picture with next to nothing in it (a lens cap, a white wall): its signs would be noise.
func Print(g Grey) (print uint64, ok bool) {
	small := g.Reduce(printSide, printSide)
	if small.Empty() {
		return 0, false
	}
	var sum, sq int64
	for _, v := range small.Pix {
		sum += int64(v)
		sq += int64(v) * int64(v)
	}
	if variance(sum, sq, len(small.Pix)) < leastContrast {
		return 0, false
	}
	// Rows first: part[y][u] = Σx pix·cos; then columns for the wanted pairs.
	var part [printSide][printTop]int64
	for y := range printSide {
		for u := range printTop {
			for x, v := range small.Pix[y*printSide:][:printSide] {
				part[y][u] += int64(v) * cosines[u][x]
			}
		}
	}
	for i, t := range printTerms() {
		var c int64
		for y := range printSide {
			c += part[y][t[0]] * cosines[t[1]][y]
		}
		if c > 0 {
			print |= 1 << i
		}
	}
	return print, true
}

// leastContrast is the variance (grey levels squared) of the 32 x 32 picture below which there is nothing to recognise:
// a standard deviation of 2.5 levels.
const leastContrast = 6.25

// printTop is one more than the highest frequency in printTerms.
const printTop = 11

// Turn returns the fingerprint of the same picture turned a quarter clockwise, without the picture. Turning carries the
// frequency (u across, v down) to (v across, u down), and changes its sign when v is odd. Up to ties (a
// frequency of exactly nothing) it is exact.
func Turn(print uint64) uint64 {
	terms := printTerms()
	var at [printTop][printTop]int
	for i, t := range terms {
		at[t[0]][t[1]] = i
	}
	var out uint64
	for i, t := range terms {
		// out bit i is the term (a across, b down) of the turned picture, from (b across, a down) of the original; what
		// was down runs across from right to left, so odd a changes sign.
		bit := print >> at[t[1]][t[0]] & 1
		bit ^= uint64(t[0] & 1)
		out |= bit << i
	}
	return out
}

// Turns returns the fingerprints of the picture as it is and turned by 90, 180 and 270 degrees clockwise. Looking a photo up
// under all four also finds copies that were turned.
func Turns(print uint64) [4]uint64 {
	a := Turn(print)
	b := Turn(a)
	return [4]uint64{print, a, b, Turn(b)}
}

// Distance is the number of bits in which two fingerprints differ: 0 to 64.
func Distance(a, b uint64) int { return bits.OnesCount64(a ^ b) }

// Nearest is the least Distance of b to a in its four turns.
func Nearest(a, b uint64) int {
	best := 64
	for _, t := range Turns(a) {
		best = min(best, Distance(t, b))
	}
	return best
}
