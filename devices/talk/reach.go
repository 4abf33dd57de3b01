package talk

import (
	"errors"
	"time"

	"tracewheel/devices"
	"tracewheel/devices/flow"
)

// put writes bytes that are not the program's: questions, lifts, aborts. It ignores the habit's stop, and ends within
// limit.
func (s *session) put(p []byte, limit time.Duration) error {
	end := time.Now().Add(limit)
	for len(p) > 0 {
		n, err := s.line.Write(p[:min(len(p), s.meter.Margin)], writeSlice)
		p = p[n:]
		if n == 0 && err != nil && !errors.Is(err, devices.ErrWait) {
			return s.lineFault(err)
		}
		if len(p) == 0 {
			return nil
		}
		if err := s.listen(time.Now()); err != nil {
			return err
		}
		if err := s.look(); err != nil {
			return err
		}
		if time.Now().After(end) {
			return devices.ErrWait
		}
	}
	return nil
}

// override lets bytes pass in spite of the flow control, or ends that, where the system keeps the flow control.
func (s *session) override(on bool) {
	if o, ok := s.line.(devices.Overrider); ok {
		_ = o.Override(on) // a line that cannot do so is gone, which the next write tells
	}
}

// reach lets a question pass to a device that has stopped the sender; the function that it gives ends that. When the
// system's Xon/Xoff is lifted, the system forgets that the device had sent a stop, so from then on the program keeps that
// habit itself. RTS/CTS is a level and is found again as it was. What the system held is sent with the question: it is
// less than the margin, and while the flow line is down nothing new is handed over.
func (s *session) reach() (end func()) {
	switch s.prof.Port.Flow {
	case devices.FlowXonXoff:
		if s.ours {
			break
		}
		s.ours = true
		if f, ok := s.flow.(*flow.XonXoff); ok {
			if _, system := s.line.(devices.Overrider); system {
				f.Stopped = true
			}
		}
		s.override(true)
	case devices.FlowRTSCTS:
		s.override(true)
		return func() { s.override(false) }
	}
	return func() {}
}

// canReach tells whether a question reaches a device that has stopped the sender. Where the system keeps RTS/CTS and
// cannot tell how the flow line stands, each question would push bytes into a full buffer, or wait behind them and be
// answered at a time when no answer is expected.
func (s *session) canReach() bool {
	if s.prof.Port.Flow != devices.FlowRTSCTS {
		return true
	}
	r, ok := s.line.(devices.Readier)
	if !ok {
		return false
	}
	_, known := r.Ready()
	return known
}

// ready tells whether the device's flow line lets bytes pass, as far as the system can tell.
func (s *session) ready() bool {
	if r, ok := s.line.(devices.Readier); ok {
		if on, known := r.Ready(); known {
			return on
		}
	}
	return true
}
