package blobtest

import (
	"crypto/sha256"
	"encoding/hex"
	"io"
	"slices"

	"kickplate/claims"
)

func flip(data []byte, at int) []byte {
	out := slices.Clone(data)
	out[at] ^= 0x10
	return out
}

// onebyte hands out one byte at a time.
type onebyte struct{ r io.Reader }

func (o onebyte) Read(p []byte) (int, error) {
	if len(p) > 1 {
		p = p[:1]
	}
	return o.r.Read(p)
}

// failing gives an error instead of bytes.
type failing struct{ err error }

func (f failing) Read([]byte) (int, error) { return 0, f.err }

// onRead calls a function when it is reached, and then ends.
type onRead struct{ do func() }

func (o onRead) Read([]byte) (int, error) { o.do(); return 0, io.EOF }

// endless yields left bytes of a pattern without holding them.
type endless struct {
	left int
	at   byte
}

func (e *endless) Read(p []byte) (int, error) {
	if e.left == 0 {
		return 0, io.EOF
	}
	n := min(len(p), e.left)
	for i := range n {
		p[i] = e.at
		e.at += 7
	}
	e.left -= n
	return n, nil
}

func digestOf(r io.Reader) (claims.Digest, error) {
	h := sha256.New()
	if _, err := io.Copy(h, r); err != nil {
		return "", err
	}
	return claims.Digest(hex.EncodeToString(h.Sum(nil))), nil
}
