package port

import "time"

// xonXoff obeys DC3 and DC1 in the program. Where the system obeys them it hands over neither, and
// this machine stays running. A lost DC1 would hang it; the sender then asks the device how much
// room it has, and that much may go. No more: a device whose DC1 is only late believes that the
// host still waits, and would not say stop again.
type xonXoff struct {
	free
	stopped bool
	credit  int
}

func (f *xonXoff) next(_ time.Time, rest []byte, _ bool) step {
	if f.stopped {
		return step{n: min(len(rest), f.credit)}
	}
	return step{n: len(rest)}
}

func (f *xonXoff) sent(_ time.Time, p []byte) { f.credit = max(0, f.credit-len(p)) }

func (f *xonXoff) heard(_ time.Time, e event) bool {
	switch e.kind {
	case evXoff:
		f.stopped, f.credit = true, 0
	case evXon:
		was := f.stopped
		f.stopped, f.credit = false, 0
		return was
	}
	return false
}

func (f *xonXoff) revive(_ time.Time, room int) bool {
	f.credit = max(0, room)
	return true
}
