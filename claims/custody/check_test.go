package custody_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	bolt "go.etcd.io/bbolt"
	"golang.org/x/mod/sumdb/tlog"

	"kickplate/claims"
	"kickplate/claims/boltstore"
	"kickplate/claims/custody"
)

// shopFile is a small shop in a bbolt file, with checkpoints on the way.
type shopFile struct {
	path   string
	blobs  *mapBlobs
	notary *custody.Notary
	early  []byte // the signed checkpoint of 20 entries
	code   custody.Code
}

const fileEntries = 40

func newShopFile(t *testing.T) *shopFile {
	t.Helper()
	f := &shopFile{path: filepath.Join(t.TempDir(), "k.db"), blobs: newBlobs(), notary: &custody.Notary{Keys: openKeys(t)}}
	f.with(t, func(s claims.Store) {
		fill(t, s, f.blobs, 3, fileEntries)
		_, _, err := f.notary.Checkpoint(t.Context(), s)
		require.NoError(t, err)
		c, err := custody.At(t.Context(), s, 20)
		require.NoError(t, err)
		f.code = c.Code()
		f.early, err = f.notary.Keys.Sign(c)
		require.NoError(t, err)
	})
	return f
}

func (f *shopFile) with(t *testing.T, fn func(s claims.Store)) {
	t.Helper()
	all, err := boltstore.Open(f.path, boltstore.Options{})
	require.NoError(t, err)
	defer func() { require.NoError(t, all.Close()) }()
	s, err := all.Shop(t.Context(), "shop-1")
	require.NoError(t, err)
	fn(s)
}

// tamper edits the data file as somebody with the machine could, past the store.
func (f *shopFile) tamper(t *testing.T, fn func(shop *bolt.Bucket) error) {
	t.Helper()
	db, err := bolt.Open(f.path, 0o600, &bolt.Options{Timeout: time.Second})
	require.NoError(t, err)
	require.NoError(t, db.Update(func(tx *bolt.Tx) error { return fn(tx.Bucket([]byte("shops")).Bucket([]byte("shop-1"))) }))
	require.NoError(t, db.Close())
}

func (f *shopFile) check(t *testing.T, more ...func(c *custody.Checker)) custody.Report {
	t.Helper()
	var report custody.Report
	f.with(t, func(s claims.Store) {
		c := custody.Checker{Store: s, Blobs: f.blobs, Keys: f.notary.Keys.Verifiers}
		for _, m := range more {
			m(&c)
		}
		var err error
		report, err = c.Check(t.Context())
		require.NoError(t, err)
	})
	return report
}

func say(r custody.Report) string {
	var b strings.Builder
	for _, p := range r.Problems {
		fmt.Fprintf(&b, "[%s] %s: %s\n", p.Kind, p.Where, p.Says)
	}
	return b.String()
}

func n8(n uint64) []byte { return binary.BigEndian.AppendUint64(nil, n) }

func TestCheckClean(t *testing.T) {
	f := newShopFile(t)
	r := f.check(t, func(c *custody.Checker) { c.Witnessed, c.Codes = [][]byte{f.early}, []custody.Code{f.code} })
	require.True(t, r.OK(), say(r))
	require.Equal(t, fileEntries, r.Entries)
	require.Equal(t, 3, r.Jobs)
	require.Equal(t, fileEntries/4, r.Originals)
	require.Equal(t, 4, r.Checkpoints, "the kept one, the latest, the witnessed one, the code")
	require.EqualValues(t, fileEntries, r.Now.Size)
	require.Empty(t, r.NotChecked)
	f.with(t, func(s claims.Store) {
		c, err := custody.At(t.Context(), s, fileEntries)
		require.NoError(t, err)
		require.Equal(t, c, r.Now)
	})
	r = f.check(t, func(c *custody.Checker) { c.Blobs, c.Keys = nil, nil })
	require.True(t, r.OK(), say(r))
	require.Len(t, r.NotChecked, 3, "what was left out is said")

	empty, err := custody.Checker{Store: memShop(t)}.Check(t.Context())
	require.NoError(t, err)
	require.True(t, empty.OK(), say(empty))
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err = custody.Checker{Store: memShop(t)}.Check(ctx)
	require.ErrorIs(t, err, context.Canceled)
}

