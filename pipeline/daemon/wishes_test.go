package daemon_test

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/control/remote"
	"tracewheel/pipeline/daemon/daemontest"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
)

func TestCancelRunning(t *testing.T) {
	h := daemontest.New(t)
	id := h.Running("roll-plotter")
	if err := h.Daemon.Jobs().Cancel(t.Context(), id); err != nil {
		t.Fatal(err)
	}
	j := h.Becomes(id, ledger.Canceled)
	if j.Send.Tool != "up" || j.Send.Bytes == 0 || j.Send.Bytes >= j.Send.Total {
		t.Errorf("%+v", j.Send)
	}
	var refusal *control.Refusal
	if err := h.Daemon.Jobs().Cancel(t.Context(), id); !errors.As(err, &refusal) || !strings.Contains(refusal.Hint, "again 1") {
		t.Errorf("a second cancel: %v", err)
	}
}

// TestSenderKnowsTheLastRun: a sending is told which job was on the device before it, and whether that came to
// its end.
func TestSenderKnowsTheLastRun(t *testing.T) {
	h := daemontest.New(t)
	runs := make(chan ledger.LastRun, 9)
	h.Device.Before = func(in job.Run) { runs <- in.Last }
	id := h.Running("roll-plotter")
	if err := h.Daemon.Jobs().Cancel(t.Context(), id); err != nil {
		t.Fatal(err)
	}
	h.Becomes(id, ledger.Canceled)
	close(h.Device.Hold)
	for n := id + 1; n < id+3; n++ {
		h.Drop("roll-plotter", fmt.Sprintf("skirt-%d.svg", n), daemontest.SixStrokes)
		h.Becomes(n, ledger.Completed)
	}
	for i, want := range []ledger.LastRun{{}, {Job: id}, {Job: id + 1, Done: true, Sent: true}} {
		if got := <-runs; got != want {
			t.Errorf("sending %d is told %+v, want %+v", i+1, got, want)
		}
	}
}

func TestPauseAndGoOnInPlace(t *testing.T) {
	h := daemontest.New(t)
	id := h.Running("roll-plotter")
	if err := h.Daemon.Jobs().Pause(t.Context(), id); err != nil {
		t.Fatal(err)
	}
	j := h.Becomes(id, ledger.Stopped)
	if j.Reason != "paused by a person" {
		t.Errorf("reason %q", j.Reason)
	}
	if err := h.Daemon.Jobs().Resume(t.Context(), id, "start", ""); !control.IsRefusal(err) {
		t.Errorf("a paused job began elsewhere: %v", err)
	}
	if err := h.Daemon.Jobs().Resume(t.Context(), id, "", ""); err != nil {
		t.Fatal(err)
	}
	close(h.Device.Hold)
	j = h.Becomes(id, ledger.Completed)
	if j.Sends != 1 {
		t.Errorf("it was sent %d times", j.Sends)
	}
	if got := h.Device.Sendings("roll-plotter"); !slices.Equal(got, []string{"1:0:IN;s0;s1;s2;s3;s4;s5;"}) {
		t.Errorf("sent %q", got)
	}
}

// TestStoppedDaemon: a job that is being sent when the daemon ends comes to rest, is not sent again
// by the next start, holds the device's queue, and goes on from where a person says.
func TestStoppedDaemon(t *testing.T) {
	for from, want := range map[string]string{"start": "1:0:IN;s0;s1;s2;s3;s4;s5;", "stroke": "1:2:IN;s1;s2;s3;s4;s5;"} {
		t.Run(from, func(t *testing.T) {
			h := daemontest.New(t)
			id := h.Running("roll-plotter")
			h.Stop()
			h.Device.Hold = nil
			h.Start()
			j := h.Becomes(id, ledger.Stopped)
			if j.Send.Sure != 1 || j.Send.Stroke != 0 || j.Send.Tool != "up" {
				t.Errorf("known is %+v", j.Send)
			}
			h.Drop("roll-plotter", "next.svg", "n")
			h.Drop("knife-table", "other.svg", "o")
			h.Becomes(3, ledger.Held)
			if err := h.Daemon.Jobs().Release(t.Context(), h.HeldOn("knife-table"), nil, control.BedClear); err != nil {
				t.Fatal(err)
			}
			h.Until("the other device went on", func() bool { return len(h.Device.Sendings("knife-table")) == 1 })
			if got := h.Device.Sendings("roll-plotter"); len(got) != 1 {
				t.Fatalf("sent unasked: %q", got)
			}
			var refusal *control.Refusal
			if err := h.Daemon.Jobs().Resume(t.Context(), id, "", ""); !errors.As(err, &refusal) || len(refusal.Points) < 2 {
				t.Fatalf("resume without a place gives %v", err)
			}
			if err := h.Daemon.Jobs().Resume(t.Context(), id, from, ""); err != nil {
				t.Fatal(err)
			}
			h.Becomes(id, ledger.Completed)
			h.Until("the queue went on", func() bool { return len(h.Device.Sendings("roll-plotter")) == 3 })
			if got := h.Device.Sendings("roll-plotter")[1]; got != want {
				t.Errorf("from %s was sent %q", from, got)
			}
		})
	}
}

