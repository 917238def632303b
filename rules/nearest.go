package rules

// Nearest gives the word of words that is closest to s by edit distance, or "" when none is close enough to be a
// likely slip of the keyboard. Ties go to the earlier word.
func Nearest(s string, words []string) string {
	best, bestDistance := "", len(s)/3+2
	if len(s) > 64 {
		return ""
	}
	for _, w := range words {
		if len(w) > 64 {
			continue
		}
		if d := editDistance(s, w); d < bestDistance {
			best, bestDistance = w, d
		}
	}
	return best
}

// editDistance counts insertions, deletions, substitutions and swaps of neighbours. Both are at most 64 bytes.
func editDistance(a, b string) int {
	var rows [3][65]int
	before, last, row := &rows[0], &rows[1], &rows[2]
	for j := 0; j <= len(b); j++ {
		last[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row[0] = i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(b)]
}
