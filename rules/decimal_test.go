package rules

import (
	"math/big"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Held against math/big's exact rationals.
func TestDecimalComparesAsRationalsDo(t *testing.T) {
	gen := rapid.StringMatching(`[-+]?(0{0,3}[0-9]{1,12})(\.[0-9]{1,12}0{0,3})?`)
	rapid.Check(t, func(t *rapid.T) {
		a, b := gen.Draw(t, "a"), gen.Draw(t, "b")
		if rapid.Bool().Draw(t, "same number") {
			b = a
			if !strings.Contains(b, ".") {
				b += ".0"
			}
			b += "00"
		}
		x, ok := new(big.Rat).SetString(a)
		require.True(t, ok)
		y, ok := new(big.Rat).SetString(b)
		require.True(t, ok)
		da, ok := parseDecimal(a)
		require.True(t, ok, a)
		db, ok := parseDecimal(b)
		require.True(t, ok, b)
		assert.Equal(t, x.Cmp(y), da.compare(db), "%s ? %s", a, b)
	})
}

func TestDecimalRefuses(t *testing.T) {
	for _, s := range []string{"", "-", "+", ".", ".5", "5.", "1e3", "1,5", "0x10", " 1", "1 ", "--1", "1.2.3", "٣", "NaN", strings.Repeat("1", 41)} {
		_, ok := parseDecimal(s)
		assert.False(t, ok, "%q", s)
	}
	for _, s := range []string{"0", "-0", "007", "1.50", strings.Repeat("9", 40)} {
		_, ok := parseDecimal(s)
		assert.True(t, ok, "%q", s)
	}
	a, _ := parseDecimal("-0.00")
	b, _ := parseDecimal("0")
	assert.Zero(t, a.compare(b), "there is no negative zero")
}
