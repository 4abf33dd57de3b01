//go:build !linux

package store

// NoWriter cannot tell: this system has no read leases.
func (Disk) NoWriter(string) error { return ErrCannotTell }
