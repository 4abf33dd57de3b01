package pretend

import (
	"cmp"
	"fmt"
	"sync"
	"time"

	"tracewheel/devices"
)

// LineOptions shape a line in memory.
type LineOptions struct {
	// Name is what the port is called.
	Name string
	// Baud carries ten bits a byte at this rate; 0 carries everything at once.
	Baud int
	// Queue is how many unsent bytes the host's system keeps; 0 is 4096.
	Queue int
	// Flow is what the host's system itself obeys: devices.FlowRTSCTS, devices.FlowXonXoff or none.
	Flow devices.Flow
	// Blind hides what is queued, as a pseudo-terminal does.
	Blind bool
}

// memLine is a serial line in memory. The wire moves bytes by the time that has passed, so it needs
// no goroutine and runs as fast as a fast clock does.
type memLine struct {
	opt LineOptions

	mu     sync.Mutex
	change chan struct{} // closed and replaced when something moves

	queue    []byte // with the host's system
	arrived  []byte // with the device
	answers  []byte // with the host, unread
	last     time.Time
	credit   float64 // parts of a byte that the wire has carried already
	cts      bool
	stopped  bool // the host's system has seen DC3
	override bool
	gone     bool
	closed   bool
}

// Line is the host's end of a line in memory. It implements devices.Line and devices.Overrider.
type Line struct{ m *memLine }

// End is the device's end.
type End struct{ m *memLine }

// NewLine makes a line in memory and gives both its ends.
func NewLine(opt LineOptions) (*Line, *End) {
	if opt.Queue <= 0 {
		opt.Queue = 4096
	}
	opt.Name = cmp.Or(opt.Name, "memory")
	m := &memLine{opt: opt, change: make(chan struct{}), cts: true, last: time.Now()}
	return &Line{m}, &End{m}
}

// carry moves over the wire what could have moved since it was last looked at.
func (m *memLine) carry() {
	now := time.Now()
	gone := now.Sub(m.last).Seconds()
	m.last = now
	n := len(m.queue)
	if m.opt.Baud > 0 {
		if n == 0 || m.held() {
			m.credit = 0
		} else {
			m.credit += gone * float64(m.opt.Baud) / 10
			n = min(n, int(m.credit+1e-6))
			m.credit -= float64(n)
		}
	}
	if m.held() || n == 0 {
		return
	}
	m.arrived = append(m.arrived, m.queue[:n]...)
	m.queue = m.queue[n:]
	if len(m.queue) == 0 {
		m.queue, m.credit = nil, 0
	}
	m.moved()
}

// held tells that the host's system keeps bytes back.
func (m *memLine) held() bool {
	if m.override {
		return false
	}
	return m.stopped || (m.opt.Flow == devices.FlowRTSCTS && !m.cts)
}

func (m *memLine) moved() {
	close(m.change)
	m.change = make(chan struct{})
}

// next is how long the wire needs for its next byte; 0 if nothing moves by itself.
func (m *memLine) next() time.Duration {
	if m.opt.Baud <= 0 || len(m.queue) == 0 || m.held() {
		return 0
	}
	// A few bytes at once keep a fast clock fast; a slow reader notices no difference.
	bytes := min(float64(len(m.queue)), 16)
	return time.Duration((bytes-m.credit)*10/float64(m.opt.Baud)*float64(time.Second)) + 1
}

// await runs try under the lock until it says done, or the time is over.
func (m *memLine) await(wait time.Duration, try func() bool) bool {
	end := time.Now().Add(wait)
	for {
		m.mu.Lock()
		m.carry()
		if try() {
			m.mu.Unlock()
			return true
		}
		change, next := m.change, m.next()
		m.mu.Unlock()
		left := time.Until(end)
		if left <= 0 {
			return false
		}
		if next > 0 && next < left {
			left = next
		}
		timer := time.NewTimer(left)
		select {
		case <-change:
		case <-timer.C:
		}
		timer.Stop()
	}
}

// Name implements devices.Line.
func (l *Line) Name() string { return l.m.opt.Name }

