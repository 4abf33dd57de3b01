package control

import (
	"strings"
	"testing"

	"go.uber.org/zap"
	"go.uber.org/zap/zaptest/observer"

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
)

// TestRefusalSaysWhatToType: who asks for what a state does not allow is told what it does.
func TestRefusalSaysWhatToType(t *testing.T) {
	_, d := served(t)
	d.Serve([]Device{{Name: "roll-plotter"}})
	for _, c := range []struct {
		state       ledger.State
		device      string
		want, never string
	}{
		{ledger.Stopped, "roll-plotter", "tracewheel resume 8", ""},
		{ledger.Processing, "roll-plotter", "tracewheel pause 8", ""},
		{ledger.Held, "roll-plotter", "tracewheel release 8", ""},
		{ledger.Pending, "roll-plotter", "by itself; tracewheel hold 8", ""},
		{ledger.Pending, "old-plotter", "add it to the workroom file, or tracewheel cancel 8", "by itself"},
		{ledger.Canceled, "roll-plotter", "tracewheel again 8", ""},
		{ledger.Completed, "roll-plotter", "tracewheel again 8", ""},
		{ledger.Aborted, "roll-plotter", "tracewheel show 8", "again 8"},
	} {
		r, ok := d.cannot(&ledger.Job{ID: 8, State: c.state, Device: c.device, Ready: true}, "made again").(*Refusal)
		if !ok || !strings.Contains(r.Hint, c.want) || c.never != "" && strings.Contains(r.Hint, c.never) {
			t.Errorf("%s on %s: %+v", c.state, c.device, r)
		}
	}
}

// TestWishesAreLogged: each wish that was met has one line in the log with its job, a refused one none.
func TestWishesAreLogged(t *testing.T) {
	_, d := served(t)
	d.Serve([]Device{{Name: "roll-plotter"}})
	waits := d.Reserve()
	sums, err := d.st.SaveAll(waits, []store.Named{{Name: "original.svg", Data: []byte("a")}})
	if err != nil {
		t.Fatal(err)
	}
	files := []ledger.File{{Job: waits, Name: sums[0].Name, Size: sums[0].Size, SHA256: sums[0].SHA256}}
	if err := d.Enter(t.Context(), ledger.Arrival{ID: waits, Device: "roll-plotter", File: "skirt.svg", Files: files}); err != nil {
		t.Fatal(err)
	}
	runs := begun(t, d)
	core, logs := observer.New(zap.InfoLevel)
	s := &Server{jobs: d, log: zap.New(core)}
	for _, c := range []struct {
		do   string
		job  int64
		want string // "" where it is refused
	}{
		{doHold, waits, "held by a person"}, {doRelease, waits, "released by a person"}, {doRelease, waits, ""},
		{doPause, waits, ""}, {doPause, runs, "pause asked by a person"}, {doHold, runs, ""},
		{doCancel, runs, "cancel asked by a person"}, {doCancel, waits, "cancel asked by a person"}, {doCancel, waits, ""},
	} {
		a := s.do(t.Context(), request{Do: c.do, Job: c.job})
		if a.OK != (c.want != "") {
			t.Errorf("%s %d: %+v", c.do, c.job, a)
		}
		var got []string
		for _, e := range logs.TakeAll() {
			if e.ContextMap()["job"] != c.job || e.ContextMap()["stage"] != "control" {
				t.Errorf("%s %d: the line says %v", c.do, c.job, e.ContextMap())
			}
			got = append(got, e.Message)
		}
		if strings.Join(got, "|") != c.want {
			t.Errorf("%s %d: the log says %q, want %q", c.do, c.job, got, c.want)
		}
	}
}
