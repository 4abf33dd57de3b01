package daemon

import (
	"context"

	"tracewheel/pipeline/store"
)

// Recover brings what an earlier run left to a true state, and starts nothing.
func (d *Daemon) Recover(ctx context.Context) error { return d.recover(ctx) }

// Store is the daemon's store.
func (d *Daemon) Store() *store.Store { return d.store }
