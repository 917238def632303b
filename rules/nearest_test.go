package rules

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// Distances as published in textbooks and encyclopaedias: Levenshtein's kitten/sitting and saturday/sunday; CA/ABC is 3 for
// the restricted distance with swaps (optimal string alignment). From memory.
func TestEditDistance(t *testing.T) {
	for _, x := range []struct {
		a, b string
		want int
	}{
		{"kitten", "sitting", 3}, {"saturday", "sunday", 3}, {"CA", "ABC", 3}, {"", "abc", 3}, {"abc", "", 3}, {"abcd", "abdc", 1}, {"same", "same", 0},
		{"flaw", "lawn", 2}, {"intention", "execution", 5},
	} {
		assert.Equal(t, x.want, editDistance(x.a, x.b), "%s %s", x.a, x.b)
	}
}

func TestEditDistanceIsSymmetric(t *testing.T) {
	word := rapid.StringMatching(`[abc]{0,10}`)
	rapid.Check(t, func(t *rapid.T) {
		a, b := word.Draw(t, "a"), word.Draw(t, "b")
		d := editDistance(a, b)
		assert.Equal(t, d, editDistance(b, a))
		assert.LessOrEqual(t, d, max(len(a), len(b)))
		assert.Equal(t, a == b, d == 0)
	})
}

func TestNearest(t *testing.T) {
	words := []string{"rating-plate", "meter-display", "failed-part", "part-label"}
	assert.Equal(t, "rating-plate", Nearest("ratingplate", words))
	assert.Equal(t, "failed-part", Nearest("faild-part", words))
	assert.Empty(t, Nearest("kettle", words), "nothing is near enough to be a slip")
	assert.Empty(t, Nearest(strings.Repeat("x", 1000), words))
}
