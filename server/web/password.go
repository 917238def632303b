package web

import (
	"context"
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"fmt"
	"strings"

	"golang.org/x/crypto/argon2"
	"golang.org/x/sync/semaphore"

	"kickplate/claims"
)

// Argon2id with 19 MiB, 2 passes, 1 lane: the second of the parameter sets in the OWASP Password Storage Cheat Sheet (from memory).
const (
	argonMemory = 19 << 10 // KiB
	argonPasses = 2
	argonLanes  = 1
	argonKey    = 32
	argonSalt   = 16
)

// Passwords hashes with argon2id, few at a time: each takes 19 MiB and some tens of milliseconds.
type Passwords struct {
	turns *semaphore.Weighted
	queue *semaphore.Weighted
}

var _ claims.Passwords = (*Passwords)(nil)

// NewPasswords allows so many hashes at once and eight times as many to wait.
func NewPasswords(atOnce int) *Passwords {
	return &Passwords{turns: semaphore.NewWeighted(int64(atOnce)), queue: semaphore.NewWeighted(int64(9 * atOnce))}
}

func (p *Passwords) turn(ctx context.Context) (func(), error) {
	if !p.queue.TryAcquire(1) {
		return nil, claims.Errorf(claims.Busy, "Too many people are signing in at once. Try again in a moment.")
	}
	if err := p.turns.Acquire(ctx, 1); err != nil {
		p.queue.Release(1)
		return nil, err
	}
	return func() { p.turns.Release(1); p.queue.Release(1) }, nil
}

// Hash makes a text of the usual form $argon2id$v=19$m=…,t=…,p=…$salt$hash.
func (p *Passwords) Hash(ctx context.Context, password string) (string, error) {
	done, err := p.turn(ctx)
	if err != nil {
		return "", err
	}
	defer done()
	salt := make([]byte, argonSalt)
	if _, err := rand.Read(salt); err != nil {
		return "", fmt.Errorf("make a salt: %w", err)
	}
	key := argon2.IDKey([]byte(password), salt, argonPasses, argonMemory, argonLanes, argonKey)
	b64 := base64.RawStdEncoding
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, argonMemory, argonPasses, argonLanes, b64.EncodeToString(salt), b64.EncodeToString(key)), nil
}

// Check compares. An empty hash costs the same time, so that nobody learns who has a password.
func (p *Passwords) Check(ctx context.Context, hash, password string) (bool, error) {
	done, err := p.turn(ctx)
	if err != nil {
		return false, err
	}
	defer done()
	if hash == "" {
		argon2.IDKey([]byte(password), make([]byte, argonSalt), argonPasses, argonMemory, argonLanes, argonKey)
		return false, nil
	}
	h, err := parseHash(hash)
	if err != nil {
		return false, err
	}
	key := argon2.IDKey([]byte(password), h.salt, h.passes, h.memory, h.lanes, uint32(len(h.key)))
	return subtle.ConstantTimeCompare(key, h.key) == 1, nil
}

type argonHash struct {
	memory, passes uint32
	lanes          uint8
	salt, key      []byte
}

func parseHash(text string) (argonHash, error) {
	var h argonHash
	var version int
	parts := strings.Split(text, "$")
	if len(parts) != 6 || parts[1] != "argon2id" {
		return h, fmt.Errorf("a kept password is not of the form $argon2id$…")
	}
	if _, err := fmt.Sscanf(parts[2], "v=%d", &version); err != nil || version != argon2.Version {
		return h, fmt.Errorf("a kept password is of an unknown version %q", parts[2])
	}
	if _, err := fmt.Sscanf(parts[3], "m=%d,t=%d,p=%d", &h.memory, &h.passes, &h.lanes); err != nil {
		return h, fmt.Errorf("a kept password has no parameters: %w", err)
	}
	if h.memory > 256<<10 || h.passes == 0 || h.passes > 100 || h.lanes == 0 {
		return h, fmt.Errorf("a kept password has impossible parameters %q", parts[3])
	}
	var err error
	if h.salt, err = base64.RawStdEncoding.DecodeString(parts[4]); err == nil {
		h.key, err = base64.RawStdEncoding.DecodeString(parts[5])
	}
	if err == nil && len(h.key) < 16 {
		err = fmt.Errorf("its hash has %d bytes", len(h.key))
	}
	if err != nil {
		return h, fmt.Errorf("a kept password can't be read: %w", err)
	}
	return h, nil
}
