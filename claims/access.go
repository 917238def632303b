package claims

import (
	"context"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"sync"
	"time"
)

// Access lets people and their devices into a shop and puts them out again. What it keeps are notes of the shop's store:
//
//	access/person/<id>      a Person, with the hash of the password
//	access/device/<id>      a Device
//	access/former/<id>      a Device that was cut off: whose it was
//	access/token/<sha256>   what a token is good for; the token itself is never kept
//
// Everything is read anew on each request, so whoever is put out is out at once. Use one Access per store: that a
// one-time token works once is guarded by its lock.
type Access struct {
	Stores    Stores
	Passwords Passwords
	// Now is the clock, Random the source of tokens, MakeID makes UUIDv7 ids.
	Now    func() time.Time
	Random io.Reader
	MakeID func() string

	mu sync.Mutex
}

// Passwords hashes passwords slowly, for few at a time: Hash and Check return a Busy error when too many wait.
type Passwords interface {
	// Hash makes the text to keep; it carries its own parameters and salt.
	Hash(ctx context.Context, password string) (string, error)
	// Check reports whether the password made the hash. An empty hash costs the same time and never matches.
	Check(ctx context.Context, hash, password string) (bool, error)
}

// How long each way in lasts. Sessions and devices that are used are prolonged.
const (
	LinkFor    = 24 * time.Hour
	PairFor    = 2 * time.Minute
	SessionFor = 30 * 24 * time.Hour
	DeviceFor  = 180 * 24 * time.Hour
	// freshFor is how long after entering by a link a password can be set without the present one.
	freshFor = 10 * time.Minute
	// seenEvery bounds how often the use of a device or a session is written down.
	seenEvery = 5 * time.Minute
)

// Bounds of one shop's access data: small enough to be read whole.
const (
	maxPeople  = 500
	maxDevices = 1000
)

// Identity is who a token stands for.
type Identity struct {
	Actor  Actor
	Person Person
	// DeviceID is empty at a desk.
	DeviceID string
	// Until is when the session ends if it is not used; zero for devices.
	Until time.Time

	token string // its hash
	fresh time.Time
}

// grant is what a token is good for.
type grant struct {
	Kind    string    `json:"kind"` // link, pair, session, device, calendar
	Person  string    `json:"person"`
	Device  string    `json:"device,omitempty"`
	Made    time.Time `json:"made"`
	Expires time.Time `json:"expires"`
	Seen    time.Time `json:"seen,omitzero"`
	// Entered is when a session began by a one-time link.
	Entered time.Time `json:"entered,omitzero"`
	By      string    `json:"by,omitempty"`
	// Full is for calendars: whether events name customers and amounts.
	Full bool `json:"full,omitempty"`
}

// deskDevice begins the name of the device of whoever is signed in without a phone that was let in.
const deskDevice = "desk-"

const (
	grantLink    = "link"
	grantPair    = "pair"
	grantSession = "session"
	grantDevice  = "device"
	// A calendar's token is good for the list of deadlines alone.
	grantCalendar = "calendar"

	notePeople  = "access/person/"
	noteDevices = "access/device/"
	noteFormer  = "access/former/"
	noteTokens  = "access/token/"
)

// Allow refuses with an *Error what the actor may not do; see May.
func (a Actor) Allow(act Act) error { return a.allow(act) }

// signedIn refuses an identity that nobody signed in for.
func (id Identity) signedIn() error {
	if id.Actor.Shop == "" || id.Person.ID == "" {
		return Errorf(SignIn, "Sign in first.")
	}
	return nil
}

// newToken makes a token of the shop and its hash.
func (x *Access) newToken(shop ShopID) (token, hash string, err error) {
	token, hash, err = newSecret(x.Random, string(shop))
	if err != nil {
		return "", "", fmt.Errorf("make a token: %w", err)
	}
	return token, hash, nil
}

// newSecret makes a token of 32 random bytes behind what it names, and its hash: the token itself is never kept.
func newSecret(random io.Reader, names string) (token, hash string, err error) {
	var b [32]byte
	if _, err := io.ReadFull(random, b[:]); err != nil {
		return "", "", err
	}
	token = names + "." + base64.RawURLEncoding.EncodeToString(b[:])
	return token, hashToken(token), nil
}

func hashToken(token string) string {
	sum := sha256.Sum256([]byte(token))
	return hex.EncodeToString(sum[:])
}

