package daemon_test

import (
	"context"
	"fmt"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/daemon/daemontest"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
)

// TestMadeOtherwiseNow: a job that waited while the settings changed is made anew before it is sent, once,
// and a cutter's waits for a person again; one that would be made as it was is sent as it is.
func TestMadeOtherwiseNow(t *testing.T) {
	h := daemontest.New(t)
	var offset, built atomic.Int64
	h.Options.Build = func(ctx context.Context, in job.Draft) (job.Made, error) {
		built.Add(1)
		in.Source = fmt.Appendf(nil, "%s with %d", in.Source, offset.Load())
		return daemontest.Make(ctx, in)
	}
	h.Start()
	release := func(id int64) {
		t.Helper()
		if err := h.Daemon.Jobs().Release(t.Context(), id, nil, control.BedClear); err != nil {
			t.Fatal(err)
		}
	}
	h.Drop("knife-table", "same.svg", "a")
	h.Becomes(1, ledger.Held)
	if err := h.Daemon.Reload(h.Settings, func() {}); err != nil { // settings that change nothing for it
		t.Fatal(err)
	}
	release(1)
	h.Becomes(1, ledger.Completed)
	if n := built.Load(); n != 2 {
		t.Errorf("made %d times", n)
	}
	h.Drop("knife-table", "other.svg", "b")
	h.Becomes(2, ledger.Held)
	offset.Store(5)
	h.Stop() // what a run before this one made is looked at as well
	h.Start()
	release(2)
	h.Until("it is made anew", func() bool {
		j := h.Job(2)
		return j.State == ledger.Held && j.Ready && !j.Released && strings.HasPrefix(j.Reason, "made anew, because the workroom file")
	})
	if got := h.Device.Sendings("knife-table"); len(got) != 1 {
		t.Errorf("sent %q", got)
	}
	release(2)
	h.Becomes(2, ledger.Completed)
	if got := h.Device.Sendings("knife-table"); len(got) != 2 || !strings.Contains(got[1], "b with 5;") {
		t.Errorf("sent %q", got)
	}
}

// TestDeviceChangesUnderAJob: what was let go for a device and is not begun waits for a person again where
// the workroom file makes another machine of it.
func TestDeviceChangesUnderAJob(t *testing.T) {
	h := daemontest.New(t)
	h.Running("roll-plotter")
	h.Stop()
	h.Device.Hold = nil
	h.Start() // job 1 stands stopped, and the others wait behind it
	h.Drop("roll-plotter", "next.svg", "n")
	h.Until("the next is made", func() bool { return h.Job(2).Ready })
	if _, err := h.Daemon.Jobs().ToolUp(t.Context(), 2, control.ToolUpDry, ""); err != nil {
		t.Fatal(err)
	}
	h.Until("the trial is made", func() bool { return h.Job(3).Ready })
	h.Drop("roll-plotter", "last.svg", "l")
	h.Until("the last is made", func() bool { return h.Job(4).Ready })
	s := h.Settings
	s.Devices = []job.Device{{Name: "roll-plotter", Cuts: true}, {Name: "knife-table", Cuts: true}}
	if err := h.Daemon.Reload(s, func() {}); err != nil {
		t.Fatal(err)
	}
	for id := int64(3); id <= 4; id++ {
		if j := h.Job(id); j.State != ledger.Held || j.Released || !strings.Contains(j.Reason, "not begun before the workroom file changed its device") {
			t.Errorf("job %d is %s: %s", id, j.State, j.Reason)
		}
	}
	if err := h.Daemon.Jobs().Cancel(t.Context(), 1); err != nil {
		t.Fatal(err)
	}
	err := h.Daemon.Jobs().Release(t.Context(), 4, nil, "")
	if !control.IsRefusal(err) || !strings.Contains(err.Error(), "moves a cutter") {
		t.Errorf("%v", err)
	}
}

// TestDeviceComesBack: a device that a reload brings back makes its waiting jobs with the new settings,
// which are in force before its worker begins.
func TestDeviceComesBack(t *testing.T) {
	h := daemontest.New(t)
	var known atomic.Bool
	known.Store(true)
	gate := make(chan struct{})
	h.Options.Build = func(ctx context.Context, in job.Draft) (job.Made, error) {
		select {
		case <-gate: // until then the job waits to be made
		case <-ctx.Done():
			return job.Made{}, ctx.Err()
		}
		if !known.Load() {
			return job.Made{}, fmt.Errorf("there is no device %q", in.Device)
		}
		return daemontest.Make(ctx, in)
	}
	h.Start()
	h.Drop("knife-table", "skirt.svg", "a")
	h.Until("it waits to be made", func() bool { return h.Job(1).State == ledger.Pending })
	away := h.Settings
	away.Devices = away.Devices[:1]
	if err := h.Daemon.Reload(away, func() { known.Store(false) }); err != nil {
		t.Fatal(err)
	}
	close(gate)
	if err := h.Daemon.Reload(h.Settings, func() {
		time.Sleep(50 * time.Millisecond) // a worker that had begun would have made it by now
		known.Store(true)
	}); err != nil {
		t.Fatal(err)
	}
	h.Until("it is made", func() bool { j := h.Job(1); return j.Ready || j.State.Ended() })
	if j := h.Job(1); j.State != ledger.Held {
		t.Errorf("it is %s: %s", j.State, j.Reason)
	}
}
