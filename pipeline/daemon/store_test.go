package daemon_test

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tracewheel/pipeline/daemon"
	"tracewheel/pipeline/daemon/daemontest"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
	"tracewheel/pipeline/store/faultfs"
)

// TestFullDisk: nothing is lost while the disk is full, it is told once in plain words, and all goes
// on by itself when there is room again.
func TestFullDisk(t *testing.T) {
	for _, room := range []int64{0, 3, 400} { // not the draft; a part of it; the draft, and not its program
		h := daemontest.New(t)
		faulty := faultfs.Fail(store.Disk{})
		h.Options.FS = faulty
		h.Start()
		faulty.DiskFullAfter(room)
		h.Drop("roll-plotter", "skirt.svg", daemontest.SixStrokes)
		full := func() int {
			n := 0
			for _, e := range h.Logs.All() {
				if text, ok := e.ContextMap()["error"].(string); ok && strings.Contains(text, "the disk is full (free some space") {
					n++
				}
			}
			return n
		}
		h.Until("it is told", func() bool { return full() > 0 })
		time.Sleep(300 * time.Millisecond) // time for it to be told again and again
		if n := full(); n > 2 {
			t.Errorf("a full disk was told of %d times", n)
		}
		faulty.Clear()
		h.Becomes(1, ledger.Completed)
		h.Stop()
	}
}

func TestReadOnlyStore(t *testing.T) {
	h := daemontest.New(t)
	faulty := faultfs.Fail(store.Disk{})
	faulty.ReadOnly()
	h.Options.FS = faulty
	_, err := daemon.New(t.Context(), h.Settings, h.Options)
	if !errors.Is(err, store.ErrReadOnly) || !strings.Contains(err.Error(), "see that the disk is mounted for writing and this user may write there") {
		t.Errorf("%v", err)
	}
	faulty.Clear()
	h.Start()
	faulty.ReadOnly() // a disk that the system has remounted after a fault
	h.Drop("roll-plotter", "skirt.svg", "a")
	h.Until("it is told", func() bool { return h.Logs.FilterMessageSnippet("cannot be taken yet").Len() == 1 })
	faulty.Clear()
	h.Becomes(1, ledger.Completed)
}

func TestStoreInUse(t *testing.T) {
	h := daemontest.New(t)
	h.Start()
	_, err := daemon.New(t.Context(), h.Settings, h.Options)
	if !errors.Is(err, store.ErrInUse) || !strings.Contains(err.Error(), "stop that one first") {
		t.Errorf("%v", err)
	}
	h.Drop("roll-plotter", "skirt.svg", "a")
	h.Becomes(1, ledger.Completed)
	h.Stop()
	h.Start() // and it is free again
}

// TestPruning: ended jobs go with their files after the time; what goes on stays, however old.
func TestPruning(t *testing.T) {
	h := daemontest.New(t)
	h.Start()
	h.Drop("roll-plotter", "a.svg", "a")
	h.Becomes(1, ledger.Completed)
	h.Drop("knife-table", "b.svg", "b")
	h.Becomes(2, ledger.Held)
	h.Stop()
	h.Settings.Keep, h.Settings.KeepDrafts = 24*time.Hour, 24*time.Hour
	h.Options.Now = func() time.Time { return time.Now().Add(23 * time.Hour) }
	h.Start()
	if h.Job(1).ID != 1 {
		t.Error("removed too early")
	}
	h.Stop()
	h.Options.Now = func() time.Time { return time.Now().Add(25 * time.Hour) }
	h.Start()
	h.Until("it is removed", func() bool {
		_, err := os.Stat(filepath.Join(h.Settings.Store, "jobs", "1"))
		return h.Job(1).ID == 0 && err != nil
	})
	if h.Job(2).State != ledger.Held {
		t.Error("a waiting job was removed")
	}
	h.Drop("roll-plotter", "c.svg", "c")
	h.Becomes(3, ledger.Completed)
}