// shopOf returns the shop that a token names, if it can be a token at all.
func shopOf(token string) (ShopID, bool) {
	shop, secret, ok := strings.Cut(token, ".")
	if !ok || !ValidShop(ShopID(shop)) || len(secret) != 43 {
		return "", false
	}
	_, err := base64.RawURLEncoding.Strict().DecodeString(secret)
	return ShopID(shop), err == nil
}

// give keeps a new grant and returns its token.
func (x *Access) give(ctx context.Context, st Store, shop ShopID, g grant) (string, error) {
	token, hash, err := x.newToken(shop)
	if err != nil {
		return "", err
	}
	return token, putJSON(ctx, st, noteTokens+hash, g)
}

// find reads the grant of a token that is still good; the error is SignIn otherwise.
func (x *Access) find(ctx context.Context, token string, kinds ...string) (Store, ShopID, grant, error) {
	refused := Errorf(SignIn, "This link or sign-in is not good, or not good any more. Sign in again, or ask for a new link.")
	shop, ok := shopOf(token)
	if !ok {
		return nil, "", grant{}, refused
	}
	st, err := x.Stores.Shop(ctx, shop)
	if err != nil {
		return nil, "", grant{}, err
	}
	var g grant
	switch err := getJSON(ctx, st, noteTokens+hashToken(token), &g); {
	case errors.Is(err, ErrAbsent):
		return nil, "", grant{}, refused
	case err != nil:
		return nil, "", grant{}, err
	}
	if !x.Now().Before(g.Expires) {
		return nil, "", grant{}, refused
	}
	for _, k := range kinds {
		if g.Kind == k {
			return st, shop, g, nil
		}
	}
	return nil, "", grant{}, refused
}

// take uses up a one-time token.
func (x *Access) take(ctx context.Context, token string, kinds ...string) (Store, ShopID, grant, error) {
	x.mu.Lock()
	defer x.mu.Unlock()
	st, shop, g, err := x.find(ctx, token, kinds...)
	if err != nil {
		return nil, "", g, err
	}
	return st, shop, g, st.PutNote(ctx, noteTokens+hashToken(token), nil)
}

// drop ends all grants that match. It holds the lock, so that a token that is being prolonged just now is not brought back.
func (x *Access) drop(ctx context.Context, st Store, match func(hash string, g grant) bool) error {
	x.mu.Lock()
	defer x.mu.Unlock()
	var names []string
	err := st.Notes(ctx, noteTokens, func(name string, value []byte) bool {
		var g grant
		if json.Unmarshal(value, &g) != nil || match(strings.TrimPrefix(name, noteTokens), g) {
			names = append(names, name)
		}
		return true
	})
	if err != nil {
		return err
	}
	for _, name := range names {
		if err := st.PutNote(ctx, name, nil); err != nil {
			return err
		}
	}
	return nil
}

// each looks at all grants.
func (x *Access) each(ctx context.Context, st Store, look func(hash string, g grant)) error {
	return st.Notes(ctx, noteTokens, func(name string, value []byte) bool {
		var g grant
		if json.Unmarshal(value, &g) == nil {
			look(strings.TrimPrefix(name, noteTokens), g)
		}
		return true
	})
}

// Sweep ends what has expired.
func (x *Access) Sweep(ctx context.Context, shop ShopID) error {
	st, err := x.Stores.Shop(ctx, shop)
	if err != nil {
		return err
	}
	now := x.Now()
	return x.drop(ctx, st, func(_ string, g grant) bool { return !now.Before(g.Expires) })
}

func putJSON(ctx context.Context, st Store, name string, v any) error {
	raw, err := json.Marshal(v)
	if err != nil {
		return fmt.Errorf("write note %s: %w", name, err)
	}
	return st.PutNote(ctx, name, raw)
}

func getJSON(ctx context.Context, st Store, name string, v any) error {
	raw, err := st.Note(ctx, name)
	if err != nil {
		return err
	}
	if err := json.Unmarshal(raw, v); err != nil {
		return fmt.Errorf("read note %s: %w", name, err)
	}
	return nil
}

// ReadStrict decodes one JSON value for a request: unknown fields and trailing data are refused with an *Error whose
// Where names the field.
func ReadStrict(raw []byte, into any) error { return strict(raw, into) }
