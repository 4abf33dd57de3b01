package daemon_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/daemon/daemontest"
	"tracewheel/pipeline/ledger"
)

// TestUnreadableDraftHoldsNobodyUp: a job whose draft cannot be read is held with the reason, the next one
// of its device is made, and once the draft is back a release has it made.
func TestUnreadableDraftHoldsNobodyUp(t *testing.T) {
	h := daemontest.New(t)
	h.Start()
	h.Drop("roll-plotter", "skirt.svg", "ASK\na")
	j := h.Becomes(1, ledger.Held)
	file := filepath.Join(h.Daemon.Store().JobDir(1), j.Original)
	if err := os.Rename(file, file+".away"); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(file, 0o700); err != nil { // no read of it gives a byte, whoever reads
		t.Fatal(err)
	}
	answers := map[string]string{"allowance": "10mm"}
	if err := h.Daemon.Jobs().Release(t.Context(), 1, answers, ""); err != nil {
		t.Fatal(err)
	}
	h.Drop("roll-plotter", "next.svg", "n")
	h.Becomes(2, ledger.Completed)
	if j = h.Becomes(1, ledger.Held); !strings.Contains(j.Reason, "cannot be read") || !strings.Contains(j.Reason, "tracewheel release 1") {
		t.Errorf("it waits for %q", j.Reason)
	}
	if err := os.Remove(file); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, []byte("ASK\na"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := h.Daemon.Jobs().Release(t.Context(), 1, nil, ""); err != nil {
		t.Fatal(err)
	}
	h.Becomes(1, ledger.Completed)
}

// TestGoneProgramSaysAgain: a job that fails because its program is gone says how its draft is made anew.
func TestGoneProgramSaysAgain(t *testing.T) {
	h := daemontest.New(t)
	h.Start()
	h.Drop("knife-table", "skirt.svg", "a")
	h.Until("it is made", func() bool { return h.Job(1).Ready })
	dir := h.Daemon.Store().JobDir(1)
	aside := t.TempDir()
	back := func(from, to string) {
		for _, name := range []string{"program.bin", "program.json"} {
			if err := os.Rename(filepath.Join(from, name), filepath.Join(to, name)); err != nil {
				t.Fatal(err)
			}
		}
	}
	back(dir, aside)
	if err := h.Daemon.Jobs().Release(t.Context(), 1, nil, control.BedClear); err != nil {
		t.Fatal(err)
	}
	if j := h.Becomes(1, ledger.Aborted); !strings.Contains(j.Reason, "tracewheel again 1") {
		t.Errorf("it says %q", j.Reason)
	}
	if id, _, err := h.Daemon.Jobs().AgainPieces(t.Context(), 1, "", ""); err != nil || id != 2 {
		t.Errorf("again gives %d, %v", id, err)
	}
	h.Until("it is made anew", func() bool { return h.Job(2).Ready })
	back(aside, dir)
}
