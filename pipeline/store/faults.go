package store

import (
	"errors"
	"fmt"
	"io/fs"
	"syscall"
)

// Faults of a store for which callers do different things.
var (
	// ErrInUse means that another daemon holds the store.
	ErrInUse = errors.New("the store is in use")
	// ErrFull means that the disk has no room; it may pass.
	ErrFull = errors.New("the disk is full")
	// ErrReadOnly means that the store cannot be written at all.
	ErrReadOnly = errors.New("the store cannot be written")
	// ErrWriting means that another program has a file open for writing.
	ErrWriting = errors.New("another program has the file open for writing")
	// ErrCannotTell means that the system does not tell whether another program has a file open for writing.
	ErrCannotTell = errors.New("whether another program still writes to the file cannot be told here")
	// ErrReplaced means that the store was moved or removed while it was open.
	ErrReplaced = errors.New("the store was moved or removed while this daemon ran")
)

// WithAdvice adds to a system's error what mends it; the system's own error is wrapped. Other errors are given back
// unchanged.
func WithAdvice(err error) error {
	switch {
	case err == nil, errors.Is(err, ErrFull), errors.Is(err, ErrReadOnly):
		return err
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, errQuota):
		return fmt.Errorf("%w (free some space): %w", ErrFull, err)
	case errors.Is(err, syscall.EROFS), errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("%w (see that the disk is mounted for writing and this user may write there): %w", ErrReadOnly, err)
	}
	return err
}
