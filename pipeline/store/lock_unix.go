//go:build unix

package store

import (
	"os"
	"time"

	"golang.org/x/sys/unix"
)

// tryLock takes a lock that the system releases when the process ends, however it ends. A program that is being started
// has the file open for a moment, and with it a lock that this process has released: so it is tried for half a second.
func tryLock(f *os.File) (bool, error) {
	var err error
	for range 20 {
		if err = unix.Flock(int(f.Fd()), unix.LOCK_EX|unix.LOCK_NB); err != unix.EWOULDBLOCK {
			return err == nil, err
		}
		time.Sleep(25 * time.Millisecond)
	}
	return false, nil
}
