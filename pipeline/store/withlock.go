package store

import (
	"context"
	"errors"
	"fmt"
	"os"
	"time"
)

// WithLock runs fn while no other caller with the same lock file runs its own, in this process or another; it waits until
// ctx ends. The lock file stays, because after its removal two callers could lock two files of one name. fn may share
// files with other callers: the lock orders nothing in memory.
func WithLock(ctx context.Context, path string, fn func() error) (err error) {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, PrivateFile)
	if err != nil {
		return WithAdvice(fmt.Errorf("locking %q: %w", path, err))
	}
	defer func() { err = errors.Join(err, f.Close()) }() // this unlocks
	for {
		got, err := tryLock(f)
		switch {
		case err != nil:
			return fmt.Errorf("locking %q: %w", path, err)
		case got:
			return fn()
		}
		select {
		case <-ctx.Done():
			return fmt.Errorf("locking %q: somebody else holds it: %w", path, ctx.Err())
		case <-time.After(10 * time.Millisecond):
		}
	}
}
