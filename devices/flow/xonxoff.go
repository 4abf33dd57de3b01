package flow

import "time"

// XonXoff obeys DC3 and DC1 in the program. Where the system obeys them it hands over neither, and
// this machine stays running. A lost DC1 hangs it, and nothing says that no more will be lost: the
// sender then asks for room instead, see plotter.askInstead of devices/port.
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

// Revive opens the line: a device that has drawn all that it had holds nobody back.
func (f *XonXoff) Revive(time.Time, int) bool {
	f.Stopped = false
	return true
}
