package storetest

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"kickplate/claims"
)

// testChain: a device's records come back in the order of its sequence, whatever the order of arrival and the job.
func testChain(t *testing.T, s Stores) {
	all := open(t, s)
	store, other := shopOf(t, all, "shop-1"), shopOf(t, all, "shop-2")
	heads := map[claims.JobID]claims.Head{}
	add := func(st claims.Store, job claims.JobID, device string, seq uint64) {
		b := batch(job, heads[job], 1)
		b.Records[0].Device, b.Records[0].Seq = device, seq
		commit(t, st, b)
		heads[job]++
	}
	// More than one page, in an order that is not the device's; two jobs; a place that is claimed twice; a device whose
	// name begins like the other's; an entry without a place.
	const n = 700
	for i := range uint64(n) {
		add(store, claims.JobID(fmt.Sprintf("job-%d", i%2)), "phone", (i*389)%n+1)
	}
	add(store, "job-0", "phone", 7)
	add(store, "job-0", "phone-2", 1)
	add(store, "job-0", "", 0)
	add(other, "job-elsewhere", "phone", 3)

	read := func(st claims.Store, device string) []claims.Record {
		var list []claims.Record
		require.NoError(t, st.Chain(t.Context(), device, func(r claims.Record) bool { list = append(list, r); return true }))
		return list
	}
	list := read(store, "phone")
	require.Len(t, list, n+1)
	for i, r := range list {
		seq := uint64(i) + 1
		if seq > 7 {
			seq--
		}
		if seq == 7 {
			continue // two of them, by leaf
		}
		require.Equal(t, seq, (r.Leaf*389)%n+1, "position %d", i)
		require.NotEmpty(t, r.Line)
		require.NotEmpty(t, r.Job)
	}
	require.Less(t, list[6].Leaf, list[7].Leaf)
	require.Len(t, read(store, "phone-2"), 1)
	require.Empty(t, read(store, "pho"))
	require.Empty(t, read(store, ""))
	require.Len(t, read(other, "phone"), 1)

	devices, err := store.Devices(t.Context())
	require.NoError(t, err)
	require.Equal(t, []string{"phone", "phone-2"}, devices)

	stopped := 0
	require.NoError(t, store.Chain(t.Context(), "phone", func(claims.Record) bool { stopped++; return stopped < 3 }))
	require.Equal(t, 3, stopped)
	long := batch("job-0", heads["job-0"], 1)
	long.Records[0].Seq = 1
	_, err = store.Commit(t.Context(), long)
	require.Equal(t, claims.Invalid, claims.CodeOf(err), "a place in a chain needs a device")
}
