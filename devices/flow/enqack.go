package flow

import (
	"time"

	"tracewheel/devices"
)

// enqAck sends ENQ before each block and at most one block after ACK. The device may take minutes to answer, which is
// how it holds the sender back, so there is no time-out. An answer counts as lost only when the device reports free
// space by other means.
type enqAck struct {
	block   int
	size    int // the device's buffer, 0 if unknown
	held    int // bytes that it may hold: those at an answer, plus those sent since
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
		if !fresh { // an instruction longer than a block must be cut
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
	if e.Kind != EventAck || !f.waiting { // an ACK without a question is no permission to send
		return false
	}
	f.waiting, f.credit, f.held = false, f.block, f.size+f.block
	return true
}

// Untaken: when ACK comes, everything before its ENQ has reached the device, whose buffer may be full, because a
// device that was not configured acknowledges without free space. One block more is counted, since a doubled answer
// may belong to the question before.
func (f *enqAck) Untaken() (int, bool) { return f.held, f.size > 0 }

func (f *enqAck) Revive(_ time.Time, room int) bool {
	if room < f.block {
		return false // the device makes the sender wait
	}
	f.waiting, f.credit = false, 0
	return true
}
