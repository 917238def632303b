package claims_test

import (
	"bytes"
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
	"kickplate/claims/memstore"
)

// plainPasswords keeps passwords as they are: argon2id is the server's business.
type plainPasswords struct{}

func (plainPasswords) Hash(_ context.Context, password string) (string, error) {
	return "plain:" + password, nil
}

func (plainPasswords) Check(_ context.Context, hash, password string) (bool, error) {
	return hash == "plain:"+password, nil
}

func newAccess(stores claims.Stores, now func() time.Time) *claims.Access {
	return &claims.Access{Stores: stores, Passwords: plainPasswords{}, Now: now, Random: rand.Reader,
		MakeID: func() string { return uuid.Must(uuid.NewV7()).String() }}
}

func TestTokensAreKeptAsHashesOnly(t *testing.T) {
	stores := memstore.Open()
	x := newAccess(stores, time.Now)
	link, err := x.FirstLink(ctx, shop)
	require.NoError(t, err)
	in, err := x.SignIn(ctx, link)
	require.NoError(t, err)
	pair, err := x.Pair(ctx, in.Identity, "")
	require.NoError(t, err)
	phone, device, err := x.EnterPairing(ctx, pair.Token, "phone", "")
	require.NoError(t, err)
	assert.Equal(t, device.ID, phone.Actor.Device)
	st, err := stores.Shop(ctx, shop)
	require.NoError(t, err)
	var all bytes.Buffer
	require.NoError(t, st.Notes(ctx, "", func(name string, value []byte) bool {
		all.WriteString(name)
		all.Write(value)
		return true
	}))
	for _, token := range []string{link, in.Token, pair.Token, phone.Token} {
		name, secret, ok := strings.Cut(token, ".")
		require.True(t, ok)
		assert.Equal(t, string(shop), name)
		assert.Len(t, secret, 43, "32 bytes in base64url")
		assert.NotContains(t, all.String(), secret)
	}
	sum := sha256.Sum256([]byte(phone.Token))
	assert.Contains(t, all.String(), hex.EncodeToString(sum[:]))
}

func TestOneTimeTokenWorksOnceForManyAtOnce(t *testing.T) {
	x := newAccess(memstore.Open(), time.Now)
	link, err := x.FirstLink(ctx, shop)
	require.NoError(t, err)
	var in atomic.Int32
	var all sync.WaitGroup
	for range 30 {
		all.Go(func() {
			if _, err := x.SignIn(ctx, link); err == nil {
				in.Add(1)
			} else {
				assert.Equal(t, claims.SignIn, claims.CodeOf(err))
			}
		})
	}
	all.Wait()
	assert.EqualValues(t, 1, in.Load())
}

// While a session is being used (and so prolonged), putting it out is for good.
func TestUseDoesNotBringBackWhatWasPutOut(t *testing.T) {
	var ticks atomic.Int64
	now := func() time.Time { return nine.Add(time.Duration(ticks.Add(1)) * 6 * time.Minute) } // each use is written down
	x := newAccess(memstore.Open(), now)
	link, err := x.FirstLink(ctx, shop)
	require.NoError(t, err)
	in, err := x.SignIn(ctx, link)
	require.NoError(t, err)
	for range 20 {
		pair, err := x.Pair(ctx, in.Identity, "")
		require.NoError(t, err)
		x.Now = func() time.Time { return nine } // two minutes are two minutes
		phone, device, err := x.EnterPairing(ctx, pair.Token, "phone", "")
		require.NoError(t, err)
		x.Now = now
		var using sync.WaitGroup
		for range 4 {
			using.Go(func() {
				for range 10 {
					_, err := x.Authenticate(ctx, phone.Token)
					if err != nil {
						assert.Equal(t, claims.SignIn, claims.CodeOf(err), "%v", err)
						return
					}
				}
			})
		}
		require.NoError(t, x.RemoveDevice(ctx, in.Actor, device.ID))
		using.Wait()
		_, err = x.Authenticate(ctx, phone.Token)
		assert.Equal(t, claims.SignIn, claims.CodeOf(err), "%v", err)
	}
}

// A token is good for its own shop only, and says nothing about others.
func TestTokensOfOneShop(t *testing.T) {
	x := newAccess(memstore.Open(), time.Now)
	link, err := x.FirstLink(ctx, shop)
	require.NoError(t, err)
	in, err := x.SignIn(ctx, link)
	require.NoError(t, err)
	_, secret, _ := strings.Cut(in.Token, ".")
	_, err = x.Authenticate(ctx, "other-shop."+secret)
	assert.Equal(t, claims.SignIn, claims.CodeOf(err))
	people, err := x.People(ctx, claims.Actor{Shop: "other-shop", Person: "x", Role: claims.Owner})
	require.NoError(t, err)
	assert.Empty(t, people)
}

func TestDenyByDefault(t *testing.T) {
	for _, act := range claims.Acts() {
		for _, role := range []claims.Role{"", "admin", "root", "Owner"} {
			assert.False(t, claims.May(role, act), "%q may %s", role, act)
		}
		assert.True(t, claims.May(claims.Owner, act), "the owner may %s", act)
	}
	assert.False(t, claims.May(claims.Owner, "something new"))
	assert.Equal(t, claims.SignIn, claims.CodeOf(claims.Actor{Role: claims.Owner}.Allow(claims.ActRead)))
}
