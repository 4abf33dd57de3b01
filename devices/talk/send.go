package talk

import (
	"context"
	"errors"
	"fmt"
	"time"

	"tracewheel/devices"
	"tracewheel/devices/flow"
)

// Send sends a program down a line and returns when all is drawn, or when something ended the sending. Each byte of the
// blocks is sent once and in order. After a stop it never moves a machine again: going on is a new call with Options.From,
// made when a person says so.
//
// The caller keeps the line: Send neither opens nor closes it, and leaves no goroutine behind.
func Send(ctx context.Context, line devices.Line, prog devices.Program, prof devices.Profile, opt Options) Outcome {
	s := newSession(ctx, line, prof, opt)
	s.prog = prog
	s.track = newTrack(prog, opt.From, s.prof)
	f, err := flow.New(s.prof.Port, prog.Language)
	if err != nil {
		return s.outcome(faultf(err, "", "%v", err))
	}
	stop := s.start()
	defer stop()
	defer s.override(false)
	err = s.greet()
	if err == nil {
		s.flow = f
		err = s.run()
	}
	return s.outcome(err)
}

// greet waits for what a controller says after its port is opened, and sets the habit in a device.
func (s *session) greet() error {
	if err := s.look(); err != nil {
		return err
	}
	if err := s.protocol.begin(); err != nil {
		return err
	}
	s.moved = time.Now()
	return nil
}

// run sends the blocks, beginning with the prelude.
func (s *session) run() error {
	i, ok := s.track.first()
	for {
		err := s.oneOrEnd(i, ok)
		var j *jump
		switch {
		case errors.As(err, &j) && j.prog != nil:
			s.prog = *j.prog
			i, ok = s.track.change(s.prog)
		case errors.As(err, &j):
			i, ok = s.track.restart(j)
		case err != nil || !ok:
			return err
		default:
			i, ok = s.track.after(i)
		}
	}
}

// oneOrEnd sends block i and does what follows it, or finishes where none is left.
func (s *session) oneOrEnd(i int, more bool) error {
	if !more {
		return s.finish()
	}
	s.track.block = i
	if i == s.track.from && i > s.prog.Prelude { // after the prelude, before the first block
		if err := s.extra(s.prog.Blocks[i].Setup); err != nil {
			return err
		}
	}
	if err := s.block(s.prog.Blocks[i]); err != nil {
		return err
	}
	if i == s.prog.Prelude-1 {
		if err := s.protocol.settled(); err != nil {
			return err
		}
	}
	if err := s.protocol.watch(); err != nil {
		return err
	}
	return s.between(s.prog.Blocks[i])
}

// block sends one block.
func (s *session) block(b devices.Block) error {
	s.say()
	rest := b.Bytes
	for len(rest) > 0 {
		// Answers are read first: one that is ready may change what may be sent.
		if err := s.listen(time.Now()); err != nil {
			return err
		}
		if err := s.look(); err != nil {
			return err
		}
		if err := s.holdKnife(); err != nil {
			return err
		}
		off := len(b.Bytes) - len(rest)
		n, err := s.portion(rest, off == 0 || flow.WholeInstructions(s.prog.Language, b.Bytes, off) == off)
		if n > 0 {
			s.track.wrote(n)
		}
		if err != nil {
			return err
		}
		rest = rest[n:]
	}
	return nil
}

// portion sends as many bytes of rest as may be sent now, or waits.
func (s *session) portion(rest []byte, fresh bool) (int, error) {
	now := time.Now()
	st := s.flow.Next(now, rest, fresh)
	if len(st.Ask) > 0 {
		if q, is := s.flow.(*flow.BufferQuery); is && q.Lost() > 1 {
			s.remark(fmt.Sprintf("this job goes slowly: more than once the device did not answer when asked for its free room, and each time costs %.1f s; look at cable and adapter", flow.QueryCost.Seconds()))
		}
		if err := s.put(st.Ask, flow.Seconds(s.prof.Port.Stall)); err != nil {
			return 0, s.stallError(err)
		}
		s.flow.Asked(time.Now())
		return 0, nil
	}
	if st.N == 0 {
		return 0, s.wait(st.Again)
	}
	if !s.ready() {
		return 0, s.wait(time.Time{})
	}
	queued, known := s.line.Queued()
	n, again := s.meter.Allow(now, st.N, queued, known)
	if n == 0 {
		return 0, s.wait(again)
	}
	if w := flow.WholeInstructions(s.prog.Language, rest, n); w > 0 {
		n = w // a stop then seldom comes inside an instruction
	}
	n, err := s.line.Write(rest[:n], writeSlice)
	if n > 0 {
		now := time.Now()
		s.moved = now
		s.flow.Sent(now, rest[:n])
		s.countLines(rest[:n])
		s.meter.Wrote(n)
		if !s.person && !s.drawing { // a question at the end is no progress
			s.waitFor("", false)
		}
		return n, nil
	}
	if err != nil && !errors.Is(err, devices.ErrWait) {
		return 0, s.lineFault(err)
	}
	return 0, s.wait(time.Now())
}

// extra sends bytes that are not the program's, such as a lift or a question that waits its turn, as the habit allows.
func (s *session) extra(p []byte) error {
	for whole := len(p); len(p) > 0; {
		if err := s.listen(time.Now()); err != nil {
			return err
		}
		if err := s.look(); err != nil {
			return err
		}
		n, err := s.portion(p, len(p) == whole)
		if err != nil {
			return err
		}
		p = p[n:]
	}
	return nil
}

// stallError gives the words of a stall to a question that the line never took.
func (s *session) stallError(err error) error {
	if errors.Is(err, devices.ErrWait) {
		return faultf(ErrStall, s.lastWords(), "the device has taken nothing for %.0f s, not even a question", s.prof.Port.Stall)
	}
	return err
}

// sleep waits while listening.
func (s *session) sleep(d time.Duration) error {
	end := time.Now().Add(d)
	for time.Now().Before(end) {
		if err := s.listen(end); err != nil {
			return err
		}
		if err := s.look(); err != nil {
			return err
		}
	}
	return nil
}
