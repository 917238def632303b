package claims

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

const (
	testShop = ShopID("corner-shop")
	testJob  = JobID("01920000-0000-7000-8000-000000000001")
)

var nineOClock = time.Date(2026, 3, 4, 9, 0, 0, 0, time.FixedZone("", -5*3600))

func testID(n int) EntryID { return EntryID(fmt.Sprintf("01920000-0000-7000-9000-%012x", n)) }

// made builds a kept entry; minutes after nine is its time.
func made(t testing.TB, n int, kind Kind, minutes int, body any, change ...func(*Entry)) Kept {
	t.Helper()
	raw, err := json.Marshal(body)
	require.NoError(t, err)
	e := Entry{ID: testID(n), Shop: testShop, Job: testJob, Kind: kind, At: nineOClock.Add(time.Duration(minutes) * time.Minute), By: "kim", Device: "phone-1", Body: raw}
	for _, c := range change {
		c(&e)
	}
	line, err := json.Marshal(e)
	require.NoError(t, err)
	return Kept{Entry: e, Raw: line, Received: e.At.Add(time.Minute)}
}

func corrects(n int, why string) func(*Entry) {
	return func(e *Entry) { e.Supersedes, e.Why = testID(n), why }
}

func TestFold(t *testing.T) {
	t.Run("MergesWhatComesLater", func(t *testing.T) {
		j := Fold([]Kept{
			made(t, 1, KindOpen, 0, Open{Number: "K-1", Complaint: "warm"}),
			made(t, 2, KindUnit, 1, Unit{Kind: "refrigerator", Model: "A"}),
			made(t, 3, KindUnit, 2, Unit{Serial: "S1"}),
		})
		assert.Equal(t, Unit{Kind: "refrigerator", Model: "A", Serial: "S1"}, j.Unit)
		assert.Equal(t, "warm", j.Open.Complaint)
		assert.Equal(t, 3, j.Entries)
		assert.Empty(t, j.Problems)
	})
	t.Run("CorrectionKeepsPlaceAndReason", func(t *testing.T) {
		j := Fold([]Kept{
			made(t, 3, KindNote, 9, Note{Text: "third"}, corrects(2, "typing error again")),
			made(t, 1, KindNote, 0, Note{Text: "first"}),
			made(t, 2, KindNote, 5, Note{Text: "second"}, corrects(1, "typing error")),
			made(t, 4, KindNote, 7, Note{Text: "other"}),
		})
		require.Len(t, j.Notes, 2)
		n := j.Notes[0]
		assert.Equal(t, "third", n.Body.Text)
		assert.Equal(t, testID(1), n.Entry)
		assert.Equal(t, testID(3), n.Latest)
		assert.Equal(t, "typing error", n.Corrected[0].Why)
		assert.Equal(t, "typing error again", n.Corrected[1].Why)
	})
	t.Run("CorrectionOnASlowClockStillCorrects", func(t *testing.T) {
		j := Fold([]Kept{
			made(t, 1, KindNote, 0, Note{Text: "first"}),
			made(t, 2, KindNote, 60, Note{Text: "second"}, corrects(1, "typing error")),
			made(t, 3, KindNote, 10, Note{Text: "third"}, corrects(2, "typing error again")), // its clock is an hour behind
			made(t, 4, KindNote, -20, Note{Text: "fourth"}, corrects(3, "once more")),
		})
		require.Len(t, j.Notes, 1)
		n := j.Notes[0]
		assert.Equal(t, "fourth", n.Body.Text)
		assert.Equal(t, testID(1), n.Entry)
		assert.Equal(t, testID(4), n.Latest)
		require.Len(t, n.Corrected, 3)
		for i, c := range n.Corrected {
			assert.Equal(t, testID(i+2), c.Entry)
		}
	})
	t.Run("StrikeTakesOutWithCorrections", func(t *testing.T) {
		j := Fold([]Kept{
			made(t, 1, KindNote, 0, Note{Text: "first"}),
			made(t, 2, KindNote, 1, Note{Text: "second"}, corrects(1, "typo")),
			made(t, 3, KindStrike, 2, Strike{Entry: testID(2), Reason: "wrong job"}),
		})
		assert.Empty(t, j.Notes)
		require.Len(t, j.Struck, 1)
		assert.Equal(t, "wrong job", j.Struck[0].Strike.Why)
		assert.JSONEq(t, `{"text":"first"}`, string(j.Struck[0].Body))
	})
	t.Run("UnknownKindIsKeptAndShown", func(t *testing.T) {
		j := Fold([]Kept{made(t, 1, "hologram", 0, map[string]int{"depth": 3})})
		require.Len(t, j.Unknown, 1)
		assert.Equal(t, Kind("hologram"), j.Unknown[0].Kind)
	})
	t.Run("CorrectionOfAnotherKindIsAProblem", func(t *testing.T) {
		j := Fold([]Kept{made(t, 1, KindNote, 0, Note{Text: "x"}), made(t, 2, KindCause, 1, Narrative{Text: "y"}, corrects(1, "why"))})
		assert.Len(t, j.Notes, 1)
		assert.Empty(t, j.Causes)
		require.Len(t, j.Problems, 1)
		assert.Len(t, j.Unknown, 1)
	})
	t.Run("CircleOfCorrections", func(t *testing.T) {
		j := Fold([]Kept{made(t, 1, KindNote, 0, Note{Text: "x"}, corrects(2, "a")), made(t, 2, KindNote, 1, Note{Text: "y"}, corrects(1, "b"))})
		assert.Empty(t, j.Notes)
		assert.Len(t, j.Unknown, 2, "nothing is lost")
	})
	t.Run("SameIDOtherContent", func(t *testing.T) {
		j := Fold([]Kept{made(t, 1, KindNote, 0, Note{Text: "x"}), made(t, 1, KindNote, 0, Note{Text: "y"})})
		assert.Len(t, j.Notes, 1)
		assert.Len(t, j.Problems, 1)
	})
	t.Run("Visits", func(t *testing.T) {
		j := Fold([]Kept{
			made(t, 1, KindArrive, 0, Step{}), made(t, 2, KindLeave, 30, Leave{}),
			made(t, 3, KindArrive, 60, Step{}),
		})
		require.Len(t, j.Visits, 2)
		assert.NotNil(t, j.Visits[0].Left)
		assert.Nil(t, j.Visits[1].Left)
		assert.Equal(t, "on-site", j.Stage())
	})
	t.Run("CodesJoinTheFacts", func(t *testing.T) {
		d := DigestOf([]byte("photo"))
		j := Fold([]Kept{
			made(t, 3, KindCodes, 3, CodesRead{Digest: d, Codes: []Code{{Format: "CODE_128", Text: "AB12"}}}),
			made(t, 1, KindPhoto, 0, Photo{Digest: d, Bytes: 5, Subject: "rating-plate"}),
			made(t, 2, KindExamined, 1, PhotoFacts{Digest: d, Bytes: 5, Type: "image/jpeg", Width: 10, Height: 10, Examiner: "t"}),
		})
		assert.True(t, j.Facts[d].CodesSought)
		assert.Equal(t, "AB12", j.Facts[d].Codes[0].Text)
		assert.Empty(t, j.CodesWanted())
	})
	t.Run("Nothing", func(t *testing.T) { assert.Equal(t, Job{}, Fold(nil)) })
}