// Read implements devices.Line.
func (l *Line) Read(p []byte, wait time.Duration) (n int, err error) {
	m := l.m
	ok := m.await(wait, func() bool {
		if n = copy(p, m.answers); n > 0 {
			m.answers = m.answers[n:]
			return true
		}
		err = m.fault()
		return err != nil
	})
	if !ok {
		return 0, devices.ErrWait
	}
	return n, err
}

// Write implements devices.Line.
func (l *Line) Write(p []byte, wait time.Duration) (n int, err error) {
	m := l.m
	ok := m.await(wait, func() bool {
		if err = m.fault(); err != nil {
			return true
		}
		if n = min(len(p), m.opt.Queue-len(m.queue)); n <= 0 {
			n = 0
			return false
		}
		m.queue = append(m.queue, p[:n]...)
		m.carry()
		m.moved()
		return true
	})
	if !ok {
		return 0, devices.ErrWait
	}
	return n, err
}

func (m *memLine) fault() error {
	switch {
	case m.closed:
		return devices.ErrClosed
	case m.gone:
		return fmt.Errorf("port %q: %w", m.opt.Name, devices.ErrGone)
	}
	return nil
}

// Queued implements devices.Line.
func (l *Line) Queued() (int, bool) {
	l.m.mu.Lock()
	defer l.m.mu.Unlock()
	l.m.carry()
	return len(l.m.queue), !l.m.opt.Blind
}

// Discard implements devices.Line.
func (l *Line) Discard() error {
	l.m.mu.Lock()
	defer l.m.mu.Unlock()
	l.m.carry()
	l.m.queue, l.m.credit = nil, 0
	l.m.moved()
	return l.m.fault()
}

// Override implements devices.Overrider.
func (l *Line) Override(on bool) error {
	l.m.mu.Lock()
	defer l.m.mu.Unlock()
	l.m.carry()
	l.m.override = on
	if !on {
		l.m.stopped = false // setting flow control anew starts a stopped line
	}
	l.m.carry()
	l.m.moved()
	return l.m.fault()
}

// Ready implements devices.Readier.
func (l *Line) Ready() (ready, known bool) {
	l.m.mu.Lock()
	defer l.m.mu.Unlock()
	return l.m.cts, l.m.opt.Flow == devices.FlowRTSCTS && !l.m.opt.Blind
}

// Close implements devices.Line.
func (l *Line) Close() error {
	l.m.mu.Lock()
	defer l.m.mu.Unlock()
	l.m.closed = true
	l.m.moved()
	return nil
}

// Read implements Link.
func (e *End) Read(p []byte, wait time.Duration) (n int, err error) {
	m := e.m
	ok := m.await(wait, func() bool {
		if n = copy(p, m.arrived); n > 0 {
			m.arrived = m.arrived[n:]
			return true
		}
		if m.gone || m.closed {
			err = ErrUnplugged
		}
		return err != nil
	})
	if !ok {
		return 0, ErrWait
	}
	return n, err
}

// Write implements Link. The host's system takes DC1 and DC3 out where it obeys them.
func (e *End) Write(p []byte) error {
	m := e.m
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.gone || m.closed {
		return ErrUnplugged
	}
	m.carry()
	for _, b := range p {
		if m.opt.Flow == devices.FlowXonXoff && !m.override && (b == dc1 || b == dc3) {
			m.stopped = b == dc3
			continue
		}
		m.answers = append(m.answers, b)
	}
	m.carry()
	m.moved()
	return nil
}

// Ready implements Link.
func (e *End) Ready(on bool) {
	m := e.m
	m.mu.Lock()
	defer m.mu.Unlock()
	m.carry()
	if m.cts != on {
		m.cts = on
		m.carry()
		m.moved()
	}
}

// Unplug implements Link.
func (e *End) Unplug() {
	m := e.m
	m.mu.Lock()
	defer m.mu.Unlock()
	m.gone = true
	m.moved()
}

// Path implements Link.
func (e *End) Path() string { return "" }
