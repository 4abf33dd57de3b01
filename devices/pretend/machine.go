package pretend

import (
	"errors"
	"math/rand/v2"
	"sync"
	"time"
)

// Control characters of the line, by ISO 646.
const (
	etx = 3
	enq = 5
	ack = 6
	dc1 = 17
	dc3 = 19
	esc = 27
)

// machine is what both pretend devices have: a line, a log of executed bytes, faults, one goroutine.
type machine struct {
	link Link

	mu       sync.Mutex // guards everything below; the goroutine holds it but while it waits
	f        Faults
	log      []byte
	sink     func([]byte)
	executed int64
	total    int  // bytes received
	lost     int  // bytes that found the buffer full
	reset    bool // ResetInMiddle has happened
	dead     bool // StallAfter has come
	paused   bool
	credit   float64
	last     time.Time
	stopAt   time.Time // when it was last told to drop everything
	noise    *rand.Rand
	noisyAt  int
	said     int

	quit chan struct{}
	done chan struct{}
	once sync.Once
}

func newMachine(link Link, f Faults, sink func([]byte)) machine {
	return machine{link: link, f: f, sink: sink, last: time.Now(), quit: make(chan struct{}),
		done: make(chan struct{}), noise: rand.New(rand.NewPCG(7, 11))}
}

// run serves the line until it ends: take is given each byte, work does what time allows and says
// how long it needs nothing.
func (m *machine) run(chunk func() int, take func(byte), work func(now time.Time) time.Duration) {
	defer close(m.done)
	buf := make([]byte, 64)
	for wait := time.Duration(0); ; {
		select {
		case <-m.quit:
			return
		default:
		}
		m.mu.Lock()
		n := min(len(buf), max(0, chunk()))
		dead := m.dead
		m.mu.Unlock()
		if dead || n == 0 {
			if !m.rest(max(wait, time.Millisecond)) {
				return
			}
			n = 0
		}
		var err error
		if n > 0 {
			n, err = m.link.Read(buf[:n], max(wait, 100*time.Microsecond))
		}
		if errors.Is(err, ErrUnplugged) {
			return
		}
		m.mu.Lock()
		for _, b := range buf[:n] {
			if m.injectFaults() {
				break
			}
			take(b)
		}
		wait = 50 * time.Millisecond
		if !m.dead {
			wait = min(wait, work(time.Now()))
		}
		m.mu.Unlock()
	}
}

// rest waits, and tells whether the device still is wanted.
func (m *machine) rest(d time.Duration) bool {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-m.quit:
		return false
	case <-timer.C:
		return true
	}
}

// injectFaults counts a received byte and lets the faults happen; true loses the byte.
func (m *machine) injectFaults() bool {
	m.total++
	if m.dead || (m.f.StallAfter > 0 && m.total > m.f.StallAfter) {
		m.dead = true
		return true
	}
	if m.f.UnplugAfter > 0 && m.total > m.f.UnplugAfter {
		m.dead = true
		m.link.Unplug()
		return true
	}
	if m.f.PauseAfter > 0 && m.total == m.f.PauseAfter {
		m.paused = true
	}
	if m.f.Garbage > 0 && m.total >= m.noisyAt+m.f.Garbage {
		m.noisyAt = m.total
		m.sendNoise()
	}
	return false
}

// sendNoise writes noise without control characters or digits: it must not be taken for an answer.
func (m *machine) sendNoise() {
	p := make([]byte, 1+m.noise.IntN(12))
	for i := range p {
		p[i] = byte(0x80 + m.noise.IntN(0x7f))
		if m.noise.IntN(3) == 0 {
			p[i] = "#%&*}{~^"[m.noise.IntN(8)]
		}
	}
	_ = m.link.Write(append(p, '\r'))
}

// say answers, as the faults allow.
func (m *machine) say(p []byte) {
	m.said++
	if m.f.Garble > 0 && m.said%m.f.Garble == 0 {
		p = append([]byte(nil), p...)
		p[m.noise.IntN(len(p))] ^= 0x55
	}
	switch {
	case m.f.Mute:
	case m.f.PartialReplies:
		for i := range p {
			_ = m.link.Write(p[i : i+1])
			m.mu.Unlock()
			time.Sleep(500 * time.Microsecond)
			m.mu.Lock()
		}
	default:
		_ = m.link.Write(p) // a host that has gone hears nothing
	}
}

// allowance is how many bytes a rate has allowed since it was last asked; rate 0 allows all.
func (m *machine) allowance(now time.Time, rate float64) float64 {
	if rate <= 0 {
		m.last = now
		return 1 << 30
	}
	m.credit += rate * now.Sub(m.last).Seconds()
	m.last = now
	return m.credit
}

// execute records bytes as done.
func (m *machine) execute(p []byte) {
	m.executed += int64(len(p))
	if m.sink != nil {
		m.sink(p)
		return
	}
	m.log = append(m.log, p...)
}

// Received gives all bytes executed so far, in order; without those that only steer the line.
func (m *machine) Received() []byte {
	m.mu.Lock()
	defer m.mu.Unlock()
	return append([]byte(nil), m.log...)
}

// Executed counts them.
func (m *machine) Executed() int64 {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.executed
}

// Lost counts the bytes that found the buffer full: a sender that keeps to the habit loses none.
func (m *machine) Lost() int {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.lost
}

// StopReceived is when it was last told to drop everything; the zero time if never.
func (m *machine) StopReceived() time.Time {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.stopAt
}

// Path is the port that a host opens; empty on a line in memory.
func (m *machine) Path() string { return m.link.Path() }

// Paused tells whether it stands still, by PauseAfter.
func (m *machine) Paused() bool {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.paused
}

// Release ends a pause at the device's own panel.
func (m *machine) Release() {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.paused, m.f.PauseAfter = false, 0
}

// Misbehave sets the faults anew; counts go on from the bytes received so far.
func (m *machine) Misbehave(f Faults) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.f, m.noisyAt = f, m.total
}

// Close ends the device and its line, and returns when its goroutine has ended.
func (m *machine) Close() {
	m.once.Do(func() { close(m.quit) })
	m.link.Unplug()
	<-m.done
}
