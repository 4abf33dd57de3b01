package daemon

import (
	"context"

	"go.uber.org/zap"

	"tracewheel/pipeline/job"
	"tracewheel/pipeline/store"
)

// Recover brings what an earlier run left to a true state, and starts nothing.
func (d *Daemon) Recover(ctx context.Context) error { return d.recover(ctx) }

// Store is the daemon's store.
func (d *Daemon) Store() *store.Store { return d.store }

// BetterNext seeks a better lay for the next job of a device that asks for one, as its worker does.
func (d *Daemon) BetterNext(ctx context.Context, device string) (bool, error) {
	w := &worker{d: d, device: job.Device{Name: device}, log: zap.NewNop(), trouble: map[string]string{}, made: map[int64]revision{}}
	return w.betterNext(ctx)
}