// TestFaultOfTheDevice: a sender's own words reach the person, and the next job waits.
func TestFaultOfTheDevice(t *testing.T) {
	h := daemontest.New(t)
	h.Device.Say = func(in job.Run) *job.Outcome {
		if in.From == 0 {
			return &job.Outcome{State: ledger.Stopped, Reason: "the plotter says \"3\": out of range", Bytes: 9, SureBlock: 3}
		}
		return nil
	}
	h.Start()
	h.Drop("roll-plotter", "skirt.svg", daemontest.SixStrokes)
	j := h.Becomes(1, ledger.Stopped)
	if !strings.Contains(j.Reason, "out of range") || j.Send.Tool != ledger.Unknown || j.Send.Sure != 3 {
		t.Errorf("%q, %+v", j.Reason, j.Send)
	}
	points, err := h.Daemon.Jobs().Points(t.Context(), 1)
	if err != nil || len(points) != 3 {
		t.Fatalf("%+v, %v", points, err)
	}
	// Strokes 0 to 2 are sure; piece 1 has strokes 2 and 3 and is not whole.
	if points[1].From != "piece" || points[1].Block != 3 || points[2].From != "stroke" || points[2].Block != 4 {
		t.Errorf("%+v", points)
	}
	if err := h.Daemon.Jobs().Cancel(t.Context(), 1); err != nil {
		t.Fatal(err)
	}
	if j := h.Becomes(1, ledger.Canceled); !strings.Contains(j.Reason, "last sure stroke is number 3") {
		t.Errorf("reason %q", j.Reason)
	}
}

// TestCanceledWithTheToolUnknown: the next job of a pen whose job was canceled with the tool perhaps down waits for a
// person's word, also one that was released before; those behind it wait, and go by themselves after it.
func TestCanceledWithTheToolUnknown(t *testing.T) {
	for _, early := range []bool{false, true} {
		t.Run(fmt.Sprintf("released before %v", early), func(t *testing.T) {
			h := daemontest.New(t)
			h.Device.Say = func(in job.Run) *job.Outcome {
				if in.Job == 1 {
					return &job.Outcome{State: ledger.Stopped, Reason: "the cable is gone", Bytes: 9, SureBlock: 3}
				}
				return nil
			}
			h.Start()
			jobs := h.Daemon.Jobs()
			h.Drop("roll-plotter", "skirt.svg", daemontest.SixStrokes)
			h.Becomes(1, ledger.Stopped)
			for n, text := range []string{"a", "b", "c"} {
				h.Drop("roll-plotter", fmt.Sprintf("behind-%d.svg", n), text)
			}
			h.Becomes(4, ledger.Pending)
			if early {
				if err := jobs.Hold(t.Context(), 2); err != nil {
					t.Fatal(err)
				}
				if err := jobs.Release(t.Context(), 2, nil, ""); err != nil {
					t.Fatal(err)
				}
			}
			if err := jobs.Cancel(t.Context(), 1); err != nil {
				t.Fatal(err)
			}
			if j := h.Becomes(1, ledger.Canceled); !strings.HasSuffix(j.Reason, "see to roll-plotter: its next job does not begin before you release it") {
				t.Errorf("job 1: %q", j.Reason)
			}
			const want = "job 1 was canceled, and whether the tool is up is unknown: see to roll-plotter, its tool and what lies under it, then: tracewheel release 2"
			if j := h.Becomes(2, ledger.Held); j.Reason != want {
				t.Errorf("job 2: %q", j.Reason)
			}
			time.Sleep(100 * time.Millisecond)
			for n := int64(3); n <= 4; n++ {
				if j, err := jobs.Job(t.Context(), n); err != nil || j.State != ledger.Pending || j.Sends != 0 {
					t.Errorf("job %d: %v, %d sendings, %v", n, j.State, j.Sends, err)
				}
			}
			if err := jobs.Release(t.Context(), 2, nil, ""); err != nil {
				t.Fatal(err)
			}
			for n := int64(2); n <= 4; n++ {
				h.Becomes(n, ledger.Completed)
			}
		})
	}
}

func TestSenderPanics(t *testing.T) {
	h := daemontest.New(t)
	h.Device.Say = func(job.Run) *job.Outcome { panic("the pretend sender was told to") }
	h.Start()
	h.Drop("roll-plotter", "skirt.svg", "a")
	if j := h.Becomes(1, ledger.Stopped); !strings.Contains(j.Reason, "see to the machine") || j.Send.Tool != ledger.Unknown {
		t.Errorf("%q, %+v", j.Reason, j.Send)
	}
}

