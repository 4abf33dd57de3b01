//go:build unix

package store

import (
	"os"
	"time"

	"golang.org/x/sys/unix"
)

// tryLock takes the lock that the system itself lets go of when the process ends, however it ends. A program that this
// one is just starting has the file for as long as it takes to begin, and with it a lock that was let go of meanwhile: it
// is tried for half a second.
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
