package flow

import "time"

// XonXoff obeys DC3 and DC1 in the program. Where the system obeys them it passes neither on, and this habit never
// stops. A lost DC1 would block it, and others may be lost later: the sender then asks for free space instead
// (plotter.askInstead of devices/talk).
type XonXoff struct {
	Free
	// Stopped is true from a DC3 to the next DC1.
	Stopped bool
}

func (f *XonXoff) Next(_ time.Time, rest []byte, _ bool) Step {
	if f.Stopped {
		return Step{}
	}
	return Step{N: len(rest)}
}

func (f *XonXoff) Heard(_ time.Time, e Event) bool {
	switch e.Kind {
	case EventXoff:
		f.Stopped = true
	case EventXon:
		was := f.Stopped
		f.Stopped = false
		return was
	}
	return false
}

// Revive lets bytes be sent again: a device that has drawn everything has free space.
func (f *XonXoff) Revive(time.Time, int) bool {
	f.Stopped = false
	return true
}
