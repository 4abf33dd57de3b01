package talk

import (
	"time"

	"tracewheel/devices"
	"tracewheel/devices/flow"
)

// between does what follows a block: a pen pauses here, and a fresh sheet is waited for.
func (s *session) between(b devices.Block) error {
	if s.ctl.paused() && !s.holdsAtOnce() && (b.EndsStroke || b.Stroke < 0) {
		if err := s.pausePen(b); err != nil {
			return err
		}
	}
	if b.WaitForPerson != "" {
		return s.freshSheet(b.WaitForPerson)
	}
	return nil
}

func (s *session) holdsAtOnce() bool { return s.prof.Kind.Cuts() && s.protocol.holds() }

// pausePen lifts a pen that may be down and waits until a person lets it go on.
func (s *session) pausePen(b devices.Block) error {
	if b.Down {
		if err := s.protocol.lift(); err != nil {
			return err
		}
	}
	s.waitFor("paused; the pen is lifted once the device has drawn what it holds", true)
	return s.untilWished(func() bool { return !s.ctl.paused() })
}

// freshSheet waits for a person to put in a sheet. The device first draws what it holds, if it can tell when that is done,
// so that nobody reaches under a moving pen.
func (s *session) freshSheet(text string) error {
	s.ctl.forgetFresh()
	if err := s.untilDrawn("the device to draw the sheet and to say so"); err != nil {
		return err
	}
	if !s.opt.Unconfirmed && !s.prof.Port.Silent {
		s.ctl.forgetFresh()
	} else {
		text += " (only once the machine stands still: it does not tell)"
	}
	s.waitFor(text, true)
	return s.untilWished(s.ctl.isFresh)
}

// untilWished listens until come is true.
func (s *session) untilWished(come func() bool) error {
	for !come() {
		if err := s.listen(time.Now().Add(time.Second)); err != nil {
			return err
		}
		if err := s.look(); err != nil {
			return err
		}
	}
	s.moved = time.Now()
	s.waitFor("", false)
	return nil
}

// holdKnife stops a knife where it is when a person pauses, lifts it, waits, and lowers it again only after a person has
// confirmed that nothing has shifted.
func (s *session) holdKnife() error {
	if !s.ctl.paused() || !s.holdsAtOnce() {
		return nil
	}
	s.track.progressed(s)
	sure, sent := s.track.sure, s.track.sent
	s.track.paused = true
	s.halting = true     // the greeting after the reset is no fault
	s.flow = flow.Free{} // answers to the lift are not the program's
	s.waitFor("the machine to confirm that it stands and the blade is lifted", false)
	place, err := s.protocol.hold()
	s.halting = false
	if err != nil {
		return err
	}
	s.linesAnew()
	s.track.place = place
	if s.flow, err = flow.New(s.prof.Port, s.prog.Language); err != nil {
		return err
	}
	s.waitFor("paused; the blade is lifted. Go on only if neither cloth nor machine has shifted", true)
	if err := s.untilWished(func() bool { return !s.ctl.paused() }); err != nil {
		return err
	}
	return s.reenter(place, sure, sent)
}

func (s *session) reenter(place *Place, sure Mark, sent int) error {
	if s.opt.Continue != nil {
		prog, err := s.opt.Continue(place, sure, sent)
		if err != nil {
			return faultf(err, "", "the cut cannot go on where it was held: %v", err)
		}
		return &jump{prog: &prog}
	}
	if !sure.Known {
		return faultf(errUnknownPlace, "", "the blade was held and lifted, but which stroke it was in is not known; resume from a piece or from the start")
	}
	return &jump{block: s.track.strokeStart(min(sure.Block+1, len(s.prog.Blocks)-1))}
}
