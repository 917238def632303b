package custody_test

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"kickplate/claims"
	"kickplate/claims/custody"
)

func leavesOf(t testing.TB, s claims.Store) []claims.Record {
	t.Helper()
	var list []claims.Record
	require.NoError(t, s.Leaves(t.Context(), 0, func(r claims.Record) bool { list = append(list, r); return true }))
	return list
}

// parcel seals a log of 9 entries for the entries 1, 4 and 8.
func parcel(t testing.TB) (claims.CustodyParcel, []claims.Record, *custody.Notary, claims.Store) {
	t.Helper()
	s := memShop(t)
	for n := range 9 {
		appendLines(t, s, jsonLine(n))
	}
	all := leavesOf(t, s)
	notary := &custody.Notary{Keys: openKeys(t)}
	p, err := notary.Seal(t.Context(), s, []uint64{8, 1, 4})
	require.NoError(t, err)
	return p, []claims.Record{all[1], all[4], all[8]}, notary, s
}

func entriesText(t testing.TB, records []claims.Record, held ...uint64) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, custody.WriteEntries(&b, records, func(r claims.Record) bool {
		for _, h := range held {
			if r.Leaf == h {
				return true
			}
		}
		return false
	}))
	return b.String()
}

func TestSealVerifies(t *testing.T) {
	p, records, notary, _ := parcel(t)
	text := entriesText(t, records)
	require.Equal(t, "1 {\"n\":1}\n4 {\"n\":4}\n8 {\"n\":8}\n", text)
	v := custody.VerifyParcel(strings.NewReader(text), p, nil, nil)
	require.Empty(t, v.Problems)
	require.EqualValues(t, 9, v.Checkpoint.Size)
	require.Equal(t, 3, v.Shown)
	require.Empty(t, p.Stamps)

	held := entriesText(t, records, 4)
	require.NotContains(t, held, `{"n":4}`)
	v = custody.VerifyParcel(strings.NewReader(held), p, mustVerifiers(t, notary.Keys, v.Checkpoint.Origin), nil)
	require.Empty(t, v.Problems)
	require.Equal(t, 2, v.Shown)
	require.Equal(t, 1, v.HeldBack)
}

func TestVerifyParcelNames(t *testing.T) {
	p, records, _, s := parcel(t)
	text := entriesText(t, records)
	strangers := openKeys(t)
	other, err := (&custody.Notary{Keys: strangers}).Seal(t.Context(), s, []uint64{1})
	require.NoError(t, err)
	for name, test := range map[string]struct {
		text    string
		change  func(p *claims.CustodyParcel)
		trusted []string
		says    string
	}{
		"changed entry":    {text: strings.Replace(text, `{"n":4}`, `{"n":5}`, 1), says: "entry 4 was changed"},
		"renumbered entry": {text: strings.Replace(text, "4 {", "5 {", 1), says: "entry 5 has no proof"},
		"entry left out":   {text: strings.Replace(text, "4 {\"n\":4}\n", "", 1), says: "entry 4 is proved, but it is missing"},
		"entry added":      {text: strings.Replace(text, "4 {\"n\":4}\n", "3 {\"n\":3}\n4 {\"n\":4}\n", 1), says: "entry 3 has no proof"},
		"entries swapped":  {text: "4 {\"n\":4}\n1 {\"n\":1}\n8 {\"n\":8}\n", says: "entry 1 comes after entry 4"},
		"cut short":        {text: text[:len(text)-1], says: "cut short"},
		"wrong held hash":  {text: strings.Replace(text, `{"n":4}`, "held-back "+strings.Repeat("0", 64), 1), says: "entry 4 was changed"},
		"not a number":     {text: "x {}\n", says: "line 1"},
		"other key":        {text: text, change: func(p *claims.CustodyParcel) { p.Key = other.Key }, says: "not signed by a key that is known"},
		"not the shop's":   {text: text, trusted: []string{other.Key}, says: "not signed by a key that is known"},
		"no checkpoint":    {text: text, change: func(p *claims.CustodyParcel) { p.Checkpoint = nil }, says: "checkpoint does not hold"},
		"proofs of another": {text: text, change: func(p *claims.CustodyParcel) {
			p.Proofs = bytes.Replace(p.Proofs, []byte(`"size": 9`), []byte(`"size": 10`), 1)
		}, says: "the proofs are for 10 entries"},
		"proofs not JSON":    {text: text, change: func(p *claims.CustodyParcel) { p.Proofs = p.Proofs[1:] }, says: "proofs:"},
		"time stamp no such": {text: text, change: func(p *claims.CustodyParcel) { p.Stamps = [][]byte{[]byte("no")} }, says: "time stamp 1 does not hold"},
	} {
		q := p
		if test.change != nil {
			test.change(&q)
		}
		v := custody.VerifyParcel(strings.NewReader(test.text), q, test.trusted, nil)
		require.NotEmpty(t, v.Problems, name)
		require.Contains(t, strings.Join(v.Problems, "\n"), test.says, name)
	}
}

