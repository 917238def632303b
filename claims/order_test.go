package claims

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The rules of Order, one case each. A made entry is of 9 o'clock plus minutes and arrives a minute later.
func TestPhotoOrder(t *testing.T) {
	digest := DigestOf([]byte("x"))
	measured := &Clock{UncertaintyMs: 50}
	clock := func(c *Clock) func(*Entry) { return func(e *Entry) { e.Clock = c } }
	seq := func(device string, n uint64) func(*Entry) {
		return func(e *Entry) { e.Device, e.Seq, e.Prev = device, n, DigestOf([]byte{1}) }
	}
	received := func(k Kept, minutes int) Kept {
		k.Received = nineOClock.Add(time.Duration(minutes) * time.Minute)
		return k
	}
	photo := func(minutes int, b Photo, change ...func(*Entry)) Kept {
		b.Digest, b.Bytes, b.Subject = digest, 1, "floor"
		return made(t, 1, KindPhoto, minutes, b, change...)
	}
	start := func(minutes int, b Step, change ...func(*Entry)) Kept {
		return made(t, 2, KindWorkStart, minutes, b, change...)
	}
	part := func(minutes int, change ...func(*Entry)) Kept {
		return made(t, 3, KindPart, minutes, Part{Component: "gasket", Action: "removed"}, change...)
	}
	for _, c := range []struct {
		name       string
		entries    []Kept
		answer, by string
	}{
		{"no work on record", []Kept{photo(5, Photo{})}, CannotTell, ""},
		{"the server had it before the step", []Kept{photo(5, Photo{}), start(20, Step{}, clock(measured))}, Before, "receipt"},
		{"the receipt is stronger than the sequence", []Kept{photo(5, Photo{}, seq("a", 3)), start(20, Step{}, clock(measured), seq("a", 4))}, Before, "receipt"},
		{"sent later, the sequence tells", []Kept{received(photo(5, Photo{}, seq("a", 3)), 90), start(20, Step{}, clock(measured), seq("a", 4))}, Before, "sequence"},
		{"after, by the sequence", []Kept{received(photo(25, Photo{}, seq("a", 5)), 90), received(start(20, Step{}, seq("a", 4)), 90)}, After, "sequence"},
		{"after, the server had the step already", []Kept{photo(25, Photo{}, clock(measured)), start(20, Step{}, clock(measured))}, After, "receipt"},
		{"a step that states its own time breaks the sequence", []Kept{received(photo(5, Photo{}, seq("a", 3), clock(measured)), 90), start(40, Step{When: nineOClock.Add(3 * time.Minute).Format(time.RFC3339)}, seq("a", 4), clock(measured))}, After, "stated"},
		{"stated to the minute, and nearer than that", []Kept{received(photo(5, Photo{}, clock(measured)), 90), start(40, Step{When: nineOClock.Add(5*time.Minute + 30*time.Second).Format(time.RFC3339)}, clock(measured))}, CannotTell, ""},
		{"clocks apart", []Kept{received(photo(5, Photo{}, clock(measured)), 90), start(20, Step{}, clock(measured), seq("b", 1))}, Before, "clocks"},
		{"clocks as near as they may be off", []Kept{received(photo(5, Photo{}, clock(&Clock{UncertaintyMs: 10 * 60_000})), 90), start(12, Step{}, clock(measured), seq("b", 1))}, CannotTell, ""},
		{"clocks nobody measured, two devices", []Kept{received(photo(5, Photo{}), 90), start(20, Step{}, seq("b", 1))}, CannotTell, ""},
		{"one clock nobody measured", []Kept{received(photo(5, Photo{}), 90), received(start(20, Step{}), 90)}, Before, "clocks"},
		{"an offset is taken off", []Kept{received(photo(30, Photo{}, clock(&Clock{OffsetMs: 25 * 60_000, UncertaintyMs: 50}), seq("b", 1)), 90), start(20, Step{}, clock(measured))}, Before, "clocks"},
		{"sequence against clocks", []Kept{received(photo(50, Photo{}, seq("a", 3), clock(measured)), 90), received(start(20, Step{}, seq("a", 4), clock(measured)), 90)}, Conflicting, ""},
		{"from somebody else: only that it came later", []Kept{photo(25, Photo{From: "customer"}, clock(measured), seq("a", 5)), start(20, Step{}, clock(measured), seq("a", 4))}, CannotTell, ""},
		{"chosen from the gallery after work: it may be older", []Kept{photo(25, Photo{Source: "gallery"}, seq("a", 5)), start(20, Step{}, seq("a", 4))}, CannotTell, ""},
		{"chosen from the gallery before work: it existed", []Kept{received(photo(5, Photo{Source: "gallery"}, seq("a", 3)), 90), start(20, Step{}, seq("a", 4))}, Before, "sequence"},
		{"a part came out first", []Kept{received(photo(15, Photo{}, seq("a", 5)), 90), start(20, Step{}, seq("a", 6)), part(10, seq("a", 4))}, After, "sequence"},
		{"a part that the same device noted later", []Kept{received(photo(5, Photo{}, seq("a", 3)), 90), start(20, Step{}, seq("a", 4)), part(60, seq("a", 5))}, Before, "sequence"},
		{"a part that no clock places: it may have been the first", []Kept{received(photo(5, Photo{}, seq("a", 3)), 90), start(20, Step{}, seq("a", 4)), part(60, seq("b", 1))}, CannotTell, ""},
		{"the same, where it seems to be the first", []Kept{received(photo(5, Photo{}, seq("a", 3)), 90), start(20, Step{}, seq("a", 4)), part(10, seq("b", 1))}, CannotTell, ""},
		{"after a part, whenever work began", []Kept{received(photo(30, Photo{}, seq("a", 3)), 90), start(20, Step{}, seq("b", 1)), part(25, seq("a", 2))}, After, "sequence"},
		{"a part by a measured clock of another device", []Kept{received(photo(5, Photo{}, seq("a", 3), clock(measured)), 90), start(20, Step{}, seq("a", 4), clock(measured)), part(60, seq("b", 1), clock(measured))}, Before, "sequence"},
	} {
		t.Run(c.name, func(t *testing.T) {
			j := Fold(c.entries)
			require.Len(t, j.Photos, 1)
			o := j.PhotoOrders(j.PhotoViews())[0]
			assert.Equal(t, c.answer, o.Answer, o.Says)
			assert.Equal(t, c.by, o.By, o.Says)
			assert.NotEmpty(t, o.Says)
		})
	}
}

