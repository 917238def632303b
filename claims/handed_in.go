package claims

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
)

// KindHandedIn marks entries that came in from somebody else than they say made them. The server writes it.
const KindHandedIn Kind = "handed-in"

// HandedIn says that entries which name By as their maker were sent in by Person. That is how a phone looks that changed hands before it had
// sent everything, and how somebody writing in another's name looks; Says tells what the shop's list of phones knows of it.
type HandedIn struct {
	Entries []EntryID `json:"entries"`
	By      string    `json:"by"`
	// Device is the one the entries name, Owner for whom that one was let in, when it is known.
	Device string `json:"device"`
	Owner  string `json:"owner,omitempty"`
	// Person sent them in, on Sender.
	Person string `json:"person"`
	Sender string `json:"sender"`
	Says   string `json:"says"`
}

func (b *HandedIn) validate() *Error {
	return first(ids("entries", b.Entries), line("by", b.By, true), line("device", b.Device, true), line("owner", b.Owner, false), line("person", b.Person, true),
		line("sender", b.Sender, true), text("says", b.Says, true))
}

// inOwnName refuses a decision that is entered in another's name: who may take it was asked of the one who is signed in. What was merely
// seen or done may come from somebody else's hand, since a phone may change hands with entries still in it; handedIn marks that.
func (a Actor) inOwnName(e Entry) error {
	if e.By == a.Person || actOfEntry(e) == ActAppend {
		return nil
	}
	return Errorf(Forbidden, "This entry decides something in the name of %q, but you are signed in as %q. Enter it in your own name, or have %q sign in and send it.",
		clip(e.By), a.Person, clip(e.By)).At("by")
}

// handedIn makes the server's marks on fresh entries that do not come from the one they name.
func (s *Service) handedIn(ctx context.Context, st Store, a Actor, fresh []Kept) ([]Kept, error) {
	type from struct{ by, device string }
	var order []from
	entries := map[from][]EntryID{}
	foreign, err := foreignDevices(ctx, st, a, fresh)
	if err != nil {
		return nil, err
	}
	for _, k := range fresh {
		f := from{k.By, k.Device}
		if k.By == a.Person && !foreign[k.Device] {
			continue
		}
		if _, seen := entries[f]; !seen {
			order = append(order, f)
		}
		entries[f] = append(entries[f], k.ID)
	}
	var marks []Kept
	for _, f := range order {
		owner, err := ownerOf(ctx, st, f.device)
		if err != nil {
			return nil, err
		}
		b := HandedIn{Entries: slices.Clone(entries[f]), By: f.by, Device: f.device, Owner: owner, Person: a.Person, Sender: a.Device}
		b.Says = b.says()
		k, err := s.own(a.Shop, fresh[0].Job, KindHandedIn, a.Person, b)
		if err != nil {
			return nil, err
		}
		marks = append(marks, k)
	}
	return marks, nil
}

// foreignDevices are those that entries in the sender's own name speak of, but that were let in for somebody else.
func foreignDevices(ctx context.Context, st Store, a Actor, fresh []Kept) (map[string]bool, error) {
	out := map[string]bool{a.Device: false}
	for _, k := range fresh {
		if _, asked := out[k.Device]; asked {
			continue
		}
		owner, err := ownerOf(ctx, st, k.Device)
		if err != nil {
			return nil, err
		}
		out[k.Device] = owner != "" && !sameName(owner, a.Person)
	}
	return out, nil
}

func (b *HandedIn) says() string {
	switch {
	case b.Device == b.Sender && b.Owner != "":
		return fmt.Sprintf("Written in the name of %s on the phone of %s, who sent it in.", b.By, b.Owner)
	case b.Device == b.Sender:
		return fmt.Sprintf("Written in the name of %s and sent in by %s from the same desk.", b.By, b.Person)
	case sameName(b.Owner, b.By):
		return fmt.Sprintf("Written on the phone of %s, sent in by %s from another: the phone changed hands before it had sent everything, or the entries were copied.", b.By, b.Person)
	case b.Owner != "":
		return fmt.Sprintf("Written in the name of %s on a phone that was let in for %s, sent in by %s.", b.By, b.Owner, b.Person)
	}
	return fmt.Sprintf("Written in the name of %s on a device that is not let in (any more), sent in by %s.", b.By, b.Person)
}

// ownerOf is the name of the person for whom a device was let in, also of one that was cut off since; empty when the shop does not know it.
func ownerOf(ctx context.Context, st Store, device string) (string, error) {
	person := strings.TrimPrefix(device, deskDevice)
	if person == device {
		if !validUUID(device) {
			return "", nil
		}
		var d Device
		err := getJSON(ctx, st, noteDevices+device, &d)
		if errors.Is(err, ErrAbsent) {
			err = getJSON(ctx, st, noteFormer+device, &d)
		}
		if err != nil {
			return "", unlessAbsent(err)
		}
		if person = d.Person; d.PersonName != "" {
			return d.PersonName, nil
		}
	}
	if !validUUID(person) {
		return "", nil
	}
	var p Person
	if err := getJSON(ctx, st, notePeople+person, &p); err != nil {
		return "", unlessAbsent(err)
	}
	return p.Name, nil
}

func unlessAbsent(err error) error {
	if errors.Is(err, ErrAbsent) {
		return nil
	}
	return err
}
