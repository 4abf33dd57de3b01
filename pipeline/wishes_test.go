package pipeline

import (
	"context"
	"errors"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
)

// sixStrokes are three pieces of two strokes each.
const sixStrokes = "s0\ns1\ns2\ns3\ns4\ns5"

// running drops a draft and waits until its sending stands in the middle.
func (h *house) running(device string) int64 {
	h.t.Helper()
	h.dev.hold = make(chan struct{})
	h.start()
	h.drop(device, "skirt.svg", sixStrokes)
	h.becomes(1, ledger.Processing)
	h.until("bytes move", func() bool {
		now := h.d.Desk().Now()
		return len(now) == 1 && now[0].Bytes > 3
	})
	return 1
}

func TestCancelRunning(t *testing.T) {
	h := newHouse(t)
	id := h.running("roll-plotter")
	if err := h.d.Desk().Cancel(t.Context(), id); err != nil {
		t.Fatal(err)
	}
	j := h.becomes(id, ledger.Canceled)
	if j.Send.Tool != "up" || j.Send.Bytes == 0 || j.Send.Bytes >= j.Send.Total {
		t.Errorf("%+v", j.Send)
	}
	var refusal *control.Refusal
	if err := h.d.Desk().Cancel(t.Context(), id); !errors.As(err, &refusal) || !strings.Contains(refusal.Hint, "again 1") {
		t.Errorf("a second cancel: %v", err)
	}
}

func TestPauseAndGoOnInPlace(t *testing.T) {
	h := newHouse(t)
	id := h.running("roll-plotter")
	if err := h.d.Desk().Pause(t.Context(), id); err != nil {
		t.Fatal(err)
	}
	j := h.becomes(id, ledger.Stopped)
	if j.Reason != "paused by a person" {
		t.Errorf("reason %q", j.Reason)
	}
	if err := h.d.Desk().Resume(t.Context(), id, "start", ""); !control.IsRefusal(err) {
		t.Errorf("a paused job began elsewhere: %v", err)
	}
	if err := h.d.Desk().Resume(t.Context(), id, "", ""); err != nil {
		t.Fatal(err)
	}
	close(h.dev.hold)
	j = h.becomes(id, ledger.Completed)
	if j.Sends != 1 {
		t.Errorf("it was sent %d times", j.Sends)
	}
	if got := h.dev.sendings("roll-plotter"); !slices.Equal(got, []string{"1:0:IN;s0;s1;s2;s3;s4;s5;"}) {
		t.Errorf("sent %q", got)
	}
}

// TestStoppedDaemon: a job that is being sent when the daemon ends comes to rest, is not sent again
// by the next start, holds the device's queue, and goes on from where a person says.
func TestStoppedDaemon(t *testing.T) {
	for from, want := range map[string]string{"start": "1:0:IN;s0;s1;s2;s3;s4;s5;", "stroke": "1:2:IN;s1;s2;s3;s4;s5;"} {
		t.Run(from, func(t *testing.T) {
			h := newHouse(t)
			id := h.running("roll-plotter")
			h.stop()
			h.dev.hold = nil
			h.start()
			j := h.becomes(id, ledger.Stopped)
			if j.Send.Sure != 1 || j.Send.Stroke != 0 || j.Send.Tool != "up" {
				t.Errorf("known is %+v", j.Send)
			}
			h.drop("roll-plotter", "next.svg", "n")
			h.drop("knife-table", "other.svg", "o")
			h.becomes(3, ledger.Held)
			if err := h.d.Desk().Release(t.Context(), h.heldOn("knife-table"), nil, control.BedClear); err != nil {
				t.Fatal(err)
			}
			h.until("the other device went on", func() bool { return len(h.dev.sendings("knife-table")) == 1 })
			if got := h.dev.sendings("roll-plotter"); len(got) != 1 {
				t.Fatalf("sent unasked: %q", got)
			}
			var refusal *control.Refusal
			if err := h.d.Desk().Resume(t.Context(), id, "", ""); !errors.As(err, &refusal) || len(refusal.Points) < 2 {
				t.Fatalf("resume without a place gives %v", err)
			}
			if err := h.d.Desk().Resume(t.Context(), id, from, ""); err != nil {
				t.Fatal(err)
			}
			h.becomes(id, ledger.Completed)
			h.until("the queue went on", func() bool { return len(h.dev.sendings("roll-plotter")) == 3 })
			if got := h.dev.sendings("roll-plotter")[1]; got != want {
				t.Errorf("from %s was sent %q", from, got)
			}
		})
	}
}

func (h *house) heldOn(device string) int64 {
	h.t.Helper()
	jobs, err := h.d.Desk().Jobs(h.t.Context(), ledger.Filter{Device: device, States: []ledger.State{ledger.Held}})
	if err != nil || len(jobs) != 1 {
		h.t.Fatalf("%d held jobs, %v", len(jobs), err)
	}
	return jobs[0].ID
}

// TestFaultOfTheDevice: a sender's own words reach the person, and the next job waits.
func TestFaultOfTheDevice(t *testing.T) {
	h := newHouse(t)
	h.dev.say = func(in job.Run) *job.Outcome {
		if in.From == 0 {
			return &job.Outcome{State: ledger.Stopped, Reason: "the plotter says \"3\": out of range", Bytes: 9, SureBlock: 3}
		}
		return nil
	}
	h.start()
	h.drop("roll-plotter", "skirt.svg", sixStrokes)
	j := h.becomes(1, ledger.Stopped)
	if !strings.Contains(j.Reason, "out of range") || j.Send.Tool != ledger.Unknown || j.Send.Sure != 3 {
		t.Errorf("%q, %+v", j.Reason, j.Send)
	}
	points, err := h.d.Desk().Points(t.Context(), 1)
	if err != nil || len(points) != 3 {
		t.Fatalf("%+v, %v", points, err)
	}
	// Strokes 0 to 2 are sure; piece 1 has strokes 2 and 3 and is not whole.
	if points[1].From != "piece" || points[1].Block != 3 || points[2].From != "stroke" || points[2].Block != 4 {
		t.Errorf("%+v", points)
	}
	if err := h.d.Desk().Cancel(t.Context(), 1); err != nil {
		t.Fatal(err)
	}
	if j := h.becomes(1, ledger.Canceled); !strings.Contains(j.Reason, "last sure stroke is number 3") {
		t.Errorf("reason %q", j.Reason)
	}
}

