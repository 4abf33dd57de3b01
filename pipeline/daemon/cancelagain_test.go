package daemon_test

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"testing"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/daemon"
	"tracewheel/pipeline/daemon/daemontest"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
)

// TestCancelOfAPrintIsAskedAgain: a cancel that the queue of a printer had not confirmed when the program was killed, or
// ended, is asked of it at each next start until the queue confirms it, also where a kill falls into the next start. What
// was lent to lp is gone then.
func TestCancelOfAPrintIsAskedAgain(t *testing.T) {
	for name, again := range map[string]bool{"a kill": false, "a kill in the next start": true} {
		t.Run(name, func(t *testing.T) { cancelIsAskedAgain(t, again) })
	}
}

// cancelIsAskedAgain begins with a kill, or with two: the second where a start has written that the job was cut short.
func cancelIsAskedAgain(t *testing.T, twice bool) {
	h := daemontest.New(t)
	h.Settings.Devices = []job.Device{{Name: "office-printer", Prints: true, Waits: true}}
	asked, willing := make(chan bool, 9), false
	var sends atomic.Int64
	h.Options.Send = func(ctx context.Context, in job.Run) job.Outcome {
		for i, s := range in.Earlier {
			if s.No != i+1 || s.End == "" {
				t.Errorf("of its earlier sendings it is told %+v", in.Earlier)
			}
		}
		if len(in.Earlier) != int(sends.Add(1)) {
			t.Errorf("it is told of %d earlier sendings", len(in.Earlier))
		}
		hold := &daemontest.Sending{Wake: make(chan struct{}, 1)}
		in.Attach(hold)
		_, cancel := hold.Look()
		asked <- cancel
		if cancel && willing {
			return job.Outcome{State: ledger.Canceled, Reason: "sheets-7 was canceled", SureBlock: -1}
		}
		<-ctx.Done()
		return job.Outcome{State: ledger.Stopped, Reason: "the program ended while the queue had it as sheets-7", SureBlock: -1}
	}
	h.Start()
	h.Drop("office-printer", "apron.svg", daemontest.SixStrokes)
	h.Until("made", func() bool { return h.Job(1).Ready && h.Job(1).State == ledger.Held })
	h.Stop()

	// What a kill leaves: a job whose sending began, the cancel in the ledger, and the pages that lp was given.
	d, err := daemon.New(t.Context(), h.Settings, h.Options)
	if err != nil {
		t.Fatal(err)
	}
	if err := d.Jobs().Release(t.Context(), 1, nil, control.BedClear); err != nil {
		t.Fatal(err)
	}
	if _, err := d.Jobs().Begin(t.Context(), 1, 9, 100); err != nil {
		t.Fatal(err)
	}
	if err := d.Jobs().Cancel(t.Context(), 1); err != nil {
		t.Fatal(err)
	}
	lent := ""
	err = d.Store().Lend(1, "sheets.pdf", strings.NewReader("%PDF-"), func(path string) error { lent = path; return nil })
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(lent, []byte("%PDF-"), 0o600); err != nil {
		t.Fatal(err)
	}
	if twice {
		if err := os.Remove(lent); err != nil { // a start sweeps first
			t.Fatal(err)
		}
		if j, err := d.Jobs().CutShort(t.Context(), 1); err != nil || j.State != ledger.Stopped {
			t.Fatalf("%+v, %v", j, err)
		}
	}
	if err := d.Stop(t.Context()); err != nil {
		t.Fatal(err)
	}

	for i, when := range []string{"after a kill", "after an end", "after another end"} {
		willing = i == 2
		h.Start()
		h.Until(when+" it is asked again", func() bool { return len(asked) > 0 })
		if !<-asked {
			t.Fatalf("%s it is sent and not canceled", when)
		}
		if h.Has(lent) {
			t.Errorf("%s %s lies there still", when, filepath.Base(lent))
		}
		if willing {
			break
		}
		h.Stop()
	}
	h.Becomes(1, ledger.Canceled)
	if len(asked) > 0 {
		t.Error("it is sent once more")
	}
	events, err := h.Daemon.Jobs().Events(t.Context(), 1)
	tells := func(e ledger.Event) bool {
		return strings.Contains(e.Text, "the queue had not confirmed a person's cancel")
	}
	if err != nil || !slices.ContainsFunc(events, tells) {
		t.Errorf("the history does not tell of the cancel: %+v, %v", events, err)
	}
	if names, err := store.Look(h.Settings.Store).Names(1); err != nil || slices.Contains(names, filepath.Base(lent)) {
		t.Errorf("%v, %v", names, err)
	}
}
