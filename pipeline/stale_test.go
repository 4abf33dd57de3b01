package pipeline

import (
	"context"
	"fmt"
	"strings"
	"sync/atomic"
	"testing"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/ledger"
)

// TestMadeOtherwiseNow: a job that waited while the settings changed is made anew before it is sent, once,
// and a cutter's waits for a person again; one that would be made as it was is sent as it is.
func TestMadeOtherwiseNow(t *testing.T) {
	h := newHouse(t)
	var offset, built atomic.Int64
	h.opts.Build = func(ctx context.Context, in BuildInput) (Built, error) {
		built.Add(1)
		in.Source = fmt.Appendf(nil, "%s with %d", in.Source, offset.Load())
		return pretendBuild(ctx, in)
	}
	h.start()
	release := func(id int64) {
		t.Helper()
		if err := h.d.Desk().Release(t.Context(), id, nil, control.BedClear); err != nil {
			t.Fatal(err)
		}
	}
	h.drop("knife-table", "same.svg", "a")
	h.becomes(1, ledger.Held)
	h.d.taken.Add(1) // settings that change nothing for it
	release(1)
	h.becomes(1, ledger.Completed)
	if n := built.Load(); n != 2 {
		t.Errorf("made %d times", n)
	}
	h.drop("knife-table", "other.svg", "b")
	h.becomes(2, ledger.Held)
	offset.Store(5)
	h.stop() // what a run before this one made is looked at as well
	h.start()
	release(2)
	h.until("it is made anew", func() bool {
		j := h.job(2)
		return j.State == ledger.Held && j.Ready && !j.Released && strings.HasPrefix(j.Reason, "made anew, because the workroom file")
	})
	if got := h.dev.sendings("knife-table"); len(got) != 1 {
		t.Errorf("sent %q", got)
	}
	release(2)
	h.becomes(2, ledger.Completed)
	if got := h.dev.sendings("knife-table"); len(got) != 2 || !strings.Contains(got[1], "b with 5;") {
		t.Errorf("sent %q", got)
	}
}
