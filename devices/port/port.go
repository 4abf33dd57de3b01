// Package port opens the line to a machine: it takes a serial port's path or identity and the settings of a profile,
// and gives a Line. It knows nothing of the bytes on it.
package port

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"

	"tracewheel/devices"
)

// ErrInUse means that another program, or another device of this one, uses the port.
var ErrInUse = errors.New("the port is in use")

var flows = []devices.Flow{devices.FlowXonXoff, devices.FlowRTSCTS, devices.FlowEnqAck,
	devices.FlowQuery, devices.FlowLineAck, devices.FlowLineWin, devices.FlowPaced, devices.FlowNone}

// Open opens the port of a profile, by its identity where one is given and by its path otherwise. The error names the
// port and every value that cannot be set; it wraps ErrInUse where the port is used elsewhere and devices.ErrGone
// where it does not exist.
func Open(p devices.PortProfile) (devices.Line, error) {
	if p.Identity != "" {
		path, err := find(p.Identity)
		if err != nil {
			return nil, err
		}
		p.Path = path
	}
	p = WithDefaults(p)
	if err := valid(p); err != nil {
		return nil, err
	}
	return open(p)
}

// WithDefaults fills in the usual settings: 9600 baud, 8 data bits, no parity, 1 stop bit.
func WithDefaults(p devices.PortProfile) devices.PortProfile {
	p.Baud = cmp.Or(p.Baud, 9600)
	p.DataBits = cmp.Or(p.DataBits, 8)
	p.Parity = cmp.Or(p.Parity, "none")
	p.StopBits = cmp.Or(p.StopBits, 1)
	if p.Margin <= 0 {
		p.Margin = 64
	}
	if p.Stall <= 0 {
		p.Stall = 60
	}
	if p.Block <= 0 {
		p.Block = 80
	}
	if p.Window <= 0 {
		p.Window = 127
	}
	return p
}

// valid reports all faults of a port's settings at once.
func valid(p devices.PortProfile) error {
	p = WithDefaults(p)
	var faults []string
	if p.Path == "" && p.Identity == "" {
		faults = append(faults, "neither a path nor an identity is given")
	}
	if !slices.Contains(devices.Bauds, p.Baud) {
		faults = append(faults, fmt.Sprintf("baud %d cannot be set; the next usual rate is %d", p.Baud, devices.NearestBaud(p.Baud)))
	}
	if p.DataBits < 5 || p.DataBits > 8 {
		faults = append(faults, fmt.Sprintf("data_bits %d cannot be set; use 5 to 8", p.DataBits))
	}
	if !slices.Contains([]string{"none", "even", "odd"}, p.Parity) {
		faults = append(faults, fmt.Sprintf("parity %q is not known; use none, even or odd", p.Parity))
	}
	if p.StopBits != 1 && p.StopBits != 2 {
		faults = append(faults, fmt.Sprintf("stop_bits %d cannot be set; use 1 or 2", p.StopBits))
	}
	if p.Flow != "" && !slices.Contains(flows, p.Flow) {
		faults = append(faults, fmt.Sprintf("flow %q is not known; use one of %v", p.Flow, flows))
	}
	if len(faults) == 0 {
		return nil
	}
	name := cmp.Or(p.Path, p.Identity)
	return fmt.Errorf("port %q: %s", name, strings.Join(faults, "; "))
}
