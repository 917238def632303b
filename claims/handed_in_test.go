package claims_test

import (
	"crypto/rand"
	"encoding/json"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

// Who sends an entry in is the one who is signed in, whatever the entry says. What was seen or done is marked when another name stands on
// it; what is decided is refused.
func TestHandedIn(t *testing.T) {
	s := newService(t)
	now := nine
	x := &claims.Access{Stores: s.Stores, Passwords: plainPasswords{}, Now: func() time.Time { return now }, Random: rand.Reader, MakeID: func() string { return uuid.Must(uuid.NewV7()).String() }}
	first, err := x.FirstLink(ctx, shop)
	require.NoError(t, err)
	boss, err := x.SignIn(ctx, first)
	require.NoError(t, err)
	phoneOf := func(name string) (claims.Actor, claims.Person) {
		t.Helper()
		p, _, err := x.AddPerson(ctx, boss.Actor, name, claims.Technician)
		require.NoError(t, err)
		pairing, err := x.Pair(ctx, boss.Identity, p.ID)
		require.NoError(t, err)
		in, _, err := x.EnterPairing(ctx, pairing.Token, name+"'s phone", "")
		require.NoError(t, err)
		return in.Actor, p
	}
	ana, _ := phoneOf("Ana")
	ben, benPerson := phoneOf("Ben")
	note := func(by claims.Actor, change ...func(*claims.Entry)) json.RawMessage {
		return raw(t, claims.KindNote, claims.Note{Text: "x"}, append([]func(*claims.Entry){func(e *claims.Entry) { e.By, e.Device = by.Person, by.Device }}, change...)...)
	}
	send := func(a claims.Actor, raws ...json.RawMessage) []claims.Item[claims.HandedIn] {
		t.Helper()
		before := len(marks(t, s))
		_, err := s.Append(ctx, a, raws)
		require.NoError(t, err)
		return marks(t, s)[before:]
	}

	t.Run("own name, own phone", func(t *testing.T) {
		assert.Empty(t, send(ana, note(ana)))
		assert.Empty(t, send(boss.Actor, note(boss.Actor)))
	})
	t.Run("in another's name on the own phone", func(t *testing.T) {
		got := send(ben, note(claims.Actor{Person: "Ana", Device: ben.Device}), note(claims.Actor{Person: "Ana", Device: ben.Device}), note(ben))
		require.Len(t, got, 1, "one mark for all that came so")
		b := got[0].Body
		assert.Len(t, b.Entries, 2)
		assert.Equal(t, []string{"Ana", "Ben", "Ben"}, []string{b.By, b.Person, b.Owner})
		assert.Equal(t, "Written in the name of Ana on the phone of Ben, who sent it in.", b.Says)
		assert.Equal(t, "server", got[0].Device)
	})
	t.Run("a phone that changed hands before it had sent everything", func(t *testing.T) {
		waiting := note(ana)
		require.NoError(t, x.RemoveDevice(ctx, boss.Actor, ana.Device))
		pairing, err := x.Pair(ctx, boss.Identity, benPerson.ID)
		require.NoError(t, err)
		in, _, err := x.EnterPairing(ctx, pairing.Token, "the same phone", "")
		require.NoError(t, err)
		got := send(in.Actor, waiting)
		require.Len(t, got, 1)
		assert.Equal(t, "Ana", got[0].Body.Owner, "whose it was is known also after it was cut off")
		assert.Contains(t, got[0].Body.Says, "changed hands")
		assert.Empty(t, send(in.Actor, waiting), "sending twice marks nothing twice")
	})
	t.Run("in the own name, as if on another's phone", func(t *testing.T) {
		got := send(ben, note(claims.Actor{Person: "Ben", Device: ana.Device}))
		require.Len(t, got, 1)
		assert.Equal(t, "Written in the name of Ben on a phone that was let in for Ana, sent in by Ben.", got[0].Body.Says)
	})
	t.Run("on a device that nobody knows", func(t *testing.T) {
		got := send(boss.Actor, note(claims.Actor{Person: "Somebody", Device: "elsewhere"}))
		require.Len(t, got, 1)
		assert.Empty(t, got[0].Body.Owner)
		assert.Contains(t, got[0].Body.Says, "not let in")
	})
	t.Run("a decision in another's name is refused, with all that came along", func(t *testing.T) {
		_, before, err := s.Journal(ctx, boss.Actor, job, 0, 0)
		require.NoError(t, err)
		waive := raw(t, claims.KindWaive, claims.Waive{Requirement: "x", Reason: "y"}, func(e *claims.Entry) { e.By, e.Device = "Ana", boss.Actor.Device })
		_, err = s.Append(ctx, boss.Actor, []json.RawMessage{note(boss.Actor), waive})
		require.Equal(t, claims.Forbidden, claims.CodeOf(err))
		assert.ErrorContains(t, err, `entries[1].by`)
		assert.ErrorContains(t, err, `in the name of "Ana", but you are signed in as "Owner"`)
		_, after, err := s.Journal(ctx, boss.Actor, job, 0, 0)
		require.NoError(t, err)
		assert.Equal(t, before, after)
	})
	t.Run("what the customer paid at the door is no decision", func(t *testing.T) {
		paid := raw(t, claims.KindPayment, claims.Payment{From: "customer", Amount: &claims.Money{Minor: 100, Currency: "USD"}}, func(e *claims.Entry) { e.By, e.Device = "Ana", "elsewhere" })
		assert.Len(t, send(ben, paid), 1)
	})
	t.Run("nobody sends a mark in", func(t *testing.T) {
		_, err := s.Append(ctx, boss.Actor, []json.RawMessage{raw(t, claims.KindHandedIn, claims.HandedIn{By: "a", Device: "b", Person: "c", Sender: "d", Says: "e"})})
		assert.Equal(t, claims.Forbidden, claims.CodeOf(err))
	})
}

func marks(t *testing.T, s *claims.Service) []claims.Item[claims.HandedIn] {
	t.Helper()
	j, err := s.Job(ctx, claims.Actor{Shop: shop, Person: "reader", Role: claims.Owner}, job)
	if claims.CodeOf(err) == claims.NotFound {
		return nil
	}
	require.NoError(t, err)
	return j.HandedIn
}
