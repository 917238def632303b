package custody

import (
	"context"
	"crypto/ed25519"
	"crypto/x509"
	"encoding/base64"
	"encoding/hex"
	"encoding/pem"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/mod/sumdb/note"
	"golang.org/x/mod/sumdb/tlog"

	"kickplate/claims"
)

// MaxCheckpoint is the most bytes of a signed checkpoint that are read.
const MaxCheckpoint = 16 << 10

// Checkpoint says how many leaves a log had, and its root hash then.
type Checkpoint struct {
	// Origin names the log; it is also the name of the key that signs for it.
	Origin string
	Size   uint64
	Root   tlog.Hash
}

// Text is the body of the checkpoint by C2SP tlog-checkpoint: three lines.
func (c Checkpoint) Text() string {
	return fmt.Sprintf("%s\n%d\n%s\n", c.Origin, c.Size, c.Root)
}

// ParseText reads a body. Extension lines after the third, which the format allows, are kept out: nothing here gives
// them a meaning, and Text would lose them.
func ParseText(text string) (Checkpoint, error) {
	var c Checkpoint
	lines := strings.Split(text, "\n")
	if len(lines) != 4 || lines[3] != "" {
		return c, fmt.Errorf("a checkpoint has three lines, each ended; this has %d line ends", len(lines)-1)
	}
	if !validOrigin(lines[0]) {
		return c, fmt.Errorf("the origin %q is not a name: no blanks, no plus sign, at most 200 bytes", cut(lines[0]))
	}
	size, err := strconv.ParseUint(lines[1], 10, 63)
	if err != nil || strconv.FormatUint(size, 10) != lines[1] {
		return c, fmt.Errorf("the size %q is not a plain decimal number", cut(lines[1]))
	}
	root, err := base64.StdEncoding.Strict().DecodeString(lines[2])
	if err != nil || len(root) != tlog.HashSize {
		return c, fmt.Errorf("the root hash %q is not 32 bytes in base64", cut(lines[2]))
	}
	return Checkpoint{Origin: lines[0], Size: size, Root: tlog.Hash(root)}, nil
}

func validOrigin(s string) bool {
	return s != "" && len(s) <= 200 && utf8.ValidString(s) && !strings.Contains(s, "+") &&
		strings.IndexFunc(s, func(r rune) bool { return unicode.IsSpace(r) || unicode.IsControl(r) }) < 0
}

func cut(s string) string {
	if len(s) > 80 {
		return strings.ToValidUTF8(s[:80], "") + "…"
	}
	return s
}

// Open reads a signed checkpoint and verifies it: at least one of the keys signed it, the key's name is the
// checkpoint's origin, and no signature by one of the keys is wrong. Signatures by other keys (witnesses) are passed over.
func Open(signed []byte, keys ...string) (Checkpoint, error) {
	if len(signed) > MaxCheckpoint {
		return Checkpoint{}, fmt.Errorf("a checkpoint has at most %d bytes; this has %d", MaxCheckpoint, len(signed))
	}
	var list []note.Verifier
	for _, k := range keys {
		v, err := note.NewVerifier(k)
		if err != nil {
			return Checkpoint{}, fmt.Errorf("verifier key %q: %w", cut(k), err)
		}
		list = append(list, v)
	}
	n, err := note.Open(signed, note.VerifierList(list...))
	if err != nil {
		if u := (*note.UnverifiedNoteError)(nil); errors.As(err, &u) {
			return Checkpoint{}, fmt.Errorf("the checkpoint is not signed by a key that is known for this log")
		}
		return Checkpoint{}, fmt.Errorf("read the signed checkpoint: %w", err)
	}
	c, err := ParseText(n.Text)
	if err != nil {
		return Checkpoint{}, err
	}
	for _, s := range n.Sigs {
		if _, err := base64.StdEncoding.Strict().DecodeString(s.Base64); err != nil {
			return Checkpoint{}, fmt.Errorf("the signature of %q is not written in the one form there is", cut(s.Name)) // note reads it laxly
		}
	}
	for _, s := range n.Sigs {
		if s.Name == c.Origin {
			return c, nil
		}
	}
	return Checkpoint{}, fmt.Errorf("the checkpoint is of log %q but signed by the key of %q", c.Origin, n.Sigs[0].Name)
}

