//go:build !linux && !(darwin && cgo)

package pretend

import "errors"

// NewPty is refused where there are no pseudo-terminals.
func NewPty() (Link, error) {
	return nil, errors.New("pretend devices need pseudo-terminals, which this system does not have; use Linux")
}
