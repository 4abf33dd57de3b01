package talk

import (
	"context"
	"errors"
	"strings"
	"time"

	"tracewheel/devices"
	"tracewheel/devices/flow"
	"tracewheel/devices/port"
)

// Ask asks a device for its state, within a few seconds. It must not be called while a job is being sent down the same
// line. A plotter that is idle and is asked for its error forgets that error.
func Ask(ctx context.Context, line devices.Line, prof devices.Profile) Status {
	if silent(prof) {
		return Status{Unknown, "the port is there; this device answers no questions"}
	}
	s := newSession(ctx, line, prof, Options{})
	stop := s.start()
	defer stop()
	st, err := s.protocol.status()
	switch {
	case errors.Is(err, devices.ErrGone):
		return Status{Absent, "the port has gone: look at the cable"}
	case errors.Is(err, devices.ErrWait):
		return Status{Absent, "nothing answers: is it on and not paused at its panel, and are baud and cable right?"}
	case err != nil:
		return Status{Unknown, err.Error()}
	}
	return st
}

// Look opens the port of a profile, asks as Ask does, and closes the port again.
func Look(ctx context.Context, prof devices.Profile) Status {
	line, err := port.Open(prof.Port)
	switch {
	case errors.Is(err, port.ErrInUse):
		return Status{Busy, "its port is held by a job or by another program"}
	case errors.Is(err, devices.ErrGone) && prof.Port.Identity == "":
		return Status{Absent, "the port is not there: see that the cable is in and the device switched on"}
	case errors.Is(err, devices.ErrGone):
		return Status{Absent, err.Error()}
	case err != nil:
		return Status{Failed, err.Error()}
	}
	defer line.Close()
	return Ask(ctx, line, prof)
}

// status asks a plotter by device control first, which it answers also while it draws.
func (p plotter) status() (Status, error) {
	if err := p.sleep(20 * time.Millisecond); err != nil {
		return Status{}, err
	}
	p.scanner.Forget()
	if p.knowsControl() {
		n, ok, err := p.question(flow.AskState, answerLimit)
		if err != nil {
			return Status{}, err
		}
		switch {
		case ok && n&(statePaused|stateLever) != 0:
			return Status{Paused, strings.TrimPrefix(pausedText(n), "the device: ")}, nil
		case ok && n&stateEmpty == 0:
			return Status{Busy, "it still draws what it holds"}, nil
		case ok:
			if st, bad, err := p.lineTrouble(); bad || err != nil {
				return st, err
			}
		}
	}
	return p.drawStatus()
}

func (p plotter) lineTrouble() (Status, bool, error) {
	n, ok, err := p.question(flow.AskLineError, answerLimit)
	if err != nil || !ok || n == 0 {
		return Status{}, false, err
	}
	return Status{Failed, codeText("line error", n, meaning(lineErrors, n))}, true, nil
}

// drawStatus asks by an instruction, which a plotter that still draws does not answer in time.
func (p plotter) drawStatus() (Status, error) {
	n, ok, err := p.question(flow.AskStatus, answerLimit)
	switch {
	case err != nil:
		return Status{}, err
	case !ok:
		return Status{}, devices.ErrWait
	case n&statusError == 0:
		return Status{Idle, "ready"}, nil
	}
	code, ok, err := p.question(flow.AskErrors, answerLimit)
	if err != nil || !ok {
		return Status{Failed, "it reports an error, and does not say which"}, err
	}
	return Status{Failed, codeText("error", code, meaning(instructionErrors, code)) + "; it forgets that once asked, so look at what it drew last"}, nil
}

// status asks a controller for a status report.
func (c controller) status() (Status, error) {
	c.halting = true
	if wait := c.prof.Port.StartWait; wait > 0 { // a board may start anew when its port is opened
		err := c.until(func() bool { return c.says.resets > 0 }, flow.Seconds(wait))
		if err != nil && !errors.Is(err, devices.ErrWait) {
			return Status{}, err
		}
	}
	if err := c.report(answerLimit); err != nil {
		return Status{}, err
	}
	r := c.says.status
	switch {
	case r.held():
		return Status{Paused, "held at the machine (it says " + r.state + "): let it go on there"}, nil
	case r.moving():
		return Status{Busy, "it says " + r.state}, nil
	case r.base() == "Alarm":
		return Status{Failed, c.alarmText()}, nil
	}
	return Status{Idle, "ready"}, nil
}

func (c controller) alarmText() string {
	text := "it is locked after an alarm: home or unlock it at the machine"
	if code := codeOf(c.says.alarm, c.dia.Alarm); code >= 0 {
		text += " (" + printable(c.says.alarm) + ": " + meaning(alarms, code) + ")"
	}
	return text
}