// drawEntries draws a journal in which corrections, strikes, unknown kinds, foreign jobs and broken bodies occur.
func drawEntries(t *rapid.T) []Kept {
	n := rapid.IntRange(0, 25).Draw(t, "entries")
	var out []Kept
	for i := range n {
		kind := rapid.SampledFrom([]Kind{KindNote, KindUnit, KindPhoto, KindStrike, KindArrive, KindLeave, KindCause, KindReading, KindCodes, KindExamined, "hologram"}).Draw(t, "kind")
		d := DigestOf([]byte{byte(rapid.IntRange(0, 3).Draw(t, "photo"))})
		var body any
		switch kind {
		case KindNote:
			body = Note{Text: rapid.StringN(1, 5, -1).Draw(t, "text")}
		case KindUnit:
			body = Unit{Model: rapid.SampledFrom([]string{"", "A", "B"}).Draw(t, "model"), Serial: rapid.SampledFrom([]string{"", "1"}).Draw(t, "serial")}
		case KindPhoto:
			body = Photo{Digest: d, Bytes: 1, Subject: "other"}
		case KindStrike:
			body = Strike{Entry: testID(rapid.IntRange(0, 30).Draw(t, "struck")), Reason: "r"}
		case KindArrive:
			body = Step{}
		case KindLeave:
			body = Leave{}
		case KindCause:
			body = Narrative{Text: "c"}
		case KindReading:
			body = map[string]any{"quantity": 3} // the wrong type: kept, not lost
		case KindCodes:
			body = CodesRead{Digest: d, Codes: []Code{{Format: "f", Text: fmt.Sprint(i)}}}
		case KindExamined:
			body = PhotoFacts{Digest: d, Width: i}
		default:
			body = map[string]any{"x": i}
		}
		raw, _ := json.Marshal(body)
		e := Entry{ID: testID(rapid.IntRange(0, 30).Draw(t, "id")), Shop: testShop, Job: testJob, Kind: kind,
			At: nineOClock.Add(time.Duration(rapid.IntRange(0, 5).Draw(t, "minute")) * time.Minute), By: "kim",
			Device: rapid.SampledFrom([]string{"a", "b"}).Draw(t, "device"), Seq: uint64(rapid.IntRange(0, 3).Draw(t, "seq")), Body: raw}
		if rapid.IntRange(0, 3).Draw(t, "correct") == 0 {
			e.Supersedes, e.Why = testID(rapid.IntRange(0, 30).Draw(t, "target")), "w"
		}
		line, _ := json.Marshal(e)
		out = append(out, Kept{Entry: e, Raw: line})
	}
	return out
}

