package claims

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
)

// Digest is the SHA-256 of some bytes, written as 64 lower-case hexadecimal digits. It names every original:
// two uploads of the same bytes are one file. The zero Digest is the empty string and means "none".
type Digest string

// DigestOf returns the digest of b.
func DigestOf(b []byte) Digest {
	sum := sha256.Sum256(b)
	return Digest(hex.EncodeToString(sum[:]))
}

// ParseDigest accepts exactly 64 lower-case hexadecimal digits, so that one content has one name.
func ParseDigest(s string) (Digest, error) {
	if len(s) != 64 {
		return "", fmt.Errorf("a SHA-256 is 64 hexadecimal digits, this has %d characters", len(s))
	}
	for _, c := range []byte(s) {
		if (c < '0' || c > '9') && (c < 'a' || c > 'f') {
			return "", fmt.Errorf("a SHA-256 has only the digits 0-9 and a-f, this has %q", string(rune(c)))
		}
	}
	return Digest(s), nil
}

// Valid reports whether d is a well-formed digest.
func (d Digest) Valid() bool { _, err := ParseDigest(string(d)); return err == nil }
