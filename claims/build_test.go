package claims_test

import (
	"context"
	"io"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

// keeping is a packager that keeps the last parcel.
type keeping struct {
	plainPackager
	last *claims.Parcel
}

func (k keeping) Pack(ctx context.Context, w io.Writer, p claims.Parcel) (claims.Packed, error) {
	*k.last = p
	return k.plainPackager.Pack(ctx, w, p)
}

// A bundle gets the answer on coverage with the shop's other jobs in view, and a bill that follows from its own entries.
func TestParcelHasCoverageAndBill(t *testing.T) {
	s := newService(t)
	var p claims.Parcel
	s.Packager = keeping{last: &p}
	require.NoError(t, s.SetRates(ctx, owner, rates("90.00")))
	repaired(t, s, earlierJob, nine.AddDate(0, 0, -20))
	repaired(t, s, job, nine)
	want, err := s.Coverage(ctx, owner, job)
	require.NoError(t, err)
	bill, err := s.Bill(ctx, owner, job)
	require.NoError(t, err)
	_, err = s.Build(ctx, owner, job, claims.Hold{})
	require.NoError(t, err)
	require.Len(t, p.Coverage.Repeats, 1, "the same belt 20 days before")
	assert.Equal(t, want, p.Coverage)
	var kept []claims.Kept
	for _, r := range p.Records {
		k, err := claims.KeptOf(r)
		require.NoError(t, err)
		kept = append(kept, k)
	}
	alone := claims.Fold(kept)
	got := alone.Bill()
	assert.Equal(t, int64(11000), got.Total, "20.00 for the belt and an hour at 90.00")
	assert.Equal(t, bill.Lines, got.Lines)
	assert.Equal(t, bill.Payer, got.Payer)
}
