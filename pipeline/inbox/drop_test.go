package inbox

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"testing"

	"tracewheel/pipeline/store"
)

// late is a disk on which another's draft of the name comes just after the look for it.
type late struct {
	store.Disk
	file string
}

func (l late) Lstat(name string) (fs.FileInfo, error) {
	info, err := l.Disk.Lstat(name)
	if name == l.file && err != nil {
		_ = os.WriteFile(name, []byte("theirs"), 0o600)
	}
	return info, err
}

// TestDrop: a draft that waits keeps its place and gets nobody else's ticket, whether it lies there before or
// comes meanwhile; what is dropped lies there whole, and nothing hidden stays.
func TestDrop(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "smock.yaml")
	if err := Drop(late{file: file}, dir, "smock.yaml", []byte("mine"), []byte("copies: 9\n")); !errors.Is(err, fs.ErrExist) {
		t.Errorf("beside one that comes meanwhile: %v", err)
	}
	if err := Drop(store.Disk{}, dir, "smock.yaml", []byte("mine"), []byte("copies: 9\n")); !errors.Is(err, fs.ErrExist) {
		t.Errorf("beside one that waits: %v", err)
	}
	if err := Drop(store.Disk{}, dir, "apron.svg", []byte("<svg/>"), []byte("copies: 2\n")); err != nil {
		t.Error(err)
	}
	if err := Drop(store.Disk{}, dir, "kilt.svg", []byte("<svg/>"), nil); err != nil {
		t.Error(err)
	}
	want := map[string]string{"smock.yaml": "theirs", "apron.svg": "<svg/>", "apron.svg.ticket.yaml": "copies: 2\n", "kilt.svg": "<svg/>"}
	entries, err := os.ReadDir(dir)
	if err != nil || len(entries) != len(want) {
		t.Errorf("there lie %v: %v", entries, err)
	}
	for name, text := range want {
		if got, err := os.ReadFile(filepath.Join(dir, name)); err != nil || string(got) != text {
			t.Errorf("%s holds %q: %v", name, got, err)
		}
	}
}
