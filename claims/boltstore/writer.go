package boltstore

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"syscall"

	bolt "go.etcd.io/bbolt"
	bolterrors "go.etcd.io/bbolt/errors"
)

// maxGroup bounds how many writes share one transaction, and with it the memory of one.
const maxGroup = 256

// errClosed is returned for writes after Close.
var errClosed = errors.New("the data file has been closed")

// change is one write. check reads and refuses; write writes. They are functions of the transaction alone, so that
// both may run again in another transaction after the first was rolled back.
type change struct {
	check func(tx *bolt.Tx) error
	write func(tx *bolt.Tx) error
	state atomic.Int32 // waiting → taken (by the writer) or left (by the caller)
	done  chan error
}

const (
	waiting int32 = iota
	taken
	left
)

// writer is the one goroutine that writes. While it waits for the disk, changes queue up and form the next group.
type writer struct {
	file    *Stores
	queue   chan *change
	closing chan struct{}
	ended   chan struct{}
	once    sync.Once
	// broken is set when a write may have reached the disk in part, so that memory and disk could differ.
	broken error
}

func startWriter(s *Stores) *writer {
	w := &writer{file: s, queue: make(chan *change), closing: make(chan struct{}), ended: make(chan struct{})}
	go w.run()
	return w
}

func (w *writer) stop() {
	w.once.Do(func() { close(w.closing) })
	<-w.ended
}

// do hands a change to the writer and waits for its fate. A cancelled context takes the change back only while it is
// still waiting: once it is being written the caller hears what became of it.
func (w *writer) do(ctx context.Context, c *change) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	c.done = make(chan error, 1)
	select {
	case w.queue <- c:
	case <-ctx.Done():
		return ctx.Err()
	case <-w.ended:
		return errClosed
	}
	select {
	case err := <-c.done:
		return err
	case <-ctx.Done():
		if c.state.CompareAndSwap(waiting, left) {
			return ctx.Err()
		}
		return <-c.done
	}
}

func (w *writer) run() {
	defer close(w.ended)
	for {
		var first *change
		select {
		case first = <-w.queue:
		case <-w.closing:
			return
		}
		group := []*change{first}
		for len(group) < maxGroup {
			select {
			case c := <-w.queue:
				group = append(group, c)
				continue
			default:
			}
			break
		}
		w.writeGroup(group)
	}
}

func (w *writer) writeGroup(group []*change) {
	open := group[:0]
	for _, c := range group {
		if c.state.CompareAndSwap(waiting, taken) {
			open = append(open, c)
		}
	}
	fates := make([]error, len(open))
	err := w.transact(func(tx *bolt.Tx) error {
		wrote := false
		for i, c := range open {
			if fates[i] = c.check(tx); fates[i] != nil {
				continue
			}
			if err := c.write(tx); err != nil {
				return err
			}
			wrote = true
		}
		if !wrote {
			return errNothing
		}
		return nil
	})
	switch {
	case err == nil || errors.Is(err, errNothing):
		for i, c := range open {
			c.done <- fates[i]
		}
	case len(open) == 1:
		open[0].done <- err
	default:
		// One of them cannot be written, and all were rolled back: each gets a transaction of its own.
		for _, c := range open {
			c.done <- w.transact(func(tx *bolt.Tx) error {
				if err := c.check(tx); err != nil {
					return err
				}
				return c.write(tx)
			})
		}
	}
}

// errNothing rolls back a transaction in which all changes were refused.
var errNothing = errors.New("nothing to write")

// transact runs fn in a write transaction and returns nil when it is on the disk.
func (w *writer) transact(fn func(tx *bolt.Tx) error) error {
	if w.broken != nil {
		return w.broken
	}
	tx, err := w.begin()
	if err != nil {
		return fmt.Errorf("write to %s: %w", w.file.path, err)
	}
	if err := guard(func() error { return fn(tx) }); err != nil {
		return errors.Join(err, guard(tx.Rollback))
	}
	err = guard(tx.Commit)
	if err == nil {
		return nil
	}
	if again := guard(tx.Rollback); again != nil && !errors.Is(again, bolterrors.ErrTxClosed) {
		err = errors.Join(err, again)
	}
	switch {
	case errors.Is(err, bolterrors.ErrMaxSizeReached), errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT), errors.Is(err, syscall.EFBIG):
		// The file could not grow: nothing that counts was written.
		return fmt.Errorf("write to %s: the disk or the allowed size is full; make room: %w", w.file.path, err)
	default:
		// After a failed sync nobody knows what the disk has. Only a new start reads what is really there.
		w.broken = fmt.Errorf("write to %s: the disk refused; nothing more is accepted until the server is started again: %w", w.file.path, err)
		return w.broken
	}
}

func (w *writer) begin() (tx *bolt.Tx, err error) {
	err = guard(func() error {
		tx, err = w.file.db.Begin(true)
		return err
	})
	return tx, err
}
