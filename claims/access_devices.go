package claims

import (
	"context"
	"encoding/base64"
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"time"
)

// Device is a phone that was let in for a person.
type Device struct {
	ID         string    `json:"id"`
	Name       string    `json:"name"`
	Person     string    `json:"person"`
	PersonName string    `json:"personName"`
	Paired     time.Time `json:"paired"`
	PairedBy   string    `json:"pairedBy,omitempty"`
	// Seen is when it was last heard of, to about five minutes.
	Seen time.Time `json:"seen"`
	// PublicKey is the phone's own key (SPKI, base64), if it has one.
	PublicKey string `json:"publicKey,omitempty"`
}

// Pairing is a one-use way in for a phone.
type Pairing struct {
	Token   string
	Expires time.Time
	Person  Person
}

// Pair makes the token that lets one phone in for a person (empty = the actor's own), within two minutes. Nobody can
// let a phone in for somebody who may do more than they may.
func (x *Access) Pair(ctx context.Context, id Identity, person string) (Pairing, error) {
	st, err := x.store(ctx, id.Actor, ActPair)
	if err != nil {
		return Pairing{}, err
	}
	if person == "" {
		person = id.Person.ID
	}
	p, err := x.person(ctx, st, person)
	if err != nil {
		return Pairing{}, noPerson(err)
	}
	if mightier(p.Role, id.Actor.Role) {
		return Pairing{}, Errorf(Forbidden, "As %s you can't let a phone in for an %s. Ask the owner of the shop.", id.Actor.Role, p.Role).At("person")
	}
	expires := x.Now().Add(PairFor)
	token, err := x.give(ctx, st, id.Actor.Shop, grant{Kind: grantPair, Person: p.ID, Made: x.Now(), Expires: expires, By: id.Actor.Person})
	return Pairing{Token: token, Expires: expires, Person: p.shown()}, err
}

// mightier reports whether role a may do something that b may not.
func mightier(a, b Role) bool {
	return slices.ContainsFunc(Acts(), func(act Act) bool { return May(a, act) && !May(b, act) })
}

// EnterPairing trades a pairing's token, which it uses up, for a new device and its token.
func (x *Access) EnterPairing(ctx context.Context, token, name, publicKey string) (SignedIn, Device, error) {
	name = strings.Join(strings.Fields(name), " ")
	if name == "" || !oneLine(name, maxName) {
		return SignedIn{}, Device{}, Errorf(Invalid, "Give the phone a name of 1 to %d characters, so that it can be told from others.", maxName).At("deviceName")
	}
	if _, err := base64.StdEncoding.DecodeString(publicKey); err != nil || len(publicKey) > 1000 {
		return SignedIn{}, Device{}, Errorf(Invalid, "The public key must be base64, of at most 1000 characters.").At("publicKey")
	}
	st, shop, g, err := x.take(ctx, token, grantPair)
	if err != nil {
		return SignedIn{}, Device{}, err
	}
	p, err := x.person(ctx, st, g.Person)
	if err != nil {
		return SignedIn{}, Device{}, noPerson(err)
	}
	devices, err := listDevices(ctx, st)
	if err != nil {
		return SignedIn{}, Device{}, err
	}
	if len(devices) >= maxDevices {
		return SignedIn{}, Device{}, Errorf(TooLarge, "A shop has at most %d phones here. Remove old ones first.", maxDevices)
	}
	now := x.Now().UTC()
	d := Device{ID: x.MakeID(), Name: name, Person: p.ID, Paired: now, PairedBy: g.By, Seen: now, PublicKey: publicKey}
	if err := putJSON(ctx, st, noteDevices+d.ID, d); err != nil {
		return SignedIn{}, Device{}, err
	}
	own, err := x.give(ctx, st, shop, grant{Kind: grantDevice, Person: p.ID, Device: d.ID, Made: now, Seen: now, Expires: now.Add(DeviceFor)})
	if err != nil {
		return SignedIn{}, Device{}, err
	}
	id, err := x.Authenticate(ctx, own)
	d.PersonName = p.Name
	return SignedIn{Token: own, Identity: id}, d, err
}

// Devices lists the phones that are let in, newest first.
func (x *Access) Devices(ctx context.Context, a Actor) ([]Device, error) {
	st, err := x.store(ctx, a, ActPair)
	if err != nil {
		return nil, err
	}
	people, err := listPeople(ctx, st)
	if err != nil {
		return nil, err
	}
	names := map[string]string{}
	for _, p := range people {
		names[p.ID] = p.Name
	}
	devices, err := listDevices(ctx, st)
	for i := range devices {
		devices[i].PersonName = names[devices[i].Person]
	}
	return devices, err
}

func listDevices(ctx context.Context, st Store) ([]Device, error) {
	devices := []Device{}
	var bad error
	err := st.Notes(ctx, noteDevices, func(_ string, value []byte) bool {
		var d Device
		if bad = json.Unmarshal(value, &d); bad != nil {
			return false
		}
		devices = append(devices, d)
		return true
	})
	slices.SortFunc(devices, func(a, b Device) int {
		if c := b.Paired.Compare(a.Paired); c != 0 {
			return c
		}
		return strings.Compare(a.ID, b.ID)
	})
	return devices, errors.Join(err, bad)
}

// RemoveDevice cuts a phone off, at once, with its sessions. What it sent stays.
func (x *Access) RemoveDevice(ctx context.Context, a Actor, id string) error {
	st, err := x.store(ctx, a, ActPair)
	if err != nil {
		return err
	}
	if err := x.removeDevice(ctx, st, a, id); err != nil {
		return err
	}
	return x.drop(ctx, st, func(_ string, g grant) bool { return g.Device == id })
}

func (x *Access) removeDevice(ctx context.Context, st Store, a Actor, id string) error {
	x.mu.Lock()
	defer x.mu.Unlock()
	absent := Errorf(NotFound, "There is no such phone.")
	if !validUUID(id) {
		return absent
	}
	var d Device
	if err := getJSON(ctx, st, noteDevices+id, &d); err != nil {
		if errors.Is(err, ErrAbsent) {
			return absent
		}
		return err
	}
	p, err := x.person(ctx, st, d.Person)
	if err != nil && !errors.Is(err, ErrAbsent) {
		return err
	}
	if err == nil && mightier(p.Role, a.Role) {
		return Errorf(Forbidden, "As %s you can't cut off the phone of an %s. Ask the owner of the shop.", a.Role, p.Role)
	}
	return former(ctx, st, d, p.Name)
}

// former puts a device out. What it made while it was in may still come, by another phone: whose it was stays known.
func former(ctx context.Context, st Store, d Device, person string) error {
	d.PersonName, d.PublicKey = person, ""
	if err := putJSON(ctx, st, noteFormer+d.ID, d); err != nil {
		return err
	}
	return st.PutNote(ctx, noteDevices+d.ID, nil)
}
