package authority

import (
	"bufio"
	"context"
	"crypto/tls"
	"errors"
	"net"
	"sync"
	"time"
)

// peekFor is how long a client may take to send its first byte.
const peekFor = 10 * time.Second

// tlsHandshake is the first byte of every TLS connection: a record of the type handshake (RFC 8446, section 5.1).
const tlsHandshake = 0x16

// Split makes one listener of two: connections that begin a TLS handshake come out of the first, already wrapped,
// all others out of the second. So one address serves https and can still tell who comes by http what to do. Close
// either, or cancel the context, to end both.
func Split(ctx context.Context, ln net.Listener, config *tls.Config) (secure, plain net.Listener) {
	ctx, cancel := context.WithCancel(ctx)
	s := &half{ln: ln, ctx: ctx, cancel: cancel, conns: make(chan net.Conn)}
	p := &half{ln: ln, ctx: ctx, cancel: cancel, conns: make(chan net.Conn)}
	var once sync.Once
	shut := func() { once.Do(func() { ln.Close() }) }
	context.AfterFunc(ctx, shut)
	go func() {
		defer cancel()
		for {
			c, err := ln.Accept()
			if errors.Is(err, net.ErrClosed) || ctx.Err() != nil {
				return
			}
			if err != nil {
				// Out of file descriptors, most likely: wait for some to come back, as net/http does.
				time.Sleep(50 * time.Millisecond)
				continue
			}
			go sort(ctx, c, config, s.conns, p.conns)
		}
	}()
	return s, p
}

// sort looks at the first byte of a connection and hands it on.
func sort(ctx context.Context, c net.Conn, config *tls.Config, secure, plain chan<- net.Conn) {
	r := bufio.NewReaderSize(c, 512)
	_ = c.SetReadDeadline(time.Now().Add(peekFor))
	first, err := r.Peek(1)
	_ = c.SetReadDeadline(time.Time{})
	if err != nil {
		c.Close()
		return
	}
	var out net.Conn = &peeked{Conn: c, r: r}
	to := plain
	if first[0] == tlsHandshake {
		out, to = tls.Server(out, config), secure
	}
	select {
	case to <- out:
	case <-ctx.Done():
		c.Close()
	}
}

// peeked is a connection whose first bytes are in a buffer.
type peeked struct {
	net.Conn
	r *bufio.Reader
}

func (p *peeked) Read(b []byte) (int, error) { return p.r.Read(b) }

// half is one side of a split listener.
type half struct {
	ln     net.Listener
	ctx    context.Context
	cancel context.CancelFunc
	conns  chan net.Conn
}

func (h *half) Accept() (net.Conn, error) {
	select {
	case c := <-h.conns:
		return c, nil
	case <-h.ctx.Done():
		return nil, net.ErrClosed
	}
}

func (h *half) Close() error {
	h.cancel()
	return nil
}

func (h *half) Addr() net.Addr { return h.ln.Addr() }
