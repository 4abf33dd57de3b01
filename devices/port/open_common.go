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

// absent is the error that a port does not exist, with words of its own.
type absent string

func (a absent) Error() string { return string(a) }
func (absent) Unwrap() error   { return devices.ErrGone }

// openError adds to the system's error the port and what to do.
func openError(path string, err error) error {
	switch {
	case errors.Is(err, fs.ErrNotExist), errors.Is(err, syscall.ENXIO), errors.Is(err, syscall.ENODEV), errors.Is(err, syscall.EIO):
		return absent(fmt.Sprintf("port %q is not there: see that the cable is in and the device switched on", path))
	case errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("port %q may not be opened: another program may hold it, or this user lacks the right (on Linux, the group that owns it, often dialout): %w", path, err)
	case errors.Is(err, syscall.EBUSY):
		return fmt.Errorf("port %q: %w: another program holds it", path, ErrInUse)
	}
	return fmt.Errorf("port %q: %w", path, err)
}