func TestSenderPanics(t *testing.T) {
	h := newHouse(t)
	h.dev.say = func(job.Run) *job.Outcome { panic("the pretend sender was told to") }
	h.start()
	h.drop("roll-plotter", "skirt.svg", "a")
	if j := h.becomes(1, ledger.Stopped); !strings.Contains(j.Reason, "see to the machine") || j.Send.Tool != ledger.Unknown {
		t.Errorf("%q, %+v", j.Reason, j.Send)
	}
}

func TestHoldReleaseAgain(t *testing.T) {
	h := newHouse(t)
	h.dev.hold = make(chan struct{})
	h.start()
	desk := h.d.Desk()
	h.drop("roll-plotter", "a.svg", "a\nb")
	h.becomes(1, ledger.Processing)
	h.drop("roll-plotter", "b.svg", "c\nd")
	h.becomes(2, ledger.Pending)
	if err := desk.Hold(t.Context(), 1); !control.IsRefusal(err) {
		t.Errorf("a running job was held: %v", err)
	}
	if err := desk.Pause(t.Context(), 2); !control.IsRefusal(err) {
		t.Errorf("a waiting job was paused: %v", err)
	}
	if err := desk.Hold(t.Context(), 2); err != nil {
		t.Fatal(err)
	}
	close(h.dev.hold)
	h.becomes(1, ledger.Completed)
	if j := h.job(2); j.State != ledger.Held {
		t.Errorf("a held job is %s", j.State)
	}
	if err := desk.Release(t.Context(), 2, nil, ""); err != nil {
		t.Fatal(err)
	}
	h.becomes(2, ledger.Completed)
	if _, err := desk.Again(t.Context(), 99); !errors.Is(err, ledger.ErrNoJob) {
		t.Errorf("again of no job: %v", err)
	}
	id, err := desk.Again(t.Context(), 2)
	if err != nil {
		t.Fatal(err)
	}
	j := h.becomes(id, ledger.Completed)
	if j.AgainOf != 2 || j.File != "b.svg" {
		t.Errorf("%+v", j)
	}
}

func TestQuestionIsAnswered(t *testing.T) {
	h := newHouse(t)
	h.start()
	desk := h.d.Desk()
	h.drop("roll-plotter", "ask.svg", "ASK")
	h.drop("knife-table", "ask.svg", "ASK too")
	h.becomes(1, ledger.Held)
	h.becomes(2, ledger.Held)
	if err := desk.Release(t.Context(), 1, nil, ""); !control.IsRefusal(err) || !strings.Contains(err.Error(), "include the allowance") {
		t.Errorf("released without an answer: %v", err)
	}
	for id := int64(1); id <= 2; id++ {
		if err := desk.Release(t.Context(), id, map[string]string{"allowance": "10mm"}, ""); err != nil {
			t.Fatal(err)
		}
	}
	h.until("the plotter drew", func() bool { return len(h.dev.sendings("roll-plotter")) == 1 })
	// A cutter's job is shown as it has become, and waits once more.
	knife := int64(2)
	if h.job(1).Device == "knife-table" {
		knife = 1
	}
	h.until("the cutter waits again", func() bool { j := h.job(knife); return j.State == ledger.Held && j.Ready })
	if len(h.dev.sendings("knife-table")) != 0 {
		t.Error("a cutter moved on an answer")
	}
}

func TestSocketReachesTheDesk(t *testing.T) {
	h := newHouse(t)
	if _, err := control.Dial(t.Context(), h.set.Store); !errors.Is(err, control.ErrNoDaemon) {
		t.Errorf("without a daemon: %v", err)
	}
	h.start()
	ctx, cancel := context.WithTimeout(t.Context(), 10*time.Second)
	defer cancel()
	watcher, err := control.Dial(ctx, h.set.Store)
	if err != nil {
		t.Fatal(err)
	}
	defer watcher.Close()
	states := make(chan ledger.State, 100)
	go func() {
		defer close(states)
		_ = watcher.Watch(ctx, func(p control.Progress) bool { states <- p.State; return p.State != ledger.Completed })
	}()
	h.drop("knife-table", "vest.svg", "a\nb")
	h.becomes(1, ledger.Held)
	c, err := control.Dial(ctx, h.set.Store)
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
	for s := range states {
		if len(seen) == 0 || seen[len(seen)-1] != s {
			seen = append(seen, s)
		}
	}
	if i := slices.Index(seen, ledger.Processing); i < 0 || seen[len(seen)-1] != ledger.Completed {
		t.Errorf("watched %v", seen)
	}
	if id, err := c.Again(ctx, 1); err != nil || id != 2 {
		t.Errorf("again gives %d, %v", id, err)
	}
	h.stop()
	if _, err := control.Dial(ctx, h.set.Store); !errors.Is(err, control.ErrNoDaemon) {
		t.Errorf("after the daemon: %v", err)
	}
	if left, _ := filepath.Glob(filepath.Join(h.set.Store, "control", "*")); len(left) != 0 {
		t.Errorf("left: %v", left)
	}
}
