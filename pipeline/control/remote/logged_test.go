package remote

import (
	"fmt"
	"strings"
	"syscall"
	"testing"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/control/asker"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"

	"go.uber.org/zap"
	"go.uber.org/zap/zaptest/observer"
)

// TestWishesAreLogged: each wish that was met has one line in the log with its job, a refused one none.
func TestWishesAreLogged(t *testing.T) {
	_, d := served(t)
	d.Serve([]control.Device{{Name: "roll-plotter"}})
	waits, runs := waiting(t, d, "roll-plotter"), waiting(t, d, "roll-plotter")
	if _, err := d.Begin(t.Context(), runs, 9, 100); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(d.Shut)
	core, logs := observer.New(zap.InfoLevel)
	s := &Server{jobs: d.Jobs, log: zap.New(core)}
	for _, c := range []struct {
		do   string
		job  int64
		want string // "" where it is refused
	}{
		{doHold, waits, "held by a person"}, {doRelease, waits, "released by a person"}, {doRelease, waits, ""},
		{doPause, waits, ""}, {doPause, runs, "pause asked by a person"}, {doHold, runs, ""},
		{doCancel, runs, "cancel asked by a person"}, {doCancel, waits, "cancel asked by a person"}, {doCancel, waits, ""},
	} {
		a := s.do(asker.ByLogin(t.Context(), "sam", "Nell"), request{Do: c.do, Job: c.job})
		if a.OK != (c.want != "") {
			t.Errorf("%s %d: %+v", c.do, c.job, a)
		}
		var got []string
		for _, e := range logs.TakeAll() {
			if e.ContextMap()["job"] != c.job || e.ContextMap()["stage"] != "control" || e.ContextMap()["who"] != `login sam, "Nell"` {
				t.Errorf("%s %d: the line says %v", c.do, c.job, e.ContextMap())
			}
			got = append(got, e.Message)
		}
		if strings.Join(got, "|") != c.want {
			t.Errorf("%s %d: the log says %q, want %q", c.do, c.job, got, c.want)
		}
	}
}

// TestWishOnAFullDisk: a wish that could not be written down has not happened, and the answer says so.
func TestWishOnAFullDisk(t *testing.T) {
	for _, full := range []error{ledger.ErrFull, store.ErrFull} {
		text := failed(fmt.Errorf("writing job 8 down: %w", full)).err().Error()
		if !strings.Contains(text, "say it again once there is room") {
			t.Errorf("it says %q", text)
		}
	}
	if text := store.WithAdvice(syscall.ENOSPC).Error(); strings.Contains(text, "by itself") {
		t.Errorf("a full disk says %q to whoever asks", text)
	}
}
