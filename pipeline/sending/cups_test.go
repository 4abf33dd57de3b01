//go:build cups && linux

package sending

import (
	"context"
	"strings"
	"sync"
	"testing"
	"time"

	"tracewheel/devices/queue"
	"tracewheel/devices/queue/queuetest"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/machines"
)

// TestQueueIsAskedFirst: through a real CUPS a job is handed over once, whatever a crash leaves out of the ledger:
// after the hand-over, after the printing, and while a paused printer has it.
func TestQueueIsAskedFirst(t *testing.T) {
	server := queuetest.Start(t)
	s, room, in := printingTo(t, server.Name)
	q := &queue.Queue{Name: server.Name}
	jobs := func(want int) []queue.Job {
		t.Helper()
		all, err := q.Jobs(t.Context())
		if err != nil || len(all) != want {
			t.Fatalf("the queue has %d jobs, not %d: %+v, %v", len(all), want, all, err)
		}
		return all
	}
	for range 2 { // the second as where the ledger was not written after the printing
		if out := s.Send(t.Context(), in); out.State != ledger.Completed || !strings.Contains(out.Reason, "sent to the printer as sheets-1:") || out.Bytes != int64(in.Program.Len()) {
			t.Fatalf("%+v", out)
		}
		if j := jobs(1)[0]; !strings.HasPrefix(j.Title, "tracewheel job 12 apron.svg ") {
			t.Errorf("its title is %q", j.Title)
		}
	}

	// A kill between the hand-over and the ledger, and another while the printer is paused.
	in.Job = 13
	server.Pause(t)
	if st := stateOf(t, machines.States(t.Context(), room)); st.State != "paused" {
		t.Errorf("the paused printer is %+v", st)
	}
	if _, err := s.handOver(t.Context(), q, s.queueTitle(in, "apron.svg"), in, room.Devices["office-printer"].Sheets); err != nil {
		t.Fatal(err)
	}
	told := &waits{}
	in.Progress = told.tell
	ctx, kill := context.WithCancel(t.Context())
	ends := make(chan job.Outcome, 1)
	go func() { ends <- s.Send(ctx, in) }()
	told.until(t, "which has it as sheets-2, pending; the printer is stopped: ")
	kill()
	if out := <-ends; out.State != ledger.Stopped || !strings.Contains(out.Reason, "as sheets-2") {
		t.Fatalf("%+v", out)
	}
	jobs(2)
	go func() { ends <- s.Send(t.Context(), in) }()
	server.Go(t)
	if out := <-ends; out.State != ledger.Completed || !strings.Contains(out.Reason, "sheets-2") {
		t.Fatalf("%+v", out)
	}
	jobs(2)

	// Another job is canceled by a person while the printer is paused, and handed over anew after that.
	in.Job = 14
	server.Pause(t)
	var hold control.Sending
	in.Attach = func(h control.Sending) { hold = h }
	go func() { ends <- s.Send(t.Context(), in) }()
	told.until(t, "as sheets-3, pending")
	hold.Cancel()
	if out := <-ends; out.State != ledger.Canceled {
		t.Fatalf("%+v", out)
	}
	server.Go(t)
	if out := s.Send(t.Context(), in); out.State != ledger.Completed || !strings.Contains(out.Reason, "sheets-4") {
		t.Fatalf("%+v", out)
	}
	d := room.Devices["office-printer"]
	d.Sheets.Paper, in.Job = "a3", 15 // which the queue would crop to A4 in silence
	room.Devices["office-printer"] = d
	if out := s.Send(t.Context(), in); out.State != ledger.Stopped || out.Bytes != 0 || !strings.Contains(out.Reason, "has no paper a3") {
		t.Errorf("a paper that the printer has not: %+v", out)
	}
	jobs(4)
	d.Sheets.Queue = "no-such-queue"
	room.Devices["office-printer"] = d
	if out := s.Send(t.Context(), in); out.State != ledger.Stopped || out.Bytes != 0 || !strings.Contains(out.Reason, "lpstat -e") {
		t.Errorf("a queue that is not there: %+v", out)
	}
}

func stateOf(t *testing.T, all []machines.State) machines.State {
	t.Helper()
	for _, s := range all {
		if s.Name == "office-printer" {
			return s
		}
	}
	t.Fatal("devices does not list the printer")
	return machines.State{}
}

// waits keeps what a sending says that it waits for.
type waits struct {
	mu   sync.Mutex
	said []string
}

func (w *waits) tell(p control.Progress) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.said = append(w.said, p.Waiting)
}

func (w *waits) until(t *testing.T, want string) {
	t.Helper()
	for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
		w.mu.Lock()
		said := strings.Join(w.said, "\n")
		w.mu.Unlock()
		if strings.Contains(said, want) {
			return
		}
	}
	t.Fatalf("it never waits for %q: %q", want, w.said)
}
