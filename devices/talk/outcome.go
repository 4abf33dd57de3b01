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
	Done     State = "done"     // every byte was taken, and the device confirmed it if it can
	Stopped  State = "stopped"  // something is wrong, or the program ends
	Canceled State = "canceled" // a person canceled
)

// Tool is where the pen or the blade is, as far as the device has said.
type Tool string

// Tool positions. There is no "down", because a sending never ends with the tool known to be down.
const (
	ToolUp      Tool = "up"
	ToolUnknown Tool = "unknown"
)

// Mark is a block of the program that is surely drawn. Where Known is false nothing is known; where it is true and Block
// is -1, surely nothing is drawn.
type Mark struct {
	Block int
	Known bool
}

// Place is where a controller said that it stood when it was held, in its units.
type Place struct {
	X, Y, Z float64
	// Machine is true for machine coordinates, false for work coordinates.
	Machine bool
}

// Outcome is all that is known when a sending has ended.
type Outcome struct {
	State State
	// Reason tells a person what happened and what mends it; empty for Done.
	Reason string
	// Words are the last words of the device, as they came; empty if there were none.
	Words string
	// Written is the number of the program's bytes handed to the line, Acknowledged of those that the device has surely
	// taken. A prelude that was sent again is counted again.
	Written, Acknowledged int64
	// Total is what Written would be if all had been sent, as in Progress.
	Total int64
	// Sure is the last block that is surely drawn, SureStroke the last stroke that is surely whole, -1 where there is none
	// or it is not known. Where a held knife went on with a program of its own (Options.Continue), both count in that
	// program.
	Sure       Mark
	SureStroke int
	// Sent is the last block of which a byte was handed to the line, -1 for none.
	Sent int
	Tool Tool
	// Reset is true where the device started anew in the middle, or lost lines: what it took before is in doubt, and so is
	// all that Progress called sure.
	Reset bool
	// Held is where a controller stood when it was stopped, or before that was paused; nil where it did not say.
	Held *Place
	// Err is the cause, for programs: devices.ErrGone, ErrStall and so on; nil when done or canceled.
	Err error
}

// Progress is the state of a sending at one moment.
type Progress struct {
	// Bytes of Total are written; Total does not count what is skipped.
	Bytes, Total int64
	// Block and Stroke are being sent; Stroke is -1 during set-up and at the end.
	Block, Stroke, Piece int
	// Sure is the last stroke that is surely drawn, SureBlock the last such block, -1 for none; SureKnown is false where
	// it is not known. Both stay true however the sending is cut short: a device that answers has been heard since.
	Sure, SureBlock int
	SureKnown       bool
	// Waiting says what the sender waits for; empty while bytes move.
	Waiting string
	// Person is true if a person is waited for, Held if the device is paused at its own panel.
	Person, Held bool
	// Place is where a knife stood when it was paused, Sent the last block of which a byte was sent; Place is nil while
	// the knife goes on, and where the device did not say.
	Place *Place
	Sent  int
	// Remark is what a person should know of a sending that goes on, such as why it is slow; empty where there is nothing,
	// or nothing any more.
	Remark string
	// Ending is true where all is sent and the device cannot tell whether it is drawn: a person may then say how the sheet
	// is, by Control.Sheet.
	Ending bool
}

// Options are those of one sending. With the zero value all is sent.
type Options struct {
	// From is the block to begin with; the sending starts at the beginning of its stroke (devices.Program.From). The
	// prelude, and the set-up that the block needs, are sent before it.
	From int
	// Progress is called from the sending goroutine and must return quickly.
	Progress func(Progress)
	// Control brings the wishes of people; nil where there are none.
	Control *Control
	// Unconfirmed leaves out the question at the end whether all is drawn.
	Unconfirmed bool
	// ConfirmLimit is how long the device may be silent while the last strokes are drawn; 0 is twice the program's own
	// time plus the stall time.
	ConfirmLimit time.Duration
	// LiftLimit is how long the device may take after a stop to confirm that the tool is up; 0 is 10 s.
	LiftLimit time.Duration
	// Continue makes the program with which a held knife goes on after a person has confirmed it: a whole one with its own
	// prelude, which lowers the blade at an overlap before the held place. Marks count in the new program from then on.
	// held is nil where the machine did not say where it stands; sent is the last block of which a byte was sent. Without
	// Continue the blade is lowered at the start of the held stroke, where that is known.
	Continue func(held *Place, sure Mark, sent int) (devices.Program, error)
	// Dialect holds the words of a line-acknowledging controller; nil is DefaultDialect.
	Dialect *Dialect
}

// The causes of an outcome.
var (
	// ErrStall is the cause where the device no longer took anything.
	ErrStall = errors.New("the device takes nothing any more")
	// ErrReset is the cause where the device started anew in the middle.
	ErrReset = errors.New("the device was reset")
	// ErrRefused is the cause where the device answered with an error.
	ErrRefused = errors.New("the device reported an error")
	// ErrUnconfirmed is the cause where all was sent and the device never confirmed that it is drawn.
	ErrUnconfirmed = errors.New("the device has not confirmed the end")

	errCanceled     = errors.New("canceled")
	errUnknownPlace = errors.New("which stroke was being cut is not known")
)

// Fault is the reason why a sending ended early.
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
