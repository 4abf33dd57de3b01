package daemon_test

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"tracewheel/devices"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/daemon/daemontest"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
	"tracewheel/pipeline/verify"
)

// layers makes programs by a lay: each search gives another one, so that a second search is seen. The lay stands in the
// program's last block.
type layers struct {
	searches, lays atomic.Int64
	nonce          string
	waited         atomic.Bool // a search was told to wait
	holdSearch     chan struct{}
}

func (l *layers) next() []byte {
	return fmt.Appendf(nil, "lay %s%d", l.nonce, l.lays.Add(1))
}

func (l *layers) make(ctx context.Context, in job.Draft) (job.Made, error) {
	b, err := daemontest.Make(ctx, in)
	if err != nil || len(b.Program.Blocks) == 0 {
		return b, err
	}
	if b.Lay = in.Lay; b.Lay == nil {
		l.searches.Add(1)
		b.Lay = l.next()
	}
	b.Program.Blocks = append(b.Program.Blocks, devices.Block{Bytes: append(bytes.Clone(b.Lay), ';'), Stroke: -1, Piece: -1})
	b.Pictures["lay.svg"] = b.Lay
	return b, nil
}

func (l *layers) better(ctx context.Context, in job.Draft, _ time.Duration) ([]byte, string, error) {
	for in.Busy() {
		l.waited.Store(true)
		select {
		case <-ctx.Done():
			return nil, "", ctx.Err()
		case <-time.After(time.Millisecond):
		}
	}
	if l.holdSearch != nil {
		<-l.holdSearch
	}
	return l.next(), "8 mm instead of 9 mm", nil
}

func withLays(t *testing.T) (*daemontest.Workroom, *layers) {
	t.Helper()
	h, l := daemontest.New(t), &layers{}
	h.Options.Build, h.Options.Better = l.make, l.better
	return h, l
}

// TestLayIsKept: a lay is sought once for a job; its trial, the job itself made anew after a restart, and the job made
// again read it. Its sum stands in the ledger's line before the job can be released.
func TestLayIsKept(t *testing.T) {
	h, l := withLays(t)
	h.Start()
	h.Drop("knife-table", "smock.svg", "a\nb")
	j := h.Becomes(1, ledger.Held)
	data, err := os.ReadFile(filepath.Join(h.Settings.Store, "jobs", "1", ledger.LayFile(j.Lay)))
	if err != nil || string(data) != "lay 1" {
		t.Fatalf("%q, %v", data, err)
	}
	h.Stop()
	h.Start()
	for i, how := range []string{control.ToolUpDry, control.ToolUpBounds} {
		n, err := h.Daemon.Jobs().ToolUp(t.Context(), 1, how, control.BedClear)
		if err != nil {
			t.Fatal(err)
		}
		h.Becomes(n, ledger.Completed)
		if got := h.Job(n).Lay; got != j.Lay {
			t.Errorf("trial %d has lay %s, the job %s", i, got, j.Lay)
		}
	}
	if err := h.Daemon.Jobs().Release(t.Context(), 1, nil, control.BedClear); err != nil {
		t.Fatal(err)
	}
	h.Becomes(1, ledger.Completed)
	n, err := h.Daemon.Jobs().Again(t.Context(), 1)
	if err != nil {
		t.Fatal(err)
	}
	h.Becomes(n, ledger.Held)
	if h.Job(n).Lay != j.Lay || l.searches.Load() != 1 {
		t.Errorf("lay %s after %s, %d searches", h.Job(n).Lay, j.Lay, l.searches.Load())
	}
	for _, sent := range h.Device.Sendings("knife-table") {
		if !strings.Contains(sent, "lay 1;") {
			t.Errorf("sent %q", sent)
		}
	}
}

// TestBetterLay: a better lay takes the place of one that waits; a release that names none, or the one before, is
// refused; after the release, or a trial, the lay stays.
func TestBetterLay(t *testing.T) {
	h, l := withLays(t)
	h.Start()
	jobs := h.Daemon.Jobs()
	h.Drop("knife-table", "smock.svg", "a\nb")
	before := h.Becomes(1, ledger.Held)
	if err := jobs.Better(t.Context(), 1, time.Minute); err != nil {
		t.Fatal(err)
	}
	h.Until("made with the better lay", func() bool { j := h.Job(1); return j.Lay != before.Lay && j.Ready })
	now := h.Job(1)
	if now.State != ledger.Held || strings.Contains(now.Reason, "better lay was found") {
		t.Errorf("%s, %q", now.State, now.Reason)
	}
	for _, named := range []string{"", before.Lay, before.LayShown(), now.Lay[:7], "ffffffff"} {
		err := jobs.ReleaseLay(t.Context(), 1, nil, control.BedClear, named)
		if err == nil || !strings.Contains(err.Error(), "the lay of job 1 has changed since it was shown: look at it again") {
			t.Errorf("released as %q: %v", named, err)
		}
	}
	if n := len(h.Device.Sendings("knife-table")); n > 0 {
		t.Fatalf("%d sendings", n)
	}
	if err := jobs.ReleaseLay(t.Context(), 1, nil, control.BedClear, now.LayShown()); err != nil {
		t.Fatal(err)
	}
	h.Becomes(1, ledger.Completed)
	if got := h.Device.Sendings("knife-table"); len(got) != 1 || !strings.Contains(got[0], "lay 2;") {
		t.Errorf("sent %q", got)
	}
	h.Drop("knife-table", "hood.svg", "c")
	h.Becomes(2, ledger.Held)
	trial, err := jobs.ToolUp(t.Context(), 2, control.ToolUpDry, control.BedClear)
	if err != nil {
		t.Fatal(err)
	}
	h.Becomes(trial, ledger.Completed)
	for _, id := range []int64{1, 2} {
		if err := jobs.Better(t.Context(), id, time.Minute); !control.IsRefusal(err) {
			t.Errorf("a better lay for job %d: %v", id, err)
		}
	}
	// A release while the search goes on: the better lay comes too late.
	l.holdSearch = make(chan struct{})
	h.Drop("knife-table", "cap.svg", "d")
	h.Until("held", func() bool { return h.Job(4).State == ledger.Held })
	if err := jobs.Better(t.Context(), 4, time.Minute); err != nil {
		t.Fatal(err)
	}
	kept := h.Job(4).Lay
	if err := jobs.Release(t.Context(), 4, nil, control.BedClear); err != nil {
		t.Fatal(err)
	}
	h.Becomes(4, ledger.Completed)
	close(l.holdSearch)
	h.Stop()
	h.Start()
	if h.Job(4).Lay != kept {
		t.Error("a lay was replaced after its release")
	}
}

