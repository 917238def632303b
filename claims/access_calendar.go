package claims

import (
	"context"
	"errors"
	"time"
)

// CalendarFor is how long the secret address of a calendar lasts when nobody asks for it; each use prolongs it.
const CalendarFor = 400 * 24 * time.Hour

// CalendarAddress is what is known of a person's secret address; the secret itself is not kept.
type CalendarAddress struct {
	Made time.Time `json:"made"`
	// Seen is when it was last asked for, to about five minutes; zero = never.
	Seen time.Time `json:"seen,omitzero"`
	// Full says whether events name customer, place, payer and amount.
	Full bool `json:"full"`
}

// MakeCalendar makes the token of the person's secret calendar address; the one before ends. It ends with the person, too.
func (x *Access) MakeCalendar(ctx context.Context, id Identity, full bool) (string, error) {
	if err := id.signedIn(); err != nil {
		return "", err
	}
	st, err := x.store(ctx, id.Actor, ActRead)
	if err != nil {
		return "", err
	}
	if err := x.dropCalendar(ctx, st, id.Person.ID); err != nil {
		return "", err
	}
	now := x.Now()
	return x.give(ctx, st, id.Actor.Shop, grant{Kind: grantCalendar, Person: id.Person.ID, Made: now, Expires: now.Add(CalendarFor), Full: full})
}

// DropCalendar ends the person's secret calendar address. Ending it twice is fine.
func (x *Access) DropCalendar(ctx context.Context, id Identity) error {
	if err := id.signedIn(); err != nil {
		return err
	}
	st, err := x.Stores.Shop(ctx, id.Actor.Shop)
	if err != nil {
		return err
	}
	return x.dropCalendar(ctx, st, id.Person.ID)
}

func (x *Access) dropCalendar(ctx context.Context, st Store, person string) error {
	return x.drop(ctx, st, func(_ string, g grant) bool { return g.Kind == grantCalendar && g.Person == person })
}

// Calendar says whether the person has a secret address, and which.
func (x *Access) Calendar(ctx context.Context, id Identity) (CalendarAddress, bool, error) {
	if err := id.signedIn(); err != nil {
		return CalendarAddress{}, false, err
	}
	st, err := x.Stores.Shop(ctx, id.Actor.Shop)
	if err != nil {
		return CalendarAddress{}, false, err
	}
	var out CalendarAddress
	found := false
	err = x.each(ctx, st, func(_ string, g grant) {
		if g.Kind == grantCalendar && g.Person == id.Person.ID && x.Now().Before(g.Expires) {
			out, found = CalendarAddress{Made: g.Made, Full: g.Full}, true
			if !g.Seen.IsZero() {
				out.Seen = g.Seen
			}
		}
	})
	return out, found, err
}

// EnterCalendar says for whom a calendar's token asks, and whether it is the full one. Such a token is good for nothing else.
func (x *Access) EnterCalendar(ctx context.Context, token string) (Actor, bool, error) {
	gone := Errorf(NotFound, "There is no calendar at this address, or not any more.")
	st, shop, g, err := x.find(ctx, token, grantCalendar)
	if CodeOf(err) == SignIn {
		return Actor{}, false, gone
	}
	if err != nil {
		return Actor{}, false, err
	}
	p, err := x.person(ctx, st, g.Person)
	if errors.Is(err, ErrAbsent) {
		return Actor{}, false, gone
	}
	if err != nil {
		return Actor{}, false, err
	}
	if x.Now().Sub(g.Seen) > seenEvery {
		if err := x.touchCalendar(ctx, st, token); err != nil {
			return Actor{}, false, err
		}
	}
	return Actor{Shop: shop, Person: p.Name, Role: p.Role, Device: "calendar-" + p.ID}, g.Full, nil
}

// touchCalendar prolongs an address that is used, looking again under the lock so that one that is being ended is not brought back.
func (x *Access) touchCalendar(ctx context.Context, st Store, token string) error {
	x.mu.Lock()
	defer x.mu.Unlock()
	_, _, g, err := x.find(ctx, token, grantCalendar)
	if err != nil {
		return err
	}
	g.Seen = x.Now()
	g.Expires = g.Seen.Add(CalendarFor)
	return putJSON(ctx, st, noteTokens+hashToken(token), g)
}
