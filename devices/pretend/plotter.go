package pretend

import (
	"cmp"
	"strconv"
	"time"

	"tracewheel/devices"
)

// PlotterOptions are what a pretend plotter is like. The zero value takes everything at once and
// knows Xon/Xoff.
type PlotterOptions struct {
	// Model is what it answers to OI.
	Model string
	// Buffer is its input buffer in bytes; 0 is 1024.
	Buffer int
	// Flow is the habit that it keeps to.
	Flow devices.Flow
	// Level is the free space at which it asks the host to stop; 0 is half the buffer, but 256 at
	// most. Block is the free space it wants before it acknowledges an ENQ; 0 is 80.
	Level, Block int
	// Rate is how many bytes a second it draws; 0 draws at once.
	Rate float64
	// Faults are how it misbehaves.
	Faults Faults
	// Sink is given what is executed, which then is not kept.
	Sink func([]byte)
}

// Plotter is a pretend pen plotter: HP-GL and HP-GL/2 with device control, by the HP 7470A
// Interfacing and Programming Manual. It knows where a line of instructions ends and whether the
// pen is down, and nothing of what is drawn.
type Plotter struct {
	machine
	opt PlotterOptions

	buffer   []byte
	control  control
	reader   reader
	held     bool      // it has asked the host to stop
	read     time.Time // when it last took bytes while it holds the host
	enqs     bool      // an ENQ waits for room
	sizeAsks int       // ESC.L waits for an empty buffer
	lineErr  int       // ESC.E
	xonAt    time.Time
	acks     int
}

// NewPlotter starts a plotter at the end of a line.
func NewPlotter(link Link, opt PlotterOptions) *Plotter {
	if opt.Buffer <= 0 {
		opt.Buffer = 1024
	}
	if opt.Block <= 0 {
		opt.Block = 80
	}
	if opt.Level <= 0 {
		opt.Level = min(256, opt.Buffer/2)
	}
	opt.Model = cmp.Or(opt.Model, "PRETEND")
	p := &Plotter{machine: newMachine(link, opt.Faults, opt.Sink), opt: opt}
	p.reader.initialised, p.lineErr = true, opt.Faults.LineError
	go p.run(p.room, p.take, p.work)
	return p
}

// room is how many bytes it reads at once. Where it holds the host by RTS/CTS it reads only what
// fits; otherwise bytes arrive whether they fit or not. After a DC3 they come no faster than over a wire of 9600 baud: a
// pseudo-terminal hands over thousands in the time that a busy system takes to obey it.
func (p *Plotter) room() int {
	switch {
	case p.link.Path() == "":
	case p.opt.Flow == devices.FlowRTSCTS:
		return p.free() - 1
	case p.held:
		const wire, some = 960, 16 // bytes a second, and at once
		if time.Since(p.read) < some*time.Second/wire {
			return 0
		}
		p.read = time.Now()
		return some
	}
	return 64
}

func (p *Plotter) free() int { return p.opt.Buffer - len(p.buffer) }

// take sorts one byte from the line: device control and handshakes act at once, the rest is queued.
func (p *Plotter) take(b byte) {
	if p.f.Echo {
		_ = p.link.Write([]byte{b})
	}
	if p.f.ResetInMiddle > 0 && p.total >= p.f.ResetInMiddle && !p.reset {
		p.reset = true
		p.powerUp()
		return
	}
	pass, done := p.control.take(b)
	if done != "" {
		p.deviceControl(done)
	}
	for _, b := range pass {
		switch {
		case b == enq && p.opt.Flow == devices.FlowEnqAck:
			p.enqs = true
		case b == enq: // not configured: the answer proves nothing
			p.say([]byte{ack})
		case b == dc1 || b == dc3:
		case len(p.buffer) >= p.opt.Buffer:
			p.lost++
			p.lineErr = 16
		default:
			p.buffer = append(p.buffer, b)
		}
	}
	p.keepFlow(time.Now())
}

// powerUp forgets everything, as switching it off and on does.
func (p *Plotter) powerUp() {
	p.buffer, p.held, p.enqs, p.lineErr = nil, false, false, 0
	p.control, p.reader = control{}, reader{initialised: true}
}

// work draws what time allows and tells when there is more to do.
func (p *Plotter) work(now time.Time) time.Duration {
	n := 0
	if p.paused {
		p.last = now
	} else if allowed := p.allowance(now, p.opt.Rate); len(p.buffer) > 0 {
		n = min(len(p.buffer), int(allowed))
		p.draw(n)
		p.credit = min(p.credit-float64(n), 1)
	} else {
		p.credit = 0
	}
	p.keepFlow(now)
	if len(p.buffer) == 0 && p.sizeAsks > 0 {
		p.sizeAsks--
		p.answer(p.opt.Buffer)
	}
	wait := 50 * time.Millisecond
	if len(p.buffer) > 0 && p.opt.Rate > 0 && !p.paused {
		wait = min(wait, time.Duration(min(16, float64(len(p.buffer)))/p.opt.Rate*float64(time.Second))+1)
	}
	if !p.xonAt.IsZero() {
		wait = min(wait, max(time.Millisecond, p.xonAt.Sub(now)))
	}
	return wait
}

