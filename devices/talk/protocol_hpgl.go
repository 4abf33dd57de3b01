package talk

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"tracewheel/devices"
	"tracewheel/devices/flow"
)

// Bits of the answers to the questions of flow/query.go, and how long an answer may take.
const (
	stateEmpty    = 8
	statePaused   = 16
	stateLever    = 32
	statusDown    = 1
	statusInitial = 8
	statusError   = 32
	answerLimit   = 2 * time.Second
)

// plotter is the protocol of HP-GL and HP-GL/2.
type plotter struct{ *session }

// question is what a device was asked. Its answers are numbers, each on a line of its own.
type question struct{ answers []int }

// question asks and waits for a number. The bool is false where no answer came in time.
func (p plotter) question(text string, limit time.Duration) (int, bool, error) {
	q := &question{}
	p.pending = q
	defer func() { p.pending = nil }()
	end := time.Now().Add(limit)
	if err := p.put([]byte(text), limit); err != nil {
		if errors.Is(err, devices.ErrWait) {
			return 0, false, nil
		}
		return 0, false, err
	}
	if err := p.answers(q, 1, end); err != nil || len(q.answers) == 0 {
		p.stray++
		return 0, false, err
	}
	return q.answers[0], true, nil
}

// answers listens until n answers have come or the time is over.
func (p plotter) answers(q *question, n int, end time.Time) error {
	for len(q.answers) < n && time.Now().Before(end) {
		if err := p.listen(end); err != nil {
			return err
		}
		if err := p.look(); err != nil {
			return err
		}
	}
	return nil
}

func (p plotter) heard(e flow.Event, answered bool) {
	if e.Kind != flow.EventLine || answered {
		return
	}
	n, ok := flow.Number(e.Text)
	if !ok || p.pending == nil { // the code that asked puts the answer into words
		p.words = e.Text
		return
	}
	p.pending.answers = append(p.pending.answers, n)
	p.prove()
}

// begin finds out whether a device listens before a sheet is begun, and waits while it says that it is paused or has no
// paper.
func (p plotter) begin() error {
	if err := p.sleep(20 * time.Millisecond); err != nil { // answers to an earlier job
		return err
	}
	p.scanner.Forget()
	if p.prof.Port.Configure {
		if err := p.oldError(); err != nil {
			return err
		}
		if err := p.configure(); err != nil {
			return err
		}
	}
	if !p.prof.Plot.Escapes {
		if err := p.extra([]byte(endUnfinished)); err != nil {
			return p.stallError(err)
		}
	}
	if p.prof.Port.Silent {
		return nil
	}
	n, err := p.firstAnswer()
	if err != nil {
		return err
	}
	for n&(statePaused|stateLever) != 0 {
		p.heldBy("the device: " + pausedText(n))
		if err := p.sleep(time.Second); err != nil {
			return err
		}
		if again, ok, err := p.question(flow.AskState, answerLimit); err != nil {
			return err
		} else if ok {
			n = again
		}
	}
	p.waitFor("", false)
	if p.escapes && !p.prof.Port.Configure {
		return p.oldError()
	}
	return nil
}

// oldError asks once for an I/O error from before this job. The device forgets it by answering, so that this job is not
// blamed for it.
func (p plotter) oldError() error {
	n, ok, err := p.question(flow.AskLineError, answerLimit)
	if err == nil && ok && n != 0 {
		p.remark(fmt.Sprintf("before this job the device had line error %d: %s. That was not this job, which begins clean; look at what was drawn before it", n, meaning(lineErrors, n)))
	}
	return err
}

