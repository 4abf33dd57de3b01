// Package flow says how much may be sent to a machine now. It takes what was sent and heard, and the time; it gives
// the number of bytes or a question to send first. It holds the flow habits, the scanner of answers, and the limit on
// bytes on their way: small state machines without input, output or clock.
package flow

import (
	"fmt"
	"time"

	"tracewheel/devices"
)

// Step is what a flow habit allows the sender to do now.
type Step struct {
	// N bytes of the rest may be sent.
	N int
	// Ask are bytes of the habit itself to send first, even while the device holds data back.
	Ask []byte
	// Again is when to ask the habit again even if nothing is heard; zero waits until something is heard.
	Again time.Time
}

// Habit is a way to send no faster than the device takes: a state machine that is told what was sent and heard, and
// says what may be sent. It does no input or output and has no clock.
//
// Numbered lines with resend would be another habit: they frame each line and answer resend requests, so they need a
// step that replaces bytes of the rest.
type Habit interface {
	// Next says what to do with rest, the unsent bytes of the block; fresh is true where no instruction is partly
	// sent, the only places for a question.
	Next(now time.Time, rest []byte, fresh bool) Step
	// Sent reports that p of the rest was sent; Asked that the Ask of a Step was.
	Sent(now time.Time, p []byte)
	Asked(now time.Time)
	// Heard reports an event, and says whether that was an answer that the habit waited for.
	Heard(now time.Time, e Event) bool
	// Untaken is how many sent bytes the device may not have taken yet; false where the habit does not know.
	Untaken() (int, bool)
	// Revive continues after the device reported free space by other means while the habit waits; false where that
	// would make the count wrong.
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

// Free never waits: the system does flow control, or there is none.
type Free struct{}

func (Free) Next(_ time.Time, rest []byte, _ bool) Step { return Step{N: len(rest)} }
func (Free) Sent(time.Time, []byte)                     {}
func (Free) Asked(time.Time)                            {}
func (Free) Heard(time.Time, Event) bool                { return false }
func (Free) Untaken() (int, bool)                       { return 0, false }
func (Free) Revive(time.Time, int) bool                 { return false }
