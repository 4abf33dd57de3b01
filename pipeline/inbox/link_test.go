package inbox

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tracewheel/devices/needs"
	"tracewheel/pipeline/store"
)

// TestLinkedFolder: a link in place of a device's folder is not followed: nothing is taken from where it leads, nothing
// is dropped there, and it is told.
func TestLinkedFolder(t *testing.T) {
	root, elsewhere := t.TempDir(), t.TempDir()
	dir := filepath.Join(root, "roll-plotter")
	if err := os.WriteFile(filepath.Join(elsewhere, "a.svg"), []byte("<svg/>"), 0o600); err != nil {
		t.Fatal(err)
	}
	needs.Link(t, elsewhere, dir)
	taker := &Taker{Root: root, FS: store.Disk{}}
	if err := taker.MakeDir("roll-plotter"); err == nil || !strings.Contains(err.Error(), "is a link") {
		t.Errorf("it is taken for a folder: %v", err)
	}
	if err := Drop(store.Disk{}, dir, "b.svg", []byte("<svg/>"), nil); err == nil {
		t.Error("a draft is dropped through it")
	}
	if entries, err := os.ReadDir(elsewhere); err != nil || len(entries) != 1 {
		t.Errorf("%v, %v", entries, err)
	}
	if list := Look(store.Disk{}, root, []string{"roll-plotter"}); len(list) != 1 || !strings.Contains(list[0].Why, "is a link") {
		t.Errorf("%+v", list)
	}
}
