package flow

import (
	"time"

	"tracewheel/devices"
)

// enqAck asks by ENQ before each block and sends at most one block when ACK has come. The device
// may take minutes to answer: that is how it holds the sender back, so there is no time-out here.
// Only when it says by other means that it has room is an answer taken for lost.
type enqAck struct {
	block   int
	size    int // the device's buffer, 0 unknown
	held    int // bytes that it may hold: its buffer's at an answer, plus those sent since
	lang    devices.Language
	waiting bool
	credit  int
}

func (f *enqAck) Next(_ time.Time, rest []byte, fresh bool) Step {
	switch {
	case f.waiting:
		return Step{}
	case f.credit > 0:
		n := WholeInstructions(f.lang, rest, f.credit)
		if n > 0 {
			return Step{N: n}
		}
		if !fresh { // one instruction longer than a block is cut, there is no other way
			return Step{N: min(len(rest), f.credit)}
		}
		if f.credit >= f.block {
			return Step{N: min(len(rest), f.credit)}
		}
	}
	return Step{Ask: []byte{enq}}
}

func (f *enqAck) Asked(time.Time) { f.waiting, f.credit = true, 0 }

func (f *enqAck) Sent(_ time.Time, p []byte) {
	f.credit = max(0, f.credit-len(p))
	f.held += len(p)
}

func (f *enqAck) Heard(_ time.Time, e Event) bool {
	if e.Kind != EventAck || !f.waiting { // an ACK that nobody asked for gives no right to send
		return false
	}
	f.waiting, f.credit, f.held = false, f.block, f.size+f.block
	return true
}

// Untaken: when an ACK comes, all before its ENQ has come to the device, whose buffer may be full; a
// device that was not configured acknowledges whatever its room. A block more is counted, for an answer
// that was doubled may be that to the question before.
func (f *enqAck) Untaken() (int, bool) { return f.held, f.size > 0 }

func (f *enqAck) Revive(_ time.Time, room int) bool {
	if room < f.block {
		return false // the wait is meant
	}
	f.waiting, f.credit = false, 0
	return true
}
