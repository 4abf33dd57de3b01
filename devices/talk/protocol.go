package talk

import (
	"time"

	"tracewheel/devices/flow"
)

// Condition is the state of a device, as far as it tells.
type Condition string

// The conditions.
const (
	Absent  Condition = "absent"  // there is no answer, or no port
	Idle    Condition = "idle"    // it waits for a job
	Busy    Condition = "busy"    // it draws or cuts, or another job holds its port
	Paused  Condition = "paused"  // a person or the machine itself has paused it
	Failed  Condition = "error"   // it reports an error
	Unknown Condition = "unknown" // the port exists, but the device answers no questions
)

// Status is what Ask gives.
type Status struct {
	State Condition
	// Text is the state in plain words, with the meaning of the device's code where it gave one.
	Text string
}

// protocol is how a language begins, asks, lifts and ends.
type protocol interface {
	// status is for Ask; devices.ErrWait where there is no answer.
	status() (Status, error)
	// begin makes sure that the device listens.
	begin() error
	// watch asks, between two blocks, whether bytes were damaged or lost.
	watch() error
	// settled is called after the prelude is sent.
	settled() error
	// heard gets every event; answered is true for an answer that the habit waited for.
	heard(e flow.Event, answered bool)
	// probe asks a device that takes nothing for its state; probeEvery is the time between two probes.
	probe() error
	probeEvery(stall time.Duration) time.Duration
	// confirm returns when all is drawn; limit is how long the device may be silent.
	confirm(limit time.Duration) error
	// lift raises a pen between two strokes.
	lift() error
	// holds tells whether the device can be held at once; hold does so and lifts the tool.
	holds() bool
	hold() (*Place, error)
	// halt leaves the device idle with the tool up, as far as it can, after a sending ended early.
	halt(cause error) (Tool, *Place)
}
