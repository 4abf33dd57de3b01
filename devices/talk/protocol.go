package talk

import (
	"time"

	"tracewheel/devices/flow"
)

// Condition is how a device is, as far as it says.
type Condition string

// The conditions.
const (
	Absent  Condition = "absent"  // nothing answers, or there is no port
	Idle    Condition = "idle"    // it waits for a job
	Busy    Condition = "busy"    // it draws or cuts, or another job holds its port
	Paused  Condition = "paused"  // somebody, or the machine itself, has stopped it for a while
	Failed  Condition = "error"   // it reports an error
	Unknown Condition = "unknown" // the port is there, but the device answers no questions
)

// Status is an answer to Ask.
type Status struct {
	State Condition
	// Text says it in plain words, with the meaning of the device's code where it gave one.
	Text string
}

// protocol is what a sender must know of a language to begin, ask, lift and end.
type protocol interface {
	// status asks for Ask; devices.ErrWait where nobody answers.
	status() (Status, error)
	// begin makes sure that the device listens.
	begin() error
	// watch asks in passing, between two blocks, whether bytes were damaged or lost.
	watch() error
	// settled is called when the prelude is sent.
	settled() error
	// heard is told everything; answered says that it was an answer that the habit waited for.
	heard(e flow.Event, answered bool)
	// probe asks a device that takes nothing how it is; probeEvery says how often.
	probe() error
	probeEvery(stall time.Duration) time.Duration
	// confirm returns when all is drawn; limit is how long the device may be silent.
	confirm(limit time.Duration) error
	// lift raises a pen between two strokes.
	lift() error
	// holds tells that the device can be held at once; hold does it and lifts the tool.
	holds() bool
	hold() (*Place, error)
	// halt leaves the device idle with the tool up, as far as it can, after a sending was cut short.
	halt(cause error) (Tool, *Place)
}
