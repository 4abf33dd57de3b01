package daemon

import (
	"context"
	"time"

	"go.uber.org/zap"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/store"
)

// remover removes programs, jobs and folders that are old.
type remover struct {
	jobs     *control.Jobs
	store    *store.Store
	returned string
	log      *zap.Logger
	now      func() time.Time
	// keep gives how long programs and how long whole jobs are kept, by the settings in force.
	keep func() (programs, drafts time.Duration)
}

// run removes what is old at the start and every hour.
func (r remover) run(ctx context.Context) {
	tick := time.NewTicker(time.Hour)
	defer tick.Stop()
	logged := false
	for {
		programs, drafts := r.keep()
		if programs > 0 || drafts > 0 {
			agrees, err := r.jobs.ClockAgrees(ctx)
			r.stays(ctx, "nothing old is removed, because the clock may be wrong", err)
			switch {
			case agrees:
				r.remove(ctx, programs, drafts)
			case !logged && err == nil:
				logged = true
				r.log.Info("nothing old is removed yet: the clock is believed once a job that was received a day to a month ago agrees with it",
					zap.String("stage", "prune"), zap.Time("clock", r.now()))
			}
		}
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}

// remove removes whole jobs first, so that no job is stripped that is removed anyway.
func (r remover) remove(ctx context.Context, programs, drafts time.Duration) {
	n, err := r.jobs.Prune(ctx, drafts)
	r.stays(ctx, "old jobs could not be removed", err)
	r.removed("old jobs removed", n, drafts)
	n, err = r.jobs.Strip(ctx, programs)
	r.stays(ctx, "programs and pictures of old jobs could not be removed", err)
	r.removed("programs and pictures of old jobs removed", n, programs)
	if programs > 0 {
		n, err = r.store.Expire(r.returned, r.now(), programs)
		r.stays(ctx, "old folders in returned and stray could not be removed", err)
		r.removed("old folders in returned and stray removed", n, programs)
	}
}

func (r remover) removed(what string, n int, keep time.Duration) {
	if n > 0 {
		r.log.Info(what, zap.String("stage", "prune"), zap.Int("number", n), zap.Duration("older_than", keep))
	}
}

func (r remover) stays(ctx context.Context, what string, err error) {
	if err != nil && ctx.Err() == nil {
		r.log.Warn(what, zap.String("stage", "prune"), zap.Error(err))
	}
}
