package daemon_test

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"tracewheel/pipeline/daemon/daemontest"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
	"tracewheel/pipeline/verify"
)

// newOld is a workroom in which job 1 is done, job 2 was refused and a folder was set aside; its clock then
// stands some time after that.
func newOld(t *testing.T) (h *daemontest.Workroom, later func(time.Duration)) {
	h = daemontest.New(t)
	h.Options.Build = func(ctx context.Context, in job.Draft) (job.Made, error) {
		b, err := daemontest.Make(ctx, in)
		if b.Pictures != nil {
			b.Pictures["lay.svg"] = []byte("<svg/>")
		}
		return b, err
	}
	h.Start()
	h.Drop("roll-plotter", "a.svg", "a")
	h.Becomes(1, ledger.Completed)
	h.Drop("roll-plotter", "b.svg", "REFUSE")
	h.Becomes(2, ledger.Aborted)
	h.Stop()
	for _, name := range []string{"2-1", "mine"} {
		if err := os.MkdirAll(filepath.Join(h.Settings.Store, "stray", name), 0o700); err != nil {
			t.Fatal(err)
		}
		long := time.Now().Add(-1e4 * time.Hour) // a rename keeps a folder's date
		if err := os.Chtimes(filepath.Join(h.Settings.Store, "stray", name), long, long); err != nil {
			t.Fatal(err)
		}
	}
	return h, func(d time.Duration) {
		h.Stop()
		h.Options.Now = func() time.Time { return time.Now().Add(d) }
		h.Start()
	}
}

var bare = []string{"findings.json", "original.svg", "picture-lay.svg", "sent-1"}

// TestOldPrograms: program and pictures go after the time; by its draft a garment is found and made again.
func TestOldPrograms(t *testing.T) {
	h, later := newOld(t)
	h.Settings.Keep = 24 * time.Hour
	later(23 * time.Hour)
	h.Pruned()
	if got := h.Files(1); !slices.Contains(got, store.ProgramBytes) || !slices.Contains(got, "picture-draft.svg") {
		t.Errorf("removed too early: %v is left", got)
	}
	later(25 * time.Hour)
	h.Until("its program is removed", func() bool { return h.Job(1).Stripped == ledger.Bare })
	if got := h.Files(1); !slices.Equal(got, bare) {
		t.Errorf("%v is left", got)
	}
	events, err := h.Daemon.Jobs().Events(t.Context(), 1)
	if err != nil || !strings.Contains(events[len(events)-1].Text, "tracewheel again 1") {
		t.Errorf("its history ends as %+v, %v", events, err)
	}
	id, _, err := h.Daemon.Jobs().AgainPieces(t.Context(), 1, "", "")
	if err != nil {
		t.Fatal(err)
	}
	h.Becomes(id, ledger.Completed)
	later(1e4 * time.Hour)
	if h.Job(1).ID != 1 {
		t.Error("the draft was removed")
	}
}

// TestOldCutShort: a kill between the mark and the list of files is finished by the next start, and
// verify takes it as sound meanwhile.
func TestOldCutShort(t *testing.T) {
	h, later := newOld(t)
	if err := h.SQL("UPDATE jobs SET stripped = 1 WHERE id = 1"); err != nil {
		t.Fatal(err)
	}
	if err := os.Remove(filepath.Join(h.Settings.Store, "jobs", "1", store.ProgramBytes)); err != nil {
		t.Fatal(err)
	}
	if problems := verify.Verify(h.Settings.Store); len(problems) > 0 {
		t.Error(problems)
	}
	later(0)
	if got := h.Files(1); !slices.Equal(got, bare) || h.Job(1).Stripped != ledger.Bare {
		t.Errorf("%v is left, %v", got, h.Job(1).Stripped)
	}
}

// TestClockAhead: a clock that stands far ahead at the start removes nothing.
func TestClockAhead(t *testing.T) {
	h, later := newOld(t)
	h.Settings.Keep, h.Settings.KeepDrafts = 24*time.Hour, 24*time.Hour
	later(31 * 24 * time.Hour)
	h.Drop("roll-plotter", "c.svg", "c") // dated by the same clock, so that it tells nothing
	h.Becomes(3, ledger.Completed)
	later(31 * 24 * time.Hour)
	h.Pruned()
	if got := h.Files(1); !slices.Contains(got, store.ProgramBytes) || h.Has(h.Settings.Store, "seen.json") {
		t.Errorf("the clock was believed: %v is left of job 1", got)
	}
}

// TestClockBehind: a job that ended while the clock stood in the past is as young as the jobs before it.
func TestClockBehind(t *testing.T) {
	h, later := newOld(t)
	h.Settings.Keep = 48 * time.Hour
	h.Options.Now = func() time.Time { return time.Now().Add(-1e5 * time.Hour) }
	h.Start()
	h.Drop("roll-plotter", "c.svg", "c")
	h.Becomes(3, ledger.Completed)
	later(0)
	h.Drop("roll-plotter", "d.svg", "d")
	h.Becomes(4, ledger.Completed)
	later(25 * time.Hour)
	h.Until("the clock is believed", func() bool { return h.Has(h.Settings.Store, "seen.json") })
	if got := h.Files(3); !slices.Contains(got, store.ProgramBytes) {
		t.Errorf("%v is left", got)
	}
}

// TestOldFolders: what came back and what was set aside goes after the time that it was seen there.
func TestOldFolders(t *testing.T) {
	h, later := newOld(t)
	h.Settings.Keep = 48 * time.Hour
	stray := filepath.Join(h.Settings.Store, "stray")
	later(25 * time.Hour)
	h.Until("they are seen", func() bool { return h.Has(h.Settings.Store, "seen.json") })
	if !h.Has(h.Settings.Returned, "b-job2") || !h.Has(stray, "2-1") {
		t.Error("removed as soon as it was seen")
	}
	later(72 * time.Hour)
	h.Pruned()
	if !h.Has(h.Settings.Returned, "b-job2") || !h.Has(stray, "2-1") {
		t.Error("removed too early")
	}
	later(74 * time.Hour)
	h.Until("they are removed", func() bool { return !h.Has(h.Settings.Returned, "b-job2") && !h.Has(stray, "2-1") })
	if !h.Has(stray, "mine") {
		t.Error("a person's own folder was removed")
	}
	if h.Job(2).ID != 2 || !h.Has(h.Settings.Store, "jobs", strconv.Itoa(2)) {
		t.Error("the refused job was removed")
	}
}
