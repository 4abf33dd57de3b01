//go:build linux || (darwin && cgo)

package pretend

import (
	"errors"
	"io"
	"os"
	"sync"
	"time"

	"github.com/creack/pty"
	"golang.org/x/sys/unix"
	"golang.org/x/term"
)

// ptyLink is the device's end of a pseudo-terminal.
type ptyLink struct {
	master *os.File
	slave  *os.File // kept open, so that a host may come and go
	path   string

	mu    sync.Mutex
	ready chan struct{} // closed while the device is ready
	off   bool
	gone  chan struct{}
	once  sync.Once
}

// NewPty makes a pseudo-terminal and gives the device's end; a host opens its Path. What a real
// line shows and this does not: baud pacing, and RTS/CTS, for which the device stops reading instead.
func NewPty() (Link, error) {
	m, s, err := pty.Open()
	if err != nil {
		return nil, err
	}
	// Raw before any host opens it, or the terminal would echo.
	if _, err := term.MakeRaw(int(s.Fd())); err != nil {
		return nil, errors.Join(err, m.Close(), s.Close())
	}
	master, err := nonBlocking(m)
	if err != nil {
		return nil, errors.Join(err, m.Close(), s.Close())
	}
	ready := make(chan struct{})
	close(ready)
	return &ptyLink{master: master, slave: s, path: s.Name(), ready: ready, gone: make(chan struct{})}, nil
}

// nonBlocking gives a descriptor with deadlines and closes the one that has none.
func nonBlocking(f *os.File) (*os.File, error) {
	fd, err := unix.Dup(int(f.Fd()))
	if err != nil {
		return nil, err
	}
	unix.CloseOnExec(fd)
	if err := unix.SetNonblock(fd, true); err != nil {
		return nil, err
	}
	return os.NewFile(uintptr(fd), f.Name()), f.Close()
}

func (l *ptyLink) Path() string { return l.path }

func (l *ptyLink) Read(p []byte, wait time.Duration) (int, error) {
	l.mu.Lock()
	ready := l.ready
	l.mu.Unlock()
	timer := time.NewTimer(wait)
	defer timer.Stop()
	select {
	case <-ready:
	case <-l.gone:
		return 0, ErrUnplugged
	case <-timer.C:
		return 0, ErrWait
	}
	if err := l.master.SetReadDeadline(time.Now().Add(max(wait, time.Millisecond))); err != nil {
		return 0, ErrUnplugged
	}
	n, err := l.master.Read(p)
	switch {
	case n > 0:
		return n, nil
	case errors.Is(err, os.ErrDeadlineExceeded):
		return 0, ErrWait
	case err == nil || errors.Is(err, io.EOF):
		return 0, ErrUnplugged
	}
	return 0, ErrUnplugged
}

func (l *ptyLink) Write(p []byte) error {
	if err := l.master.SetWriteDeadline(time.Now().Add(time.Second)); err != nil {
		return ErrUnplugged
	}
	if _, err := l.master.Write(p); err != nil && !errors.Is(err, os.ErrDeadlineExceeded) {
		return ErrUnplugged
	}
	return nil // a host that does not read loses answers, as on a wire
}

func (l *ptyLink) Ready(on bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if on && l.off {
		close(l.ready)
	}
	if !on && !l.off {
		l.ready = make(chan struct{})
	}
	l.off = !on
}

func (l *ptyLink) Unplug() {
	l.once.Do(func() {
		close(l.gone)
		l.master.Close()
		l.slave.Close()
	})
}
