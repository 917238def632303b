package browsertest

import (
	"bufio"
	"context"
	"io"
	"net"
	"os"
	"os/exec"
	"regexp"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// shop is the real program on a data folder of its own, behind a line that the test can cut.
type shop struct {
	t       *testing.T
	program string
	data    string
	cmd     *exec.Cmd
	*line
	// enter is the owner's one-time link, through the line.
	enter string
}

// openShop starts a program with an empty data folder.
func openShop(t *testing.T) *shop {
	s := &shop{t: t, program: program, data: t.TempDir(), line: newLine(t)}
	s.start()
	t.Cleanup(s.kill)
	return s
}

var linkPattern = regexp.MustCompile(`#enter=\S+`)

// start runs the program; the line then leads to it.
func (s *shop) start() {
	first := s.enter == ""
	s.cmd = exec.Command(s.program, "serve", "--data", s.data, "--listen", "127.0.0.1:0", "--public-url", "http://"+s.addr)
	out, err := s.cmd.StdoutPipe()
	require.NoError(s.t, err)
	s.cmd.Stderr = os.Stderr
	require.NoError(s.t, s.cmd.Start())
	at := regexp.MustCompile(`http://(127\.0\.0\.1:\d+)`)
	in, behind := bufio.NewScanner(out), ""
	for in.Scan() {
		if m := at.FindStringSubmatch(in.Text()); m != nil && m[1] != s.addr {
			behind = m[1]
		}
		if m := linkPattern.FindString(in.Text()); m != "" {
			s.enter = "http://" + s.addr + "/" + m
		}
		if behind != "" && (s.enter != "" || !first) {
			break
		}
	}
	require.NotEmpty(s.t, behind, "the program did not say where it is")
	require.NotEmpty(s.t, s.enter, "the program did not print the owner's link")
	go io.Copy(io.Discard, out)
	s.lead(behind)
}

// kill ends the program at once, as a power cut would.
func (s *shop) kill() {
	if s.cmd != nil && s.cmd.Process != nil {
		s.cmd.Process.Kill()
		s.cmd.Wait()
		s.cmd = nil
	}
}

// line is a TCP line from the browser to the program: it can be closed, and it can break after so many bytes upward.
type line struct {
	t    *testing.T
	addr string
	to   atomic.Value // string
	mu   sync.Mutex
	ln   net.Listener
	open map[net.Conn]bool
	// left is how many more bytes may go up before the line breaks; negative = no limit.
	left atomic.Int64
	// sent counts the bytes that went up.
	sent atomic.Int64
	// slow is a pause for each full block of 16 kB that goes up: files feel it, small requests don't.
	slow atomic.Int64
	// hold is how many bytes may go up on one connection before it hangs, until free; 0 = no limit. held counts those that hang.
	hold, held atomic.Int64
	freed      chan struct{}
}

func newLine(t *testing.T) *line {
	l := &line{t: t, open: map[net.Conn]bool{}, freed: make(chan struct{})}
	l.left.Store(-1)
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	l.addr = ln.Addr().String()
	l.serve(ln)
	t.Cleanup(func() { l.cut(); l.free() })
	return l
}

func (l *line) lead(to string) { l.to.Store(to) }

// free lets go on what hangs, and holds nothing any more.
func (l *line) free() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.hold.Store(0)
	close(l.freed)
	l.freed = make(chan struct{})
}

// cut closes the line: nothing answers any more.
func (l *line) cut() {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.ln != nil {
		l.ln.Close()
		l.ln = nil
	}
	for c := range l.open {
		c.Close()
	}
}

// mend opens the line again, at the same address.
func (l *line) mend() {
	l.left.Store(-1)
	var ln net.Listener
	require.Eventually(l.t, func() bool {
		var err error
		ln, err = net.Listen("tcp", l.addr)
		return err == nil
	}, patience, 20*time.Millisecond)
	l.serve(ln)
}

func (l *line) serve(ln net.Listener) {
	l.mu.Lock()
	l.ln = ln
	l.mu.Unlock()
	go func() {
		for {
			c, err := ln.Accept()
			if err != nil {
				return
			}
			go l.carry(c)
		}
	}()
}

func (l *line) carry(c net.Conn) {
	to, _ := l.to.Load().(string)
	d := net.Dialer{Timeout: patience / 4}
	up, err := d.DialContext(context.Background(), "tcp", to)
	if err != nil {
		c.Close()
		return
	}
	l.mu.Lock()
	l.open[c], l.open[up] = true, true
	l.mu.Unlock()
	end := func() {
		c.Close()
		up.Close()
		l.mu.Lock()
		delete(l.open, c)
		delete(l.open, up)
		l.mu.Unlock()
	}
	go func() {
		defer end()
		io.Copy(c, up)
	}()
	defer end()
	buf, here := make([]byte, 16<<10), int64(0)
	for {
		n, err := c.Read(buf)
		if n > 0 {
			if left := l.left.Load(); left >= 0 {
				if int64(n) >= left {
					up.Write(buf[:left])
					l.cut()
					return
				}
				l.left.Add(-int64(n))
			}
			l.sent.Add(int64(n))
			if pause := l.slow.Load(); pause > 0 && n == len(buf) {
				time.Sleep(time.Duration(pause))
			}
			here += int64(n)
			if most := l.hold.Load(); most > 0 && here > most {
				l.mu.Lock()
				freed := l.freed
				l.mu.Unlock()
				if l.hold.Load() > 0 { // not freed just now
					l.held.Add(1)
					<-freed
				}
			}
			if _, err := up.Write(buf[:n]); err != nil {
				return
			}
		}
		if err != nil {
			return
		}
	}
}
