package storetest

import (
	"fmt"
	"math/rand/v2"
	"sort"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

// list reads all pages and checks that no page is over its size and none but the last lacks a cursor.
func list(t testing.TB, s claims.Store, q claims.CardQuery) []claims.Card {
	t.Helper()
	var all []claims.Card
	for range 10_000 {
		page, err := s.Cards(t.Context(), q)
		require.NoError(t, err)
		limit := q.Limit
		if limit == 0 {
			limit = 50
		}
		if page.Next == "" {
			require.LessOrEqual(t, len(page.Cards), limit)
			return append(all, page.Cards...)
		}
		require.Len(t, page.Cards, limit)
		all, q.Cursor = append(all, page.Cards...), page.Next
	}
	t.Fatal("the list does not end")
	return nil
}

func jobsOf(cards []claims.Card) []claims.JobID {
	jobs := []claims.JobID{}
	for _, c := range cards {
		jobs = append(jobs, c.Job)
	}
	return jobs
}

// expect sorts and filters cards the plain way.
func expect(cards map[claims.JobID]claims.Card, q claims.CardQuery) []claims.JobID {
	var fit []claims.Card
	for job, c := range cards {
		c.Job = job
		ok := q.Order != "due" || !c.Due.IsZero()
		if q.Key != "" {
			has := false
			for _, v := range c.Keys[q.Key] {
				has = has || v == q.Value
			}
			ok = ok && has
		}
		for _, w := range q.Words {
			has := false
			for _, own := range c.Words {
				has = has || strings.HasPrefix(own, w)
			}
			ok = ok && has
		}
		if ok {
			fit = append(fit, c)
		}
	}
	before := func(a, b claims.Card) int {
		switch q.Order {
		case "due":
			return a.Due.Compare(b.Due)
		case "opened":
			return b.Opened.Compare(a.Opened)
		}
		return b.Changed.Compare(a.Changed)
	}
	sort.Slice(fit, func(i, j int) bool {
		if o := before(fit[i], fit[j]); o != 0 {
			return o < 0
		}
		return fit[i].Job < fit[j].Job
	})
	return jobsOf(fit)
}

func testCardsInOrder(t *testing.T, s Stores) {
	store := openShop(t, s)
	rng := rand.New(rand.NewPCG(1, 2))
	cards := map[claims.JobID]claims.Card{}
	times := []time.Time{
		{}, time.Unix(0, 0), time.Unix(-1, 999_999_999), time.Unix(0, 1), time.Date(1, 1, 1, 0, 0, 0, 0, time.UTC),
		time.Date(1600, 1, 1, 0, 0, 0, 0, time.UTC), time.Date(9999, 12, 31, 23, 59, 59, 999_999_999, time.UTC),
	}
	for range 20 {
		times = append(times, start().Add(time.Duration(rng.IntN(1000))*time.Millisecond).In(time.FixedZone("", 3600*rng.IntN(12))))
	}
	for i := range 120 {
		job := claims.JobID(fmt.Sprintf("job%03d", rng.IntN(1000)*1000+i))
		b := batch(job, 0, 1)
		b.Card.Opened, b.Card.Changed = times[rng.IntN(len(times))], times[rng.IntN(len(times))]
		if i%3 > 0 {
			b.Card.Due = times[rng.IntN(len(times))]
		}
		cards[job] = b.Card
		commit(t, store, b)
	}
	for _, order := range []string{"", "changed", "opened", "due"} {
		for _, limit := range []int{0, 1, 7, 119, 120, 200} {
			q := claims.CardQuery{Order: order, Limit: limit}
			require.Equal(t, expect(cards, q), jobsOf(list(t, store, q)), "order %q, pages of %d", order, limit)
		}
	}
}

func testCardsFilters(t *testing.T, s Stores) {
	store := openShop(t, s)
	longValue, longWord := strings.Repeat("v", 500), strings.Repeat("w", 300)
	cards := map[claims.JobID]claims.Card{}
	for i := range 60 {
		job := claims.JobID(fmt.Sprintf("job%d", i))
		b := batch(job, 0, 1)
		b.Card.Changed = start().Add(time.Duration(i%7) * time.Hour)
		if i%2 == 0 {
			b.Card.Due = start().Add(time.Duration(i%5) * time.Hour)
		}
		b.Card.Keys = map[string][]string{
			"serial": {fmt.Sprintf("s%d", i%4), fmt.Sprintf("t%d", i%3), fmt.Sprintf("s%d", i%4)},
			"part":   {fmt.Sprintf("s%d", i%5)},
			"long":   {longValue + fmt.Sprint(i%2)},
		}
		b.Card.Words = []string{"word", fmt.Sprintf("word%d", i%6), fmt.Sprintf("other%d", i), longWord + fmt.Sprint(i%3), "wörter"}
		cards[job] = b.Card
		commit(t, store, b)
	}
	queries := []claims.CardQuery{
		{Key: "serial", Value: "s1"}, {Key: "serial", Value: "t2"}, {Key: "part", Value: "s1"}, {Key: "serial", Value: "s"},
		{Key: "seria", Value: "ls1"}, {Key: "none", Value: "s1"}, {Key: "serial", Value: ""},
		{Key: "long", Value: longValue + "1"}, {Key: "long", Value: longValue},
		{Words: []string{"word3"}}, {Words: []string{"wor"}}, {Words: []string{"other1"}}, {Words: []string{"other1", "word1"}},
		{Words: []string{"w", "o"}}, {Words: []string{"x"}}, {Words: []string{""}}, {Words: []string{"word", "x"}},
		{Words: []string{longWord + "2"}}, {Words: []string{longWord}}, {Words: []string{longWord + "x"}}, {Words: []string{"wör"}},
		{Key: "serial", Value: "s1", Words: []string{"word1"}}, {Key: "part", Value: "s4", Words: []string{"other", "wör"}},
	}
	for _, q := range queries {
		for _, order := range []string{"changed", "due", "opened"} {
			for _, limit := range []int{0, 3} {
				q.Order, q.Limit = order, limit
				require.Equal(t, expect(cards, q), jobsOf(list(t, store, q)), "%+v", q)
			}
		}
	}
}

// testCardsManyMatches has filters that fit so many jobs that no store can fetch and sort them for one page.
func testCardsManyMatches(t *testing.T, s Stores) {
	store := openShop(t, s)
	const n = 2300
	cards := map[claims.JobID]claims.Card{}
	ctx := t.Context()
	work := make(chan claims.Batch)
	failed := make(chan error, 1)
	done := make(chan struct{})
	for range 32 {
		go func() {
			for b := range work {
				if _, err := store.Commit(ctx, b); err != nil {
					select {
					case failed <- err:
					default:
					}
				}
			}
			done <- struct{}{}
		}()
	}
	for i := range n {
		job := claims.JobID(fmt.Sprintf("job%04d", i))
		b := batch(job, 0, 1)
		b.Card.Changed = start().Add(time.Duration(i*7919%n) * time.Minute)
		b.Card.Keys = map[string][]string{"payer": {"all"}, "third": {fmt.Sprint(i % 3)}}
		b.Card.Words = []string{"common", fmt.Sprintf("w%d", i%3)}
		cards[job] = b.Card
		work <- b
	}
	close(work)
	for range 32 {
		<-done
	}
	select {
	case err := <-failed:
		require.NoError(t, err)
	default:
	}
	for _, q := range []claims.CardQuery{
		{Key: "payer", Value: "all"}, {Words: []string{"comm"}}, {Words: []string{"w"}},
		{Key: "payer", Value: "all", Words: []string{"w1"}}, {Words: []string{"common", "w2"}}, {Key: "third", Value: "2", Words: []string{"com"}},
	} {
		q.Limit = 200
		require.Equal(t, expect(cards, q), jobsOf(list(t, store, q)), "%+v", q)
	}
}

// testCardsCursor adds, changes and takes away jobs between pages: those that stay where they are come exactly once.
func testCardsCursor(t *testing.T, s Stores) {
	for _, order := range []string{"changed", "due", "opened"} {
		store := shopOf(t, open(t, s), "shop")
		put := func(job claims.JobID, was claims.Head, minute int) {
			b := batch(job, was, 1)
			at := start().Add(time.Duration(minute) * time.Minute)
			b.Card.Changed, b.Card.Due, b.Card.Opened = at, at, at
			b.Card.Words = []string{"all"}
			commit(t, store, b)
		}
		for i := range 60 {
			put(claims.JobID(fmt.Sprintf("stay%02d", i)), 0, 10*(i/2)) // two at each moment
		}
		for _, words := range [][]string{nil, {"all"}} {
			seen := map[claims.JobID]int{}
			q := claims.CardQuery{Order: order, Limit: 7, Words: words}
			for round := 0; ; round++ {
				page, err := store.Cards(t.Context(), q)
				require.NoError(t, err)
				for _, c := range page.Cards {
					seen[c.Job]++
				}
				if page.Next == "" {
					break
				}
				q.Cursor = page.Next
				for k := range 5 { // before, within and after the cursor
					job := claims.JobID(fmt.Sprintf("new%d-%02d-%d", len(words), round, k))
					put(job, 0, 150*k+round)
					put(job, 1, 30*k+round) // and some that move
				}
			}
			for i := range 60 {
				job := claims.JobID(fmt.Sprintf("stay%02d", i))
				require.Equal(t, 1, seen[job], "order %s: %s", order, job)
			}
		}
	}
}

func testCardsBadQuery(t *testing.T, s Stores) {
	store := openShop(t, s)
	commit(t, store, batch("a", 0, 1))
	commit(t, store, batch("b", 0, 1))
	page, err := store.Cards(t.Context(), claims.CardQuery{Limit: 1})
	require.NoError(t, err)
	require.NotEmpty(t, page.Next)
	words := make([]string, 21)
	for i := range words {
		words[i] = fmt.Sprint(i)
	}
	for _, q := range []claims.CardQuery{
		{Order: "price"}, {Limit: -1}, {Limit: 201}, {Value: "x"}, {Words: words},
		{Cursor: "x"}, {Cursor: "c"}, {Cursor: "c!!"}, {Cursor: page.Next + "="}, {Cursor: "c" + strings.Repeat("A", 1000)},
		{Order: "due", Cursor: page.Next}, {Order: "opened", Cursor: page.Next},
	} {
		_, err := store.Cards(t.Context(), q)
		require.NotEmpty(t, claims.CodeOf(err), "%+v: %v", q, err)
	}
}

func testCardReplacement(t *testing.T, s Stores) {
	store := openShop(t, s)
	b := batch("job", 0, 1)
	b.Card.Due = start()
	b.Card.Keys = map[string][]string{"serial": {"old", "both"}, "gone": {"x"}}
	b.Card.Words = []string{"oldword", "same"}
	commit(t, store, b)
	commit(t, store, batch("other", 0, 1))
	next := batch("job", 1, 1)
	next.Card.Changed = start().Add(-time.Hour)
	next.Card.Keys = map[string][]string{"serial": {"new", "both"}}
	next.Card.Words = []string{"newword", "same"}
	commit(t, store, next)
	for _, test := range []struct {
		q     claims.CardQuery
		found bool
	}{
		{claims.CardQuery{Key: "serial", Value: "old"}, false},
		{claims.CardQuery{Key: "serial", Value: "new"}, true},
		{claims.CardQuery{Key: "serial", Value: "both"}, true},
		{claims.CardQuery{Key: "gone", Value: "x"}, false},
		{claims.CardQuery{Words: []string{"oldword"}}, false},
		{claims.CardQuery{Words: []string{"old"}}, false},
		{claims.CardQuery{Words: []string{"newword"}}, true},
		{claims.CardQuery{Words: []string{"same"}}, true},
		{claims.CardQuery{Order: "due"}, false},
	} {
		want := []claims.JobID{}
		if test.found {
			want = append(want, "job")
		}
		require.Equal(t, want, jobsOf(list(t, store, test.q)), "%+v", test.q)
	}
	require.Equal(t, []claims.JobID{"other", "job"}, jobsOf(list(t, store, claims.CardQuery{})))
}