// Peek reads a signed checkpoint without verifying a signature.
func Peek(signed []byte) (Checkpoint, error) {
	if len(signed) > MaxCheckpoint {
		return Checkpoint{}, fmt.Errorf("a checkpoint has at most %d bytes; this has %d", MaxCheckpoint, len(signed))
	}
	_, err := note.Open(signed, note.VerifierList())
	u := (*note.UnverifiedNoteError)(nil)
	if !errors.As(err, &u) {
		return Checkpoint{}, fmt.Errorf("read the signed checkpoint: %w", err)
	}
	return ParseText(u.Note.Text)
}

// Parts takes a signed checkpoint apart for a tool that knows Ed25519 and no notes: the signed text, the 64 bytes of
// the signature by the key, and the public key as PEM. With them in files:
//
//	openssl pkeyutl -verify -pubin -inkey key.pem -rawin -in text -sigfile signature
func Parts(signed []byte, key string) (text string, signature, keyPEM []byte, err error) {
	v, err := note.NewVerifier(key)
	if err != nil {
		return "", nil, nil, fmt.Errorf("verifier key %q: %w", cut(key), err)
	}
	n, err := note.Open(signed, note.VerifierList(v))
	if err != nil {
		return "", nil, nil, fmt.Errorf("read the signed checkpoint: %w", err)
	}
	raw, err := base64.StdEncoding.DecodeString(n.Sigs[0].Base64)
	if err != nil || len(raw) != 4+ed25519.SignatureSize {
		return "", nil, nil, fmt.Errorf("the signature has %d bytes, not 4 + %d", len(raw), ed25519.SignatureSize)
	}
	public, err := publicKey(key)
	if err != nil {
		return "", nil, nil, err
	}
	der, err := x509.MarshalPKIXPublicKey(public)
	if err != nil {
		return "", nil, nil, err
	}
	return n.Text, raw[4:], pem.EncodeToMemory(&pem.Block{Type: "PUBLIC KEY", Bytes: der}), nil
}

// reader lets tlog read a store's tree hashes.
func reader(ctx context.Context, s claims.Store) tlog.HashReader {
	return tlog.HashReaderFunc(func(indexes []int64) ([]tlog.Hash, error) {
		raw, err := s.LogHashes(ctx, indexes)
		if err != nil {
			return nil, err
		}
		list := make([]tlog.Hash, len(raw))
		for i, h := range raw {
			list[i] = h
		}
		return list, nil
	})
}

// ErrEmpty says that the log has no leaf yet, and so no origin to sign for.
var ErrEmpty = errors.New("the log is empty: there is nothing to sign yet")

// At returns the checkpoint of the log's first size leaves, unsigned. The origin is made from the first leaf's hash, so
// that every log has its own and keeps it, and a log whose first leaf was exchanged has another.
func At(ctx context.Context, s claims.Store, size uint64) (Checkpoint, error) {
	if size == 0 {
		return Checkpoint{}, ErrEmpty
	}
	has, err := s.LogSize(ctx)
	if err != nil {
		return Checkpoint{}, fmt.Errorf("size of the log: %w", err)
	}
	if size > has {
		return Checkpoint{}, fmt.Errorf("the log has %d entries, not %d", has, size)
	}
	first, err := s.LogHashes(ctx, []int64{0})
	if err != nil {
		return Checkpoint{}, fmt.Errorf("first hash of the log: %w", err)
	}
	root, err := tlog.TreeHash(int64(size), reader(ctx, s))
	if err != nil {
		return Checkpoint{}, fmt.Errorf("root of the log at %d: %w", size, err)
	}
	return Checkpoint{Origin: originOf(first[0]), Size: size, Root: root}, nil
}

func originOf(firstLeaf [32]byte) string { return "kickplate/" + hex.EncodeToString(firstLeaf[:8]) }
