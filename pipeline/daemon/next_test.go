package daemon_test

import (
	"strings"
	"testing"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/daemon/daemontest"
	"tracewheel/pipeline/ledger"
)

// TestNext: of the jobs that wait behind one that runs, those that a person puts before the others go first, the last
// that was put there before all; the order survives a start of the program, and a damaged line in it holds nobody.
func TestNext(t *testing.T) {
	h := daemontest.New(t)
	running := h.Running("roll-plotter")
	for _, name := range []string{"second", "third", "fourth", "fifth"} {
		h.Drop("roll-plotter", name+".svg", name)
	}
	ready := func(id int64) func() bool { return func() bool { return h.Job(id).Ready } }
	for id := int64(2); id <= 5; id++ {
		h.Until("a job is made", ready(id))
	}
	jobs := h.Daemon.Jobs()
	for _, id := range []int64{3, 4, 5, 4, 4} {
		if err := jobs.Next(t.Context(), id); err != nil {
			t.Fatal(err)
		}
	}
	events, err := jobs.Events(t.Context(), 4)
	said := 0
	for _, e := range events {
		if e.Kind == "next" && strings.Contains(e.Text, "before the others of roll-plotter") {
			said++
		}
	}
	if err != nil || said != 2 { // the second of three did it, the third found it there
		t.Errorf("%d events of three wishes: %+v, %v", said, events, err)
	}
	if err := jobs.Next(t.Context(), running); !control.IsRefusal(err) || !strings.Contains(err.Error(), "cannot be put before the others") {
		t.Errorf("of a running job: %v", err)
	}
	h.Stop()
	h.Device.Hold = nil
	h.Start()
	h.Becomes(running, ledger.Stopped)
	if err := h.Damage("UPDATE jobs SET rank = 9 WHERE id = 2"); err != nil {
		t.Fatal(err)
	}
	if err := h.Daemon.Jobs().Cancel(t.Context(), running); err != nil {
		t.Fatal(err)
	}
	h.Until("all others have gone", func() bool { return len(h.Device.Sendings("roll-plotter")) == 4 })
	var order []byte
	for _, sent := range h.Device.Sendings("roll-plotter")[1:] {
		order = append(order, sent[0])
	}
	if string(order) != "453" {
		t.Errorf("they went in the order %s", order)
	}
	h.Becomes(3, ledger.Completed)
	if err := h.Daemon.Jobs().Next(t.Context(), 3); !control.IsRefusal(err) {
		t.Errorf("of an ended job: %v", err)
	}
	if err := h.Damage("UPDATE jobs SET rank = 0 WHERE id = 2"); err != nil { // as it was written
		t.Fatal(err)
	}
	h.Drop("roll-plotter", "sixth.svg", "sixth")
	h.Becomes(2, ledger.Completed)
}
