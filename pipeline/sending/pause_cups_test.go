//go:build cups && linux

package sending

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"strings"
	"testing"

	"tracewheel/devices/queue"
	"tracewheel/devices/queue/queuetest"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
)

// TestPauseThroughCUPS: a paused job is held in a real CUPS until it is resumed, also where the program ended
// meanwhile; one that is paused before it is handed over is not handed over.
func TestPauseThroughCUPS(t *testing.T) {
	server := queuetest.Start(t)
	s, _, in := printingTo(t, server.Name)
	q := &queue.Queue{Name: server.Name}
	last := func(jobs int) queue.JobState {
		t.Helper()
		all, err := q.Jobs(t.Context())
		if err != nil || len(all) != jobs {
			t.Fatalf("the queue has not %d jobs: %+v, %v", jobs, all, err)
		}
		state := queue.JobState(0)
		for _, j := range all {
			if j.ID == jobs {
				state = j.State
			}
		}
		return state
	}
	told, ends := &waits{}, make(chan job.Outcome, 1)
	person := make(chan bool, 1000)
	in.Progress = func(p control.Progress) { told.tell(p); person <- p.Person }
	attached := make(chan control.Sending, 1)
	in.Attach = func(h control.Sending) { attached <- h }
	stays := func(why string) {
		t.Helper()
		select {
		case out := <-ends:
			t.Fatalf("%s it ends: %+v", why, out)
		default:
		}
	}

	server.Pause(t)
	go func() { ends <- s.Send(t.Context(), in) }()
	told.until(t, "as sheets-1, pending")
	h := <-attached
	h.Pause()
	told.until(t, "a person: it is held in the queue as sheets-1")
	for !<-person { // the one that says so waits for a person
	}
	server.Go(t)
	if state := last(1); state != queue.Held {
		t.Errorf("with the printer going on it is %s", state)
	}
	stays("while paused")
	if _, err := os.Stat(server.Printed); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("paused, it was printed: %v", err)
	}
	h.Resume()
	if out := <-ends; out.State != ledger.Completed || !strings.Contains(out.Reason, "sheets-1") {
		t.Fatalf("%+v", out)
	}

	in.Job = 13 // paused, and the program ends and is started again
	server.Pause(t)
	ctx, kill := context.WithCancel(t.Context())
	go func() { ends <- s.Send(ctx, in) }()
	told.until(t, "as sheets-2, pending")
	(<-attached).Pause()
	told.until(t, "held in the queue as sheets-2")
	kill()
	if out := <-ends; out.State != ledger.Stopped {
		t.Fatalf("%+v", out)
	}
	server.Go(t)
	if state := last(2); state != queue.Held {
		t.Errorf("after the program ended it is %s", state)
	}
	if out := s.Send(t.Context(), in); out.State != ledger.Completed || !strings.Contains(out.Reason, "sheets-2") {
		t.Fatalf("%+v", out)
	}
	<-attached

	in.Job = 14
	var early control.Sending
	in.Attach = func(h control.Sending) { early = h; h.Pause() }
	go func() { ends <- s.Send(t.Context(), in) }()
	told.until(t, "nothing was handed over to the queue")
	stays("paused before the hand-over")
	last(2)
	early.Resume()
	if out := <-ends; out.State != ledger.Completed || !strings.Contains(out.Reason, "sheets-3") {
		t.Fatalf("%+v", out)
	}

	in.Job = 15 // stopped with its sheets in the queue, and canceled: they are taken back and not printed
	in.Attach = func(h control.Sending) { attached <- h }
	server.Pause(t)
	ctx, kill = context.WithCancel(t.Context())
	go func() { ends <- s.Send(ctx, in) }()
	told.until(t, "as sheets-4, pending")
	kill()
	if out := <-ends; out.State != ledger.Stopped {
		t.Fatalf("%+v", out)
	}
	in.Attach = func(h control.Sending) { h.Cancel() }
	if out := s.Send(t.Context(), in); out.State != ledger.Canceled || !strings.Contains(out.Reason, "sheets-4") {
		t.Errorf("%+v", out)
	}
	if state := last(4); state != queue.Canceled {
		t.Errorf("a canceled job is %s in the queue", state)
	}
	in.Job = 16 // never handed over
	if out := s.Send(t.Context(), in); out.State != ledger.Canceled {
		t.Errorf("%+v", out)
	}
	last(4)
}
