package claims

import (
	"context"
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"time"
)

// Person is somebody of the shop.
type Person struct {
	ID    string    `json:"id"`
	Name  string    `json:"name"`
	Role  Role      `json:"role"`
	Added time.Time `json:"added"`
	// Password says whether one is set; Hash is what Passwords made of it, kept in the store and shown to nobody.
	Password bool   `json:"password"`
	Hash     string `json:"hash,omitempty"`
}

// shown is the person without what nobody needs to see.
func (p Person) shown() Person {
	p.Password, p.Hash = p.Hash != "", ""
	return p
}

// People lists the people of the shop by name.
func (x *Access) People(ctx context.Context, a Actor) ([]Person, error) {
	st, err := x.store(ctx, a, ActPair)
	if err != nil {
		return nil, err
	}
	people, err := listPeople(ctx, st)
	for i := range people {
		people[i] = people[i].shown()
	}
	return people, err
}

func (x *Access) store(ctx context.Context, a Actor, act Act) (Store, error) {
	if err := a.allow(act); err != nil {
		return nil, err
	}
	return x.Stores.Shop(ctx, a.Shop)
}

func listPeople(ctx context.Context, st Store) ([]Person, error) {
	people := []Person{}
	var bad error
	err := st.Notes(ctx, notePeople, func(_ string, value []byte) bool {
		var p Person
		if bad = json.Unmarshal(value, &p); bad != nil {
			return false
		}
		people = append(people, p)
		return true
	})
	slices.SortFunc(people, func(a, b Person) int {
		return strings.Compare(strings.ToLower(a.Name)+"\x00"+a.ID, strings.ToLower(b.Name)+"\x00"+b.ID)
	})
	return people, errors.Join(err, bad)
}

func findPerson(ctx context.Context, st Store, name string) (Person, error) {
	people, err := listPeople(ctx, st)
	if err != nil {
		return Person{}, err
	}
	for _, p := range people {
		if sameName(p.Name, name) {
			return p, nil
		}
	}
	return Person{}, ErrAbsent
}

func sameName(a, b string) bool {
	return strings.EqualFold(strings.Join(strings.Fields(a), " "), strings.Join(strings.Fields(b), " "))
}

func (x *Access) person(ctx context.Context, st Store, id string) (Person, error) {
	var p Person
	if !validUUID(id) {
		return p, ErrAbsent
	}
	return p, getJSON(ctx, st, notePeople+id, &p)
}

func noPerson(err error) error {
	if errors.Is(err, ErrAbsent) {
		return Errorf(NotFound, "There is no such person in the shop.")
	}
	return err
}

// checkPerson tidies the name and refuses what can't be a person.
func checkPerson(name string, role Role) (string, error) {
	name = strings.Join(strings.Fields(name), " ")
	if name == "" || !oneLine(name, maxName) {
		return "", Errorf(Invalid, "A person's name has 1 to %d characters on one line.", maxName).At("name")
	}
	switch role {
	case Technician, Office, Owner:
		return name, nil
	}
	return "", Errorf(Invalid, "The role must be technician, office or owner.").At("role")
}

// AddPerson adds somebody and makes the token of a one-time link for them.
func (x *Access) AddPerson(ctx context.Context, a Actor, name string, role Role) (Person, string, error) {
	st, err := x.store(ctx, a, ActPeople)
	if err != nil {
		return Person{}, "", err
	}
	if name, err = checkPerson(name, role); err != nil {
		return Person{}, "", err
	}
	p := Person{ID: x.MakeID(), Name: name, Role: role, Added: x.Now().UTC()}
	if err := x.addPerson(ctx, st, p); err != nil {
		return Person{}, "", err
	}
	token, err := x.link(ctx, st, a.Shop, p.ID, a.Person)
	return p.shown(), token, err
}

