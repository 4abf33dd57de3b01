package pipeline

import (
	"os"
	"path/filepath"
	"testing"

	"tracewheel/pipeline/ledger"
)

// TestReturnedFolder: it is named while it is there, and only then.
func TestReturnedFolder(t *testing.T) {
	room, j := Sample(), ledger.Job{ID: 8, File: "apron.svg"}
	room.Dir = t.TempDir()
	if got := ReturnedFolder(room, j); got != "" {
		t.Errorf("names %s, which is not there", got)
	}
	want := filepath.Join(room.Dir, "returned", returnedName(j))
	if err := os.MkdirAll(want, 0o700); err != nil {
		t.Fatal(err)
	}
	if got := ReturnedFolder(room, j); got != want {
		t.Errorf("%q, want %q", got, want)
	}
}
