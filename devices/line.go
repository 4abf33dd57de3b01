package devices

import (
	"errors"
	"time"
)

// PortProfile is how bytes reach the device.
type PortProfile struct {
	// Path is the port ("/dev/ttyUSB0", "COM3"); Identity finds it again under another name.
	Path     string `yaml:"path"`
	Identity string `yaml:"identity"`
	Baud     int    `yaml:"baud"`
	DataBits int    `yaml:"data_bits"`
	Parity   string `yaml:"parity"` // "none", "even" or "odd"
	StopBits int    `yaml:"stop_bits"`
	// Flow is the habit by which the device holds the sender back.
	Flow Flow `yaml:"flow"`
	// Margin is how many bytes may be on their way at once: no write is longer.
	Margin int `yaml:"margin"`
	// Buffer is the device's own buffer in bytes, 0 unknown.
	Buffer int `yaml:"buffer"`
	// Stall is how long the device may accept nothing before the job stops, in seconds.
	Stall float64 `yaml:"stall"`
	// Block is the size of one ENQ/ACK block; Pace limits plain pacing in bytes a second.
	Block int `yaml:"block"`
	Pace  int `yaml:"pace"`
	// Window is the receive buffer for counted line acknowledgement.
	Window int `yaml:"window"`
	// StartWait is how long to wait for a greeting after the port is opened, in seconds.
	StartWait float64 `yaml:"start_wait"`
	// Silent is true for a device that answers no questions: its jobs end with the last byte sent.
	Silent bool `yaml:"silent"`
	// Configure has the flow habit told to an HP-GL device before each job (ESC. sequences).
	Configure bool `yaml:"configure"`
	// Planner is how many acknowledged lines a controller may not have carried out yet, 0 unknown.
	Planner int `yaml:"planner"`
}

// Bauds are the rates that the port library sets on every system it knows.
var Bauds = []int{50, 75, 110, 134, 150, 200, 300, 600, 1200, 1800, 2400, 4800, 9600, 19200, 38400,
	57600, 115200, 230400, 460800, 500000, 576000, 921600, 1000000, 1152000, 1500000, 2000000,
	2500000, 3000000, 3500000, 4000000}

// NearestBaud is the rate among Bauds that a number comes nearest to.
func NearestBaud(b int) int {
	best := Bauds[0]
	for _, x := range Bauds {
		if max(x-b, b-x) < max(best-b, b-best) {
			best = x
		}
	}
	return best
}

// Flow is a way of holding a sender back.
type Flow string

// The flow habits.
const (
	FlowXonXoff Flow = "xon-xoff"
	FlowRTSCTS  Flow = "rts-cts"
	FlowEnqAck  Flow = "enq-ack"
	FlowQuery   Flow = "buffer-query"
	FlowLineAck Flow = "line-ack"
	FlowLineWin Flow = "line-ack-counted"
	FlowPaced   Flow = "paced"
	FlowNone    Flow = "none"
)

// Errors of a line. Anything else is the system's own word.
var (
	// ErrWait means that nothing could be read or written within the time given; it is no fault.
	ErrWait = errors.New("nothing moved within the time given")
	// ErrGone means that the port has vanished.
	ErrGone = errors.New("the port has gone")
	// ErrClosed means that the line was closed by this program.
	ErrClosed = errors.New("the line is closed")
)

// Overrider is a line whose flow control the system keeps, so that a held line would hold an abort
// as well.
type Overrider interface {
	// Override lets bytes pass although the device holds the sender back (true), or obeys it again.
	Override(on bool) error
}

// Readier is a line that can tell whether the device's flow line (CTS) lets bytes pass; known is
// false where the driver cannot say.
type Readier interface {
	Ready() (ready, known bool)
}

// Line is an open port. Read and Write never block longer than wait; both may be used at once from
// two goroutines, and Close frees both.
type Line interface {
	// Name is what a person calls the port.
	Name() string
	// Read takes what has come, at least one byte, or returns ErrWait.
	Read(p []byte, wait time.Duration) (int, error)
	// Write hands over what it can, n may be less than len(p); with n == 0 the error says why.
	Write(p []byte, wait time.Duration) (n int, err error)
	// Queued is how many written bytes the system still holds; ok is false where nobody can say.
	Queued() (n int, ok bool)
	// Discard drops what the system still holds unsent.
	Discard() error
	Close() error
}
