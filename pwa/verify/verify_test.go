package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Each kept bundle comes out through the blocks as its verdict says.
func TestVectorsThroughBlocks(t *testing.T) {
	dir := filepath.Join("..", "..", "testdata", "bundles")
	raw, err := os.ReadFile(filepath.Join(dir, "verdicts.json"))
	require.NoError(t, err)
	var want map[string]struct {
		Holds bool `json:"holds"`
	}
	require.NoError(t, json.Unmarshal(raw, &want))
	require.NotEmpty(t, want)
	for name, verdict := range want {
		t.Run(name, func(t *testing.T) {
			data, err := os.ReadFile(filepath.Join(dir, name))
			require.NoError(t, err)
			far := int64(0)
			s := &source{size: int64(len(data)), went: func(at int64) { far = max(far, at) }, fetch: func(at int64, n int) ([]byte, error) {
				return append([]byte{}, data[at:at+int64(n)]...), nil
			}}
			var got struct {
				Holds  bool   `json:"holds"`
				Error  string `json:"error"`
				Checks []any  `json:"checks"`
			}
			require.NoError(t, json.Unmarshal(check(s, true), &got))
			assert.Empty(t, got.Error)
			assert.Equal(t, verdict.Holds, got.Holds)
			assert.NotEmpty(t, got.Checks)
			assert.Equal(t, s.size, far)
		})
	}
}

func TestBlocks(t *testing.T) {
	data := make([]byte, 2*blockSize+777)
	for i := range data {
		data[i] = byte(i * i >> 7)
	}
	fetched := 0
	s := &source{size: int64(len(data)), fetch: func(at int64, n int) ([]byte, error) {
		fetched++
		return data[at : at+int64(n)], nil
	}}
	for _, c := range []struct{ at, n int }{{0, 10}, {blockSize - 5, 10}, {2 * blockSize, 777}, {5, 2 * blockSize}, {len(data) - 1, 1}} {
		p := make([]byte, c.n)
		n, err := s.ReadAt(p, int64(c.at))
		require.NoError(t, err)
		assert.Equal(t, data[c.at:c.at+c.n], p[:n])
	}
	n, err := s.ReadAt(make([]byte, 10), int64(len(data))-3)
	assert.Equal(t, 3, n)
	assert.ErrorContains(t, err, "EOF")
	_, err = s.ReadAt(make([]byte, 1), -1)
	assert.Error(t, err)
	short := &source{size: 100, fetch: func(int64, int) ([]byte, error) { return []byte{1}, nil }}
	_, err = short.ReadAt(make([]byte, 10), 0)
	assert.ErrorContains(t, err, "unexpected EOF")
	assert.Contains(t, string(check(short, false)), "error")
}
