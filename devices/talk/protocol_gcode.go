package talk

import (
	"errors"
	"time"

	"tracewheel/devices"
	"tracewheel/devices/flow"
)

// controller is the protocol of machines that take RS-274 lines, whether they acknowledge them or not.
type controller struct{ *session }

// controllerSays is what a controller has said so far.
type controllerSays struct {
	status  report
	reports int
	resets  int
	expects bool   // a reset was asked for, or follows from opening the port
	oks     int    // answers to lines for which the habit did not wait
	refused string // the last such refusal
	alarm   string
}

// acks tells whether the controller answers each line.
func (c controller) acks() bool {
	f := c.prof.Port.Flow
	return f == devices.FlowLineAck || f == devices.FlowLineWin
}

func (c controller) heard(e flow.Event, answered bool) {
	s := &c.says
	switch e.Kind {
	case flow.EventOk:
		if !answered {
			c.extraOk(e)
		}
	case flow.EventError:
		s.refused = e.Text
		c.refuse(e)
	case flow.EventAlarm:
		s.alarm = e.Text
		code := codeOf(e.Text, c.dia.Alarm)
		c.complain(faultf(errAlarm, printable(e.Text), "the machine is locked, %s: %s", printable(e.Text), meaning(alarms, code)))
	case flow.EventReset:
		s.resets++
		c.wasReset = c.wasReset || !s.expects
		c.complain(faultf(ErrReset, printable(e.Text), "the machine was reset in the middle of the job and its position is in doubt; look at tool and cloth, home it, and begin again from a place that you know"))
	case flow.EventStatus:
		c.hearStatus(e)
	case flow.EventNote, flow.EventLine:
		c.words = e.Text
	}
}

var errAlarm = errors.New("the machine is locked")

func (c controller) extraOk(e flow.Event) {
	c.says.oks++
	if _, counts := c.flow.(*flow.LineAck); counts {
		c.complain(faultf(ErrRefused, printable(e.Text), "the machine acknowledged more lines than it was sent: answers are doubled or the line is disturbed, so what it has taken is in doubt"))
	}
}

func (c controller) refuse(e flow.Event) {
	code := codeOf(e.Text, c.dia.Error)
	c.complain(faultf(ErrRefused, printable(e.Text), "the machine refused a line, %s: %s", printable(e.Text), meaning(refusals, code)))
}

// complain keeps the first fault; those that follow mostly come from it.
func (c controller) complain(f *Fault) {
	if c.trouble == nil && !c.halting {
		c.trouble = f
	}
}

func (c controller) hearStatus(e flow.Event) {
	r, ok := parseReport(e.Text)
	if !ok {
		return
	}
	s := &c.says
	if r.place != nil && r.place.Machine && s.status.offset != nil && r.offset == nil {
		r.offset = s.status.offset // the offset is reported only now and then
	}
	s.status, s.reports = r, s.reports+1
	switch {
	case r.held():
		c.moved = time.Now()
		if !c.halting && !c.person {
			c.heldBy("the machine: it says " + r.state)
		}
	case r.moving():
		c.moved = time.Now()
		if c.held {
			c.waitFor("", false)
		}
	case r.base() == "Alarm":
		c.complain(faultf(errAlarm, printable(e.Text), "the machine is locked after an alarm: see what hit what, then home or unlock it at the machine"))
	}
}

// begin waits for the greeting of a board that starts anew when its port is opened, or makes sure that the device answers.
func (c controller) begin() error {
	c.halting, c.says.expects = true, true // whatever comes now is not about this job
	defer func() { c.halting, c.says.expects = false, false }()
	if wait := c.prof.Port.StartWait; wait > 0 {
		if err := c.until(func() bool { return c.says.resets > 0 }, flow.Seconds(wait)); err != nil && !errors.Is(err, devices.ErrWait) {
			return err
		}
	}
	if err := c.quiet(50 * time.Millisecond); err != nil {
		return err
	}
	c.scanner.Forget()
	if c.prof.Port.Silent || c.dia.Status == 0 || !c.acks() {
		return nil
	}
	err := c.report(min(5*time.Second, flow.Seconds(c.prof.Port.Stall)))
	switch {
	case errors.Is(err, devices.ErrWait):
		return faultf(ErrStall, c.lastWords(), "nothing answers on port %s: is the machine on, and are baud and cable right?", c.line.Name())
	case err != nil:
		return err
	case c.says.status.base() == "Alarm":
		return faultf(errAlarm, c.says.status.state, "the machine is locked after an alarm: home or unlock it at the machine first")
	}
	return c.countsRight()
}

