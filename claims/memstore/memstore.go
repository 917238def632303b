// Package memstore keeps journals in memory: for tests and for trying things out. It keeps the contract of
// claims.Store except that "durable" means "until the process ends".
//
// It imports claims and tlog; never another store.
package memstore

import (
	"context"
	"errors"
	"fmt"
	"sort"
	"strings"
	"sync"

	"golang.org/x/mod/sumdb/tlog"

	"kickplate/claims"
)

// errClosed is returned after Close.
var errClosed = errors.New("the store has been closed")

// Stores holds all shops. It implements claims.Stores.
type Stores struct {
	mu     sync.Mutex
	shops  map[claims.ShopID]*Store
	closed bool
}

var (
	_ claims.Stores = (*Stores)(nil)
	_ claims.Store  = (*Store)(nil)
)

// Open returns an empty store.
func Open() *Stores { return &Stores{shops: make(map[claims.ShopID]*Store)} }

// Shop implements claims.Stores.
func (s *Stores) Shop(ctx context.Context, shop claims.ShopID) (claims.Store, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if err := claims.CheckShop(shop); err != nil {
		return nil, err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.closed {
		return nil, errClosed
	}
	if s.shops[shop] == nil {
		s.shops[shop] = &Store{
			entries: make(map[claims.EntryID]uint64),
			chains:  make(map[string][]place),
			jobs:    make(map[claims.JobID]*job),
			notes:   make(map[string][]byte),
		}
	}
	return s.shops[shop], nil
}

// Close implements claims.Stores.
func (s *Stores) Close() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.closed = true
	for _, shop := range s.shops {
		shop.mu.Lock()
		shop.closed = true
		shop.mu.Unlock()
	}
	return nil
}

// Store is one shop's journal. It implements claims.Store.
type Store struct {
	mu      sync.RWMutex
	closed  bool
	leaves  []claims.Record
	hashes  []tlog.Hash
	entries map[claims.EntryID]uint64
	chains  map[string][]place
	jobs    map[claims.JobID]*job
	notes   map[string][]byte
}

// place is where an entry stands in its device's chain.
type place struct{ seq, leaf uint64 }

type job struct {
	leaves []uint64
	card   []byte // JSON: what is handed out can never share memory with what is kept
}

func (s *Store) read(ctx context.Context) (unlock func(), err error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	s.mu.RLock()
	if s.closed {
		s.mu.RUnlock()
		return nil, errClosed
	}
	return s.mu.RUnlock, nil
}

func (s *Store) write(ctx context.Context) (unlock func(), err error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	s.mu.Lock()
	if s.closed {
		s.mu.Unlock()
		return nil, errClosed
	}
	return s.mu.Unlock, nil
}

// Commit implements claims.Store.
func (s *Store) Commit(ctx context.Context, b claims.Batch) (claims.Head, error) {
	card, raw, err := b.Check()
	if err != nil {
		return 0, err
	}
	unlock, err := s.write(ctx)
	if err != nil {
		return 0, err
	}
	defer unlock()
	j := s.jobs[b.Job]
	if j == nil {
		j = &job{}
	}
	if head := claims.Head(len(j.leaves)); head != b.Was {
		return 0, fmt.Errorf("job %q has %d entries, not %d: %w", b.Job, head, b.Was, claims.ErrStale)
	}
	if len(j.leaves) == 0 && len(b.Records) == 0 {
		return 0, fmt.Errorf("job %q: %w", b.Job, claims.ErrAbsent)
	}
	for _, r := range b.Records {
		if _, there := s.entries[r.Entry]; there {
			return 0, fmt.Errorf("entry %q: %w", r.Entry, claims.ErrTaken)
		}
	}
	for _, r := range b.Records {
		leaf := uint64(len(s.leaves))
		stored, err := tlog.StoredHashes(int64(leaf), r.Line, tlog.HashReaderFunc(s.readHashes))
		if err != nil { // cannot be: all hashes below are here
			return 0, fmt.Errorf("hash leaf %d: %w", leaf, err)
		}
		s.hashes = append(s.hashes, stored...)
		s.leaves = append(s.leaves, copyRecord(claims.Record{Entry: r.Entry, Job: b.Job, Leaf: leaf, Line: r.Line}))
		s.entries[r.Entry] = leaf
		if r.Seq > 0 {
			s.chains[r.Device] = append(s.chains[r.Device], place{seq: r.Seq, leaf: leaf})
		}
		j.leaves = append(j.leaves, leaf)
	}
	j.card = raw
	s.jobs[b.Job] = j
	return card.Entries, nil
}