// TestCheckFinds tampers with the data file itself. Each case says what must be named, and how many problems there may be:
// one fault shall not bury its place under others.
func TestCheckFinds(t *testing.T) {
	leaf := func(b *bolt.Bucket, n uint64) []byte {
		return append([]byte(nil), b.Bucket([]byte("leaves")).Get(n8(n))...)
	}
	for _, test := range []struct {
		name   string
		tamper func(b *bolt.Bucket) error
		says   []string
		most   int
	}{
		{"rewrite a leaf", func(b *bolt.Bucket) error {
			v := []byte(strings.Replace(string(leaf(b, 17)), "number 17", "number 71", 1))
			return b.Bucket([]byte("leaves")).Put(n8(17), v)
		}, []string{"[log] entry 17: its line is not the one that was put into the log"}, 1},
		{"flip one bit of a leaf", func(b *bolt.Bucket) error {
			v := leaf(b, 0)
			v[len(v)-4] ^= 1
			return b.Bucket([]byte("leaves")).Put(n8(0), v)
		}, []string{"[log] entry 0: its line is not"}, 2},
		{"remove a leaf", func(b *bolt.Bucket) error { return b.Bucket([]byte("leaves")).Delete(n8(12)) },
			[]string{"[log] entry 12: it is missing from the log"}, 3},
		{"remove the last leaf", func(b *bolt.Bucket) error { return b.Bucket([]byte("leaves")).Delete(n8(fileEntries - 1)) },
			[]string{fmt.Sprintf("[log] entry %d: it is missing", fileEntries-1)}, 3},
		{"remove the last leaf with all that names it", func(b *bolt.Bucket) error {
			return cutOff(b, fileEntries-1)
		}, []string{"[checkpoint] latest checkpoint: it was signed for 40 entries; the log has only 39"}, 4},
		{"swap two leaves", func(b *bolt.Bucket) error {
			x, y := leaf(b, 8), leaf(b, 9)
			if err := b.Bucket([]byte("leaves")).Put(n8(8), y); err != nil {
				return err
			}
			return b.Bucket([]byte("leaves")).Put(n8(9), x)
		}, []string{"[log] entry 8: its line is not", "[log] entry 9: its line is not", "entry 8: its id"}, 8},
		{"rewrite a leaf and its hash", func(b *bolt.Bucket) error {
			v := []byte(strings.Replace(string(leaf(b, 17)), "number 17", "number 71", 1))
			if err := b.Bucket([]byte("leaves")).Put(n8(17), v); err != nil {
				return err
			}
			hash := tlog.RecordHash(v[strings.IndexByte(string(v), '{'):])
			return b.Bucket([]byte("hashes")).Put(n8(uint64(tlog.StoredHashIndex(0, 17))), hash[:])
		}, []string{"[tree] tree hash", "entries 16 to 17", "[checkpoint] latest checkpoint: the first 40 entries are not those that were signed"}, 8},
		{"rewrite a leaf and the whole tree", func(b *bolt.Bucket) error {
			v := []byte(strings.Replace(string(leaf(b, 17)), "number 17", "number 71", 1))
			if err := b.Bucket([]byte("leaves")).Put(n8(17), v); err != nil {
				return err
			}
			return rehash(b)
		}, []string{"[checkpoint] latest checkpoint: the first 40 entries are not those that were signed", "[checkpoint] kept checkpoint"}, 2},
		{"remove a tree hash", func(b *bolt.Bucket) error {
			return b.Bucket([]byte("hashes")).Delete(n8(uint64(tlog.StoredHashIndex(2, 3))))
		}, []string{"[tree] tree hash", "the hash of entries 12 to 15 is missing"}, 1},
		{"change a tree hash", func(b *bolt.Bucket) error {
			return b.Bucket([]byte("hashes")).Put(n8(uint64(tlog.StoredHashIndex(3, 1))), make([]byte, 32))
		}, []string{"[tree] tree hash", "entries 8 to 15"}, 1},
		{"lose an entry's id", func(b *bolt.Bucket) error { return b.Bucket([]byte("entries")).Delete([]byte(id(5))) },
			[]string{"[entry] entry 5: it is in the log, but not found under its id"}, 1},
		{"give an entry id to another", func(b *bolt.Bucket) error {
			return b.Bucket([]byte("entries")).Put([]byte(id(5)), n8(6))
		}, []string{"[entry] entry 5: its id", "leads to entry 6"}, 1},
		{"take an entry out of its job", func(b *bolt.Bucket) error {
			return b.Bucket([]byte("records")).Put(recordKey(id(1_000_000), 2), n8(7))
		}, []string{"[job] job " + id(1_000_000) + ": its entry number 3 is entry 7 of the log; in the order of the log it would be 6"}, 1},
		{"forget a job", func(b *bolt.Bucket) error { return b.Bucket([]byte("jobs")).Delete([]byte(id(1_000_001))) },
			[]string{"[job] job " + id(1_000_001) + ": the log has 13 entries of it, but the job is not there"}, 2},
		{"shorten a job", func(b *bolt.Bucket) error {
			v := append([]byte(nil), b.Bucket([]byte("jobs")).Get([]byte(id(1_000_001)))...)
			copy(v, n8(12))
			return b.Bucket([]byte("jobs")).Put([]byte(id(1_000_001)), v)
		}, []string{"it has 12 entries; the log has 13 of it"}, 1},
		{"lose a card", func(b *bolt.Bucket) error { return b.Bucket([]byte("cards")).Delete([]byte(id(1_000_001))) },
			[]string{"[job]", id(1_000_001)}, 3},
		{"take a job off a list", func(b *bolt.Bucket) error {
			k, _ := b.Bucket([]byte("opened")).Cursor().First()
			return b.Bucket([]byte("opened")).Delete(append([]byte(nil), k...))
		}, []string{"is missing from the list by opened"}, 1},
		{"an old card", func(b *bolt.Bucket) error {
			v := string(b.Bucket([]byte("cards")).Get([]byte(id(1_000_001))))
			return b.Bucket([]byte("cards")).Put([]byte(id(1_000_001)), []byte(strings.Replace(v, `"entries":13`, `"entries":4`, 1)))
		}, []string{"its card was made from 4 entries; the log has 13"}, 2},
		{"a job from nowhere", func(b *bolt.Bucket) error {
			for _, bucket := range []string{"jobs", "cards", "changed", "opened"} {
				k, v := b.Bucket([]byte(bucket)).Cursor().First()
				k = []byte(strings.Replace(string(k), id(1_000_000)[30:], "666666", 1))
				k = []byte(strings.Replace(string(k), id(1_000_001)[30:], "666666", 1))
				k = []byte(strings.Replace(string(k), id(1_000_002)[30:], "666666", 1))
				if err := b.Bucket([]byte(bucket)).Put(k, append([]byte(nil), v...)); err != nil {
					return err
				}
			}
			return nil
		}, []string{"666666: it is listed, but the log has no entry of it"}, 2},
		{"change a checkpoint", func(b *bolt.Bucket) error {
			v := append([]byte(nil), b.Bucket([]byte("notes")).Get([]byte("custody/latest"))...)
			v[len(v)-10] ^= 1
			return b.Bucket([]byte("notes")).Put([]byte("custody/latest"), v)
		}, []string{"[checkpoint] latest checkpoint: "}, 1},
		{"claim a larger log", func(b *bolt.Bucket) error { return b.Bucket([]byte("log")).Put([]byte("size"), n8(1<<40)) },
			[]string{"[log] entry 40: it and the", "are missing from the log"}, 1},
	} {
		t.Run(test.name, func(t *testing.T) {
			f := newShopFile(t)
			f.tamper(t, test.tamper)
			r := f.check(t)
			for _, want := range test.says {
				require.Contains(t, say(r), want)
			}
			require.LessOrEqual(t, r.Found, test.most, say(r))
			require.Positive(t, r.Found)
		})
	}
}

