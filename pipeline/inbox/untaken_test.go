//go:build unix

package inbox

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/fsnotify/fsnotify"

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
)

func names(list []ledger.Untaken) (out []string) {
	for _, u := range list {
		out = append(out, u.Device+"/"+u.File)
	}
	return out
}

// TestUntakenAreListed: what becomes no job is listed while it lies there, and forgotten when it is gone.
func TestUntakenAreListed(t *testing.T) {
	inBubble(t, func(t *testing.T, w watched) {
		const at = "/inbox/roll-plotter/"
		if err := store.MakeDirs(w.m, at+"skirts", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := w.m.Put("/inbox/lost.svg", draft, true); err != nil {
			t.Fatal(err)
		}
		w.put(t, "skirt.ticket.yaml", card)
		w.m.Writers = func(name string) error {
			if strings.HasPrefix(filepath.Base(name), "locked") {
				return &os.PathError{Op: "open", Path: name, Err: os.ErrPermission}
			}
			return nil
		}
		w.put(t, "locked.svg", draft)
		w.put(t, "locked-too.svg", draft)
		// A device whose folder cannot be made.
		if err := w.m.Put("/inbox/desk-plotter", "a file", true); err != nil {
			t.Fatal(err)
		}
		w.in.Change([]string{"roll-plotter", "desk-plotter"}, w.in.settings)
		pass(5 * time.Minute)
		if got, want := names(w.in.Untaken()), []string{"/lost.svg", "desk-plotter/", "roll-plotter/locked-too.svg", "roll-plotter/locked.svg", "roll-plotter/skirt.ticket.yaml", "roll-plotter/skirts"}; !slices.Equal(got, want) {
			t.Errorf("listed %v and not %v", got, want)
		}
		for _, name := range []string{at + "skirts", "/inbox/lost.svg", at + "skirt.ticket.yaml", at + "locked.svg", at + "locked-too.svg", "/inbox/desk-plotter"} {
			if err := w.m.Remove(name); err != nil {
				t.Fatal(err)
			}
		}
		// What goes with an event, or with its device, is not tried again: nothing but the next look through
		// the folders can forget its fault.
		w.event("locked-too.svg", fsnotify.Remove)
		w.in.Change([]string{"roll-plotter"}, w.in.settings)
		if got := w.in.Untaken(); len(got) != 0 {
			t.Errorf("listed although it is gone: %v", got)
		}
		pass(5 * time.Minute)
		asked := make(chan struct{})
		w.in.done <- func() { // these belong to the loop
			if len(w.in.strange)+len(w.in.faults)+len(w.in.lone) > 0 {
				t.Errorf("still kept: %v, %v, %v", w.in.strange, w.in.faults, w.in.lone)
			}
			close(asked)
		}
		<-asked
		w.m.Writers = nil
		w.put(t, "sound.svg", draft)
		pass(5 * time.Minute)
		if got := w.in.Untaken(); len(got) != 0 || w.b.count() != 1 {
			t.Errorf("listed %v of %d jobs", got, w.b.count())
		}
	})
}

// TestLookWithoutDaemon finds the same on the disk.
func TestLookWithoutDaemon(t *testing.T) {
	root := t.TempDir()
	at := func(name string) string { return filepath.Join(root, "roll-plotter", name) }
	for _, err := range []error{os.MkdirAll(at("skirts"), 0o755), os.Symlink("nowhere", at("link.svg")), syscall.Mkfifo(at("pipe.svg"), 0o644),
		os.WriteFile(at("lone.ticket.yaml"), []byte(card), 0o644), os.WriteFile(at("sound.svg"), []byte(draft), 0o644),
		os.WriteFile(at("sound.ticket.yaml"), []byte(card), 0o644), os.WriteFile(filepath.Join(root, "lost.svg"), []byte(draft), 0o644)} {
		if err != nil {
			t.Fatal(err)
		}
	}
	want := []string{"/lost.svg", "roll-plotter/link.svg", "roll-plotter/lone.ticket.yaml", "roll-plotter/pipe.svg", "roll-plotter/skirts"}
	if got := names(Look(store.Disk{}, root, []string{"roll-plotter", "desk-plotter"}, "")); !slices.Equal(got, want) {
		t.Errorf("listed %v and not %v", got, want)
	}
}