func TestEntriesRefuse(t *testing.T) {
	rec := func(leaf uint64, line string) claims.Record { return claims.Record{Leaf: leaf, Line: []byte(line)} }
	for name, bad := range map[string][]claims.Record{
		"order": {rec(2, "{}"), rec(1, "{}")}, "twice": {rec(2, "{}"), rec(2, "{}")}, "two lines": {rec(1, "{\n}")}, "empty": {rec(1, "")}, "not JSON": {rec(1, "held-back x")},
	} {
		require.Error(t, custody.WriteEntries(new(bytes.Buffer), bad, nil), name)
	}
	for _, bad := range []string{"\n", "1\n", "1 \n", "01 {}\n", "-1 {}\n", "1  {}\n", "1 x\n", "1 held-back 00\n", "1 held-back " + strings.Repeat("A", 64) + "\n", strings.Repeat("9", 100) + " {}\n"} {
		require.Error(t, custody.ReadEntries(strings.NewReader(bad), func(custody.EntryLine) bool { return true }), "%q", bad)
	}
	long := "1 {" + strings.Repeat(" ", custody.MaxEntryLine) + "}\n"
	require.ErrorContains(t, custody.ReadEntries(strings.NewReader(long), func(custody.EntryLine) bool { return true }), "longer than")
	require.NoError(t, custody.ReadEntries(strings.NewReader(""), func(custody.EntryLine) bool { return true }))
}

func TestNotary(t *testing.T) {
	s := memShop(t)
	notary := &custody.Notary{Keys: openKeys(t)}
	_, err := notary.Seal(t.Context(), s, nil)
	require.ErrorIs(t, err, custody.ErrEmpty)

	appendLines(t, s, jsonLine(0), jsonLine(1))
	first, c1, err := notary.Checkpoint(t.Context(), s)
	require.NoError(t, err)
	require.NoError(t, notary.Keys.Rotate())
	again, _, err := notary.Checkpoint(t.Context(), s)
	require.NoError(t, err)
	require.Equal(t, first, again, "a log that has not grown keeps its checkpoint")
	p, err := notary.Seal(t.Context(), s, []uint64{1})
	require.NoError(t, err)
	require.Equal(t, first, p.Checkpoint)
	v := custody.VerifyParcel(strings.NewReader("1 {\"n\":1}\n"), p, nil, nil)
	require.Empty(t, v.Problems, "the parcel names the key that signed, which is no longer the present one")

	appendLines(t, s, jsonLine(2))
	_, c2, err := notary.Checkpoint(t.Context(), s)
	require.NoError(t, err)
	require.Equal(t, c1.Origin, c2.Origin)
	q, err := custody.ProveConsistency(t.Context(), s, c1.Size, c2.Size)
	require.NoError(t, err)
	require.NoError(t, q.Check(c1, c2))
	var kept []uint64
	require.NoError(t, custody.Checkpoints(t.Context(), s, func(signed []byte) bool {
		c, err := custody.Open(signed, mustVerifiers(t, notary.Keys, c1.Origin)...)
		require.NoError(t, err)
		kept = append(kept, c.Size)
		return true
	}))
	require.Equal(t, []uint64{2, 3}, kept)
	_, err = notary.Seal(t.Context(), s, []uint64{3})
	require.ErrorContains(t, err, "entry 3 is not in the checkpoint of 3 entries")
}

// TestKeyLost: with a new key file the log goes on, and the old checkpoints stay in it.
func TestKeyLost(t *testing.T) {
	s := memShop(t)
	appendLines(t, s, jsonLine(0), jsonLine(1))
	old, _, err := (&custody.Notary{Keys: openKeys(t)}).Checkpoint(t.Context(), s)
	require.NoError(t, err)
	notary := &custody.Notary{Keys: openKeys(t)}
	signed, c, err := notary.Checkpoint(t.Context(), s)
	require.NoError(t, err)
	require.NotEqual(t, old, signed)
	_, err = custody.Open(signed, mustVerifiers(t, notary.Keys, c.Origin)...)
	require.NoError(t, err)
	before, err := custody.Peek(old)
	require.NoError(t, err)
	require.Equal(t, before, c)
}

// TestNotaryRefusesAFork: a store that has lost or changed what was signed is not signed again.
func TestNotaryRefusesAFork(t *testing.T) {
	notary := &custody.Notary{Keys: openKeys(t)}
	s := memShop(t)
	appendLines(t, s, jsonLine(0), jsonLine(1), jsonLine(2))
	signed, _, err := notary.Checkpoint(t.Context(), s)
	require.NoError(t, err)
	for name, lines := range map[string][][]byte{
		"shorter":        {jsonLine(0), jsonLine(1)},
		"last changed":   {jsonLine(0), jsonLine(1), jsonLine(9), jsonLine(3)},
		"first changed":  {jsonLine(9), jsonLine(1), jsonLine(2), jsonLine(3)},
		"reordered":      {jsonLine(1), jsonLine(0), jsonLine(2)},
		"one taken away": {jsonLine(0), jsonLine(2), jsonLine(3)},
	} {
		fork := memShop(t)
		appendLines(t, fork, lines...)
		require.NoError(t, fork.PutNote(t.Context(), "custody/latest", signed))
		_, err := notary.Seal(t.Context(), fork, nil)
		require.ErrorIs(t, err, custody.ErrBroken, name)
	}
}
