//go:build !linux && !(darwin && cgo)

package pretend

import (
	"errors"
	"fmt"
)

// NewPty is refused, with errors.ErrUnsupported, where there are no pseudo-terminals.
func NewPty() (Link, error) {
	return nil, fmt.Errorf("pretend devices need pseudo-terminals, which this system does not have; use Linux (%w)", errors.ErrUnsupported)
}
