package port

import (
	"fmt"
	"time"

	"tracewheel/devices"
)

// step is what a flow habit lets the sender do now.
type step struct {
	// n bytes of the rest may go.
	n int
	// ask are bytes of the habit's own that go first, whatever the device holds back.
	ask []byte
	// again is when to look again though nothing was heard; zero is when something is heard.
	again time.Time
}

// flow is one way of not sending faster than the device takes: a small state machine that is told
// what was sent and heard, and says what may go. It does no input or output and has no clock.
//
// Numbered lines with resend would be one more of these: they frame each line and answer a resend,
// so they need a step that replaces bytes of the rest by others.
type flow interface {
	// next says what may be done with rest, the unsent bytes of the block; fresh is true where no
	// instruction is half sent, the only places where a question may be put.
	next(now time.Time, rest []byte, fresh bool) step
	// sent is told that p of the rest went to the line; asked that the step's ask went.
	sent(now time.Time, p []byte)
	asked(now time.Time)
	// heard is told what the device said, and tells whether that was an answer that it waited for.
	heard(now time.Time, e event) bool
	// untaken is how many sent bytes the device may not have taken yet; false where the habit
	// cannot tell.
	untaken() (int, bool)
	// revive goes on after the device said by other means that it has so much room although the
	// habit waits; false where that would lose count.
	revive(now time.Time, room int) bool
}

// newFlow makes the habit of a profile. Lines and blocks are counted in bytes.
func newFlow(p devices.PortProfile, lang devices.Language) (flow, error) {
	switch p.Flow {
	case devices.FlowXonXoff:
		return &xonXoff{}, nil
	case devices.FlowRTSCTS, devices.FlowNone, "":
		return free{}, nil
	case devices.FlowEnqAck:
		return &enqAck{block: p.Block, size: p.Buffer, lang: lang}, nil
	case devices.FlowQuery:
		return &bufferQuery{size: p.Buffer, margin: p.Margin, lang: lang}, nil
	case devices.FlowLineAck:
		return &lineAck{}, nil
	case devices.FlowLineWin:
		return &lineAck{window: p.Window}, nil
	case devices.FlowPaced:
		if p.Pace <= 0 {
			return nil, fmt.Errorf("port %q: flow %q needs pace, the bytes a second that the device surely takes", p.Path, p.Flow)
		}
		return &paced{rate: float64(p.Pace), burst: min(p.Margin, p.Pace)}, nil
	}
	return nil, fmt.Errorf("port %q: flow %q is not known", p.Path, p.Flow)
}

// free holds nothing back: the system or nobody does.
type free struct{}

func (free) next(_ time.Time, rest []byte, _ bool) step { return step{n: len(rest)} }
func (free) sent(time.Time, []byte)                     {}
func (free) asked(time.Time)                            {}
func (free) heard(time.Time, event) bool                { return false }
func (free) untaken() (int, bool)                       { return 0, false }
func (free) revive(time.Time, int) bool                 { return false }
