package talk

import (
	"errors"
	"fmt"
	"time"

	"tracewheel/devices"
	"tracewheel/devices/flow"
)

// askAfter is how long a device may be silent at the end before a person is asked. It may still be drawing: a later answer
// still counts.
const askAfter = 10 * time.Second

// untilDrawn waits until all that was sent is drawn, as the device tells, or as a person does who looks at the sheet.
func (s *session) untilDrawn(what string) error {
	s.ctl.forgetSheet()
	s.saidWhole, s.drained, s.drawing = false, false, true
	defer func() { s.drawing = false }()
	s.waitFor("the device to take the last of what is sent", false)
	err := s.drain()
	s.drained = err == nil
	if err == nil && !s.opt.Unconfirmed && !s.prof.Port.Silent {
		s.waitFor(what, false)
		if err = s.protocol.confirm(s.confirmLimit()); err == nil {
			s.track.allDone()
		}
	}
	if errors.Is(err, errWhole) {
		s.track.allDone()
		s.saidWhole, err = true, nil
	}
	s.askPerson(0)
	s.waitFor("", false)
	return err
}

// askPerson asks a person how the sheet is after the device has been silent for a while; when the device is heard again,
// the question is withdrawn.
func (s *session) askPerson(silent time.Duration) {
	switch {
	case silent < askAfter && s.ending:
		s.ending = false
		s.remark("")
	case silent >= askAfter && !s.ending:
		s.ctl.forgetSheet()
		s.ending = true
		does, _ := s.does()
		s.remark(fmt.Sprintf("everything is sent, and the device has not said for %.0f s that it still works or is done; it may still %s. Once it stands still, look whether all is there",
			askAfter.Seconds(), does))
	}
}

// finish waits until all is drawn, as far as the device tells.
func (s *session) finish() error {
	s.track.block = len(s.prog.Blocks) - 1
	does, _ := s.does()
	return s.untilDrawn("the device to " + does + " what it has and to say so")
}

func (s *session) confirmLimit() time.Duration {
	if s.opt.ConfirmLimit > 0 {
		return s.opt.ConfirmLimit
	}
	return flow.Seconds(s.prof.Port.Stall + 2*s.prog.Seconds)
}

// drain waits until the system has sent all bytes and every line has its answer.
func (s *session) drain() error {
	for {
		s.askPerson(time.Since(s.moved))
		queued, known := s.line.Queued()
		untaken, counted := s.flow.Untaken()
		if _, lines := s.flow.(*flow.LineAck); !lines {
			counted = false
		}
		if (!known || queued == 0) && (!counted || untaken == 0) {
			break
		}
		s.track.progressed(s)
		if err := s.holdKnife(); err != nil {
			return err
		}
		if err := s.wait(time.Now().Add(20 * time.Millisecond)); err != nil {
			return err
		}
	}
	// The few bytes in the transmitter itself, which no system counts.
	return s.sleep(flow.Seconds(16 / s.meter.Rate))
}

// outcome ends a sending: it leaves the tool up if it can, and says what is known.
func (s *session) outcome(err error) Outcome {
	s.track.progressed(s)
	o := Outcome{State: Done, Tool: ToolUnknown, SureStroke: -1}
	_, done := s.does()
	var f *Fault
	switch {
	case err == nil:
		if s.track.confirmed {
			o.Tool = ToolUp
		}
		if s.saidWhole {
			o.Tool, o.Reason = ToolUnknown, "a person says that it is whole; the device had not said that all was "+done
		}
	case errors.Is(err, errCanceled):
		o.State, o.Reason = Canceled, "canceled by a person"
	case errors.Is(err, errSpoilt):
		o.State, o.Reason = Canceled, "a person says that it is spoilt; the device had not said whether all was "+done
	case errors.As(err, &f):
		o.State, o.Reason, o.Words, o.Err = Stopped, f.Reason, f.Words, f
	default:
		o.State, o.Reason, o.Err = Stopped, err.Error(), err
	}
	dropped := false
	// Before the first byte nothing has moved, and the device may be idle or off, so nothing is sent to it.
	if err != nil && s.track.written > 0 && !errors.Is(err, devices.ErrGone) {
		s.halting, s.over = true, true
		if f, asks := s.flow.(*flow.BufferQuery); asks && f.Awaited() {
			s.stray++
		}
		s.flow = flow.Free{}
		s.waitFor("the device to confirm that it has stopped and its tool is up", false)
		n, known := s.line.Queued()
		dropped = known && n > 0 && !s.drained // halt drops them; after drain only a question is left
		o.Tool, o.Held = s.protocol.halt(err)
		if s.track.place != nil { // where the blade was lifted at the pause
			o.Held = s.track.place
		}
		if o.Tool == ToolUnknown && (o.State == Canceled || s.ctx.Err() != nil) {
			o.Reason += "; the device did not confirm that its tool is up: look at it"
		} else if o.Tool == ToolUp && o.State == Stopped && s.ctx.Err() != nil {
			o.Reason += "; its tool is up"
		}
	}
	t := &s.track
	o.Written, o.Total, o.Sent, o.Sure = t.written, t.total, t.sent, t.sure
	if dropped && o.Written == o.Total {
		o.Written-- // how much was sent is not known, but not all
	}
	switch {
	case s.inDoubt(err):
		o.Sure = Mark{Block: -1}
	case err != nil && o.Tool == ToolUnknown:
		o.Sure = t.surely(s.prof.Port.Silent && !errors.Is(err, devices.ErrGone) && !errors.Is(err, ErrStall))
	}
	o.SureStroke, o.Reset = t.strokeAt(o.Sure), s.inDoubt(err)
	if t.counted {
		o.Acknowledged = max(0, t.taken)
	}
	return o
}

// inDoubt tells whether all that was called sure is in doubt.
func (s *session) inDoubt(err error) bool {
	return s.wasReset || errors.Is(err, ErrReset) || errors.Is(err, errLost)
}
