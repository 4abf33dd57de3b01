package daemon_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"tracewheel/devices"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/daemon"
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
	n, _, err := h.Daemon.Jobs().AgainPieces(t.Context(), 1, "", "")
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

// TestBetterLaySaysWhatCameOfIt: a search tells in the job's history and the log what it gave, and ends as soon as
// nothing that it finds would be taken: after a release, a cancel, or where the lay was changed.
func TestBetterLaySaysWhatCameOfIt(t *testing.T) {
	h, l := withLays(t)
	began, ended := make(chan bool, 9), make(chan error, 9)
	find := func(ctx context.Context) ([]byte, string, error) {
		<-ctx.Done()
		return l.next(), "8 mm instead of 9 mm", nil
	}
	h.Options.Better = func(ctx context.Context, _ job.Draft, _ time.Duration) ([]byte, string, error) {
		began <- true
		lay, words, err := find(ctx)
		ended <- ctx.Err()
		return lay, words, err
	}
	h.Start()
	says := func(id int64) string {
		events, err := h.Daemon.Jobs().Events(t.Context(), id)
		if err != nil {
			t.Fatal(err)
		}
		text := ""
		for _, e := range events {
			if e.Kind == control.NotRelaid {
				text += e.Text
			}
		}
		return text
	}
	for i, c := range []struct {
		name string
		act  func(id int64) error
		want string
	}{
		{"released", func(id int64) error { return h.Daemon.Jobs().Release(t.Context(), id, nil, control.BedClear) }, "does not wait for a person any more"},
		{"canceled", func(id int64) error { return h.Daemon.Jobs().Cancel(t.Context(), id) }, "does not wait for a person any more"},
		{"changed", func(id int64) error {
			sum := fmt.Sprintf("%x", sha256.Sum256([]byte("another lay")))
			files, err := h.Daemon.Jobs().Files(t.Context(), id)
			if err != nil {
				return err
			}
			sums, err := h.Daemon.Store().SaveAll(id, []store.Named{{Name: ledger.LayFile(sum), Data: []byte("another lay")}})
			if err != nil {
				return err
			}
			files = append(files, ledger.File{Job: id, Name: sums[0].Name, Size: sums[0].Size, SHA256: sums[0].SHA256})
			_, err = h.Daemon.Jobs().Ready(t.Context(), id, control.Made{Ready: true, Pieces: 1, Files: files, Lay: sum})
			return err
		}, "its lay was changed meanwhile"},
		{"nothing found", nil, "none shorter than 9 mm was found"},
		{"failed", nil, "no room"},
		{"the program ends", func(int64) error { h.Stop(); h.Start(); return nil }, "the program ended before one was found; ask again"},
	} {
		id := int64(i + 1)
		h.Drop("knife-table", fmt.Sprintf("smock-%d.svg", id), fmt.Sprintf("a\nb%d", id))
		h.Until("held", func() bool { j := h.Job(id); return j.State == ledger.Held && j.Ready })
		switch c.name {
		case "nothing found":
			find = func(context.Context) ([]byte, string, error) {
				return nil, "none shorter than 9 mm was found in 1 min", nil
			}
		case "failed":
			find = func(context.Context) ([]byte, string, error) { return nil, "", errors.New("no room") }
		case "the program ends":
			find = func(ctx context.Context) ([]byte, string, error) { <-ctx.Done(); return nil, "", ctx.Err() }
		}
		if err := h.Daemon.Jobs().Better(t.Context(), id, time.Minute); err != nil {
			t.Fatal(err)
		}
		<-began
		before := h.Job(id).Lay
		if c.act != nil {
			if err := c.act(id); err != nil {
				t.Fatal(err)
			}
		}
		h.Until(c.name+": the search ends", func() bool { return len(ended) > 0 })
		if err := <-ended; c.act != nil && err == nil {
			t.Errorf("%s: the search was not ended", c.name)
		}
		h.Until(c.name+": it says what came of it", func() bool { return strings.Contains(says(id), c.want) })
		if j := h.Job(id); c.name != "changed" && j.Lay != before {
			t.Errorf("%s: its lay is %s after %s", c.name, j.Lay, before)
		}
		h.Until(c.name+": the log tells", func() bool { return h.Logs.FilterMessage("no better lay").Len() == i+1 })
	}

	// A kill in the middle: the next start finds the wish without an answer.
	d, err := daemon.New(t.Context(), h.Settings, h.Options)
	if err == nil {
		t.Fatal("two daemons in one store", d.Stop(t.Context()))
	}
	h.Stop()
	if d, err = daemon.New(t.Context(), h.Settings, h.Options); err != nil {
		t.Fatal(err)
	}
	if err := d.Jobs().Better(t.Context(), 4, time.Minute); err != nil {
		t.Fatal(err)
	}
	if err := d.Stop(t.Context()); err != nil {
		t.Fatal(err)
	}
	h.Start()
	if got := says(4); !strings.HasSuffix(got, "the program ended before one was found; ask again") {
		t.Errorf("after a kill its history says %q", got)
	}
}

// TestSearchLeavesNothingBehind: when a search for a better lay has ended nothing of it reads the ledger any more, which is
// closed soon after the workers have ended.
func TestSearchLeavesNothingBehind(t *testing.T) {
	h, _ := withLays(t)
	h.Start()
	h.Drop("knife-table", "smock.svg", "a\nb")
	h.Until("held", func() bool { j := h.Job(1); return j.State == ledger.Held && j.Ready })
	h.Stop()
	h.Options.Better = func(context.Context, job.Draft, time.Duration) ([]byte, string, error) { return nil, "none", nil }
	d, err := daemon.New(t.Context(), h.Settings, h.Options)
	if err != nil {
		t.Fatal(err)
	}
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1)) // so that what was told to end has no time for it
	for range 5 {
		if err := d.Jobs().Better(t.Context(), 1, time.Minute); err != nil {
			t.Fatal(err)
		}
		did, err := d.BetterNext(t.Context(), "knife-table")
		all := make([]byte, 1<<20)
		all = all[:runtime.Stack(all, true)]
		if !did || err != nil {
			t.Fatalf("%v, %v", did, err)
		}
		if bytes.Contains(all, []byte(".endSearch(")) {
			t.Fatal("the goroutine that ends a search outlives it")
		}
	}
	if err := d.Stop(t.Context()); err != nil {
		t.Fatal(err)
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

// TestLaySoughtIsTold: a job that waits for its lay says so and until when, and the words are gone once it is made.
func TestLaySoughtIsTold(t *testing.T) {
	h := daemontest.New(t)
	sought, end := make(chan struct{}), make(chan struct{})
	h.Options.Build = func(ctx context.Context, in job.Draft) (job.Made, error) {
		in.LaySought(90 * time.Second)
		close(sought)
		<-end
		return daemontest.Make(ctx, in)
	}
	h.Start()
	h.Drop("roll-plotter", "long.svg", "a")
	<-sought
	j, err := h.Daemon.Jobs().Job(t.Context(), 1)
	if err != nil || !strings.HasPrefix(j.Reason, "a shorter lay is sought for up to 1m30s, until ") {
		t.Errorf("%v: %q", err, j.Reason)
	}
	close(end)
	if j = h.Becomes(1, ledger.Completed); strings.Contains(j.Reason, "sought") {
		t.Errorf("made: %q", j.Reason)
	}
}
