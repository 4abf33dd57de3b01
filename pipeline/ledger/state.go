package ledger

import (
	"cmp"
	"slices"
)

// State is a job's state, by the names of RFC 8011 section 5.3.7 ("job-state").
type State string

// The states. The last three are ends: a job never leaves them.
const (
	Pending    State = "pending"
	Held       State = "pending-held"
	Processing State = "processing"
	Stopped    State = "processing-stopped"
	Canceled   State = "canceled"
	Aborted    State = "aborted"
	Completed  State = "completed"
)

// transitions is every way a job may go. The arrows are those of RFC 8011 section 5.3.7, figure 3
// ("Job Life Cycle") with the ways to canceled that its text adds. The figure says that others are
// unlikely but not forbidden; this program needs three of them, each with its reason:
//   - pending and pending-held to aborted: a draft is read and checked before the machine is
//     touched, so a refused one was never processing.
//   - processing-stopped to completed: where a device does not say that all is drawn, a person who looks at
//     the sheet does.
var transitions = map[State][]State{
	Pending:    {Held, Processing, Canceled, Aborted},
	Held:       {Pending, Canceled, Aborted},
	Processing: {Stopped, Completed, Canceled, Aborted},
	Stopped:    {Processing, Completed, Canceled, Aborted},
	Canceled:   nil,
	Aborted:    nil,
	Completed:  nil,
}

// Allowed tells whether a job may go from one state to another. From nothing ("") it may only
// become pending or pending-held.
func Allowed(from, to State) bool {
	if from == "" {
		return to == Pending || to == Held
	}
	return slices.Contains(transitions[from], to)
}

// Known tells whether s is one of the seven.
func (s State) Known() bool {
	_, ok := transitions[s]
	return ok
}

// Ended tells whether nothing more happens to a job.
func (s State) Ended() bool { return s == Canceled || s == Aborted || s == Completed }

// plain are the words for people.
var plain = map[State]string{
	Pending: "waiting", Held: "waiting for release", Processing: "running", Stopped: "stopped, needs you",
	Canceled: "canceled", Aborted: "refused", Completed: "done",
}

// Plain is what people read.
func (s State) Plain() string { return cmp.Or(plain[s], string(s)) }