func recordKey(job string, pos uint64) []byte {
	return append(append([]byte{byte(len(job))}, job...), n8(pos)...)
}

// cutOff takes away the last entry of the log so that nothing in the store names it any more.
func cutOff(b *bolt.Bucket, last uint64) error {
	job := id(1_000_000 + int(last)%3)
	state := append([]byte(nil), b.Bucket([]byte("jobs")).Get([]byte(job))...)
	head := binary.BigEndian.Uint64(state)
	copy(state, n8(head-1))
	if err := b.Bucket([]byte("jobs")).Put([]byte(job), state); err != nil {
		return err
	}
	if err := b.Bucket([]byte("records")).Delete(recordKey(job, head-1)); err != nil {
		return err
	}
	if err := b.Bucket([]byte("entries")).Delete([]byte(id(int(last)))); err != nil {
		return err
	}
	if err := b.Bucket([]byte("leaves")).Delete(n8(last)); err != nil {
		return err
	}
	if err := b.Bucket([]byte("log")).Put([]byte("size"), n8(last)); err != nil {
		return err
	}
	return rehash(b)
}

// rehash writes the tree anew over the leaves as they are: what somebody does who knows how the log works.
func rehash(b *bolt.Bucket) error {
	hashes := b.Bucket([]byte("hashes"))
	read := tlog.HashReaderFunc(func(indexes []int64) ([]tlog.Hash, error) {
		var list []tlog.Hash
		for _, x := range indexes {
			list = append(list, tlog.Hash(hashes.Get(n8(uint64(x)))))
		}
		return list, nil
	})
	return b.Bucket([]byte("leaves")).ForEach(func(k, v []byte) error {
		n := int64(binary.BigEndian.Uint64(k))
		stored, err := tlog.StoredHashes(n, v[strings.IndexByte(string(v), '{'):], read)
		if err != nil {
			return err
		}
		for i, h := range stored {
			if err := hashes.Put(n8(uint64(tlog.StoredHashIndex(0, n)+int64(i))), append([]byte(nil), h[:]...)); err != nil {
				return err
			}
		}
		return nil
	})
}