func (p *Plotter) draw(n int) {
	for _, b := range p.buffer[:n] {
		p.execute([]byte{b})
		for _, ask := range p.reader.take(b) {
			p.output(ask)
		}
		if p.f.ErrorAt > 0 && p.executed == int64(p.f.ErrorAt) {
			p.reader.err = 3
		}
	}
	p.buffer = p.buffer[n:]
	if len(p.buffer) == 0 {
		p.buffer = nil
	}
}

// keepFlow tells the host to stop or to go on.
func (p *Plotter) keepFlow(now time.Time) {
	switch p.opt.Flow {
	case devices.FlowXonXoff:
		p.keepXonXoff(now)
	case devices.FlowRTSCTS:
		p.link.Ready(p.free() >= p.opt.Block)
	case devices.FlowEnqAck:
		if p.enqs && p.free() >= p.opt.Block {
			p.enqs = false
			p.acknowledge()
		}
	}
}

func (p *Plotter) acknowledge() {
	p.acks++
	switch {
	case p.f.LostAck == p.acks, p.f.LostAcks > 0 && p.acks%p.f.LostAcks == 0:
	case p.f.DoubleAck > 0 && p.acks >= p.f.DoubleAck:
		p.say([]byte{ack, ack})
	default:
		p.say([]byte{ack})
	}
}

func (p *Plotter) keepXonXoff(now time.Time) {
	switch {
	case !p.held && p.free() <= p.opt.Level:
		p.held = true
		_ = p.link.Write([]byte{dc3})
	case p.held && !p.xonAt.IsZero():
		if !now.Before(p.xonAt) {
			p.xonAt, p.held = time.Time{}, false
			_ = p.link.Write([]byte{dc1})
		}
	case p.held && len(p.buffer) <= min(p.opt.Buffer/2, p.opt.Buffer-p.opt.Level-1):
		switch {
		case p.f.LateXON > 0:
			p.xonAt, p.f.LateXON = now.Add(time.Duration(p.f.LateXON)*time.Millisecond), 0
		case p.f.LostXON > 0:
			p.f.LostXON--
			p.held = false
		default:
			p.held = false
			_ = p.link.Write([]byte{dc1})
		}
	}
}

// deviceControl acts on a complete ESC. sequence.
func (p *Plotter) deviceControl(seq string) {
	switch seq[0] {
	case 'B':
		p.answer(p.free())
	case 'E':
		code := p.lineErr
		p.lineErr = 0
		p.answer(code)
	case 'J':
		p.sizeAsks = 0
	case 'K':
		p.stopAt = time.Now()
		p.buffer = nil
		p.reader.drop()
	case 'L':
		p.sizeAsks++
	case 'O':
		p.answer(p.state())
	case 'A':
		p.say([]byte(p.opt.Model + ",1\r"))
	case '@', 'H', 'I', 'M', 'N', 'P', 'Q', 'S', 'T', 'R', 'U', '(', ')', 'Y', 'Z':
	default:
		p.lineErr = 11
	}
}

func (p *Plotter) state() int {
	n := 0
	if len(p.buffer) == 0 {
		n = 8
	}
	if p.paused {
		n += 16
	}
	return n
}

func (p *Plotter) answer(n int) { p.say([]byte(strconv.Itoa(n) + "\r")) }

// output answers an instruction that asks for something, in its turn.
func (p *Plotter) output(ask string) {
	switch ask {
	case "OE":
		p.f.Mute = p.f.Mute || p.f.SilentAtEnd
		p.answer(p.reader.err)
		p.reader.err = 0
	case "OS":
		p.answer(p.reader.status())
		p.reader.initialised = false
	case "OI":
		p.say([]byte(p.opt.Model + "\r"))
	case "OA", "OC":
		p.say([]byte("0,0," + strconv.Itoa(b2i(p.reader.down)) + "\r"))
	case "OF":
		p.say([]byte("40,40\r"))
	case "OO":
		p.say([]byte("0,1,0,0,1,0,0,0\r"))
	case "OP", "OH", "OW":
		p.say([]byte("0,0,32767,32767\r"))
	}
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

// PenUp tells where the pen really is, for comparing with what a sender believes.
func (p *Plotter) PenUp() bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	return !p.reader.down
}

// Waiting is how many bytes its buffer holds.
func (p *Plotter) Waiting() int {
	p.mu.Lock()
	defer p.mu.Unlock()
	return len(p.buffer)
}
