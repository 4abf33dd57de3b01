//go:build windows || (darwin && cgo)

package port

import (
	"errors"
	"fmt"
	"io"
	"sync"
	"time"

	"github.com/tarm/serial"

	"tracewheel/devices"
)

// libLine is a line of the port library, whose reads and writes have no deadlines: one goroutine each does them, and a
// small buffer between keeps the bytes on their way below the margin.
type libLine struct {
	name   string
	port   *serial.Port
	margin int

	mu      sync.Mutex
	out     chan []byte
	in      chan []byte
	rest    []byte // read and not yet taken by the caller
	pending int    // bytes that the writing goroutine holds
	free    chan struct{}
	err     error
	failed  chan struct{}
	quit    chan struct{}
	once    sync.Once
}

var (
	openMu    sync.Mutex
	openNames = map[string]bool{}
)

func open(p devices.PortProfile) (devices.Line, error) {
	if p.Flow == devices.FlowRTSCTS {
		return nil, fmt.Errorf("port %q: flow %q is kept by the system, and the port library cannot set it here; set the device to xon-xoff, enq-ack or buffer-query, or use Linux", p.Path, p.Flow)
	}
	openMu.Lock()
	defer openMu.Unlock()
	if openNames[p.Path] {
		return nil, fmt.Errorf("port %q: %w: another device holds it", p.Path, ErrInUse)
	}
	lib, err := serial.OpenPort(&serial.Config{Name: p.Path, Baud: p.Baud, Size: byte(p.DataBits),
		Parity: parity(p.Parity), StopBits: serial.StopBits(p.StopBits), ReadTimeout: 100 * time.Millisecond})
	if err != nil {
		return nil, openError(p.Path, err)
	}
	openNames[p.Path] = true
	l := &libLine{name: p.Path, port: lib, margin: p.Margin, out: make(chan []byte, 1), in: make(chan []byte, 16),
		free: make(chan struct{}, 1), failed: make(chan struct{}), quit: make(chan struct{})}
	go l.reader()
	go l.writer()
	return l, nil
}

func (l *libLine) reader() {
	buf := make([]byte, 256)
	for {
		n, err := l.port.Read(buf)
		if n > 0 {
			select {
			case l.in <- append([]byte(nil), buf[:n]...):
			case <-l.quit:
				return
			}
		}
		if err != nil && !errors.Is(err, io.EOF) { // an empty read is EOF, not a fault
			l.fail(err)
			return
		}
		select {
		case <-l.quit:
			return
		default:
		}
	}
}

func (l *libLine) writer() {
	for {
		select {
		case p := <-l.out:
			_, err := l.port.Write(p)
			l.mu.Lock()
			l.pending = 0
			l.mu.Unlock()
			select {
			case l.free <- struct{}{}:
			default:
			}
			if err != nil {
				l.fail(err)
				return
			}
		case <-l.quit:
			return
		}
	}
}

func (l *libLine) fail(err error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.err == nil {
		l.err = fmt.Errorf("port %q: %w (%v)", l.name, devices.ErrGone, err)
		close(l.failed)
	}
}

func (l *libLine) fault() error {
	select {
	case <-l.quit:
		return devices.ErrClosed
	default:
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.err
}

func (l *libLine) Name() string { return l.name }

func (l *libLine) Read(p []byte, wait time.Duration) (int, error) {
	if len(l.rest) == 0 {
		timer := time.NewTimer(wait)
		defer timer.Stop()
		select {
		case l.rest = <-l.in:
		case <-l.failed:
			return 0, l.fault()
		case <-l.quit:
			return 0, devices.ErrClosed
		case <-timer.C:
			return 0, devices.ErrWait
		}
	}
	n := copy(p, l.rest)
	l.rest = l.rest[n:]
	return n, nil
}

func (l *libLine) Write(p []byte, wait time.Duration) (int, error) {
	timer := time.NewTimer(wait)
	defer timer.Stop()
	for {
		if err := l.fault(); err != nil {
			return 0, err
		}
		l.mu.Lock()
		if l.pending == 0 {
			n := min(len(p), l.margin)
			l.pending = n
			l.out <- append([]byte(nil), p[:n]...)
			l.mu.Unlock()
			return n, nil
		}
		l.mu.Unlock()
		select {
		case <-l.free:
		case <-l.failed:
		case <-l.quit:
		case <-timer.C:
			return 0, devices.ErrWait
		}
	}
}

// Queued is not known: the library does not tell what the system holds.
func (l *libLine) Queued() (int, bool) { return 0, false }

// Discard does nothing: the library can only drop unsent bytes together with answers, which must stay. The bytes on
// their way are below the margin.
func (l *libLine) Discard() error { return l.fault() }

// Close returns at once; the library's own close may wait for a write that is held.
func (l *libLine) Close() error {
	l.once.Do(func() {
		close(l.quit)
		go func() {
			l.port.Close()
			openMu.Lock()
			delete(openNames, l.name)
			openMu.Unlock()
		}()
	})
	return nil
}
