package talk

import (
	"bytes"
	"errors"
	"slices"
	"strconv"
	"strings"
	"time"

	"tracewheel/devices"
	"tracewheel/devices/flow"
)

// confirm asks for the errors after all else: the answer comes when all is drawn. During the wait a device that answers
// device control shows that it works.
func (p plotter) confirm(limit time.Duration) error {
	// Where an earlier answer may still come, one more answer is awaited: the last of them is then surely to this
	// question.
	if err := p.extra([]byte(strings.Repeat(flow.AskErrors, 1+p.stray))); err != nil {
		return err
	}
	q := &question{}
	p.pending = q
	defer func() { p.pending = nil }()
	code, err := p.awaitErrors(q, limit)
	if err != nil {
		return err
	}
	p.flow.Revive(time.Now(), p.prof.Port.Buffer/2) // all is drawn, so there is room
	if err := p.stillTheSame(); err != nil {        // after a reset its errors would be those of the reset
		return err
	}
	if code != 0 {
		return faultf(ErrRefused, strconv.Itoa(code), "the device reports error %d: %s; look at the sheet before it is used", code, meaning(instructionErrors, code))
	}
	return p.lineErrors()
}

// settled is called after the prelude, which initialises the device. Asking for the status clears its mark of that; if the
// mark is set again at the end, the device was reset in between. A reset during the prelude cannot be told from the
// prelude.
func (p plotter) settled() error {
	if p.prof.Port.Silent || p.opt.Unconfirmed || p.initialisesLater() {
		return nil
	}
	if err := p.extra([]byte(flow.AskStatus)); err != nil {
		return err
	}
	q := &question{}
	p.pending = q
	defer func() { p.pending = nil }()
	limit := min(30*time.Second, flow.Seconds(p.prof.Port.Stall)) // some devices do not know this question
	if err := p.answers(q, 1, time.Now().Add(limit)); err != nil {
		return err
	}
	if p.watched = len(q.answers) > 0; !p.watched {
		p.stray++
	}
	p.moved = time.Now()
	return nil
}

func (p plotter) initialisesLater() bool {
	return slices.ContainsFunc(p.prog.Blocks[p.prog.Prelude:], func(b devices.Block) bool {
		return bytes.Contains(b.Bytes, []byte("IN;")) || bytes.Contains(b.Setup, []byte("IN;"))
	})
}

func (p plotter) stillTheSame() error {
	if !p.watched {
		return nil
	}
	n, ok, err := p.question(flow.AskStatus, answerLimit)
	if err != nil || !ok || n&statusInitial == 0 {
		return err
	}
	return faultf(ErrReset, strconv.Itoa(n), "the device was switched off or reset in the middle of the job; the sheet is not whole")
}

func (p plotter) awaitErrors(q *question, limit time.Duration) (int, error) {
	quiet, asked, spoke := time.Now(), time.Now(), time.Now()
	var empty time.Time                                             // since when each answer has said that its buffer is empty
	silence := max(flow.Seconds(p.prof.Port.Stall), 10*time.Second) // of a device that answers also while it draws
	for time.Since(quiet) <= limit {
		p.askPerson(time.Since(quiet))
		if err := p.answers(q, 1+p.stray, time.Now().Add(time.Second)); err != nil {
			return 0, err
		}
		if len(q.answers) > p.stray {
			p.stray = 0
			return slices.Max(q.answers), nil
		}
		if !p.escapes || p.stray > 0 || !p.canReach() || time.Since(asked) < 5*time.Second {
			continue
		}
		asked = time.Now()
		sign, err := p.lifeSign(q)
		if sign.done || err != nil {
			return sign.code, err
		}
		if sign.spoke {
			spoke = time.Now()
		}
		if sign.alive {
			quiet, empty = time.Now(), time.Time{}
		} else if sign.spoke && empty.IsZero() {
			empty = time.Now()
		}
		if !empty.IsZero() && time.Since(empty) > p.lastStroke() {
			return 0, faultf(ErrUnconfirmed, p.lastWords(), "everything was sent and the device's buffer is empty, but its answer whether there were errors was lost; look at the sheet")
		}
		if time.Since(spoke) > silence {
			return 0, faultf(ErrStall, p.lastWords(), "everything was sent, but the device answers nothing any more: it was switched off or unplugged, or it hangs; look at the sheet")
		}
	}
	return 0, faultf(ErrUnconfirmed, p.lastWords(), "everything was sent, but the device has not said that it is drawn; look at the sheet. For a device that never answers, set silent: true")
}

// lastStroke is how long a device may still draw after its buffer is empty.
func (p plotter) lastStroke() time.Duration {
	longest := 0.0
	for _, b := range p.prog.Blocks {
		longest = max(longest, b.Seconds)
	}
	return max(flow.Seconds(p.prof.Port.Stall), 10*time.Second) + flow.Seconds(2*longest)
}

// sign is the result of asking for the state while another answer is awaited: that answer's code where done is true,
// whether there was any answer, and whether the device still draws.
type sign struct {
	code               int
	done, spoke, alive bool
}

// lifeSign asks for the state while the answer to q is awaited, and tells the two answers apart.
func (p plotter) lifeSign(q *question) (s sign, err error) {
	defer p.reach()()
	err = p.put([]byte(flow.AskState), answerLimit)
	if errors.Is(err, devices.ErrWait) {
		return s, nil
	}
	if err == nil {
		err = p.answers(q, 1, time.Now().Add(answerLimit))
	}
	if err == nil && len(q.answers) == 1 { // the other may be close behind
		err = p.answers(q, 2, time.Now().Add(300*time.Millisecond))
	}
	if err != nil || len(q.answers) == 0 {
		return s, err
	}
	s.spoke = true
	s.code, s.done = tellApart(q.answers)
	// An empty buffer is no sign of life: the last stroke takes time, but not without limit.
	s.alive = len(q.answers) == 1 && q.answers[0] != stateEmpty
	q.answers = nil
	return s, nil
}

// tellApart finds the error number among one or two answers, the other being a state. A state is 0
// or 8 with bits from 16 up; an error number is 0 to 8. A lone 0 or 8 is the state, which is
// answered at once. Of 0 and 8 together, the 8 is the state of the buffer that has just run empty.
func tellApart(a []int) (code int, done bool) {
	for _, n := range a {
		if n > 0 && n < stateEmpty {
			return n, true
		}
	}
	if len(a) < 2 {
		return 0, false
	}
	switch {
	case a[0] >= statePaused:
		return a[1], true
	case a[1] >= statePaused:
		return a[0], true
	}
	return min(a[0], a[1]), true
}

// lineErrors asks whether bytes were damaged or lost on the line.
func (p plotter) lineErrors() error {
	if !p.escapes {
		return nil
	}
	n, ok, err := p.question(flow.AskLineError, answerLimit)
	if err != nil || !ok || n == 0 {
		return err
	}
	return faultf(ErrRefused, strconv.Itoa(n), "the device reports line error %d: %s", n, meaning(lineErrors, n))
}

// watch asks for damage now and then, so that a spoilt sheet is not drawn to its end. The answer also shows that the
// device works; nothing else does where the system keeps the flow control.
func (p plotter) watch() error {
	if _, asks := p.flow.(*flow.BufferQuery); asks || !p.escapes || !p.canReach() || time.Since(p.lookedAt) < 10*time.Second {
		return nil
	}
	p.lookedAt = time.Now()
	return p.lineErrors()
}
