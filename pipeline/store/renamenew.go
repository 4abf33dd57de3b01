package store

import (
	"errors"
	"io/fs"
	"os"
	"syscall"
)

// linkNew gives a file a second name, which fails where the name is taken, and removes the first name. A crash in between
// leaves both names. Where a file system has no second names, it looks for the new name and then renames: a file made in
// between would be replaced, which cannot be prevented there.
func linkNew(from, to string) error {
	err := os.Link(from, to)
	switch {
	case err == nil:
		return os.Remove(from)
	case errors.Is(err, fs.ErrExist), errors.Is(err, fs.ErrNotExist):
		return err
	}
	if _, err := os.Lstat(to); err == nil {
		return &os.LinkError{Op: "rename", Old: from, New: to, Err: syscall.EEXIST}
	} else if !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return os.Rename(from, to)
}
