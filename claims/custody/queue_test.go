package custody_test

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"kickplate/claims/custody"
)

// TestQueue: the authority is away, the server restarts, the authority comes back.
func TestQueue(t *testing.T) {
	a := newTSA(t)
	now := time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)
	queue := func() *custody.Queue {
		return &custody.Queue{Authority: a.authority(), Now: func() time.Time { return now }}
	}
	s := memShop(t)
	appendLines(t, s, jsonLine(0), jsonLine(1))
	notary := &custody.Notary{Keys: openKeys(t), Stamps: queue()}
	a.spoil = func(w http.ResponseWriter, _ []byte) bool { http.Error(w, "away", http.StatusBadGateway); return true }
	p, err := notary.Seal(t.Context(), s, []uint64{0})
	require.NoError(t, err, "a bundle does not wait for the authority")
	require.Empty(t, p.Stamps)
	require.Equal(t, 1, a.asked)

	w, err := queue().Work(t.Context(), s)
	require.NoError(t, err)
	require.Equal(t, custody.Worked{Left: 1, Next: now.Add(time.Minute)}, w, "not yet due")
	pauses := []time.Duration{2, 4, 8, 16, 32, 64, 128, 256, 512, 720, 720} // minutes; doubled up to half a day
	for i, pause := range pauses {
		now = w.Next
		w, err = queue().Work(t.Context(), s) // a new queue each time: all is in the notes
		require.NoError(t, err)
		require.Equal(t, custody.Worked{Failed: 1, Left: 1, Next: now.Add(pause * time.Minute)}, w, "try %d", i+2)
	}
	a.spoil = nil
	now = w.Next
	w, err = queue().Work(t.Context(), s)
	require.NoError(t, err)
	require.Equal(t, custody.Worked{Stamped: 1}, w)
	w, err = queue().Work(t.Context(), s)
	require.NoError(t, err)
	require.Equal(t, custody.Worked{}, w)

	p, err = notary.Seal(t.Context(), s, []uint64{0})
	require.NoError(t, err)
	require.Len(t, p.Stamps, 1)
	v := custody.VerifyParcel(strings.NewReader("0 {\"n\":0}\n"), p, nil, a.roots)
	require.Empty(t, v.Problems)
	require.Len(t, v.Stamps, 1)
	require.True(t, v.Stamps[0].Chained)
	moved := p
	moved.Checkpoint = append([]byte(nil), p.Checkpoint...)
	moved.Stamps = [][]byte{a.answer(t, mustQuery(t, []byte("something else")))}
	v = custody.VerifyParcel(strings.NewReader("0 {\"n\":0}\n"), moved, nil, a.roots)
	require.Contains(t, strings.Join(v.Problems, "\n"), "time stamp 1 does not hold: the time stamp is for other data")

	appendLines(t, s, jsonLine(2))
	p, err = notary.Seal(t.Context(), s, []uint64{2})
	require.NoError(t, err)
	require.Len(t, p.Stamps, 1, "with the authority there, the stamp comes at once")

	off := &custody.Notary{Keys: notary.Keys}
	appendLines(t, s, jsonLine(3))
	before := a.asked
	p, err = off.Seal(t.Context(), s, nil)
	require.NoError(t, err)
	require.Empty(t, p.Stamps)
	require.Equal(t, before, a.asked, "off by default: nobody is asked")
	w, err = queue().Work(t.Context(), s)
	require.NoError(t, err)
	require.Zero(t, w.Left)
}
