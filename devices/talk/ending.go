package talk

import (
	"errors"
	"fmt"
	"time"
)

// askAfter is how long a device may say nothing at the end before a person is asked. It may still draw
// then: what it answers later counts as before.
const askAfter = 10 * time.Second

// untilDrawn waits until all that was sent is drawn, as far as the device tells, or a person who looks at
// the sheet.
func (s *session) untilDrawn(what string) error {
	s.ctl.forgetSheet()
	s.byWord, s.drawing = false, true
	defer func() { s.drawing = false }()
	s.waitFor("the device to take the last of what is sent", false)
	err := s.drain()
	if err == nil && !s.opt.Unconfirmed && !s.prof.Port.Silent {
		s.waitFor(what, false)
		if err = s.protocol.confirm(s.confirmLimit()); err == nil {
			s.track.allDone()
		}
	}
	if errors.Is(err, errWhole) {
		s.track.allDone()
		s.byWord, err = true, nil
	}
	s.askPerson(0)
	s.waitFor("", false)
	return err
}

// askPerson lets a person say how the sheet is, once the device has said nothing for a while; what is heard
// of it again takes that back.
func (s *session) askPerson(silent time.Duration) {
	switch {
	case silent < askAfter && s.ending:
		s.ending = false
		s.remark("")
	case silent >= askAfter && !s.ending:
		s.ctl.forgetSheet()
		s.ending = true
		what := "draw"
		if s.prof.Kind.Cuts() {
			what = "cut"
		}
		s.remark(fmt.Sprintf("everything is sent, and the device has not said for %.0f s that it still works or is done; it may still %s. Once it stands still, look whether all is there",
			askAfter.Seconds(), what))
	}
}
