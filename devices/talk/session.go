// Package talk sends a program down a line, never faster than the machine takes it, and asks a machine for its state. It
// takes a devices.Program and a devices.Line, and gives an Outcome or a Status; it does not know what the bytes draw.
// Machines draw and cut with force: Send is called after a person has released the job, and when it ends early it tries to
// leave the tool up and says where that is not known. The machine's own manual and emergency stop come first.
package talk

import (
	"context"
	"errors"
	"time"

	"tracewheel/devices"
	"tracewheel/devices/flow"
	"tracewheel/devices/port"
)

// The longest time of one write and one wait, after which wishes and input are looked at again; both are far below the
// half second within which a cancel must act.
const (
	writeSlice = 30 * time.Millisecond
	readSlice  = 50 * time.Millisecond
	waitSlice  = 100 * time.Millisecond
	// longestLine is the most bytes that are written at once to a controller that answers each line.
	longestLine = 80
)

// session is one sending, or one question. All of it runs in one goroutine, apart from the reader.
type session struct {
	ctx  context.Context
	line devices.Line
	prog devices.Program
	prof devices.Profile
	opt  Options
	ctl  *Control
	dia  *Dialect

	flow     flow.Habit
	meter    flow.Meter
	protocol protocol
	scanner  flow.Scanner
	in       chan heard
	quit     chan struct{}
	halting  bool // wishes and the device's faults do not interrupt what is being done
	over     bool // the job has ended, and nothing interrupts any more

	moved    time.Time // when the device last took something, or was known to work
	probed   time.Time
	words    string // the device's latest line
	pending  *question
	stray    int       // questions that may still be answered
	escapes  bool      // an HP-GL device has answered a device control question
	ours     bool      // the program keeps Xon/Xoff, the system no longer does
	lookedAt time.Time // when the device was last asked for damage
	watched  bool      // its mark of being initialised is cleared
	says     controllerSays
	lines    int // written, see countLines
	trouble  *Fault

	wasReset  bool // the reset of the device was found only after the sending had ended
	track     track
	waiting   string
	person    bool
	held      bool
	noted     string // see remark
	ending    bool   // a person may say how the sheet is, see askPerson
	drawing   bool   // all is sent, and its end is waited for
	saidWhole bool   // a person said that the last sheet is whole
	// drained is true when the line holds no more bytes of the program.
	drained bool
	revived int // how often it went on only because the device was asked
}

// heard is what the reader hands over.
type heard struct {
	p   []byte
	err error
}

func newSession(ctx context.Context, line devices.Line, prof devices.Profile, opt Options) *session {
	prof.Port = port.WithDefaults(prof.Port)
	prof.Port.Silent = silent(prof)
	s := &session{ctx: ctx, line: line, prof: prof, opt: opt, ctl: opt.Control, dia: opt.Dialect,
		in: make(chan heard, 64), quit: make(chan struct{}), moved: time.Now()}
	if s.ctl == nil {
		s.ctl = NewControl()
	}
	if s.dia == nil {
		s.dia = DefaultDialect()
	}
	s.meter = flow.Meter{Margin: prof.Port.Margin, Rate: float64(prof.Port.Baud) / bitsPerByte(prof.Port)}
	if f := prof.Port.Flow; f == devices.FlowLineAck || f == devices.FlowLineWin {
		s.meter.Margin = max(s.meter.Margin, longestLine) // a kill must not leave half a line in the device
	}
	s.scanner = flow.Scanner{XonXoff: prof.Port.Flow == devices.FlowXonXoff, Ack: prof.Port.Flow == devices.FlowEnqAck}
	s.flow = flow.Free{}
	if prof.Language == devices.GCode {
		s.protocol = controller{s}
	} else {
		s.protocol = plotter{s}
	}
	return s
}

// silent tells whether a device must not be asked: it does not answer, or before and after the program it is in another
// language and would print the question.
func silent(p devices.Profile) bool {
	return p.Port.Silent || (p.Language != devices.GCode && p.Plot.Escapes)
}

// bitsPerByte counts start, data, parity and stop bits.
func bitsPerByte(p devices.PortProfile) float64 {
	n := 1 + p.DataBits + p.StopBits
	if p.Parity != "none" {
		n++
	}
	return float64(n)
}

// start starts the reader; the function that it gives ends it.
func (s *session) start() (stop func()) {
	done := make(chan struct{})
	go s.read(done)
	return func() {
		close(s.quit)
		<-done
	}
}

// read is the one goroutine that reads: answers left unread would block the flow control.
func (s *session) read(done chan<- struct{}) {
	defer close(done)
	buf := make([]byte, 1024)
	for {
		n, err := s.line.Read(buf, readSlice)
		if n == 0 && errors.Is(err, devices.ErrWait) {
			err = nil
		}
		if n > 0 || err != nil {
			h := heard{p: append([]byte(nil), buf[:n]...), err: err}
			select {
			case s.in <- h:
			case <-s.quit:
				return
			}
		}
		if err != nil {
			return
		}
		select {
		case <-s.quit:
			return
		default:
		}
	}
}