// Order of instants against published examples: RFC 3339, section 5.8, gives the same instant in two offsets, and a leap second that has
// none of its own in Go; ISO 8601-1 4.2.5.2 gives 15:27:46 at UTC+01:00, which is 14:27:46Z.
func TestInstantsOfRFC3339(t *testing.T) {
	at := func(s string) time.Time {
		v, err := time.Parse(time.RFC3339Nano, s)
		require.NoError(t, err)
		return v
	}
	assert.True(t, at("1996-12-19T16:39:57-08:00").Equal(at("1996-12-20T00:39:57Z")), "RFC 3339, 5.8: the same instant")
	assert.Equal(t, int64(520_000_000), int64(at("1985-04-12T23:20:50.52Z").Nanosecond()), "RFC 3339, 5.8: 23:20:50.52")
	assert.True(t, at("1937-01-01T12:00:27.87+00:20").Equal(at("1937-01-01T11:40:27.87Z")), "RFC 3339, 5.8: Netherlands time, 20 minutes ahead")
	assert.True(t, at("1985-04-12T15:27:46+01:00").Equal(at("1985-04-12T14:27:46Z")), "ISO 8601: 15:27:46+01:00, from memory")
	// The same instants as entries: what is written with another offset keeps its place in the order.
	j := Fold([]Kept{
		made(t, 1, KindPhoto, 0, Photo{Digest: DigestOf(nil), Bytes: 1, Subject: "floor"}, func(e *Entry) {
			e.At, e.Device = at("2026-12-19T16:39:57-08:00"), "a"
			e.Clock = &Clock{UncertaintyMs: 20}
		}),
		made(t, 2, KindWorkStart, 0, Step{}, func(e *Entry) {
			e.At, e.Device = at("2026-12-20T01:39:57+00:20"), "b" // 01:19:57Z, 40 minutes later
			e.Clock = &Clock{UncertaintyMs: 20}
		}),
	})
	for i := range j.Photos {
		j.Photos[i].Received = j.Photos[i].At.Add(3 * time.Hour)
	}
	o := j.PhotoOrders(j.PhotoViews())[0]
	assert.Equal(t, Before, o.Answer, o.Says)
	assert.Contains(t, o.Says, "40 min before")
}

// The check knows of each picture whether it is from before work, and by which clock; without work on record nothing is said.
func TestFactsSayBeforeWork(t *testing.T) {
	es := []Kept{
		made(t, 1, KindPhoto, 5, Photo{Digest: DigestOf(nil), Bytes: 1, Subject: "floor"}, func(e *Entry) { e.Clock = &Clock{UncertaintyMs: 40} }),
		made(t, 2, KindPhoto, 30, Photo{Digest: DigestOf([]byte{1}), Bytes: 1, Subject: "floor"}, func(e *Entry) { e.Clock = &Clock{UncertaintyMs: 40} }),
	}
	j := Fold(es)
	f := FactsOf(&j, nil, nineOClock)
	assert.Empty(t, f.Photos[0].BeforeWork)
	j = Fold(append(es, made(t, 3, KindWorkStart, 20, Step{}, func(e *Entry) { e.Clock = &Clock{UncertaintyMs: 40} })))
	f = FactsOf(&j, nil, nineOClock)
	assert.Equal(t, [2]string{Before, "receipt"}, [2]string{f.Photos[0].BeforeWork, f.Photos[0].BeforeWorkBy})
	assert.Equal(t, [2]string{After, "receipt"}, [2]string{f.Photos[1].BeforeWork, f.Photos[1].BeforeWorkBy})
}