func (x *Access) addPerson(ctx context.Context, st Store, p Person) error {
	x.mu.Lock()
	defer x.mu.Unlock()
	people, err := listPeople(ctx, st)
	if err != nil {
		return err
	}
	if len(people) >= maxPeople {
		return Errorf(TooLarge, "A shop has at most %d people here. Remove those who left.", maxPeople)
	}
	if err := nameFree(people, p); err != nil {
		return err
	}
	return putJSON(ctx, st, notePeople+p.ID, p)
}

func nameFree(people []Person, p Person) error {
	for _, other := range people {
		if other.ID != p.ID && sameName(other.Name, p.Name) {
			return Errorf(Conflict, "There is somebody called %q already. Names must differ, because entries carry them.", clip(other.Name)).At("name")
		}
	}
	return nil
}

// changePerson rewrites one person under the lock.
func (x *Access) changePerson(ctx context.Context, st Store, id string, change func(*Person) error) error {
	x.mu.Lock()
	defer x.mu.Unlock()
	p, err := x.person(ctx, st, id)
	if err != nil {
		return noPerson(err)
	}
	if err := change(&p); err != nil {
		return err
	}
	return putJSON(ctx, st, notePeople+id, p)
}

// ChangePerson changes somebody's name and role.
func (x *Access) ChangePerson(ctx context.Context, a Actor, id, name string, role Role) (Person, error) {
	st, err := x.store(ctx, a, ActPeople)
	if err != nil {
		return Person{}, err
	}
	if name, err = checkPerson(name, role); err != nil {
		return Person{}, err
	}
	var changed Person
	err = x.changePerson(ctx, st, id, func(p *Person) error {
		people, err := listPeople(ctx, st)
		if err != nil {
			return err
		}
		if role != Owner {
			if err := keepsOwner(people, id); err != nil {
				return err
			}
		}
		p.Name, p.Role = name, role
		changed = *p
		return nameFree(people, *p)
	})
	return changed.shown(), err
}

// keepsOwner refuses to take the last owner away.
func keepsOwner(people []Person, id string) error {
	last := true
	isOwner := false
	for _, p := range people {
		if p.Role == Owner {
			isOwner = isOwner || p.ID == id
			last = last && p.ID == id
		}
	}
	if isOwner && last {
		return Errorf(Invalid, "The shop needs an owner. Make somebody else an owner first.").At("role")
	}
	return nil
}

// RemovePerson removes somebody with all their devices, sessions and links. What they wrote stays.
func (x *Access) RemovePerson(ctx context.Context, a Actor, id string) error {
	st, err := x.store(ctx, a, ActPeople)
	if err != nil {
		return err
	}
	gone, err := x.person(ctx, st, id)
	if err != nil {
		return noPerson(err)
	}
	if err := x.removePerson(ctx, st, id); err != nil {
		return err
	}
	devices, err := listDevices(ctx, st)
	if err != nil {
		return err
	}
	for _, d := range devices {
		if d.Person == id {
			if err := former(ctx, st, d, gone.Name); err != nil {
				return err
			}
		}
	}
	return x.drop(ctx, st, func(_ string, g grant) bool { return g.Person == id })
}

func (x *Access) removePerson(ctx context.Context, st Store, id string) error {
	x.mu.Lock()
	defer x.mu.Unlock()
	if _, err := x.person(ctx, st, id); err != nil {
		return noPerson(err)
	}
	people, err := listPeople(ctx, st)
	if err != nil {
		return err
	}
	if err := keepsOwner(people, id); err != nil {
		return err
	}
	return st.PutNote(ctx, notePeople+id, nil)
}

// MakeLink makes the token of a new one-time link for a person; the old links end.
func (x *Access) MakeLink(ctx context.Context, a Actor, id string) (string, error) {
	st, err := x.store(ctx, a, ActPeople)
	if err != nil {
		return "", err
	}
	if _, err := x.person(ctx, st, id); err != nil {
		return "", noPerson(err)
	}
	return x.link(ctx, st, a.Shop, id, a.Person)
}
