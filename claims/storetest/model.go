package storetest

import (
	"errors"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"kickplate/claims"
)

// testModel runs random commands against the store and against plain maps, and compares after each.
func testModel(t *testing.T, s Stores) {
	all := open(t, s)
	round := 0
	rapid.Check(t, func(rt *rapid.T) {
		round++
		store := shopOf(t, all, claims.ShopID(fmt.Sprintf("model%d", round)))
		m := &model{store: store, ctx: t, jobs: map[claims.JobID][]claims.EntryID{}, cards: map[claims.JobID]claims.Card{}, lines: map[claims.EntryID]string{}}
		rt.Repeat(map[string]func(*rapid.T){
			"commit": m.commit,
			"list":   m.list,
			"":       m.check,
		})
	})
}

type model struct {
	store claims.Store
	ctx   testing.TB
	jobs  map[claims.JobID][]claims.EntryID
	cards map[claims.JobID]claims.Card
	lines map[claims.EntryID]string
	log   []claims.EntryID
}

func drawCard(rt *rapid.T) claims.Card {
	at := func(label string) time.Time {
		return start().Add(time.Duration(rapid.IntRange(0, 5).Draw(rt, label)) * time.Hour)
	}
	card := claims.Card{Opened: at("opened"), Changed: at("changed")}
	if rapid.Bool().Draw(rt, "has due") {
		card.Due = at("due")
	}
	card.Words = rapid.SliceOfN(rapid.SampledFrom([]string{"a", "ab", "abc", "b", "\x00", "a\x00", "ä"}), 0, 3).Draw(rt, "words")
	card.Keys = map[string][]string{"k": rapid.SliceOfN(rapid.SampledFrom([]string{"", "x", "y"}), 0, 2).Draw(rt, "keys")}
	return card
}

func (m *model) commit(rt *rapid.T) {
	job := rapid.SampledFrom([]claims.JobID{"j", "j1", "j\x00", "k"}).Draw(rt, "job")
	b := claims.Batch{Job: job, Was: claims.Head(len(m.jobs[job])), Card: drawCard(rt)}
	stale := rapid.IntRange(0, 5).Draw(rt, "stale") == 0
	if stale {
		b.Was += claims.Head(rapid.IntRange(1, 2).Draw(rt, "by"))
	}
	ids := rapid.SliceOfN(rapid.IntRange(0, 200), 0, 4).Draw(rt, "entries")
	taken, own := false, map[claims.EntryID]bool{}
	for _, n := range ids {
		id := claims.EntryID(fmt.Sprintf("e%d", n))
		_, there := m.lines[id]
		taken = taken || there || own[id]
		own[id] = true
		b.Records = append(b.Records, claims.Record{Entry: id, Line: fmt.Appendf(nil, "%s of %s", id, job)})
	}
	head, err := m.store.Commit(m.ctx.Context(), b)
	switch {
	case stale || taken:
		require.True(rt, errors.Is(err, claims.ErrStale) || errors.Is(err, claims.ErrTaken), "%v", err)
		return
	case len(m.jobs[job]) == 0 && len(ids) == 0:
		require.ErrorIs(rt, err, claims.ErrAbsent)
		return
	}
	require.NoError(rt, err)
	for _, r := range b.Records {
		m.jobs[job] = append(m.jobs[job], r.Entry)
		m.log = append(m.log, r.Entry)
		m.lines[r.Entry] = string(r.Line)
	}
	m.cards[job] = b.Card
	require.EqualValues(rt, len(m.jobs[job]), head)
}

func (m *model) list(rt *rapid.T) {
	q := claims.CardQuery{
		Order: rapid.SampledFrom([]string{"changed", "due", "opened"}).Draw(rt, "order"),
		Limit: rapid.IntRange(1, 3).Draw(rt, "limit"),
		Words: rapid.SliceOfN(rapid.SampledFrom([]string{"a", "ab", "b", "ä", "\x00"}), 0, 2).Draw(rt, "find"),
	}
	if rapid.Bool().Draw(rt, "by key") {
		q.Key, q.Value = "k", rapid.SampledFrom([]string{"", "x", "y", "z"}).Draw(rt, "value")
	}
	require.Equal(rt, expect(m.cards, q), jobsOf(list(m.ctx, m.store, q)), "%+v", q)
}

func (m *model) check(rt *rapid.T) {
	for job, ids := range m.jobs {
		got, head, err := m.store.Records(m.ctx.Context(), job, 0, 0)
		require.NoError(rt, err)
		require.EqualValues(rt, len(ids), head)
		for i, r := range got {
			require.Equal(rt, ids[i], r.Entry)
			require.Equal(rt, m.lines[r.Entry], string(r.Line))
		}
	}
	leaves := RequireWholeLog(m.ctx, m.store)
	require.Len(rt, leaves, len(m.log))
	for i, id := range m.log {
		require.Equal(rt, id, leaves[i].Entry)
	}
}
