package custody_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"kickplate/claims"
	"kickplate/claims/custody"
)

// BenchmarkCheck walks a shop of 20,000 entries in 500 jobs, without originals.
func BenchmarkCheck(b *testing.B) {
	s := memShop(b)
	const jobs, each = 500, 40
	n := 0
	for j := range jobs {
		batch := claims.Batch{Job: claims.JobID(id(1_000_000 + j)), Card: claims.Card{Opened: time.Unix(int64(j), 0), Changed: time.Unix(int64(j), 0)}}
		for range each {
			batch.Records = append(batch.Records, entryLine(b, n, batch.Job, "note", fmt.Sprintf(`{"text":"number %d"}`, n)))
			n++
		}
		_, err := s.Commit(b.Context(), batch)
		require.NoError(b, err)
	}
	for b.Loop() {
		r, err := custody.Checker{Store: s}.Check(b.Context())
		require.NoError(b, err)
		require.True(b, r.OK())
	}
	b.ReportMetric(float64(jobs*each*b.N)/b.Elapsed().Seconds(), "entries/s")
}

// BenchmarkSeal signs a checkpoint of a log of 20,000 entries and proves 100 of them.
func BenchmarkSeal(b *testing.B) {
	s := memShop(b)
	var lines [][]byte
	for n := range 10_000 {
		lines = append(lines, jsonLine(n))
	}
	appendLines(b, s, lines...)
	appendLines(b, s, lines...)
	var leaves []uint64
	for i := range uint64(100) {
		leaves = append(leaves, i*199)
	}
	notary := &custody.Notary{Keys: openKeys(b)}
	for b.Loop() {
		_, err := notary.Seal(b.Context(), s, leaves)
		require.NoError(b, err)
	}
}