// TestCheckWitnessed: everything in the store is written anew, checkpoints and all; only what was elsewhere shows it.
func TestCheckWitnessed(t *testing.T) {
	f := newShopFile(t)
	f.tamper(t, func(b *bolt.Bucket) error {
		v := string(b.Bucket([]byte("leaves")).Get(n8(17)))
		if err := b.Bucket([]byte("leaves")).Put(n8(17), []byte(strings.Replace(v, "number 17", "number 71", 1))); err != nil {
			return err
		}
		c := b.Bucket([]byte("notes")).Cursor()
		for k, _ := c.First(); k != nil; k, _ = c.First() {
			if err := c.Delete(); err != nil {
				return err
			}
		}
		return rehash(b)
	})
	f.with(t, func(s claims.Store) {
		_, _, err := f.notary.Checkpoint(t.Context(), s)
		require.NoError(t, err)
	})
	require.True(t, f.check(t).OK(), "from within it cannot be seen")
	r := f.check(t, func(c *custody.Checker) { c.Witnessed = [][]byte{f.early} })
	require.Contains(t, say(r), "[checkpoint] checkpoint 1 from outside: the first 20 entries are not those that were signed")
	r = f.check(t, func(c *custody.Checker) { c.Codes = []custody.Code{f.code} })
	require.Contains(t, say(r), "the first 20 entries are not those that the code stands for")
	require.Equal(t, 1, r.Found)
}

func TestCheckOriginals(t *testing.T) {
	f := newShopFile(t)
	for d := range f.blobs.data {
		saved := f.blobs.data[d]
		delete(f.blobs.data, d)
		r := f.check(t)
		require.Contains(t, say(r), "[missing] original "+string(d)+": its bytes are not there; entry ")
		require.Equal(t, 1, r.Found)
		spoilt := append([]byte(nil), saved...)
		spoilt[len(spoilt)/2] ^= 0x10
		f.blobs.data[d] = spoilt
		r = f.check(t)
		require.Contains(t, say(r), "[changed] original "+string(d))
		require.Equal(t, 1, r.Found)
		r = f.check(t, func(c *custody.Checker) { c.Skim = true })
		require.True(t, r.OK(), "a skim looks only whether it is there, and says so")
		require.Contains(t, strings.Join(r.NotChecked, "\n"), "only whether they are there")
		f.blobs.data[d] = saved
		break
	}
}

// TestCheckWhileWriting: a check beside commits finds nothing wrong.
func TestCheckWhileWriting(t *testing.T) {
	s := memShop(t)
	blobs := newBlobs()
	fill(t, s, blobs, 3, 300)
	done := make(chan struct{})
	stop := make(chan struct{})
	go func() {
		defer close(done)
		for n := 1000; ; n++ {
			select {
			case <-stop:
				return
			default:
			}
			job := claims.JobID(id(1_000_000 + n%5))
			_, head, _ := s.Records(t.Context(), job, 1<<62, 1)
			raw := fmt.Sprintf(`{"id":%q,"shop":"shop-1","job":%q,"kind":"note","at":"2026-03-02T08:00:00Z","by":"ada","device":"d","body":{"text":"x"}}`, id(n), job)
			_, err := s.Commit(t.Context(), claims.Batch{
				Job: job, Was: head, Card: claims.Card{Opened: time.Unix(int64(n), 0), Changed: time.Unix(int64(n), 0)},
				Records: []claims.Record{{Entry: claims.EntryID(id(n)), Line: claims.Seal(time.Unix(int64(n), 0), []byte(raw))}},
			})
			if err != nil {
				t.Error(err)
				return
			}
			time.Sleep(50 * time.Microsecond)
		}
	}()
	for range 6 {
		r, err := custody.Checker{Store: s, Blobs: blobs}.Check(t.Context())
		require.NoError(t, err)
		require.True(t, r.OK(), say(r))
	}
	close(stop)
	<-done
}

// TestCheckRawFile flips one bit in the file as a failing disk would, wherever an entry's text lies in it (in the live
// page and in stale ones).
func TestCheckRawFile(t *testing.T) {
	f := newShopFile(t)
	raw, err := os.ReadFile(f.path)
	require.NoError(t, err)
	flipped := 0
	for at := 0; ; {
		i := bytes.Index(raw[at:], []byte(`"number 22"`))
		if i < 0 {
			break
		}
		at += i + 1
		raw[at+3] ^= 0x01
		flipped++
	}
	require.Positive(t, flipped)
	require.NoError(t, os.WriteFile(f.path, raw, 0o600))
	r := f.check(t)
	require.Contains(t, say(r), "[log] entry 22: its line is not the one that was put into the log")
}
