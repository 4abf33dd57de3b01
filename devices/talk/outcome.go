package talk

import (
	"errors"
	"fmt"
	"time"

	"tracewheel/devices"
)

// State is how a sending ended.
type State string

// The ends of a sending.
const (
	Done     State = "done"     // every byte taken, and the device has confirmed it unless it is silent
	Stopped  State = "stopped"  // something is wrong, or the program is shutting down
	Canceled State = "canceled" // a person wished it
)

// Tool is where the pen or the blade is, as far as the device has said.
type Tool string

// Tool positions. There is no "down": a sender never ends with the tool known to be down.
const (
	ToolUp      Tool = "up"
	ToolUnknown Tool = "unknown"
)

// Mark is a block of the program that surely is drawn. Known false means that nothing can be said;
// Known true with Block -1 means that surely nothing is drawn.
type Mark struct {
	Block int
	Known bool
}

// Place is where a controller said that it stood when it was held, in its own units.
type Place struct {
	X, Y, Z float64
	// Machine is true for machine coordinates, false for work coordinates.
	Machine bool
}

// Outcome is all that is known when a sending has ended.
type Outcome struct {
	State State
	// Reason tells the person what happened and what mends it; empty when done.
	Reason string
	// Words are the device's own, as they came; empty if it said nothing.
	Words string
	// Written counts program bytes handed to the line, Acknowledged those that the device surely
	// has taken. A prelude that was sent again is counted again.
	Written, Acknowledged int64
	// Total is what Written would be had all been sent, as Progress has it.
	Total int64
	// Sure is the last block that surely is drawn, SureStroke the last stroke that surely is whole, -1
	// for none or where nobody can say. Where a held knife went on with a program of its own (see
	// Options.Continue), both count in that.
	Sure       Mark
	SureStroke int
	// Sent is the last block of which a byte was handed to the line, -1 for none.
	Sent int
	Tool Tool
	// Reset is true where the device began anew in the middle, or lost lines: what it was told before that
	// is in doubt, and so is everything that Progress called sure.
	Reset bool
	// Held is where a controller stood when it was stopped, or before that was paused; nil if it did not say.
	Held *Place
	// Err is the cause for programs: devices.ErrGone, ErrStall ... nil when done or canceled.
	Err error
}

// Progress is a moment of a sending.
type Progress struct {
	// Bytes of Total are written; Total leaves out what is skipped.
	Bytes, Total int64
	// Block and Stroke are being sent; Stroke is -1 in set-up and end.
	Block, Stroke, Piece int
	// Sure is the last stroke that surely is drawn, SureBlock the last such block, -1 for none; SureKnown
	// is false where nobody can say. Both hold however the sending is cut short at this moment: a device
	// that answers has been heard since.
	Sure, SureBlock int
	SureKnown       bool
	// Waiting says what the sender waits for; empty while bytes move.
	Waiting string
	// Person is true if it is a person who is waited for, Held if the device is paused at its own panel.
	Person, Held bool
	// Place is where a knife stood when it was paused, and Sent the last block of which a byte had gone out;
	// Place is nil while it goes on, and where the device did not say.
	Place *Place
	Sent  int
	// Remark is what a person should know of this sending although it goes on, such as that it goes slowly
	// and why; empty if there is nothing, or nothing any more.
	Remark string
	// Ending is true where everything is sent and the device does not say that it is drawn: a person who
	// looks may say how the sheet is, by Control.Sheet.
	Ending bool
}

// Options of one sending. The zero value sends everything.
type Options struct {
	// From is the block to begin with, or rather the start of its stroke, as devices.Program.From has
	// it; the prelude, and what the block needs set up, are sent before it.
	From int
	// Progress is called from the sending goroutine and must return quickly.
	Progress func(Progress)
	// Control takes the wishes of people; nil if there will be none.
	Control *Control
	// Unconfirmed leaves out the question at the end whether all is drawn.
	Unconfirmed bool
	// ConfirmLimit is how long the device may say nothing at all while the last strokes are drawn;
	// 0 is twice the program's own time and the stall time on top, for a short one would be wrong.
	ConfirmLimit time.Duration
	// LiftLimit is how long the device may take to confirm after a stop that the tool is up; 0 is 10 s.
	LiftLimit time.Duration
	// Continue makes the program with which a held knife goes on, a whole one with its own prelude, after
	// a person has said so: it goes in again at a stated overlap before the held place. Marks count in
	// the new program from then on. held is nil where the machine did not say where it stands; sent is
	// the last block of which a byte went out. Without Continue the blade goes in again at the start of
	// the stroke that was held, where that is known.
	Continue func(held *Place, sure Mark, sent int) (devices.Program, error)
	// Dialect are the literals of a line-acknowledging controller; nil is DefaultDialect.
	Dialect *Dialect
}

// The causes of an outcome.
var (
	// ErrStall is the cause where the device took nothing any more.
	ErrStall = errors.New("the device takes nothing any more")
	// ErrReset is the cause where the device began anew in the middle.
	ErrReset = errors.New("the device was reset")
	// ErrRefused is the cause where the device answered with an error.
	ErrRefused = errors.New("the device reported an error")
	// ErrUnconfirmed is the cause where all was sent and the device never said that it is drawn.
	ErrUnconfirmed = errors.New("the device has not confirmed the end")

	errCanceled     = errors.New("canceled")
	errUnknownPlace = errors.New("which stroke was being cut is not known")
)

// Fault is why a sending ended before its time.
type Fault struct {
	Reason string
	Words  string
	Err    error
}

func (f *Fault) Error() string { return f.Reason }
func (f *Fault) Unwrap() error { return f.Err }

func faultf(err error, words, format string, args ...any) *Fault {
	return &Fault{Reason: fmt.Sprintf(format, args...), Words: words, Err: err}
}
