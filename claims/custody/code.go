package custody

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"kickplate/claims"
)

// codeDigits are Crockford's base 32: no I, L, O, U, so that nothing looks like a one, a zero or a V.
const codeDigits = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"

const (
	codeGroups = 5
	codeGroup  = 4
	codeBits   = 5 * codeGroups * codeGroup // 100
)

// Code is a checkpoint as a person can read it out or copy it from a receipt: the number of entries, then the first 100
// bits of the root hash in five groups of four base-32 digits, as in "1234-0CSG-7B4T-ZMAG-3NDK-XR51".
//
// A hundred bits are enough that nobody finds another log with the code of a given one (2^100 tries), and that a shop that
// prepares two logs in advance needs some 2^50 tries to give both one code. Where there is room, as in a QR code, give the
// whole signed checkpoint.
type Code struct {
	Size uint64
	// Digits are the 20 base-32 digits without dashes.
	Digits string
}

// Code returns the checkpoint's short code.
func (c Checkpoint) Code() Code {
	digits := make([]byte, codeGroups*codeGroup)
	for i := range digits {
		v := 0
		for bit := 5 * i; bit < 5*i+5; bit++ {
			v = v<<1 | int(c.Root[bit/8]>>(7-bit%8)&1)
		}
		digits[i] = codeDigits[v]
	}
	return Code{Size: c.Size, Digits: string(digits)}
}

// String is the printed form.
func (c Code) String() string {
	var b strings.Builder
	b.WriteString(strconv.FormatUint(c.Size, 10))
	for i := 0; i < len(c.Digits); i += codeGroup {
		b.WriteByte('-')
		b.WriteString(c.Digits[i:min(i+codeGroup, len(c.Digits))])
	}
	return b.String()
}

// ParseCode reads a code as people type it: small letters, blanks for dashes or none between the groups, O for 0, I and L
// for 1. A dash or blank must follow the number of entries.
func ParseCode(s string) (Code, error) {
	if len(s) > 200 {
		return Code{}, fmt.Errorf("a code is a number and five groups of four characters; this has %d characters", len(s))
	}
	size, rest, ok := strings.Cut(strings.Join(strings.Fields(s), "-"), "-")
	n, err := strconv.ParseUint(size, 10, 63)
	if !ok || err != nil || n == 0 || strconv.FormatUint(n, 10) != size {
		return Code{}, fmt.Errorf("a code begins with the number of entries and a dash, like 1234-…; this begins with %q", cut(size))
	}
	code := Code{Size: n}
	for _, r := range strings.ToUpper(rest) {
		switch r {
		case '-':
			continue
		case 'O':
			r = '0'
		case 'I', 'L':
			r = '1'
		}
		if r > 'Z' || !strings.ContainsRune(codeDigits, r) {
			return Code{}, fmt.Errorf("the character %q does not occur in a code", r)
		}
		code.Digits += string(r)
	}
	if len(code.Digits) != codeGroups*codeGroup {
		return Code{}, fmt.Errorf("after the number a code has %d characters; this has %d", codeGroups*codeGroup, len(code.Digits))
	}
	return code, nil
}

// Holds reports whether the log, as it is now, contains the log that had this code: nothing that was in it then has been
// changed, removed or moved.
func (c Code) Holds(ctx context.Context, s claims.Store) (bool, error) {
	size, err := s.LogSize(ctx)
	if err != nil {
		return false, fmt.Errorf("size of the log: %w", err)
	}
	if c.Size == 0 || c.Size > size {
		return false, nil
	}
	then, err := At(ctx, s, c.Size)
	if err != nil {
		return false, err
	}
	return then.Code() == c, nil
}