func (s *Store) readHashes(indexes []int64) ([]tlog.Hash, error) {
	list := make([]tlog.Hash, len(indexes))
	for i, x := range indexes {
		if x < 0 || x >= int64(len(s.hashes)) {
			return nil, fmt.Errorf("tree hash %d: %w", x, claims.ErrAbsent)
		}
		list[i] = s.hashes[x]
	}
	return list, nil
}

func copyRecord(r claims.Record) claims.Record {
	r.Line = append([]byte(nil), r.Line...)
	return r
}

// Records implements claims.Store.
func (s *Store) Records(ctx context.Context, id claims.JobID, from claims.Head, limit int) ([]claims.Record, claims.Head, error) {
	unlock, err := s.read(ctx)
	if err != nil {
		return nil, 0, err
	}
	defer unlock()
	j := s.jobs[id]
	if j == nil {
		return nil, 0, fmt.Errorf("read job %q: %w", id, claims.ErrAbsent)
	}
	head := claims.Head(len(j.leaves))
	leaves := j.leaves[min(from, head):]
	if limit > 0 {
		leaves = leaves[:min(len(leaves), limit)]
	}
	var list []claims.Record
	for _, leaf := range leaves {
		list = append(list, copyRecord(s.leaves[leaf]))
	}
	return list, head, nil
}

// Lookup implements claims.Store.
func (s *Store) Lookup(ctx context.Context, ids []claims.EntryID) (map[claims.EntryID]claims.Record, error) {
	unlock, err := s.read(ctx)
	if err != nil {
		return nil, err
	}
	defer unlock()
	found := make(map[claims.EntryID]claims.Record)
	for _, id := range ids {
		if leaf, ok := s.entries[id]; ok {
			found[id] = copyRecord(s.leaves[leaf])
		}
	}
	return found, nil
}

// LogSize implements claims.Store.
func (s *Store) LogSize(ctx context.Context) (uint64, error) {
	unlock, err := s.read(ctx)
	if err != nil {
		return 0, err
	}
	defer unlock()
	return uint64(len(s.leaves)), nil
}

// LogHashes implements claims.Store.
func (s *Store) LogHashes(ctx context.Context, indexes []int64) ([][32]byte, error) {
	unlock, err := s.read(ctx)
	if err != nil {
		return nil, err
	}
	defer unlock()
	hashes, err := s.readHashes(indexes)
	if err != nil {
		return nil, err
	}
	list := make([][32]byte, len(hashes))
	for i, h := range hashes {
		list[i] = h
	}
	return list, nil
}

// Leaves implements claims.Store. No lock is held while yield runs.
func (s *Store) Leaves(ctx context.Context, from uint64, yield func(claims.Record) bool) error {
	for ; ; from++ {
		unlock, err := s.read(ctx)
		if err != nil {
			return err
		}
		if from >= uint64(len(s.leaves)) {
			unlock()
			return nil
		}
		r := copyRecord(s.leaves[from])
		unlock()
		if !yield(r) {
			return nil
		}
	}
}

// PutNote implements claims.Store.
func (s *Store) PutNote(ctx context.Context, name string, value []byte) error {
	if err := claims.CheckNote(name, value); err != nil {
		return err
	}
	unlock, err := s.write(ctx)
	if err != nil {
		return err
	}
	defer unlock()
	if value == nil {
		delete(s.notes, name)
		return nil
	}
	s.notes[name] = append([]byte{}, value...)
	return nil
}

// Note implements claims.Store.
func (s *Store) Note(ctx context.Context, name string) ([]byte, error) {
	unlock, err := s.read(ctx)
	if err != nil {
		return nil, err
	}
	defer unlock()
	value, ok := s.notes[name]
	if !ok {
		return nil, fmt.Errorf("note %q: %w", name, claims.ErrAbsent)
	}
	return append([]byte{}, value...), nil
}

// Notes implements claims.Store. No lock is held while yield runs.
func (s *Store) Notes(ctx context.Context, prefix string, yield func(name string, value []byte) bool) error {
	unlock, err := s.read(ctx)
	if err != nil {
		return err
	}
	notes := make(map[string][]byte)
	var names []string
	for name, value := range s.notes {
		if strings.HasPrefix(name, prefix) {
			names = append(names, name)
			notes[name] = append([]byte{}, value...)
		}
	}
	unlock()
	sort.Strings(names)
	for _, name := range names {
		if !yield(name, notes[name]) {
			return nil
		}
	}
	return ctx.Err()
}
