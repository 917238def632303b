package measure

// Grey levels that count as clipped: at or below DarkLevel nothing can be told apart in a phone's JPEG, at or above
// BrightLevel likewise.
const (
	DarkLevel   = 10
	BrightLevel = 250
)

// Exposure returns the shares (0..1) of pixels at or below DarkLevel and at or above BrightLevel, and the mean grey (0..255).
func Exposure(g Grey) (dark, bright, mean float64) {
	if g.Empty() {
		return 0, 0, 0
	}
	var count [256]int
	for _, v := range g.Pix[:g.W*g.H] {
		count[v]++
	}
	n, sum, low, high := g.W*g.H, 0, 0, 0
	for v, c := range count {
		sum += v * c
		if v <= DarkLevel {
			low += c
		}
		if v >= BrightLevel {
			high += c
		}
	}
	return float64(low) / float64(n), float64(high) / float64(n), float64(sum) / float64(n)
}
