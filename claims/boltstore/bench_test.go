package boltstore

import (
	"context"
	"encoding/binary"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	bolt "go.etcd.io/bbolt"

	"kickplate/claims"
	"kickplate/rules"
)

func benchShop(b *testing.B, o Options) *Store {
	all, err := Open(filepath.Join(b.TempDir(), "k.db"), o)
	require.NoError(b, err)
	b.Cleanup(func() { require.NoError(b, all.Close()) })
	store, err := all.Shop(b.Context(), "shop")
	require.NoError(b, err)
	return store.(*Store)
}

// BenchmarkNear looks among 1,000,000 photos for those within 10 bits of one that is there in near copies. The promise is
// at most 5 ms. "clustered" has fingerprints that share most of their bits, as pictures of one kind of thing do.
func BenchmarkNear(b *testing.B) {
	const photos = 1_000_000
	for _, set := range []struct {
		name string
		draw func(rng *rand.Rand) uint64
	}{
		{"uniform", (*rand.Rand).Uint64},
		{"clustered", func(rng *rand.Rand) uint64 {
			print := uint64(0x9e3779b97f4a7c15) * uint64(1+rng.IntN(2000)) // 2,000 motifs
			for range rng.IntN(24) {
				print ^= 1 << rng.IntN(64)
			}
			return print
		}},
	} {
		b.Run(set.name, func(b *testing.B) {
			store := benchShop(b, Options{noSync: true})
			rng := rand.New(rand.NewPCG(1, 2))
			prints := make([]uint64, photos)
			for i := range prints {
				prints[i] = set.draw(rng)
			}
			fillPrints(b, store, prints)
			b.ResetTimer()
			var worst time.Duration
			found := 0
			times := make([]time.Duration, 0, b.N)
			for i := 0; b.Loop(); i++ {
				query := prints[i*7919%photos] ^ 1<<(i%64) ^ 1<<(i*31%64)
				began := time.Now()
				list, err := store.Near(b.Context(), query, 10, 100)
				took := time.Since(began)
				if err != nil || len(list) == 0 {
					b.Fatal(err, len(list))
				}
				worst, found, times = max(worst, took), found+len(list), append(times, took)
			}
			slices.Sort(times)
			b.ReportMetric(float64(times[len(times)/2])/1e6, "ms-median")
			b.ReportMetric(float64(times[len(times)*99/100])/1e6, "ms-p99")
			b.ReportMetric(float64(worst)/1e6, "ms-worst")
			b.ReportMetric(float64(found)/float64(len(times)), "found/op")
		})
	}
}

// fillPrints writes the two photo indexes in key order, in a few large transactions: the same keys that commits would
// write one by one.
func fillPrints(b *testing.B, store *Store, prints []uint64) {
	b.Helper()
	var keys [2][][]byte
	for i, p := range prints {
		photo := claims.PhotoPrint{Digest: claims.DigestOf(binary.BigEndian.AppendUint32(nil, uint32(i))), Print: p}
		keys[0] = append(keys[0], printKey(photo, claims.JobID(fmt.Sprintf("0190b2c0-0000-7000-8000-%012d", i/60))))
		for band := range bandCount {
			keys[1] = append(keys[1], bandKey(band, p))
		}
	}
	require.NoError(b, store.file.db.Update(func(tx *bolt.Tx) error { _, err := store.writable(tx); return err }))
	for i, name := range []string{bucketPrints, bucketBands} {
		slices.SortFunc(keys[i], slices.Compare)
		for chunk := range slices.Chunk(keys[i], 500_000) {
			require.NoError(b, store.file.db.Update(func(tx *bolt.Tx) error {
				bucket := tx.Bucket([]byte(bucketShops)).Bucket(store.shop).Bucket([]byte(name))
				bucket.FillPercent = 0.7 // about what random inserts leave
				for _, k := range chunk {
					if err := bucket.Put(k, nil); err != nil {
						return err
					}
				}
				return nil
			}))
		}
	}
}

// BenchmarkBoard lists the first page of a board, and a page far down, among 2,000 and among 200,000 jobs; "ratio" is the
// time for the large set over that for the small one.
func BenchmarkBoard(b *testing.B) {
	small := benchShop(b, Options{noSync: true})
	large := benchShop(b, Options{noSync: true})
	fillJobs(b, small, 2_000)
	fillJobs(b, large, 200_000)
	for _, q := range []struct {
		name  string
		query claims.CardQuery
		pages int
	}{
		{"changed", claims.CardQuery{}, 1},
		{"due", claims.CardQuery{Order: "due"}, 1},
		{"tenth-page", claims.CardQuery{Order: "opened"}, 10},
		{"open-by-due", claims.CardQuery{Order: "due", Key: "state", Value: "open"}, 1},
		{"one-serial", claims.CardQuery{Key: "serial", Value: "s77"}, 1},
		{"name-and-maker", claims.CardQuery{Words: []string{"cust00077", "norb"}}, 1},
	} {
		b.Run(q.name, func(b *testing.B) {
			read := func(s *Store) time.Duration {
				query := q.query
				began := time.Now()
				for range q.pages {
					page, err := s.Cards(b.Context(), query)
					if err != nil || len(page.Cards) == 0 {
						b.Fatal(err, len(page.Cards))
					}
					query.Cursor = page.Next
				}
				return time.Since(began)
			}
			var of [2][]time.Duration
			for b.Loop() { // by turns, so that the noise of the machine falls on both
				of[0], of[1] = append(of[0], read(small)), append(of[1], read(large))
			}
			slices.Sort(of[0])
			slices.Sort(of[1])
			n := len(of[0]) / 2
			b.ReportMetric(float64(of[0][n])/1e3, "µs-2k")
			b.ReportMetric(float64(of[1][n])/1e3, "µs-200k")
			b.ReportMetric(float64(of[1][n])/float64(of[0][n]), "ratio")
		})
	}
}

