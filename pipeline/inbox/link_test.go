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
	if list := Look(store.Disk{}, root, []string{"roll-plotter"}, ""); len(list) != 1 || !strings.Contains(list[0].Why, "is a link") {
		t.Errorf("%+v", list)
	}
}

// TestLinkedTicket: a file whose ticket is a link is not made without it: it stays where it is, and it is told why. With
// the ticket itself in its place both are taken.
func TestLinkedTicket(t *testing.T) {
	root, b := t.TempDir(), newBook()
	inbox := filepath.Join(root, "inbox")
	dir := filepath.Join(inbox, "roll-plotter")
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := store.MakeDirs(store.Disk{}, filepath.Join(root, "store", "jobs"), 0o755); err != nil {
		t.Fatal(err)
	}
	shared, draft := filepath.Join(root, "shared.yaml"), filepath.Join(dir, "skirt.svg")
	for _, f := range []string{shared, draft} {
		if err := os.WriteFile(f, []byte("copies: 2\n"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	needs.Link(t, shared, filepath.Join(dir, "skirt.ticket.yaml"))
	info, err := os.Lstat(draft)
	if err != nil {
		t.Fatal(err)
	}
	taker := &Taker{FS: store.Disk{}, Store: store.In(filepath.Join(root, "store"), store.Disk{}), Book: b, Root: inbox}
	take := Take{Device: "roll-plotter", Entry: entryOf(info)}
	if _, err := takeOne(t.Context(), taker, take); err == nil || !strings.Contains(err.Error(), "skirt.ticket.yaml is no plain file") || len(b.entered) > 0 {
		t.Errorf("%v, entered %v", err, b.entered)
	}
	if err := os.Remove(filepath.Join(dir, "skirt.ticket.yaml")); err != nil {
		t.Fatal(err)
	}
	if err := os.Rename(shared, filepath.Join(dir, "skirt.ticket.yaml")); err != nil {
		t.Fatal(err)
	}
	if _, err := takeOne(t.Context(), taker, take); err != nil || len(b.entered) != 1 {
		t.Errorf("with its ticket: %v, entered %v", err, b.entered)
	}
}
