package daemon_test

import (
	"context"
	"testing"

	"tracewheel/pipeline/daemon/daemontest"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
)

// TestCancelEndsMaking: a job that is canceled while it is made holds up no other, also where the maker
// does not look up from its work.
func TestCancelEndsMaking(t *testing.T) {
	h := daemontest.New(t)
	stuck, began, told := make(chan struct{}), make(chan struct{}), make(chan struct{})
	h.Options.Build = func(ctx context.Context, in job.Draft) (job.Made, error) {
		if in.Job == 1 {
			close(began)
			go func() { <-ctx.Done(); close(told) }()
			<-stuck
		}
		return daemontest.Make(ctx, in)
	}
	defer close(stuck)
	h.Start()
	h.Drop("roll-plotter", "long.svg", "a")
	<-began
	if err := h.Daemon.Jobs().Cancel(t.Context(), 1); err != nil {
		t.Fatal(err)
	}
	<-told
	h.Drop("roll-plotter", "next.svg", "b")
	h.Becomes(2, ledger.Completed)
	h.Becomes(1, ledger.Canceled)
}