// Any order of arrival, and any repetition, gives the same Job; and every entry is somewhere in it.
func TestFoldDoesNotDependOnOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		entries := drawEntries(t)
		want, err := json.Marshal(Fold(entries))
		require.NoError(t, err)
		shuffled := append([]Kept(nil), entries...)
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		for range rapid.IntRange(0, 3).Draw(t, "repeats") {
			if len(entries) > 0 {
				shuffled = append(shuffled, entries[r.IntN(len(entries))])
			}
		}
		r.Shuffle(len(shuffled), func(i, k int) { shuffled[i], shuffled[k] = shuffled[k], shuffled[i] })
		got, err := json.Marshal(Fold(shuffled))
		require.NoError(t, err)
		require.Equal(t, string(want), string(got))
	})
}

func BenchmarkFold1000(b *testing.B) {
	var entries []Kept
	for i := range 1000 {
		switch i % 4 {
		case 0:
			entries = append(entries, made(b, i, KindPhoto, i, Photo{Digest: DigestOf([]byte{byte(i), byte(i >> 8)}), Bytes: 1, Subject: "symptom", Component: "evaporator-coil"}))
		case 1:
			entries = append(entries, made(b, i, KindReading, i, Reading{Component: "defrost-heater", Quantity: "resistance", Value: "32.1", Unit: "Ohm", Moment: "as-found"}))
		case 2:
			entries = append(entries, made(b, i, KindNote, i, Note{Text: "the coil is covered with frost on the first three passes"}))
		default:
			entries = append(entries, made(b, i, KindExamined, i, PhotoFacts{Digest: DigestOf([]byte{byte(i - 3), byte((i - 3) >> 8)}), Width: 4032, Height: 3024, Type: "image/jpeg", Examiner: "b"}))
		}
	}
	b.ReportAllocs()
	for b.Loop() {
		if j := Fold(entries); j.Entries != 1000 {
			b.Fatal("entries lost")
		}
	}
}
