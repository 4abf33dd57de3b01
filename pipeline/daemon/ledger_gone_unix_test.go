//go:build unix

package daemon_test

import (
	"errors"
	"os"
	"testing"
	"time"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/daemon/daemontest"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
)

// TestLedgerTakenAway: without its ledger, or the ledger's journal, a daemon takes nothing and sends nothing, and
// says so once. With the very same files back it goes on. SQLite itself goes on writing to a file without a name
// (unlink(2): "the file will remain in existence until the last file descriptor referring to it is closed").
func TestLedgerTakenAway(t *testing.T) {
	for _, suffix := range []string{"", "-wal"} {
		t.Run("ledger.db"+suffix, func(t *testing.T) {
			h := daemontest.New(t)
			h.Start()
			h.Drop("knife-table", "a.svg", "a")
			h.Becomes(1, ledger.Held)
			file := store.LedgerPath(h.Settings.Store) + suffix
			if err := os.Rename(file, file+".away"); err != nil {
				t.Fatal(err)
			}
			const said = "nothing is taken and nothing sent"
			h.Until("it is told", func() bool { return h.Logs.FilterMessage(said).Len() > 0 })
			if suffix != "" { // as a reader makes one that finds none
				if err := os.WriteFile(file, nil, 0o600); err != nil {
					t.Fatal(err)
				}
			}
			h.DropWhole("roll-plotter", "b.svg", "b")
			if err := h.Daemon.Jobs().Release(t.Context(), 1, nil, control.BedClear); !errors.Is(err, ledger.ErrReplaced) {
				t.Errorf("release: %v", err)
			}
			time.Sleep(300 * time.Millisecond) // time for what must not happen
			if !h.Has(h.Settings.Inbox, "roll-plotter", "b.svg") || len(h.Device.Sendings("knife-table")) > 0 {
				t.Errorf("the file was taken or the job was sent: %q", h.Device.Sendings("knife-table"))
			}
			if err := h.Daemon.Alive(t.Context()); !errors.Is(err, ledger.ErrReplaced) {
				t.Errorf("alive: %v", err)
			}
			if err := os.Rename(file+".away", file); err != nil {
				t.Fatal(err)
			}
			h.Becomes(2, ledger.Completed)
			if j := h.Job(1); j.State != ledger.Held {
				t.Errorf("job 1 is %s", j.State)
			}
			if n := h.Logs.FilterMessage(said).Len(); n != 1 {
				t.Errorf("told %d times", n)
			}
		})
	}
}
