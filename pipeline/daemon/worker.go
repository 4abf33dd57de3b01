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

// worker serves one device with three goroutines: one makes its drafts into programs, one sends them, each one job at a
// time and in the order in which they came, and one seeks better lays where people ask for them. Workers share the ledger,
// the store and the processor: a device that is slow does not hold what another makes and sends, but no search for a better
// lay goes on while any device is being sent to. The queue itself is the ledger.
type worker struct {
	d      *Daemon
	device job.Device
	log    *zap.Logger
	stop   context.CancelFunc
	done   chan struct{}
	// sent is the run that was last sent, its job and number: none is ever sent twice, whatever the ledger
	// says afterwards. Only the sending goroutine looks at it.
	sent [2]int64
	// making is held by who makes a program: a better lay is made with by another goroutine than new jobs.
	making sync.Mutex
	// trouble is the last fault that was told, so that one that lasts is told once.
	mu      sync.Mutex
	trouble map[string]string
	// made is when the programs of waiting jobs were made by this run, guarded by mu.
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

// stopWorkers brings all devices to rest at once and waits for them.
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

// loop does one thing after the other until there is nothing left, then waits for a kick.
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

// first is the waiting job of the device whose turn it is, of those that fit: one that a person put before the others,
// else the oldest; its number is 0 where there is none. Jobs whose
// line in the ledger is damaged are told and stepped past: nothing is made or sent of them. again is true
// where only such are left, which may be brought back meanwhile.
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
			f.Limit *= 2 // behind damaged lines there may be more
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

// pause waits before the next try.
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

// lasting does something again and again until it works or the daemon is told to end for good. It is
// for what must be written down because it has happened already.
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

// unusable ends a job of which a file cannot be read or is not what was saved: a waiting one fails, one
// that had begun stands stopped again.
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
