package store

import (
	"errors"
	"os"

	"golang.org/x/sys/windows"
)

// tryLock locks a byte far after the text, so that others can still read which process holds the store.
func tryLock(f *os.File) (bool, error) {
	const flags = windows.LOCKFILE_EXCLUSIVE_LOCK | windows.LOCKFILE_FAIL_IMMEDIATELY
	at := &windows.Overlapped{Offset: 1 << 30}
	err := windows.LockFileEx(windows.Handle(f.Fd()), flags, 0, 1, 0, at)
	if errors.Is(err, windows.ERROR_LOCK_VIOLATION) {
		return false, nil
	}
	return err == nil, err
}
