package claims

import (
	"context"
	"errors"
	"time"
)

// SignedIn is a new session: its token, shown this once, and who it stands for.
type SignedIn struct {
	Token string
	Identity
}

// SignIn begins a session by a one-time link's token, which it uses up, or by a device's token, to which the session stays tied.
func (x *Access) SignIn(ctx context.Context, token string) (SignedIn, error) {
	_, _, g, err := x.find(ctx, token, grantLink, grantDevice)
	if err != nil {
		return SignedIn{}, err
	}
	now := x.Now()
	if g.Kind == grantDevice {
		id, err := x.Authenticate(ctx, token)
		if err != nil {
			return SignedIn{}, err
		}
		return x.begin(ctx, id.Actor.Shop, grant{Person: id.Person.ID, Device: id.DeviceID})
	}
	_, shop, g, err := x.take(ctx, token, grantLink)
	if err != nil {
		return SignedIn{}, err
	}
	return x.begin(ctx, shop, grant{Person: g.Person, Entered: now})
}

// SignInByPassword begins a session for a person of the shop. Whether the name or the password was wrong is not told.
func (x *Access) SignInByPassword(ctx context.Context, shop ShopID, name, password string) (SignedIn, error) {
	st, err := x.Stores.Shop(ctx, shop)
	if err != nil {
		return SignedIn{}, err
	}
	p, err := findPerson(ctx, st, name)
	if err != nil && !errors.Is(err, ErrAbsent) {
		return SignedIn{}, err
	}
	ok, err := x.Passwords.Check(ctx, p.Hash, password)
	if err != nil {
		return SignedIn{}, err
	}
	if !ok || p.Hash == "" {
		return SignedIn{}, Errorf(SignIn, "The name or the password is wrong. The owner of the shop can make you a new link.")
	}
	return x.begin(ctx, shop, grant{Person: p.ID})
}

// begin makes a session.
func (x *Access) begin(ctx context.Context, shop ShopID, g grant) (SignedIn, error) {
	st, err := x.Stores.Shop(ctx, shop)
	if err != nil {
		return SignedIn{}, err
	}
	now := x.Now()
	g.Kind, g.Made, g.Seen, g.Expires = grantSession, now, now, now.Add(SessionFor)
	token, err := x.give(ctx, st, shop, g)
	if err != nil {
		return SignedIn{}, err
	}
	id, err := x.Authenticate(ctx, token)
	return SignedIn{Token: token, Identity: id}, err
}

// Authenticate says who a session's or a device's token stands for. The error is SignIn when it is not good (any more).
func (x *Access) Authenticate(ctx context.Context, token string) (Identity, error) {
	st, shop, g, err := x.find(ctx, token, grantSession, grantDevice)
	if err != nil {
		return Identity{}, err
	}
	out := Errorf(SignIn, "This person or phone is not let in any more. Ask the owner of the shop.")
	p, err := x.person(ctx, st, g.Person)
	if errors.Is(err, ErrAbsent) {
		return Identity{}, out
	}
	if err != nil {
		return Identity{}, err
	}
	device := deskDevice + p.ID
	if g.Device != "" {
		var d Device
		switch err := getJSON(ctx, st, noteDevices+g.Device, &d); {
		case errors.Is(err, ErrAbsent):
			return Identity{}, out
		case err != nil:
			return Identity{}, err
		case d.Person != p.ID:
			return Identity{}, out
		}
		device = d.ID
		if now := x.Now(); now.Sub(d.Seen) > seenEvery {
			d.Seen = now
			if err := x.touchDevice(ctx, st, d); err != nil {
				return Identity{}, err
			}
		}
	}
	if g, err = x.touch(ctx, st, token, g); err != nil {
		return Identity{}, err
	}
	id := Identity{
		Actor:  Actor{Shop: shop, Person: p.Name, Role: p.Role, Device: device},
		Person: p, DeviceID: g.Device, token: hashToken(token), fresh: g.Entered,
	}
	if g.Kind == grantSession {
		id.Until = g.Expires
	}
	return id, nil
}

// touch prolongs a session or a device's grant that is used. It looks again under the lock, so that a token that is
// being put out is not brought back.
func (x *Access) touch(ctx context.Context, st Store, token string, g grant) (grant, error) {
	now := x.Now()
	if now.Sub(g.Seen) <= seenEvery {
		return g, nil
	}
	x.mu.Lock()
	defer x.mu.Unlock()
	_, _, g, err := x.find(ctx, token, grantSession, grantDevice)
	if err != nil {
		return g, err
	}
	g.Seen = now
	switch g.Kind {
	case grantSession:
		g.Expires = now.Add(SessionFor)
	case grantDevice:
		g.Expires = now.Add(DeviceFor)
	}
	return g, putJSON(ctx, st, noteTokens+hashToken(token), g)
}