// listen reads what the device says until something happens, or until a time.
func (s *session) listen(until time.Time) error {
	wait := time.Until(until)
	if wait <= 0 {
		select {
		case h := <-s.in:
			return s.take(h)
		default:
			return nil
		}
	}
	timer := time.NewTimer(wait)
	defer timer.Stop()
	done := s.ctx.Done()
	if s.halting {
		done = nil
	}
	select {
	case h := <-s.in:
		return s.take(h)
	case <-s.ctl.wake:
	case <-done:
	case <-timer.C:
	}
	return nil
}

// take sorts what was read. It fails only where the line has failed.
func (s *session) take(h heard) error {
	s.scanner.Scan(h.p, s.event)
	for { // all that is ready is taken, so that two answers are seen together
		select {
		case more := <-s.in:
			s.scanner.Scan(more.p, s.event)
			if h.err == nil {
				h.err = more.err
			}
			continue
		default:
		}
		break
	}
	if h.err != nil {
		return s.lineFault(h.err)
	}
	return nil
}

func (s *session) event(e flow.Event) {
	if e.Kind == flow.EventLine && s.prof.Language == devices.GCode {
		e = s.dia.hear(e.Text)
	}
	now := time.Now()
	answered := s.flow.Heard(now, e)
	if answered {
		s.moved = now
	}
	if answered || e.Kind == flow.EventXoff || e.Kind == flow.EventStatus {
		s.prove()
	}
	if f, asks := s.flow.(interface{ Mine() bool }); asks && f.Mine() {
		answered = true
	}
	s.protocol.heard(e, answered)
}

// prove notes that the device works: what it had taken until now, it has really taken.
func (s *session) prove() {
	if s.track.prog.Blocks != nil {
		s.track.progressed(s)
		s.track.proven = s.track.sure
	}
}

// does is what the device does, for people, and what it has done then.
func (s *session) does() (verb, done string) {
	if s.prof.Kind.Cuts() {
		return "cut", "cut"
	}
	return "draw", "drawn"
}

func (s *session) lineFault(err error) error {
	if does, _ := s.does(); errors.Is(err, devices.ErrGone) {
		return faultf(err, "", "the port %s has gone: look at the cable and whether the device is on; what it had already taken it may still %s", s.line.Name(), does)
	}
	return faultf(err, "", "the port %s failed: %v", s.line.Name(), err)
}

// look gives an error where a wish or the device's fault ends the sending now.
func (s *session) look() error {
	if s.halting {
		return nil
	}
	if s.ctl.Canceled() {
		return errCanceled
	}
	if err := s.ctx.Err(); err != nil {
		return faultf(err, "", "the program was asked to end while the job was being sent")
	}
	if s.trouble != nil {
		return s.trouble
	}
	if s.ending {
		return s.ctl.sheetIs()
	}
	return nil
}

// wait listens for a short time, and looks whether the device still works.
func (s *session) wait(until time.Time) error {
	limit := time.Now().Add(waitSlice)
	if until.IsZero() || until.After(limit) {
		until = limit
	}
	if err := s.listen(until); err != nil {
		return err
	}
	if err := s.look(); err != nil {
		return err
	}
	return s.patience()
}

// patience asks a device that takes nothing for its state, and ends the sending after the stall time.
func (s *session) patience() error {
	if s.halting {
		return nil
	}
	stall := flow.Seconds(s.prof.Port.Stall)
	quiet := time.Since(s.moved)
	if every := s.protocol.probeEvery(stall); quiet >= every && time.Since(s.probed) >= every {
		s.probed = time.Now()
		if err := s.protocol.probe(); err != nil {
			return err
		}
		quiet = time.Since(s.moved)
	}
	if quiet > stall {
		return faultf(ErrStall, s.lastWords(), "the device has taken nothing for %.0f s; it may be switched off, paused or jammed, or its flow habit is not %s", stall.Seconds(), s.prof.Port.Flow)
	}
	return nil
}

// lastWords are the device's latest line.
func (s *session) lastWords() string { return printable(s.words) }

// say reports progress.
func (s *session) say() {
	if s.opt.Progress != nil {
		s.opt.Progress(s.track.progress(s))
	}
}

// remark reports what a person should know of this sending while it goes on; "" withdraws the last remark.
func (s *session) remark(text string) {
	if s.noted != text {
		s.noted = text
		s.say()
	}
}

// waitFor reports what is waited for; "" when the wait is over.
func (s *session) waitFor(text string, person bool) { s.waits(text, person, false) }

// heldBy reports that the device, or a person at its panel, holds the job.
func (s *session) heldBy(text string) { s.waits(text, false, true) }

func (s *session) waits(text string, person, held bool) {
	if s.waiting != text {
		s.waiting, s.person, s.held = text, person, held
		s.say()
	}
}
