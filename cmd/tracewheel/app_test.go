package main

import (
	"io"
	"os"
	"path/filepath"
	"testing"

	"tracewheel/config"
)

// TestWorkroomIsReadOnce: one command goes by one state of the workroom file, whoever in it asks, and tells
// the file's notes once.
func TestWorkroomIsReadOnce(t *testing.T) {
	file := filepath.Join(t.TempDir(), "workroom.yaml")
	if err := os.WriteFile(file, config.SampleFile(), 0o600); err != nil {
		t.Fatal(err)
	}
	a := &app{ctx: t.Context(), err: io.Discard, configFile: file}
	first, err := a.room(false)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Remove(file); err != nil {
		t.Fatal(err)
	}
	if again, err := a.room(false); err != nil || again != first {
		t.Errorf("asked again: %p, not %p: %v", again, first, err)
	}
}
