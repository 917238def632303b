package web

import (
	"context"
	"encoding/hex"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/crypto/argon2"

	"kickplate/claims"
)

func TestPasswords(t *testing.T) {
	p := NewPasswords(1)
	ctx := context.Background()
	hash, err := p.Hash(ctx, "correct horse")
	require.NoError(t, err)
	assert.True(t, strings.HasPrefix(hash, "$argon2id$v=19$m=19456,t=2,p=1$"), hash)
	again, err := p.Hash(ctx, "correct horse")
	require.NoError(t, err)
	assert.NotEqual(t, hash, again, "each has a salt of its own")
	for password, want := range map[string]bool{"correct horse": true, "correct hors": false, "": false} {
		ok, err := p.Check(ctx, hash, password)
		require.NoError(t, err)
		assert.Equal(t, want, ok, password)
	}
	ok, err := p.Check(ctx, "", "anything")
	require.NoError(t, err)
	assert.False(t, ok)
	for _, bad := range []string{"x", "$argon2i$v=19$m=1,t=1,p=1$AAAA$AAAA", "$argon2id$v=19$m=99999999,t=2,p=1$AAAA$AAAAAAAAAAAAAAAAAAAAAA", "$argon2id$v=19$m=8,t=0,p=1$AAAA$AAAAAAAAAAAAAAAAAAAAAA", "$argon2id$v=19$m=8,t=1,p=1$AAAA$AAAA"} {
		_, err := p.Check(ctx, bad, "x")
		assert.Error(t, err, bad)
	}
}

// A hash that another implementation wrote is read: the phc-winner-argon2 reference program's documented output for
// `echo -n "password" | ./argon2 somesalt -id -t 2 -m 16 -p 1` (test.c of the reference implementation, from memory).
func TestPasswordHashOfTheReference(t *testing.T) {
	key := argon2.IDKey([]byte("password"), []byte("somesalt"), 2, 64<<10, 1, 32)
	require.Equal(t, "09316115d5cf24ed5a15a31a3ba326e5cf32edc24702987c02b6566f61913cf7", hex.EncodeToString(key))
	ok, err := NewPasswords(1).Check(context.Background(), "$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc", "password")
	require.NoError(t, err)
	assert.True(t, ok)
}

func TestPasswordsQueueIsBounded(t *testing.T) {
	p := NewPasswords(1)
	require.True(t, p.queue.TryAcquire(9))
	_, err := p.Check(context.Background(), "", "x")
	assert.Equal(t, claims.Busy, claims.CodeOf(err))
}
