package bundle

import (
	"bytes"
	"context"
	"crypto/rand"
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/mod/sumdb/note"
)

func verify(t testing.TB, data []byte) Report {
	r, err := Verify(context.Background(), bytes.NewReader(data), int64(len(data)), Options{})
	require.NoError(t, err)
	return r
}

func TestVerifyGood(t *testing.T) {
	data, _ := pack(t, goodParcel(t))
	r := verify(t, data)
	require.True(t, r.Holds, r.Text())
	for _, area := range []string{"zip", "bag", "index", "originals", "entries", "time", "custody", "pictures"} {
		found := false
		for _, c := range r.Checks {
			found = found || c.Area == area && c.Result == Holds
		}
		assert.True(t, found, "nothing is said to hold in %s:\n%s", area, r.Text())
	}
	raw, err := r.JSON()
	require.NoError(t, err)
	var back Report
	require.NoError(t, json.Unmarshal(raw, &back))
	assert.Equal(t, r, back)

	t.Run("packed again by another tool", func(t *testing.T) {
		r := verify(t, open(t, data).zip(t, false))
		assert.True(t, r.Holds, r.Text())
	})
}

func TestVerifyNamesEachTamper(t *testing.T) {
	good, _ := pack(t, goodParcel(t))
	for _, c := range tampers() {
		t.Run(c.name, func(t *testing.T) {
			r := verify(t, c.spoil(t, good))
			assert.False(t, r.Holds)
			named := false
			for _, k := range r.Checks {
				named = named || k.Result == Broken && k.Area == c.area && strings.Contains(k.File, c.file) && strings.Contains(k.Says, c.says)
			}
			assert.True(t, named, "want [%s] %s %q in:\n%s", c.area, c.file, c.says, r.Text())
			assert.True(t, strings.HasPrefix(r.Text(), "DOES NOT HOLD"))
		})
	}
}

// Somebody who writes a whole new log with a key of their own is found by whoever knows the shop's key.
func TestVerifyTrustedKey(t *testing.T) {
	s := newScene(t)
	s.visit(320, 240)
	p := s.parcel()
	data, _ := pack(t, p)
	ask := func(keys ...string) Report {
		r, err := Verify(context.Background(), bytes.NewReader(data), int64(len(data)), Options{Trusted: keys})
		require.NoError(t, err)
		return r
	}
	r := ask(p.Custody.Key)
	assert.True(t, r.Holds, r.Text())
	name, _, _ := strings.Cut(p.Custody.Key, "+")
	_, other, err := note.GenerateKey(rand.Reader, name)
	require.NoError(t, err)
	r = ask(other)
	assert.False(t, r.Holds)
	assert.Equal(t, 1, r.broken("custody"), r.Text())
}
