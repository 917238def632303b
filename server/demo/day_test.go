package demo

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"regexp"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"kickplate/claims"
	"kickplate/claims/dispute"
	"kickplate/server/demo/draw"
)

// now is a Wednesday evening in the shop's zone, so that its day is that Wednesday.
func now() time.Time { return time.Date(2026, 3, 18, 23, 30, 0, 0, time.UTC) }

// realDay is drawn once for all tests.
var realDay = sync.OnceValues(func() (Day, error) { return New(context.Background(), now(), Options{}) })

func drawnDay(t testing.TB) Day {
	t.Helper()
	d, err := realDay()
	require.NoError(t, err)
	return d
}

// plainDay has the entries of a date with stand-ins for the photographs: quick.
func plainDay(t require.TestingT, date time.Time, opt Options) Day {
	d, err := write(context.Background(), date, opt, func(s draw.Scene, how draw.Shot) ([]byte, error) {
		return fmt.Appendf(nil, "%T %+v %+v", s, s, how.Seed), nil
	})
	require.NoError(t, err)
	return d
}

func entryOf(t require.TestingT, a Action) claims.Entry {
	e, err := claims.ParseEntry(a.Raw)
	require.NoErrorf(t, err, "entry %s", a.Raw)
	return e
}

func TestWorkingDay(t *testing.T) {
	zone, err := time.LoadLocation(Zone)
	require.NoError(t, err)
	at := func(day, hour, minute int) time.Time { return time.Date(2026, 3, day, hour, minute, 0, 0, zone) }
	for _, c := range []struct {
		name string
		now  time.Time
		want int
	}{
		{"in the evening it is today", at(18, 18, 0), 18},
		{"the moment it is over", at(18, 17, 30), 18},
		{"while it lasts it is yesterday", at(18, 17, 29), 17},
		{"in the morning it is yesterday", at(18, 7, 0), 17},
		{"on Saturday it is Friday", at(14, 20, 0), 13},
		{"on Sunday it is Friday", at(15, 20, 0), 13},
		{"on Monday morning it is Friday", at(16, 9, 0), 13},
		{"the zone of the caller does not matter", at(18, 18, 0).In(time.FixedZone("", 14*3600)), 18},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := WorkingDay(c.now)
			require.NoError(t, err)
			assert.True(t, at(c.want, 0, 0).Equal(got), "%s", got)
		})
	}
}

// Whatever the date, every entry is accepted, nothing lies in the future, and each device's chain is whole.
func TestAnyDay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		when := time.Unix(rapid.Int64Range(1_600_000_000, 2_500_000_000).Draw(t, "now"), 0)
		date, err := WorkingDay(when)
		require.NoError(t, err)
		d := plainDay(t, date, Options{Seed: rapid.Uint64().Draw(t, "seed")})
		ids, last := map[claims.EntryID]bool{}, when.Add(time.Minute*8) // the second phone's clock is fast
		for _, j := range d.Jobs {
			for _, a := range j.Actions {
				e := entryOf(t, a)
				require.Equal(t, j.ID, e.Job)
				require.False(t, ids[e.ID], "id twice: %s", e.ID)
				ids[e.ID] = true
				require.False(t, e.At.After(last), "%s is after %s", e.At, last)
			}
		}
	})
}

// The ids are UUIDv7 as google/uuid reads them (RFC 9562): version 7, variant 10, and the time of the device's clock.
func TestIDs(t *testing.T) {
	d := plainDay(t, day(t), Options{})
	for _, j := range d.Jobs {
		for _, a := range j.Actions {
			e := entryOf(t, a)
			u, err := uuid.Parse(string(e.ID))
			require.NoError(t, err)
			require.Equal(t, uuid.Version(7), u.Version())
			require.Equal(t, uuid.RFC4122, u.Variant())
			sec, nsec := u.Time().UnixTime()
			require.InDelta(t, 0, time.Unix(sec, nsec).Sub(e.At).Milliseconds(), 1, "%s against %s", u, e.At)
		}
	}
}

func day(t require.TestingT) time.Time {
	d, err := WorkingDay(now())
	require.NoError(t, err)
	return d
}

// The chains are worked out anew with sha256 from the bytes themselves.
func TestChains(t *testing.T) {
	d := plainDay(t, day(t), Options{})
	type link struct {
		e   claims.Entry
		raw []byte
	}
	byDevice := map[string][]link{}
	for _, j := range d.Jobs {
		for _, a := range j.Actions {
			e := entryOf(t, a)
			byDevice[e.Device] = append(byDevice[e.Device], link{e, a.Raw})
		}
	}
	require.Len(t, byDevice, 3)
	for name, links := range byDevice {
		seqs := map[uint64]link{}
		for _, l := range links {
			seqs[l.e.Seq] = l
		}
		require.Len(t, seqs, len(links), "device %s uses a number twice", name)
		for n := uint64(1); n <= uint64(len(links)); n++ {
			l, ok := seqs[n]
			require.True(t, ok, "device %s has no entry %d", name, n)
			if n == 1 {
				assert.Empty(t, l.e.Prev)
				continue
			}
			before := seqs[n-1]
			sum := sha256.Sum256(before.raw)
			assert.Equal(t, hex.EncodeToString(sum[:]), string(l.e.Prev), "device %s, entry %d", name, n)
			assert.True(t, l.e.At.After(before.e.At), "device %s, entry %d", name, n)
			assert.Equal(t, l.e.At.Sub(before.e.At).Milliseconds(), l.e.Clock.MonoMs-before.e.Clock.MonoMs, "the monotonic clock goes as the other does")
		}
	}
}

