// Package pretend holds devices that keep to their flow habit, and misbehave on request. They stand
// at the far end of a pseudo-terminal or of a line in memory, record every byte that they execute,
// and draw nothing: what they received can be read by anyone who reads the language.
package pretend

import (
	"errors"
	"time"
)

// ErrWait means that nothing came in time; ErrUnplugged that the line has ended.
var (
	ErrWait      = errors.New("nothing came")
	ErrUnplugged = errors.New("unplugged")
)

// Link is the device's end of a line.
type Link interface {
	// Read takes what has come, or returns ErrWait after wait.
	Read(p []byte, wait time.Duration) (int, error)
	// Write answers.
	Write(p []byte) error
	// Ready raises or drops the device's readiness: the host's CTS.
	Ready(on bool)
	// Unplug ends the line as a pulled cable does.
	Unplug()
	// Path is what a host opens; empty for a line in memory.
	Path() string
}
