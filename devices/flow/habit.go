// Package flow says how much may be sent to a machine now: the flow habits, what takes its answers apart
// into lines and flow characters, and what bounds the bytes on their way. All are small state machines
// that are told the time; none reads, writes or has a clock.
package flow

import (
	"fmt"
	"time"

	"tracewheel/devices"
)

// Step is what a flow habit lets the sender do now.
type Step struct {
	// N bytes of the rest may go.
	N int
	// Ask are bytes of the habit's own that go first, whatever the device holds back.
	Ask []byte
	// Again is when to look again though nothing was heard; zero is when something is heard.
	Again time.Time
}

// Habit is one way of not sending faster than the device takes: a small state machine that is told
// what was sent and heard, and says what may go. It does no input or output and has no clock.
//
// Numbered lines with resend would be one more of these: they frame each line and answer a resend,
// so they need a step that replaces bytes of the rest by others.
type Habit interface {
	// Next says what may be done with rest, the unsent bytes of the block; fresh is true where no
	// instruction is half sent, the only places where a question may be put.
	Next(now time.Time, rest []byte, fresh bool) Step
	// Sent is told that p of the rest went to the line; Asked that the Ask of a Step went.
	Sent(now time.Time, p []byte)
	Asked(now time.Time)
	// Heard is told what the device said, and tells whether that was an answer that it waited for.
	Heard(now time.Time, e Event) bool
	// Untaken is how many sent bytes the device may not have taken yet; false where the habit
	// cannot tell.
	Untaken() (int, bool)
	// Revive goes on after the device said by other means that it has so much room although the
	// habit waits; false where that would lose count.
	Revive(now time.Time, room int) bool
}

// New makes the habit of a profile. Lines and blocks are counted in bytes.
func New(p devices.PortProfile, lang devices.Language) (Habit, error) {
	switch p.Flow {
	case devices.FlowXonXoff:
		return &XonXoff{}, nil
	case devices.FlowRTSCTS, devices.FlowNone, "":
		return Free{}, nil
	case devices.FlowEnqAck:
		return &enqAck{block: p.Block, size: p.Buffer, lang: lang}, nil
	case devices.FlowQuery:
		return NewBufferQuery(p, lang), nil
	case devices.FlowLineAck:
		return &LineAck{}, nil
	case devices.FlowLineWin:
		return &LineAck{window: p.Window}, nil
	case devices.FlowPaced:
		if p.Pace <= 0 {
			return nil, fmt.Errorf("port %q: flow %q needs pace, the bytes a second that the device surely takes", p.Path, p.Flow)
		}
		return &paced{rate: float64(p.Pace), burst: min(p.Margin, p.Pace)}, nil
	}
	return nil, fmt.Errorf("port %q: flow %q is not known", p.Path, p.Flow)
}

// Free holds nothing back: the system or nobody does.
type Free struct{}

func (Free) Next(_ time.Time, rest []byte, _ bool) Step { return Step{N: len(rest)} }
func (Free) Sent(time.Time, []byte)                     {}
func (Free) Asked(time.Time)                            {}
func (Free) Heard(time.Time, Event) bool                { return false }
func (Free) Untaken() (int, bool)                       { return 0, false }
func (Free) Revive(time.Time, int) bool                 { return false }
