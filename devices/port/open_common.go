//go:build linux || windows || (darwin && cgo)

package port

import (
	"errors"
	"fmt"
	"io/fs"
	"syscall"

	"github.com/tarm/serial"

	"tracewheel/devices"
)

func parity(s string) serial.Parity {
	switch s {
	case "even":
		return serial.ParityEven
	case "odd":
		return serial.ParityOdd
	}
	return serial.ParityNone
}

// openError puts the system's refusal into words that name the port and what mends it.
func openError(path string, err error) error {
	switch {
	case errors.Is(err, fs.ErrNotExist), errors.Is(err, syscall.ENXIO), errors.Is(err, syscall.ENODEV), errors.Is(err, syscall.EIO):
		return fmt.Errorf("port %q is not there: is the cable in and the device switched on? (%w)", path, devices.ErrGone)
	case errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("port %q may not be opened: another program may hold it, or this user lacks the right (on Linux, the group that owns it, often dialout): %w", path, err)
	case errors.Is(err, syscall.EBUSY):
		return fmt.Errorf("port %q: %w: another program holds it", path, ErrInUse)
	}
	return fmt.Errorf("port %q: %w", path, err)
}
