package pipeline

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
	"tracewheel/pipeline/verify"
)

// newOld is a house in which job 1 is done, job 2 was refused and a folder was set aside; its clock then
// stands some time after that.
func newOld(t *testing.T) (h *house, later func(time.Duration)) {
	h = newHouse(t)
	h.opts.Build = func(ctx context.Context, in job.Draft) (job.Made, error) {
		b, err := pretendBuild(ctx, in)
		if b.Pictures != nil {
			b.Pictures["lay.svg"] = []byte("<svg/>")
		}
		return b, err
	}
	h.start()
	h.drop("roll-plotter", "a.svg", "a")
	h.becomes(1, ledger.Completed)
	h.drop("roll-plotter", "b.svg", "REFUSE")
	h.becomes(2, ledger.Aborted)
	h.stop()
	for _, name := range []string{"2-1", "mine"} {
		if err := os.MkdirAll(filepath.Join(h.set.Store, "stray", name), 0o700); err != nil {
			t.Fatal(err)
		}
		long := time.Now().Add(-1e4 * time.Hour) // a rename keeps a folder's date
		if err := os.Chtimes(filepath.Join(h.set.Store, "stray", name), long, long); err != nil {
			t.Fatal(err)
		}
	}
	return h, func(d time.Duration) {
		h.stop()
		h.opts.Now = func() time.Time { return time.Now().Add(d) }
		h.start()
	}
}

// files are the names that lie in a job's folder.
func (h *house) files(job int64) []string {
	names, err := store.Look(h.set.Store).Names(job)
	if err != nil {
		h.t.Error(err)
	}
	return names
}

func (h *house) has(parts ...string) bool {
	_, err := os.Stat(filepath.Join(parts...))
	return err == nil
}

// pruned waits until the daemon has looked for what is old.
func (h *house) pruned() { time.Sleep(150 * time.Millisecond) }

var bare = []string{"findings.json", "original.svg", "picture-lay.svg", "sent-1"}

// TestOldPrograms: program and pictures go after the time; by its draft a garment is found and made again.
func TestOldPrograms(t *testing.T) {
	h, later := newOld(t)
	h.set.Keep = 24 * time.Hour
	later(23 * time.Hour)
	h.pruned()
	if got := h.files(1); !slices.Contains(got, store.ProgramBytes) || !slices.Contains(got, "picture-draft.svg") {
		t.Errorf("removed too early: %v is left", got)
	}
	later(25 * time.Hour)
	h.until("its program is removed", func() bool { return h.job(1).Stripped == ledger.Bare })
	if got := h.files(1); !slices.Equal(got, bare) {
		t.Errorf("%v is left", got)
	}
	events, err := h.d.Desk().Events(t.Context(), 1)
	if err != nil || !strings.Contains(events[len(events)-1].Text, "tracewheel again 1") {
		t.Errorf("its history ends as %+v, %v", events, err)
	}
	id, err := h.d.Desk().Again(t.Context(), 1)
	if err != nil {
		t.Fatal(err)
	}
	h.becomes(id, ledger.Completed)
	later(1e4 * time.Hour)
	if h.job(1).ID != 1 {
		t.Error("the draft was removed")
	}
}

// TestOldCutShort: a kill between the mark and the list of files is finished by the next start, and
// verify takes it as sound meanwhile.
func TestOldCutShort(t *testing.T) {
	h, later := newOld(t)
	if err := h.sql("UPDATE jobs SET stripped = 1 WHERE id = 1"); err != nil {
		t.Fatal(err)
	}
	if err := os.Remove(filepath.Join(h.set.Store, "jobs", "1", store.ProgramBytes)); err != nil {
		t.Fatal(err)
	}
	if problems := verify.Verify(h.set.Store); len(problems) > 0 {
		t.Error(problems)
	}
	later(0)
	if got := h.files(1); !slices.Equal(got, bare) || h.job(1).Stripped != ledger.Bare {
		t.Errorf("%v is left, %v", got, h.job(1).Stripped)
	}
}

// TestClockAhead: a clock that stands far ahead at the start removes nothing.
func TestClockAhead(t *testing.T) {
	h, later := newOld(t)
	h.set.Keep, h.set.KeepDrafts = 24*time.Hour, 24*time.Hour
	later(31 * 24 * time.Hour)
	h.drop("roll-plotter", "c.svg", "c") // dated by the same clock, so that it tells nothing
	h.becomes(3, ledger.Completed)
	later(31 * 24 * time.Hour)
	h.pruned()
	if got := h.files(1); !slices.Contains(got, store.ProgramBytes) || h.has(h.set.Store, "seen.json") {
		t.Errorf("the clock was believed: %v is left of job 1", got)
	}
}

// TestClockBehind: a job that ended while the clock stood in the past is as young as the jobs before it.
func TestClockBehind(t *testing.T) {
	h, later := newOld(t)
	h.set.Keep = 48 * time.Hour
	h.opts.Now = func() time.Time { return time.Now().Add(-1e5 * time.Hour) }
	h.start()
	h.drop("roll-plotter", "c.svg", "c")
	h.becomes(3, ledger.Completed)
	later(0)
	h.drop("roll-plotter", "d.svg", "d")
	h.becomes(4, ledger.Completed)
	later(25 * time.Hour)
	h.until("the clock is believed", func() bool { return h.has(h.set.Store, "seen.json") })
	if got := h.files(3); !slices.Contains(got, store.ProgramBytes) {
		t.Errorf("%v is left", got)
	}
}

// TestOldFolders: what came back and what was set aside goes after the time that it was seen there.
func TestOldFolders(t *testing.T) {
	h, later := newOld(t)
	h.set.Keep = 48 * time.Hour
	stray := filepath.Join(h.set.Store, "stray")
	later(25 * time.Hour)
	h.until("they are seen", func() bool { return h.has(h.set.Store, "seen.json") })
	if !h.has(h.set.Returned, "b-job2") || !h.has(stray, "2-1") {
		t.Error("removed as soon as it was seen")
	}
	later(72 * time.Hour)
	h.pruned()
	if !h.has(h.set.Returned, "b-job2") || !h.has(stray, "2-1") {
		t.Error("removed too early")
	}
	later(74 * time.Hour)
	h.until("they are removed", func() bool { return !h.has(h.set.Returned, "b-job2") && !h.has(stray, "2-1") })
	if !h.has(stray, "mine") {
		t.Error("a person's own folder was removed")
	}
	if h.job(2).ID != 2 || !h.has(h.set.Store, "jobs", strconv.Itoa(2)) {
		t.Error("the refused job was removed")
	}
}