func TestSameDayIsTheSame(t *testing.T) {
	a, b, other := plainDay(t, day(t), Options{}), plainDay(t, day(t), Options{}), plainDay(t, day(t), Options{Seed: 2})
	assert.Equal(t, a, b)
	assert.NotEqual(t, a.Jobs[0].ID, other.Jobs[0].ID)
	next := plainDay(t, day(t).AddDate(0, 0, 1), Options{})
	assert.NotEqual(t, a.Jobs[0].ID, next.Jobs[0].ID)
}

func fold(t require.TestingT, j Job) claims.Job {
	kept := make([]claims.Kept, 0, len(j.Actions))
	for i, a := range j.Actions {
		kept = append(kept, claims.Kept{Entry: entryOf(t, a), Raw: a.Raw, Received: now(), Leaf: uint64(i)})
	}
	return claims.Fold(kept)
}

func TestJobs(t *testing.T) {
	d := plainDay(t, day(t), Options{})
	jobs := map[string]claims.Job{}
	kinds := map[string]bool{}
	whole := 0
	for _, j := range d.Jobs {
		got := fold(t, j)
		require.Empty(t, got.Problems, j.Number)
		require.Empty(t, got.Unknown, j.Number)
		assert.Equal(t, j.Number, got.Open.Number)
		assert.Equal(t, len(j.Actions), got.Entries)
		jobs[j.Number], kinds[got.Unit.Kind] = got, true
		if j.Whole {
			whole++
		}
	}
	assert.Equal(t, 1, whole)
	assert.GreaterOrEqual(t, len(kinds), 4, "kinds of unit")

	heater := jobs["TB-2041"]
	assert.Equal(t, "gathering", heater.Stage())
	assert.Len(t, heater.Photos, 22)
	assert.Len(t, heater.Readings, 7)
	assert.Equal(t, claims.Money{Minor: 6480 + 11800 + 3500, Currency: "USD"}, heater.Total())
	due, ok := heater.SubmitBy()
	assert.True(t, ok)
	assert.Equal(t, claims.Day("2026-04-17"), due, "30 days after 18 March")

	dish := jobs["TB-2042"]
	require.Len(t, dish.Visits, 1)
	assert.Len(t, dish.Visits[0].Left.Body.Gaps, 6)
	assert.NotEmpty(t, dish.Visits[0].Left.Body.Reason)

	damage := jobs["TB-2029"]
	assert.Equal(t, "disputed", damage.Stage())
	require.Len(t, damage.Damages, 4)
	ack := damage.Acks[0].Body
	assert.Equal(t, "damage-on-arrival", ack.About)
	assert.Len(t, ack.ShownDigests, 4, "the signature is bound to the pictures")
	assert.True(t, damage.Acks[0].At.Before(damage.WorkStarts[0].At))
	assert.Len(t, damage.Allegations, 2)
	// What is on record about them: the wall was pictured and signed for before work, nobody looked at the drawer.
	v := dispute.Of(&damage)
	assert.Equal(t, dispute.ShownBefore, v.Allegations[0].Finding.Outcome)
	assert.Equal(t, dispute.NotShown, v.Allegations[1].Finding.Outcome)
	require.NotEmpty(t, v.Allegations[0].Pairs)
	assert.Equal(t, "taken as the same view", v.Allegations[0].Pairs[0].Why)
	assert.Len(t, v.Allegations[0].Theirs, 1)

	freezer := jobs["TB-2043"]
	require.Len(t, freezer.Struck, 1)
	assert.Equal(t, claims.KindPhoto, freezer.Struck[0].Kind)
	assert.Equal(t, "15.2", freezer.Readings[0].Body.Value)
	assert.Len(t, freezer.Readings[0].Corrected, 1)
	assert.Equal(t, int64(432_000), freezer.Readings[0].Clock.OffsetMs)
}

// Telephone numbers stay in the range kept for fiction in North America (555-0100 to 555-0199), e-mail in example.com
// (RFC 2606).
func TestNobodyIsReachable(t *testing.T) {
	phone, fiction := regexp.MustCompile(`\b\d{3}-\d{4}\b`), regexp.MustCompile(`^555-01\d\d$`)
	mail := regexp.MustCompile(`[\w.]+@[\w.]+`)
	found := 0
	for _, j := range plainDay(t, day(t), Options{}).Jobs {
		for _, a := range j.Actions {
			if a.Kind != claims.KindCustomer {
				continue
			}
			found++
			for _, p := range phone.FindAllString(string(a.Raw), -1) {
				assert.Regexp(t, fiction, p)
			}
			for _, m := range mail.FindAllString(string(a.Raw), -1) {
				assert.Regexp(t, `@example\.com$`, m)
			}
		}
	}
	assert.Equal(t, 6, found)
}

func TestCancelledDay(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := New(ctx, now(), Options{})
	require.ErrorIs(t, err, context.Canceled)
}

// Entries keep their exact bytes when they are put into a list of others, as the API takes them.
func TestRawIsCompact(t *testing.T) {
	for _, a := range plainDay(t, day(t), Options{}).Jobs[0].Actions {
		var buf bytes.Buffer
		require.NoError(t, json.Compact(&buf, a.Raw))
		require.Equal(t, string(a.Raw), buf.String())
	}
}
