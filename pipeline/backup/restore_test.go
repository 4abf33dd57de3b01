package backup

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"tracewheel/pipeline/store"
)

// TestRestoreAnEmptyFolderOnly: where anything lies, or a daemon holds the store, nothing is written.
func TestRestoreAnEmptyFolderOnly(t *testing.T) {
	room := workroom(t)
	file, _ := taken(t, room)
	before := listed(t, filepath.Dir(room.File))
	if _, err := Restore(t.Context(), file, filepath.Dir(room.File)); err == nil || !strings.Contains(err.Error(), "is not empty") {
		t.Errorf("over a workroom: %v", err)
	}
	st, err := store.Open(room.Store, store.Disk{})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Restore(t.Context(), file, filepath.Dir(room.File)); !errors.Is(err, store.ErrInUse) {
		t.Errorf("beside a daemon: %v", err)
	}
	if err := st.Close(); err != nil {
		t.Fatal(err)
	}
	if after := listed(t, filepath.Dir(room.File)); !slices.Equal(before, after) {
		t.Errorf("%v became %v", before, after)
	}
	hidden := t.TempDir()
	if err := os.WriteFile(filepath.Join(hidden, ".x"), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Restore(t.Context(), file, hidden); err == nil {
		t.Error("beside a hidden file")
	}
	empty := t.TempDir()
	if _, err := Restore(t.Context(), file, empty); err != nil {
		t.Errorf("into an empty folder: %v", err)
	}
}

func listed(t *testing.T, dir string) (names []string) {
	t.Helper()
	err := filepath.WalkDir(dir, func(path string, _ fs.DirEntry, err error) error {
		names = append(names, path)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return names
}
