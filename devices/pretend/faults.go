package pretend

// Faults are the ways in which a device can misbehave, each off at its zero value. Counts are bytes
// received from the host unless a name says otherwise.
type Faults struct {
	// StallAfter stops taking bytes after so many, for good.
	StallAfter int
	// UnplugAfter ends the line after so many.
	UnplugAfter int
	// ErrorAt answers the line of this number (from 1) with an error, or makes a plotter report one
	// for the instruction that ends at or behind this byte.
	ErrorAt int
	// LateXON holds the next DC1 back once, for so many milliseconds; LostXON loses so many of them.
	LateXON int
	LostXON int
	// DoubleAck doubles every acknowledgement from this one on (from 1); LostAck loses that one, LostAcks
	// each whose number this divides.
	DoubleAck int
	LostAck   int
	LostAcks  int
	// Garbage writes noise between the answers, a burst after each so many bytes.
	Garbage int
	// Garble damages a byte of each answer whose number this divides.
	Garble int
	// PartialReplies breaks answers into single bytes with pauses between.
	PartialReplies bool
	// Echo sends back every byte that it gets.
	Echo bool
	// ResetInMiddle begins anew, with a greeting where there is one, after so many.
	ResetInMiddle int
	// Mute never answers anything; SilentAtEnd answers nothing from the program's end on: a plotter's
	// question for errors, a cutter's M2 or M30.
	Mute        bool
	SilentAtEnd bool
	// LineError is a plotter's I/O error of before the job, as it answers to ESC.E.
	LineError int
	// PauseAfter is paused at its own panel after so many, until Release is called.
	PauseAfter int
}
