//go:build unix

package store_test

import (
	"errors"
	"os"
	"path/filepath"
	"testing"

	"tracewheel/pipeline/store"
)

// An open folder cannot be moved on Windows.

// TestStoreReplaced: a store whose folder was moved away, or made anew, is no longer the one that is held.
func TestStoreReplaced(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "store")
	a, err := store.Open(dir, store.Disk{})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = a.Close() }()
	if err := a.StillThere(); err != nil {
		t.Fatal(err)
	}
	if err := os.Rename(dir, dir+"-old"); err != nil {
		t.Fatal(err)
	}
	if err := a.StillThere(); !errors.Is(err, store.ErrReplaced) {
		t.Errorf("moved away: %v", err)
	}
	b, err := store.Open(dir, store.Disk{})
	if err != nil {
		t.Fatal(err)
	}
	if err := a.StillThere(); !errors.Is(err, store.ErrReplaced) {
		t.Errorf("made anew: %v", err)
	}
	if err := errors.Join(b.StillThere(), b.Close()); err != nil {
		t.Error(err)
	}
}
