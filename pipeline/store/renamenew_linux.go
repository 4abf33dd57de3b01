package store

import (
	"errors"
	"os"

	"golang.org/x/sys/unix"
)

// renameNew has the kernel refuse to replace a file (renameat2(2), RENAME_NOREPLACE), or uses linkNew where the file
// system cannot do that.
func renameNew(from, to string) error {
	err := unix.Renameat2(unix.AT_FDCWD, from, unix.AT_FDCWD, to, unix.RENAME_NOREPLACE)
	switch {
	case err == nil:
		return nil
	case errors.Is(err, unix.EINVAL), errors.Is(err, unix.ENOSYS):
		return linkNew(from, to)
	}
	return &os.LinkError{Op: "rename", Old: from, New: to, Err: err}
}
