package custody_test

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"kickplate/claims"
	"kickplate/claims/custody"
)

// seed adds the files of testdata/custody that the pattern picks; there must be some.
func seed(f *testing.F, pattern string) {
	f.Helper()
	files, err := filepath.Glob(filepath.Join(vectors, pattern))
	require.NoError(f, err)
	require.NotEmpty(f, files, "seeds %s", pattern)
	for _, name := range files {
		raw, err := os.ReadFile(name)
		require.NoError(f, err)
		f.Add(raw)
	}
}

// FuzzCheckpoint: what is read is written back the same, and nothing verifies without the key.
func FuzzCheckpoint(f *testing.F) {
	seed(f, "checkpoint-*.txt")
	keys := openKeys(f)
	signed, err := keys.Sign(custody.Checkpoint{Origin: "kickplate/0011223344556677", Size: 12})
	require.NoError(f, err)
	f.Add(signed)
	list := mustVerifiers(f, openKeys(f), "kickplate/0011223344556677")
	f.Fuzz(func(t *testing.T, raw []byte) {
		if _, err := custody.Open(raw, list...); err == nil {
			t.Fatal("verified without the key")
		}
		c, err := custody.Peek(raw)
		if err != nil {
			return
		}
		if !bytes.HasPrefix(raw, []byte(c.Text()+"\n")) {
			t.Fatalf("read %+v", c)
		}
		again, err := custody.ParseText(c.Text())
		if err != nil || again != c {
			t.Fatal(again, err)
		}
		code, err := custody.ParseCode(c.Code().String())
		if c.Size > 0 && (err != nil || code != c.Code()) {
			t.Fatal(code, err)
		}
	})
}

// FuzzProofs: what is accepted is written and read back the same, and no proof of another tree holds.
func FuzzProofs(f *testing.F) {
	s := memShop(f)
	for n := range 7 {
		appendLines(f, s, jsonLine(n))
	}
	c, err := custody.At(f.Context(), s, 7)
	require.NoError(f, err)
	p, err := custody.Prove(f.Context(), s, c, []uint64{0, 3, 6})
	require.NoError(f, err)
	raw, err := p.JSON()
	require.NoError(f, err)
	f.Add(raw)
	q, err := custody.ProveConsistency(f.Context(), s, 3, 7)
	require.NoError(f, err)
	raw, err = json.Marshal(q)
	require.NoError(f, err)
	f.Add(raw)
	old, err := custody.At(f.Context(), s, 3)
	require.NoError(f, err)
	other := c
	other.Root[0] ^= 1
	f.Fuzz(func(t *testing.T, raw []byte) {
		if p, err := custody.ParseProofs(raw); err == nil {
			text, err := p.JSON()
			if err != nil {
				t.Fatal(err)
			}
			again, err := custody.ParseProofs(text)
			if err != nil {
				t.Fatalf("%v\n%s", err, text)
			}
			twice, err := again.JSON()
			if err != nil || !bytes.Equal(text, twice) {
				t.Fatal(err)
			}
			p.Check(c)
			p.Origin, p.Size, p.Root = other.Origin, other.Size, other.Root
			if len(p.Leaves) > 0 && len(p.Check(other)) != len(p.Leaves) {
				t.Fatal("a proof leads to a root that no tree has")
			}
		}
		if q, err := custody.ParseConsistency(raw); err == nil {
			q.Old, q.New = old.Size, c.Size
			_ = q.Check(old, c)
			if q.Check(old, other) == nil {
				t.Fatal("a proof leads to a root that no tree has")
			}
		}
	})
}

// FuzzEntries: what is read is written back byte for byte.
func FuzzEntries(f *testing.F) {
	f.Add([]byte("1 {\"n\":1}\n4 {\"n\":4}\n"))
	f.Add([]byte("0 held-back " + strings.Repeat("0a", 32) + "\n7 {}\n"))
	f.Fuzz(func(t *testing.T, raw []byte) {
		var records []claims.Record
		held := false
		if custody.ReadEntries(bytes.NewReader(raw), func(e custody.EntryLine) bool {
			held = held || e.Line == nil
			records = append(records, claims.Record{Leaf: e.Leaf, Line: e.Line})
			return true
		}) != nil || held {
			return
		}
		var b bytes.Buffer
		if err := custody.WriteEntries(&b, records, nil); err != nil || !bytes.Equal(b.Bytes(), raw) {
			t.Fatalf("%v: %q", err, b.Bytes())
		}
	})
}

// FuzzCode: what is read prints as something that reads the same.
func FuzzCode(f *testing.F) {
	f.Add("1234-0CSG-7B4T-ZMAG-3NDK-XR51")
	f.Add("8 obsg 7b4t zmag 3ndk xr5l")
	f.Fuzz(func(t *testing.T, s string) {
		c, err := custody.ParseCode(s)
		if err != nil {
			return
		}
		again, err := custody.ParseCode(c.String())
		if err != nil || again != c {
			t.Fatal(again, err)
		}
	})
}

// FuzzStamp: no panic, no time stamp over other data than it is for, and no second reading of the one there is.
func FuzzStamp(f *testing.F) {
	seed(f, "*.tsr")
	f.Add([]byte{0x30, 0x05, 0x30, 0x03, 0x02, 0x01, 0x02})
	response, data, roots := keptStamp(f)
	want, err := custody.VerifyStamp(response, data, roots)
	require.NoError(f, err)
	f.Fuzz(func(t *testing.T, raw []byte) {
		if _, err := custody.VerifyStamp(raw, []byte("other"), roots); err == nil {
			t.Fatal("a stamp over data that nobody had stamped")
		}
		if got, err := custody.VerifyStamp(raw, data, roots); err == nil && got != want {
			t.Fatalf("%+v", got)
		}
	})
}