// TestBetterLayOfAHeldPlot: a pen's job that a person holds has a better lay and stays held.
func TestBetterLayOfAHeldPlot(t *testing.T) {
	h, l := withLays(t)
	h.Device.Hold = make(chan struct{})
	h.Start()
	jobs := h.Daemon.Jobs()
	h.Drop("roll-plotter", "first.svg", "a\nb")
	h.Becomes(1, ledger.Processing)
	h.Drop("roll-plotter", "smock.svg", "a\nb\nc")
	h.Until("made", func() bool { return h.Job(2).Ready })
	if err := jobs.Better(t.Context(), 2, time.Minute); !control.IsRefusal(err) {
		t.Errorf("a better lay for one that goes by itself: %v", err)
	}
	if err := jobs.Hold(t.Context(), 2); err != nil {
		t.Fatal(err)
	}
	before := h.Job(2).Lay
	if err := jobs.Better(t.Context(), 2, time.Minute); err != nil {
		t.Fatal(err)
	}
	h.Until("the search waits for the sending", l.waited.Load)
	if h.Job(2).Lay != before {
		t.Error("laid while something was sent")
	}
	close(h.Device.Hold)
	h.Becomes(1, ledger.Completed)
	h.Until("made with the better lay", func() bool { j := h.Job(2); return j.Lay != before && j.Ready })
	if j := h.Job(2); j.State != ledger.Held || !strings.Contains(j.Reason, "held by a person") {
		t.Errorf("%s, %q", j.State, j.Reason)
	}
	if err := jobs.ReleaseLay(t.Context(), 2, nil, "", h.Job(2).Lay); err != nil {
		t.Fatal(err)
	}
	h.Becomes(2, ledger.Completed)
}

// TestChangedLayIsNotSent: a byte changed in a lay, or the lay of another job put in its place with its line of the
// files, keeps a job from being sent; verify names it.
func TestChangedLayIsNotSent(t *testing.T) {
	for name, damage := range map[string]func(h *daemontest.Workroom, j ledger.Job) error{
		"a byte": func(h *daemontest.Workroom, j ledger.Job) error {
			return os.WriteFile(filepath.Join(h.Settings.Store, "jobs", "1", ledger.LayFile(j.Lay)), []byte("lay 7"), 0o600)
		},
		"the sum of its file": func(h *daemontest.Workroom, j ledger.Job) error {
			return h.Damage(fmt.Sprintf("UPDATE files SET sha256 = 'x' || substr(sha256, 2) WHERE job = 1 AND name = '%s'", ledger.LayFile(j.Lay)))
		},
	} {
		t.Run(name, func(t *testing.T) {
			h, _ := withLays(t)
			h.Start()
			h.Drop("knife-table", "smock.svg", "a\nb")
			j := h.Becomes(1, ledger.Held)
			if err := damage(h, j); err != nil {
				t.Fatal(err)
			}
			if got := verify.Verify(h.Settings.Store); len(got) == 0 || !strings.Contains(got[0].Text, ledger.LayFile(j.Lay)) {
				t.Errorf("verify says %v", got)
			}
			_ = h.Daemon.Jobs().Release(t.Context(), 1, nil, control.BedClear)
			h.Until("it fails", func() bool { return h.Job(1).State == ledger.Aborted })
			if n := len(h.Device.Sendings("knife-table")); n > 0 {
				t.Errorf("%d sendings", n)
			}
			_ = h.Daemon.Stop(t.Context())
			h.Daemon = nil // its store is damaged on purpose
		})
	}
}

// oneLay looks at what a kill left: a job that is ready is made by the lay that its line names, all of it.
func (c *crashed) oneLay() {
	c.t.Helper()
	st := store.Look(c.set.Store)
	for _, j := range c.jobs() {
		if !j.Ready || j.Lay == "" || j.State == ledger.Aborted {
			continue
		}
		lay, err := st.Read(j.ID, ledger.LayFile(j.Lay))
		if err != nil {
			c.t.Errorf("job %d: %v", j.ID, err)
			continue
		}
		program, err1 := st.Read(j.ID, store.ProgramBytes)
		picture, err2 := st.Read(j.ID, "picture-lay.svg")
		if err1 != nil || err2 != nil || !bytes.HasSuffix(program, append(bytes.Clone(lay), ';')) || !bytes.Equal(picture, lay) {
			c.t.Errorf("job %d has lay %q, picture %q and program %q; %v, %v", j.ID, lay, picture, program, err1, err2)
		}
	}
}