// countsRight sends one empty line before lines are counted: it must have one answer. Where answers are doubled, as by a
// converter that makes two line ends of one, the count would overrun the buffer unnoticed.
func (c controller) countsRight() error {
	if c.prof.Port.Flow != devices.FlowLineWin || c.says.status.held() {
		return nil
	}
	c.says.oks = 0
	if err := c.put([]byte("\n"), time.Second); err != nil {
		return c.stallError(err)
	}
	err := c.until(func() bool { return c.says.oks > 0 }, min(5*time.Second, flow.Seconds(c.prof.Port.Stall)))
	if err == nil {
		err = c.quiet(100 * time.Millisecond)
	}
	if (err == nil || errors.Is(err, devices.ErrWait)) && c.says.oks != 1 {
		return faultf(ErrRefused, c.lastWords(), "an empty line earned %d answers, not 1, so lines cannot be counted on port %s; use flow line-ack", c.says.oks, c.line.Name())
	}
	return err
}

// quiet listens for a while; a wish ends it.
func (c controller) quiet(d time.Duration) error {
	err := c.until(func() bool { return false }, d)
	if errors.Is(err, devices.ErrWait) {
		return nil
	}
	return err
}

// until listens until come is true, and gives devices.ErrWait after limit. A cancel ends it unless the sending is over.
func (c controller) until(come func() bool, limit time.Duration) error {
	end := time.Now().Add(limit)
	for !come() {
		if !time.Now().Before(end) {
			return devices.ErrWait
		}
		if err := c.listen(minTime(end, time.Now().Add(waitSlice))); err != nil {
			return err
		}
		if !c.over && c.ctl.Canceled() {
			return errCanceled
		}
		if !c.over && c.ctx.Err() != nil {
			return faultf(c.ctx.Err(), "", "the program was asked to end")
		}
	}
	return nil
}

func minTime(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}

// report asks for a new status, several times because one may be lost.
func (c controller) report(limit time.Duration) error {
	end := time.Now().Add(limit)
	for have := c.says.reports; ; {
		if err := c.realTime(c.dia.Status); err != nil {
			return err
		}
		err := c.until(func() bool { return c.says.reports > have }, min(500*time.Millisecond, time.Until(end)))
		if !errors.Is(err, devices.ErrWait) || !time.Now().Before(end) {
			return err
		}
	}
}

// realTime sends one byte that acts at once.
func (c controller) realTime(b byte) error {
	return c.put([]byte{b}, 400*time.Millisecond)
}

func (c controller) probeEvery(time.Duration) time.Duration { return c.dia.StatusEvery }

// probe asks for the status: a machine that moves may not answer a line for minutes.
func (c controller) probe() error {
	if c.dia.Status == 0 || c.prof.Port.Silent {
		return nil
	}
	err := c.realTime(c.dia.Status)
	if errors.Is(err, devices.ErrWait) {
		return nil
	}
	return err
}

// confirm asks until the machine has said twice that it is idle; once may be just before a move begins.
func (c controller) confirm(limit time.Duration) error {
	if c.dia.Status == 0 {
		return nil
	}
	quiet, idle, have := time.Now(), 0, c.says.reports
	for idle < 2 {
		c.askPerson(time.Since(quiet))
		if err := c.holdKnife(); err != nil {
			return err
		}
		if err := c.realTime(c.dia.Status); err != nil {
			return c.stallError(err)
		}
		if err := c.sleep(200 * time.Millisecond); err != nil {
			return err
		}
		if c.says.reports > have {
			have, quiet = c.says.reports, time.Now()
			if b := c.says.status.base(); b == "Idle" || b == "Check" {
				idle++
			} else {
				idle = 0
			}
		}
		if time.Since(quiet) > limit {
			return faultf(ErrUnconfirmed, c.lastWords(), "everything was sent, but the machine has not said that it stands idle; look at it. For a machine that never answers, set silent: true")
		}
	}
	return c.lost()
}

func (c controller) watch() error { return nil } // the answer to each line tells

func (c controller) settled() error { return nil } // a reset shows by its greeting

// errLost is the cause where a controller that answers its lines has not answered all of them: some did not reach it
// whole.
var errLost = errors.New("lines were lost")

// lost tells whether the controller answered fewer lines than it was sent. A controller that never answers gives no
// evidence; where the habit itself waits for the answers, it has counted them.
func (c controller) lost() error {
	if c.acks() || c.says.oks == 0 || c.says.oks >= c.lines {
		return nil
	}
	return faultf(errLost, "", "the machine answered %d of %d lines, so lines were lost on the way and what it cut is in doubt: flow: %s in the workroom file does not hold them back for it; a machine that answers each line wants line-ack",
		c.says.oks, c.lines, c.prof.Port.Flow)
}