// firstAnswer asks by device control where the device knows it, otherwise by an instruction.
func (p plotter) firstAnswer() (state int, err error) {
	if p.knowsControl() {
		state, p.escapes, err = p.question(flow.AskState, answerLimit)
		if err != nil || p.escapes {
			return state, err
		}
	}
	p.waitFor("the device to answer; it may still draw an earlier job", false)
	_, ok, err := p.question(flow.AskStatus, flow.Seconds(p.prof.Port.Stall))
	p.waitFor("", false)
	if err == nil && !ok {
		err = faultf(ErrStall, p.lastWords(), "nothing answers on port %s: is the device on, and are baud, parity and cable right? For a device that never answers, set silent: true", p.line.Name())
	}
	return 0, err
}

// knowsControl tells whether device control may be sent; a device that does not know it would misread it.
func (p plotter) knowsControl() bool {
	return p.prof.Plot.SerialControl || p.prof.Port.Configure || p.prof.Port.Flow == devices.FlowQuery
}

func pausedText(n int) string {
	if n&stateLever != 0 {
		return "no paper is held"
	}
	return "it is paused at its own panel"
}

// configure sets the flow habit in the device. The answer to the I/O error question proves that it was understood; an
// acknowledgement would not, because devices that are not set up always give it.
func (p plotter) configure() error {
	var set string
	switch p.prof.Port.Flow {
	case devices.FlowXonXoff:
		level := min(254, max(10, p.prof.Port.Margin+17))
		set = fmt.Sprintf("\x1b.@:\x1b.I%d;;17:\x1b.N;19:", level)
	case devices.FlowEnqAck:
		set = fmt.Sprintf("\x1b.@:\x1b.H:\x1b.I%d;5;6:", p.prof.Port.Block)
	case devices.FlowRTSCTS:
		set = "\x1b.@:"
	default:
		return nil
	}
	if err := p.put([]byte(flow.AskDropped+set), flow.Seconds(p.prof.Port.Stall)); err != nil {
		return p.stallError(err)
	}
	n, ok, err := p.question(flow.AskLineError, answerLimit)
	switch {
	case err != nil:
		return err
	case ok && n != 0:
		return faultf(ErrRefused, strconv.Itoa(n), "the device did not take its flow habit %s: %s (ESC.E %d)", p.prof.Port.Flow, meaning(lineErrors, n), n)
	case !ok && !p.prof.Port.Silent:
		return faultf(ErrStall, p.lastWords(), "the device does not answer while its flow habit is set: is it on? If it knows no device control, set configure: false")
	}
	return nil
}

// probeEvery is short enough for a lost DC1 to cost little, and long enough not to disturb.
func (p plotter) probeEvery(stall time.Duration) time.Duration {
	return min(max(stall/4, 500*time.Millisecond), 10*time.Second)
}

// probe tells a paused device from a dead one, and goes on where the DC1 was lost.
func (p plotter) probe() error {
	if !p.escapes || !p.canReach() {
		return nil
	}
	if q, ok := p.flow.(*flow.BufferQuery); ok && !q.Resting() {
		return nil // the habit's own question is unanswered
	}
	defer p.reach()()
	n, ok, err := p.question(flow.AskState, answerLimit)
	if err != nil || !ok {
		return err
	}
	switch {
	case n&(statePaused|stateLever) != 0:
		p.moved = time.Now()
		p.heldBy("the device: " + pausedText(n))
	default:
		return p.reviveByRoom()
	}
	return nil
}

// reviveByRoom goes on where the device has room although its DC1 was lost. A quarter is left free, since some devices
// overrun when filled to the figure that they gave.
func (p plotter) reviveByRoom() error {
	n, ok, err := p.question(flow.AskRoom, answerLimit)
	if err != nil || !ok || n <= p.prof.Port.Margin {
		return err
	}
	if f, is := p.flow.(*flow.XonXoff); is {
		if f.Stopped {
			p.askInstead()
		}
		return nil
	}
	if p.flow.Revive(time.Now(), n*3/4) {
		p.slowly()
	}
	return nil
}

