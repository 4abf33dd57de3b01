package port

import "time"

// xonXoff obeys DC3 and DC1 in the program. Where the system obeys them it hands over neither, and
// this machine stays running. A lost DC1 would hang it; the sender then asks the device and revives.
type xonXoff struct {
	free
	stopped bool
}

func (f *xonXoff) next(_ time.Time, rest []byte, _ bool) step {
	if f.stopped {
		return step{}
	}
	return step{n: len(rest)}
}

func (f *xonXoff) heard(_ time.Time, e event) bool {
	switch e.kind {
	case evXoff:
		f.stopped = true
	case evXon:
		was := f.stopped
		f.stopped = false
		return was
	}
	return false
}

func (f *xonXoff) revive(time.Time) bool {
	f.stopped = false
	return true
}