func TestHoldReleaseAgain(t *testing.T) {
	h := daemontest.New(t)
	h.Device.Hold = make(chan struct{})
	h.Start()
	jobs := h.Daemon.Jobs()
	h.Drop("roll-plotter", "a.svg", "a\nb")
	h.Becomes(1, ledger.Processing)
	h.Drop("roll-plotter", "b.svg", "c\nd")
	h.Becomes(2, ledger.Pending)
	if err := jobs.Hold(t.Context(), 1); !control.IsRefusal(err) {
		t.Errorf("a running job was held: %v", err)
	}
	if err := jobs.Pause(t.Context(), 2); !control.IsRefusal(err) {
		t.Errorf("a waiting job was paused: %v", err)
	}
	if err := jobs.Hold(t.Context(), 2); err != nil {
		t.Fatal(err)
	}
	close(h.Device.Hold)
	h.Becomes(1, ledger.Completed)
	if j := h.Job(2); j.State != ledger.Held {
		t.Errorf("a held job is %s", j.State)
	}
	if err := jobs.Release(t.Context(), 2, nil, ""); err != nil {
		t.Fatal(err)
	}
	h.Becomes(2, ledger.Completed)
	if _, _, err := jobs.AgainPieces(t.Context(), 99, "", ""); !errors.Is(err, ledger.ErrNoJob) {
		t.Errorf("again of no job: %v", err)
	}
	id, _, err := jobs.AgainPieces(t.Context(), 2, "", "")
	if err != nil {
		t.Fatal(err)
	}
	j := h.Becomes(id, ledger.Completed)
	if j.AgainOf != 2 || j.File != "b.svg" {
		t.Errorf("%+v", j)
	}
}

func TestQuestionIsAnswered(t *testing.T) {
	h := daemontest.New(t)
	h.Start()
	jobs := h.Daemon.Jobs()
	h.Drop("roll-plotter", "ask.svg", "ASK")
	h.Drop("knife-table", "ask.svg", "ASK too")
	h.Becomes(1, ledger.Held)
	h.Becomes(2, ledger.Held)
	if err := jobs.Release(t.Context(), 1, nil, ""); !control.IsRefusal(err) || !strings.Contains(err.Error(), "include the allowance") {
		t.Errorf("released without an answer: %v", err)
	}
	for id := int64(1); id <= 2; id++ {
		if err := jobs.Release(t.Context(), id, map[string]string{"allowance": "10mm"}, ""); err != nil {
			t.Fatal(err)
		}
	}
	h.Until("the plotter drew", func() bool { return len(h.Device.Sendings("roll-plotter")) == 1 })
	// A cutter's job is shown as it has become, and waits once more.
	knife := int64(2)
	if h.Job(1).Device == "knife-table" {
		knife = 1
	}
	h.Until("the cutter waits again", func() bool { j := h.Job(knife); return j.State == ledger.Held && j.Ready })
	if len(h.Device.Sendings("knife-table")) != 0 {
		t.Error("a cutter moved on an answer")
	}
}

func TestSocketReachesTheJobs(t *testing.T) {
	h := daemontest.New(t)
	if _, err := remote.Dial(t.Context(), h.Settings.Store); !errors.Is(err, remote.ErrNoDaemon) {
		t.Errorf("without a daemon: %v", err)
	}
	h.Start()
	ctx, cancel := context.WithTimeout(t.Context(), 10*time.Second)
	defer cancel()
	moments, stop := h.Daemon.Jobs().Subscribe()
	defer stop()
	h.Drop("knife-table", "vest.svg", "a\nb")
	h.Becomes(1, ledger.Held)
	c, err := remote.Dial(ctx, h.Settings.Store)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	var refusal *control.Refusal
	if err := c.Pause(ctx, 1); !errors.As(err, &refusal) || refusal.Hint != "tracewheel hold 1" || !errors.Is(err, ledger.ErrState) {
		t.Errorf("pause: %v", err)
	}
	if err := c.Cancel(ctx, 7); !errors.Is(err, ledger.ErrNoJob) {
		t.Errorf("no job: %v", err)
	}
	if err := c.Release(ctx, 1, nil, control.BedClear); err != nil {
		t.Fatal(err)
	}
	var seen []ledger.State
	for len(seen) == 0 || !seen[len(seen)-1].Ended() {
		select {
		case p := <-moments:
			if len(seen) == 0 || seen[len(seen)-1] != p.State {
				seen = append(seen, p.State)
			}
		case <-ctx.Done():
			t.Fatalf("watched %v", seen)
		}
	}
	if i := slices.Index(seen, ledger.Processing); i < 0 || seen[len(seen)-1] != ledger.Completed {
		t.Errorf("watched %v", seen)
	}
	if id, _, err := c.AgainPieces(ctx, 1, "", ""); err != nil || id != 2 {
		t.Errorf("again gives %d, %v", id, err)
	}
	h.Stop()
	if _, err := remote.Dial(ctx, h.Settings.Store); !errors.Is(err, remote.ErrNoDaemon) {
		t.Errorf("after the daemon: %v", err)
	}
	if left, _ := filepath.Glob(filepath.Join(h.Settings.Store, "control", "*")); len(left) != 0 {
		t.Errorf("left: %v", left)
	}
}