// askInstead asks for room for the rest of the job, after a DC1 was lost or is long in coming. To go on obeying DC3 and
// DC1 would hang: the device sends DC1 again only after another DC3, and DC3 only when its buffer is filled to a level
// that is not known here. To ignore them would lose bytes: a device whose DC1 is only late believes that the sender is
// stopped, and would not send DC3.
func (p plotter) askInstead() {
	p.flow = flow.NewBufferQuery(p.prof.Port, p.prog.Language)
	p.remark("the device has room, but its signal to go on (DC1) has not come: it was lost on the line, or the device draws very slowly. For the rest of this job it is asked for its free room instead, which is about as fast. If this happens often, look at cable and adapter, or set flow: query in the workroom file")
}

// slowly remarks, from the second time, that a sending went on only because the device was asked.
func (p plotter) slowly() {
	if p.revived++; p.revived > 1 {
		p.remark(fmt.Sprintf("this job goes slowly: more than once the device's signal to go on was lost (flow: %s), and each time costs up to %.0f s; look at cable and adapter",
			p.prof.Port.Flow, p.probeEvery(flow.Seconds(p.prof.Port.Stall)).Seconds()))
	}
}

func (p plotter) lift() error {
	return p.extra([]byte("PU;"))
}

func (p plotter) holds() bool           { return false }
func (p plotter) hold() (*Place, error) { return nil, nil }

// defaultAbort drops half an instruction and the buffer, closes a half-sent label, lifts the pen and puts it away.
const defaultAbort = "\x1b.J\x1b.K\x03;PU;SP0;"

// endUnfinished ends what a killed sender may have left half sent: a label, then an encoded polyline or any other
// instruction; otherwise both bytes end nothing and are harmless (HP 7470A manual, 1-6). A device in another language than
// HP-GL would print them, so they are not sent to one that must be switched.
const endUnfinished = "\x03;"

// halt drops what has not been sent, sends the abort past the flow control, and asks where the pen is.
func (p plotter) halt(cause error) (Tool, *Place) {
	_ = p.line.Discard() // what cannot be dropped is limited by the margin
	p.override(true)
	abort := p.prog.Abort
	if len(abort) == 0 {
		abort = []byte(defaultAbort)
	}
	if err := p.put(abort, 400*time.Millisecond); err != nil || p.prof.Port.Silent {
		return ToolUnknown, nil
	}
	n, ok, err := p.penStatus(p.liftLimit())
	if err == nil && !ok { // the answers may have been to earlier questions
		n, ok, err = p.penStatus(answerLimit)
	}
	p.wasReset = p.watched && ok && n&statusInitial != 0
	if err != nil || !ok || n&statusDown != 0 {
		return ToolUnknown, nil
	}
	return ToolUp, nil
}

// penStatus asks for the status. Where earlier answers may still come, as many more are awaited: the last is then surely
// to this question, and a number of free bytes is not read as "the pen is up". The mark of a reset is in the first
// answer only, so it is taken from all that are surely to this question.
func (p plotter) penStatus(limit time.Duration) (int, bool, error) {
	q := &question{}
	p.pending = q
	defer func() { p.pending = nil }()
	end, n := time.Now().Add(limit), 1+p.stray
	err := p.put([]byte(strings.Repeat(flow.AskStatus, n)), limit)
	if err == nil {
		err = p.answers(q, n, end)
	}
	if err == nil && len(q.answers) == n && n > 1 { // the others may be close behind
		err = p.answers(q, n+p.stray, time.Now().Add(300*time.Millisecond))
	}
	if errors.Is(err, devices.ErrWait) {
		err = nil
	}
	if err != nil || len(q.answers) < n {
		p.stray += n - len(q.answers)
		return 0, false, err
	}
	ours := q.answers[len(q.answers)-n:]
	last := ours[n-1]
	for _, a := range ours {
		last |= a & statusInitial
	}
	return last, true, nil
}

func (s *session) liftLimit() time.Duration {
	if s.opt.LiftLimit > 0 {
		return s.opt.LiftLimit
	}
	return 10 * time.Second
}
