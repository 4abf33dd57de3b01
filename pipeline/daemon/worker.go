package daemon

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"go.uber.org/zap"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
)

// worker serves one device with three goroutines, each of which does one job at a time in the order of arrival: one
// makes programs, one sends them, one searches better lays where people ask for them. Workers share the ledger, the
// store and the processor: a slow device does not hold up another, but no lay is searched while anything is sent to
// any device. The queue of jobs is the ledger.
type worker struct {
	d      *Daemon
	device job.Device
	log    *zap.Logger
	stop   context.CancelFunc
	done   chan struct{}
	// sent is the last run that was sent, as job and number: no run is sent twice, whatever the ledger says later.
	// Only the sending goroutine uses it.
	sent [2]int64
	// making is held while a program is made: the search for better lays makes programs too, in another goroutine.
	making sync.Mutex
	// trouble is the last fault in the log, so that a lasting fault is logged once.
	mu      sync.Mutex
	trouble map[string]string
	// made says when this run made the programs of waiting jobs; guarded by mu.
	made map[int64]revision
}

func (d *Daemon) startWorker(dev job.Device) *worker {
	ctx, cancel := context.WithCancel(context.Background())
	w := &worker{d: d, device: dev, log: d.log.With(zap.String("device", dev.Name)), stop: cancel,
		done: make(chan struct{}), trouble: map[string]string{}, made: map[int64]revision{}}
	var all sync.WaitGroup
	all.Go(func() { w.loop(ctx, "make", w.makeNext) })
	all.Go(func() { w.loop(ctx, "send", w.sendNext) })
	all.Go(func() { w.loop(ctx, "better", w.betterNext) })
	go func() {
		all.Wait()
		close(w.done)
	}()
	return w
}

// stopWorkers brings all devices to rest at the same time and waits for them, as long as limit.
func (d *Daemon) stopWorkers(limit context.Context) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.running = false
	for _, w := range d.workers {
		w.stop()
	}
	var faults []error
	for name, w := range d.workers {
		if err := waitFor(limit, w.done); err != nil {
			faults = append(faults, fmt.Errorf("device %q: %w", name, err))
		}
	}
	return errors.Join(faults...)
}

// loop calls next until there is nothing left to do, then waits for a kick.
func (w *worker) loop(ctx context.Context, stage string, next func(context.Context) (did bool, err error)) {
	kicks, leave := w.d.jobs.Listen(w.device.Name)
	defer leave()
	for ctx.Err() == nil {
		did, err := next(ctx)
		if ctx.Err() != nil {
			return
		}
		if err != nil {
			w.tell(stage, err)
			w.pause(ctx)
			continue
		}
		w.tell(stage, nil)
		if did {
			continue
		}
		select {
		case <-ctx.Done():
		case <-kicks:
		}
	}
}

// first gives the waiting job of the device whose turn it is, of those that the filter picks: one that a person put
// before the others, otherwise the oldest; its number is 0 where there is none. Jobs whose line in the ledger is
// damaged are logged and passed over: they are not made or sent. again is true where only such jobs are left, which
// may be repaired meanwhile.
func (w *worker) first(ctx context.Context, what string, f ledger.Filter) (j ledger.Job, again bool, err error) {
	f.Device, f.States, f.Limit, f.Faulty, f.Turn = w.device.Name, []ledger.State{ledger.Pending}, 1, true, true
	for {
		var faults []error
		jobs, err := w.d.jobs.Jobs(ctx, f)
		if err != nil {
			return j, false, err
		}
		for len(jobs) > 0 && jobs[0].Fault != "" {
			faults = append(faults, fmt.Errorf("job %d is not %s: %s", jobs[0].ID, what, jobs[0].Fault+ledger.MendRow))
			jobs = jobs[1:]
		}
		if len(jobs) == 0 && len(faults) == f.Limit {
			f.Limit *= 2 // there may be more behind damaged lines
			continue
		}
		w.tell("jobs to be "+what, errors.Join(faults...))
		if len(jobs) > 0 {
			return jobs[0], true, nil
		}
		if len(faults) > 0 {
			w.pause(ctx)
		}
		return j, len(faults) > 0, nil
	}
}

// pause waits before the next attempt.
func (w *worker) pause(ctx context.Context) {
	select {
	case <-ctx.Done():
	case <-time.After(w.d.opts.Retry):
	}
}

// tell logs a fault once while it lasts, and once that it is over.
func (w *worker) tell(stage string, err error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	old := w.trouble[stage]
	switch {
	case err == nil && old != "":
		delete(w.trouble, stage)
		w.log.Info("goes on after trouble", zap.String("stage", stage))
	case err != nil && err.Error() != old:
		w.trouble[stage] = err.Error()
		w.log.Error("trouble, tried again until it goes", zap.String("stage", stage), zap.Error(err),
			zap.Bool("disk_full", errors.Is(err, store.ErrFull) || errors.Is(err, ledger.ErrFull)))
	}
}

// lasting repeats fn until it works, a wish is refused or the context ends. It is for what must be written because it
// has already happened.
func (w *worker) lasting(ctx context.Context, stage string, fn func() error) error {
	for {
		err := fn()
		w.tell(stage, err)
		if err == nil || control.IsRefusal(err) || ctx.Err() != nil {
			return err
		}
		w.pause(ctx)
	}
}

// unusable ends a job with a file that cannot be read or is not what was saved: a waiting job fails, one that had
// begun is stopped again.
func (w *worker) unusable(ctx context.Context, log *zap.Logger, j ledger.Job, cause error) error {
	log.Error("a file of this job cannot be used", zap.Error(cause))
	if j.State == ledger.Processing {
		_, err := w.d.jobs.Close(ctx, j.ID, control.End{State: ledger.Stopped, Reason: cause.Error(), Sure: -1, Stroke: -1,
			Unsent: w.sent != [2]int64{j.ID, int64(j.Send.No)}})
		return err
	}
	reason := cause.Error()
	if _, err := w.draft(ctx, j); err == nil {
		reason += fmt.Sprintf("; its draft is whole: `tracewheel again %d` makes a new job of it", j.ID)
	}
	_, err := w.d.jobs.Refuse(ctx, j.ID, control.Made{Style: j.Style, Pieces: j.Pieces, Order: j.Order}, reason)
	if control.IsRefusal(err) {
		return nil // a person was faster
	}
	return err
}
