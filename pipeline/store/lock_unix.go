//go:build unix

package store

import (
	"os"

	"golang.org/x/sys/unix"
)

// tryLock takes the lock that the system itself lets go of when the process ends, however it ends.
func tryLock(f *os.File) (bool, error) {
	err := unix.Flock(int(f.Fd()), unix.LOCK_EX|unix.LOCK_NB)
	if err == unix.EWOULDBLOCK {
		return false, nil
	}
	return err == nil, err
}