func (x *Access) touchDevice(ctx context.Context, st Store, d Device) error {
	x.mu.Lock()
	defer x.mu.Unlock()
	var now Device
	if err := getJSON(ctx, st, noteDevices+d.ID, &now); err != nil {
		if errors.Is(err, ErrAbsent) {
			return Errorf(SignIn, "This phone is not let in any more. Ask the owner of the shop.")
		}
		return err
	}
	return putJSON(ctx, st, noteDevices+d.ID, d)
}

// SignOut ends the session of a token. Ending it twice is fine. A device's token is not a session and goes on.
func (x *Access) SignOut(ctx context.Context, token string) error {
	_, _, _, err := x.take(ctx, token, grantSession)
	if CodeOf(err) == SignIn {
		return nil
	}
	return err
}

// Password bounds, in characters.
const (
	MinPassword = 10
	MaxPassword = 200
)

// SetPassword sets a person's own password and ends their other sessions. Unless they have just entered by a one-time
// link, the present password must be given when there is one. Devices stay in.
func (x *Access) SetPassword(ctx context.Context, id Identity, present, password string) error {
	if err := id.signedIn(); err != nil {
		return err
	}
	if n := len([]rune(password)); n < MinPassword || n > MaxPassword {
		return Errorf(Invalid, "A password has %d to %d characters. Three or four unconnected words do well.", MinPassword, MaxPassword).At("password")
	}
	st, err := x.Stores.Shop(ctx, id.Actor.Shop)
	if err != nil {
		return err
	}
	fresh := !id.fresh.IsZero() && x.Now().Sub(id.fresh) < freshFor
	if id.Person.Hash != "" && !fresh {
		ok, err := x.Passwords.Check(ctx, id.Person.Hash, present)
		if err != nil {
			return err
		}
		if !ok {
			return Errorf(Forbidden, "The present password is wrong.").At("present")
		}
	}
	hash, err := x.Passwords.Hash(ctx, password)
	if err != nil {
		return err
	}
	err = x.changePerson(ctx, st, id.Person.ID, func(p *Person) error {
		p.Hash, p.Password = hash, true
		return nil
	})
	if err != nil {
		return err
	}
	return x.drop(ctx, st, func(hash string, g grant) bool {
		return g.Person == id.Person.ID && g.Kind != grantDevice && g.Kind != grantCalendar && hash != id.token && (g.Kind != grantSession || g.Device == "")
	})
}

// FirstLink prepares a shop for its first use: it makes the owner when there is nobody, and a one-time link's token
// when no owner has a password or a device yet. The token is empty when an owner can get in by themselves.
func (x *Access) FirstLink(ctx context.Context, shop ShopID) (token string, err error) {
	st, err := x.Stores.Shop(ctx, shop)
	if err != nil {
		return "", err
	}
	owner, reachable, err := x.owner(ctx, st)
	if err != nil || reachable {
		return "", err
	}
	return x.link(ctx, st, shop, owner.ID, "")
}

// OwnerLink makes a one-time link's token for the owner, for the operator of the machine: when the password is lost.
func (x *Access) OwnerLink(ctx context.Context, shop ShopID) (string, error) {
	st, err := x.Stores.Shop(ctx, shop)
	if err != nil {
		return "", err
	}
	owner, _, err := x.owner(ctx, st)
	if err != nil {
		return "", err
	}
	return x.link(ctx, st, shop, owner.ID, "")
}

// owner returns the first owner, made when there is none, and whether an owner can get in without a link.
func (x *Access) owner(ctx context.Context, st Store) (owner Person, reachable bool, err error) {
	people, err := listPeople(ctx, st)
	if err != nil {
		return Person{}, false, err
	}
	devices, err := listDevices(ctx, st)
	if err != nil {
		return Person{}, false, err
	}
	for _, p := range people {
		if p.Role != Owner {
			continue
		}
		if owner.ID == "" || p.Added.Before(owner.Added) {
			owner = p
		}
		reachable = reachable || p.Hash != ""
		for _, d := range devices {
			reachable = reachable || d.Person == p.ID
		}
	}
	if owner.ID != "" {
		return owner, reachable, nil
	}
	owner = Person{ID: x.MakeID(), Name: "Owner", Role: Owner, Added: x.Now().UTC()}
	return owner, false, putJSON(ctx, st, notePeople+owner.ID, owner)
}

// link makes a one-time link's token for a person and ends those made before.
func (x *Access) link(ctx context.Context, st Store, shop ShopID, person, by string) (string, error) {
	if err := x.drop(ctx, st, func(_ string, g grant) bool { return g.Kind == grantLink && g.Person == person }); err != nil {
		return "", err
	}
	now := x.Now()
	return x.give(ctx, st, shop, grant{Kind: grantLink, Person: person, Made: now, Expires: now.Add(LinkFor), By: by})
}

// LinkUntil is when a link that is made now ends.
func (x *Access) LinkUntil() time.Time { return x.Now().Add(LinkFor) }
