package pipeline

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tracewheel/devices/pretend"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/ledger"
)

// TestNoPort: a pen's job whose port is not there waits, with one line in its history, and begins by itself
// once it is; a cutter's stops, and goes on only on another word.
func TestNoPort(t *testing.T) {
	for name, c := range shortCases {
		if strings.Contains(name, ",") {
			continue
		}
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			port := newReplugged(t, c.make(pretend.Faults{}))
			room := c.room(t, port.path)
			if err := os.Remove(port.path); err != nil {
				t.Fatal(err)
			}
			h := serving(t, room)
			h.Options.Retry = 20 * time.Millisecond
			h.Start()
			h.Drop(c.device, filepath.Base(c.draft), string(draftBytes(t, c.draft)))
			if room.Devices[c.device].Kind.Cuts() {
				h.Becomes(1, ledger.Held)
				if err := h.Daemon.Jobs().Release(t.Context(), 1, nil, control.BedClear); err != nil {
					t.Fatal(err)
				}
				h.Becomes(1, ledger.Stopped)
				port.plug()
				time.Sleep(300 * time.Millisecond)
				if j := h.Job(1); j.State != ledger.Stopped || j.Sends != 1 || len(c.received(port.now)) > 0 {
					t.Errorf("a cutter went on by itself: %+v", j)
				}
				return
			}
			h.Until("it waits", func() bool { return strings.Contains(h.Job(1).Reason, "goes on by itself once that is back") })
			h.Stop()
			h.Start()
			time.Sleep(300 * time.Millisecond)
			if j := h.Job(1); j.State != ledger.Pending || j.Sends != 0 {
				t.Errorf("without its port it is %+v", j)
			}
			events, err := h.Daemon.Jobs().Events(t.Context(), 1)
			said := 0
			for _, e := range events {
				if e.Kind == "waits" {
					said++
				}
			}
			if err != nil || said != 1 {
				t.Errorf("its history says %d times that it waits: %v, %v", said, events, err)
			}
			port.plug()
			if j := h.Becomes(1, ledger.Completed); j.Sends != 1 || j.Reason != "" {
				t.Errorf("it ended as %+v", j)
			}
		})
	}
}
