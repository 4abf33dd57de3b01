//go:build !linux && !windows && !(darwin && cgo)

package port

import (
	"fmt"
	"runtime"

	"tracewheel/devices"
)

func open(p devices.PortProfile) (devices.Line, error) {
	return nil, fmt.Errorf("port %q: this build cannot open serial ports on %s; on macOS build it on the machine itself, with cgo", p.Path, runtime.GOOS)
}
