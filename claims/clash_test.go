package claims

import (
	"encoding/json"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// from lets an entry come from another device, reaching the server so many minutes after nine.
func from(device string, received int) func(*Kept) {
	return func(k *Kept) {
		k.Device, k.By = device, "of "+device
		k.Received = nineOClock.Add(time.Duration(received) * time.Minute)
		k.Raw = must(json.Marshal(k.Entry))
	}
}

func must[V any](v V, err error) V {
	if err != nil {
		panic(err)
	}
	return v
}

func put(k Kept, change ...func(*Kept)) Kept {
	for _, c := range change {
		c(&k)
	}
	return k
}

func TestClashes(t *testing.T) {
	serial := func(n, minutes int, s, device string, received int) Kept {
		return put(made(t, n, KindUnit, minutes, Unit{Serial: s}), from(device, received))
	}
	note := func(n, minutes int, text string, over int, device string, received int) Kept {
		return put(made(t, n, KindNote, minutes, Note{Text: text}, corrects(over, "because")), from(device, received))
	}
	first := made(t, 1, KindNote, 0, Note{Text: "first"})
	for name, c := range map[string]struct {
		entries []Kept
		field   string
		stands  string   // the value that stands; empty = no clash
		others  []string // the others, in order
	}{
		"OneAfterTheOther": {entries: []Kept{serial(1, 0, "A", "phone", 1), serial(2, 5, "B", "desk", 6)}},
		"NeitherKnewTheOther": {entries: []Kept{serial(1, 0, "A", "phone", 30), serial(2, 5, "B", "desk", 6)},
			field: "serial", stands: `"B"`, others: []string{`"A"`}},
		"TheSameValue":   {entries: []Kept{serial(1, 0, "A", "phone", 30), serial(2, 5, "A", "desk", 6)}},
		"TheSameDevice":  {entries: []Kept{serial(1, 0, "A", "desk", 30), serial(2, 5, "B", "desk", 30)}},
		"AnotherField":   {entries: []Kept{serial(1, 0, "A", "phone", 30), put(made(t, 2, KindUnit, 5, Unit{Model: "M"}), from("desk", 6))}},
		"ChosenAfter":    {entries: []Kept{serial(1, 0, "A", "phone", 30), serial(2, 5, "B", "desk", 6), serial(3, 40, "A", "desk", 41)}},
		"ChosenTooSoon":  {entries: []Kept{serial(1, 0, "A", "phone", 30), serial(2, 5, "B", "desk", 6), serial(3, 20, "C", "desk", 21)}, field: "serial", stands: `"C"`, others: []string{`"A"`}},
		"TheClockIsFast": {entries: []Kept{serial(1, 0, "A", "phone", 8), put(serial(2, 10, "B", "desk", 6), func(k *Kept) { k.Clock = &Clock{OffsetMs: 5 * 60_000} })}, field: "serial", stands: `"B"`, others: []string{`"A"`}},
		"Struck": {entries: []Kept{serial(1, 0, "A", "phone", 30), serial(2, 5, "B", "desk", 6),
			made(t, 3, KindStrike, 50, Strike{Entry: testID(1), Reason: "wrong unit"})}},

		"TwoCorrectionsOfOne": {entries: []Kept{first, note(2, 5, "by kim", 1, "phone", 6), note(3, 9, "by lee", 1, "desk", 10)},
			stands: `{"text":"by lee"}`, others: []string{`{"text":"by kim"}`}},
		"CorrectionOfACorrection": {entries: []Kept{first, note(2, 5, "by kim", 1, "phone", 6), note(3, 9, "by lee", 2, "desk", 10)}},
		"TwoCorrectionsThatAgree": {entries: []Kept{first, note(2, 5, "same", 1, "phone", 6), note(3, 9, "same", 1, "desk", 10)}},
		"ForkedOnlineIsOneToo":    {entries: []Kept{first, note(2, 5, "tab one", 1, "desk", 6), note(3, 9, "tab two", 1, "desk", 10)}, stands: `{"text":"tab two"}`, others: []string{`{"text":"tab one"}`}},
		"ForkChosenFrom":          {entries: []Kept{first, note(2, 5, "by kim", 1, "phone", 6), note(3, 9, "by lee", 1, "desk", 10), note(4, 20, "by kim", 3, "desk", 21)}},
		"ForkChosenFromOnASlowClock": {entries: []Kept{first, note(2, 5, "by kim", 1, "phone", 6), note(3, 9, "by lee", 1, "desk", 10),
			put(note(4, 8, "by kim after all", 3, "phone", 41), func(k *Kept) { k.Clock = &Clock{OffsetMs: -30 * 60_000} })}},
		"ForkNotKnownWhenChosen":   {entries: []Kept{first, note(2, 5, "by kim", 1, "phone", 60), note(3, 9, "by lee", 1, "desk", 10), note(4, 20, "more by lee", 3, "desk", 21)}, stands: `{"text":"more by lee"}`, others: []string{`{"text":"by kim"}`}},
		"TheLostBranchIsGoneOnFor": {entries: []Kept{first, note(2, 5, "by kim", 1, "phone", 60), note(3, 9, "by lee", 1, "desk", 10), note(4, 7, "more by kim", 2, "phone", 60)}, stands: `{"text":"by lee"}`, others: []string{`{"text":"more by kim"}`}},
	} {
		t.Run(name, func(t *testing.T) {
			got := ClashesOf(c.entries)
			backwards := slices.Clone(c.entries)
			slices.Reverse(backwards)
			assert.Equal(t, got, ClashesOf(append(backwards, c.entries...)), "the order of arrival and repetitions change nothing")
			if c.stands == "" {
				assert.Empty(t, got)
				return
			}
			require.Len(t, got, 1)
			assert.Equal(t, c.field, got[0].Field)
			assert.JSONEq(t, c.stands, string(got[0].Stands.Value))
			var others []string
			for _, o := range got[0].Others {
				others = append(others, string(o.Value))
			}
			assert.Equal(t, c.others, others)
			// What stands is what the account says.
			j := Fold(c.entries)
			if c.field == "serial" {
				assert.JSONEq(t, c.stands, string(must(json.Marshal(j.Unit.Serial))))
			} else {
				assert.JSONEq(t, c.stands, string(must(json.Marshal(j.Notes[0].Body))))
			}
		})
	}
}
