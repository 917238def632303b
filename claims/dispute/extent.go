package dispute

import (
	"math/big"
	"strings"
)

// more reports whether a is larger than b by more than a tenth; what is not a plain decimal is not.
func more(a, b string) bool {
	x, okx := millimetres(a)
	y, oky := millimetres(b)
	return okx && oky && x.Cmp(y.Mul(y, big.NewRat(11, 10))) > 0
}

// millimetres reads digits with at most one point. An exponent is refused: what comes out of a stranger's file must not ask for memory.
func millimetres(s string) (*big.Rat, bool) {
	if s == "" || len(s) > 30 || strings.Trim(s, "0123456789.") != "" || strings.Count(s, ".") > 1 {
		return nil, false
	}
	return new(big.Rat).SetString(s)
}
