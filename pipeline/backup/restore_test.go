package backup

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"tracewheel/pipeline/store"
)

// TestRestoreAnEmptyFolderOnly: where anything lies, or a daemon holds the store, nothing is written.
func TestRestoreAnEmptyFolderOnly(t *testing.T) {
	room := workroom(t)
	file, _ := taken(t, room)
	before := listed(t, filepath.Dir(room.File))
	if _, err := Restore(t.Context(), file, filepath.Dir(room.File), io.Discard); err == nil || !strings.Contains(err.Error(), "is not empty") {
		t.Errorf("over a workroom: %v", err)
	}
	st, err := store.Open(room.Store, store.Disk{})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Restore(t.Context(), file, filepath.Dir(room.File), io.Discard); !errors.Is(err, store.ErrInUse) {
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
	if _, err := Restore(t.Context(), file, hidden, io.Discard); err == nil {
		t.Error("beside a hidden file")
	}
	empty := t.TempDir()
	if _, err := Restore(t.Context(), file, empty, io.Discard); err != nil {
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

// TestRestoreTellsHowFar: a person hears how far a copy is read while it is compared and while it is written, and
// an end that is asked for comes in the middle of a file.
func TestRestoreTellsHowFar(t *testing.T) {
	defer func(was time.Duration) { tellEvery = was }(tellEvery)
	tellEvery = 0
	file, _ := taken(t, workroom(t))
	var out strings.Builder
	if _, err := Restore(t.Context(), file, filepath.Join(t.TempDir(), "back"), &out); err != nil {
		t.Fatal(err)
	}
	info, err := os.Stat(file)
	if err != nil {
		t.Fatal(err)
	}
	for _, doing := range []string{"compared", "written"} {
		if want := fmt.Sprintf("%s: %.1[2]f of %.1[2]f MB\n", doing, float64(info.Size())/1e6); !strings.Contains(out.String(), want) {
			t.Errorf("it does not say %q:\n%s", want, out.String())
		}
	}
	ctx, cancel := context.WithCancel(t.Context())
	m := meter{ctx: ctx, out: io.Discard, from: strings.NewReader("half a file, and the rest of it")}
	if _, err := io.ReadFull(&m, make([]byte, 11)); err != nil {
		t.Fatal(err)
	}
	cancel()
	if _, err := m.Read(make([]byte, 11)); !errors.Is(err, context.Canceled) {
		t.Errorf("it reads on: %v", err)
	}
}
