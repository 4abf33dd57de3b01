package port

import "time"

// xonXoff obeys DC3 and DC1 in the program. Where the system obeys them it hands over neither, and
// this machine stays running. A lost DC1 hangs it, and nothing says that no more will be lost: the
// sender then asks for room instead, see plotter.askInstead.
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

// revive opens the line: a device that has drawn all that it had holds nobody back.
func (f *xonXoff) revive(time.Time, int) bool {
	f.stopped = false
	return true
}