// oneShop opens the same store whatever shop is asked for.
type oneShop struct {
	claims.Stores
	store claims.Store
}

func (o oneShop) Shop(context.Context, claims.ShopID) (claims.Store, error) { return o.store, nil }

type noPacks struct{}

func (noPacks) Pack(string) (*rules.Compiled, bool)         { return nil, false }
func (noPacks) Pick(string, string) (*rules.Compiled, bool) { return nil, false }

// BenchmarkFigures takes the first answer of each kind of figures among 2,000 and among 200,000 jobs, of which a tenth is open.
func BenchmarkFigures(b *testing.B) {
	small := benchShop(b, Options{noSync: true})
	large := benchShop(b, Options{noSync: true})
	fillJobs(b, small, 2_000)
	fillJobs(b, large, 200_000)
	actor := claims.Actor{Shop: "shop", Person: "lee", Role: claims.Owner, Device: "desk"}
	for _, q := range []struct {
		name string
		ask  func(s *claims.Service) (int, error)
	}{
		{"money", func(s *claims.Service) (int, error) { f, err := s.Money(b.Context(), actor, ""); return f.Jobs, err }},
		{"found", func(s *claims.Service) (int, error) {
			f, err := s.Found(b.Context(), actor, time.Time{}, "")
			return f.Jobs, err
		}},
	} {
		b.Run(q.name, func(b *testing.B) {
			read := func(store *Store) time.Duration {
				s := &claims.Service{Stores: oneShop{store: store}, Packs: noPacks{}, Now: time.Now}
				began := time.Now()
				if n, err := q.ask(s); err != nil || n == 0 {
					b.Fatal(err, n)
				}
				return time.Since(began)
			}
			var of [2][]time.Duration
			for b.Loop() {
				of[0], of[1] = append(of[0], read(small)), append(of[1], read(large))
			}
			slices.Sort(of[0])
			slices.Sort(of[1])
			n := len(of[0]) / 2
			b.ReportMetric(float64(of[0][n])/1e6, "ms-2k")
			b.ReportMetric(float64(of[1][n])/1e6, "ms-200k")
		})
	}
}

func fillJobs(b *testing.B, store *Store, n int) {
	b.Helper()
	start := time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)
	rng := rand.New(rand.NewPCG(5, 6))
	order := rng.Perm(n)
	var next atomic.Int64
	var wg sync.WaitGroup
	for range maxGroup {
		wg.Go(func() {
			for {
				i := int(next.Add(1)) - 1
				if i >= n {
					return
				}
				job := claims.JobID(fmt.Sprintf("0190b2c0-0000-7000-8000-%012d", i))
				at := start.Add(time.Duration(order[i]) * time.Minute)
				card := claims.Card{
					State: "sent", Stake: claims.Money{Minor: 12345, Currency: "USD"}, Since: at, Missing: []string{"plate-photo", "result"}, Reasons: []string{"late"}, Pack: "p", Technician: fmt.Sprint(i % 9),
					Number: fmt.Sprint(i), Customer: fmt.Sprintf("Cust%d Example", i), Maker: "Norbrook", Stage: "open",
					Opened: at, Changed: at, Amount: claims.Money{Minor: 12345, Currency: "USD"},
					Keys:  map[string][]string{"serial": {fmt.Sprintf("s%d", i)}, "state": {"closed"}},
					Words: []string{fmt.Sprintf("cust%06d", i), "example", "norbrook", "dryer"},
				}
				if i%10 == 0 {
					card.Keys["state"], card.Due = []string{"open"}, at.AddDate(0, 0, 30)
				}
				_, err := store.Commit(b.Context(), claims.Batch{
					Job: job, Card: card, Records: []claims.Record{{Entry: claims.EntryID(job), Line: []byte(job)}},
				})
				if err != nil {
					b.Error(err)
					return
				}
			}
		})
	}
	wg.Wait()
}

// BenchmarkCommit commits one entry to a job with 60 photos, durably: alone, and from 64 at once.
func BenchmarkCommit(b *testing.B) {
	for _, writers := range []int{1, 64} {
		b.Run(fmt.Sprintf("writers=%d", writers), func(b *testing.B) {
			store := benchShop(b, Options{})
			var prints []claims.PhotoPrint
			rng := rand.New(rand.NewPCG(7, 8))
			for i := range 60 {
				prints = append(prints, claims.PhotoPrint{Digest: claims.DigestOf([]byte{byte(i)}), Print: rng.Uint64()})
			}
			line := make([]byte, 600)
			var left atomic.Int64
			left.Store(int64(b.N))
			b.ResetTimer()
			var wg sync.WaitGroup
			for w := range writers {
				wg.Go(func() {
					job := claims.JobID(fmt.Sprintf("job%d", w))
					for head := claims.Head(0); left.Add(-1) >= 0; head++ {
						_, err := store.Commit(b.Context(), claims.Batch{
							Job: job, Was: head, Card: claims.Card{Changed: time.Unix(int64(head), 0), Prints: prints},
							Records: []claims.Record{{Entry: claims.EntryID(fmt.Sprintf("%s-%d", job, head)), Line: line}},
						})
						if err != nil {
							b.Error(err)
							return
						}
					}
				})
			}
			wg.Wait()
			b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "commits/s")
		})
	}
}
