package daemon

import (
	"context"
	"errors"
	"fmt"
	"runtime/debug"
	"sync"

	"go.uber.org/zap"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/ledger"
)

// sends tells whether something is being sent: a search for a lay must not take the processor from it.
func (d *Daemon) sends() bool { return d.sending.Load() > 0 }

// betterNext searches a better lay for the next job for which a person asked. did is true where there was one.
func (w *worker) betterNext(ctx context.Context) (bool, error) {
	j, seek, err := w.d.jobs.Sought(ctx, w.device.Name)
	if err != nil || j.ID == 0 {
		return false, err
	}
	log := w.log.With(zap.Int64("job", j.ID), zap.String("stage", "better"))
	seeking, stop := context.WithCancel(ctx)
	var watch sync.WaitGroup
	defer watch.Wait() // endSearch reads the ledger, which is closed after this worker has ended
	defer stop()
	asked, id := j, j.ID // j is read anew below, while endSearch uses the copy
	watch.Go(func() { w.endSearch(seeking, stop, asked) })
	lay, words, err := w.seek(func() ([]byte, string, error) {
		if w.d.opts.Better == nil {
			return nil, "", errors.New("no lay is sought here")
		}
		in, err := w.draft(seeking, j)
		if err != nil {
			return nil, "", err
		}
		in.Shorter = func(length float64) { w.d.jobs.SoughtTo(id, length) }
		return w.d.opts.Better(seeking, in, seek)
	})
	switch {
	case ctx.Err() != nil: // the wish is gone with the program; the job stays as it was
		lay, words, ctx = nil, control.SearchCut, context.WithoutCancel(ctx)
	case seeking.Err() != nil:
		lay, words = nil, "the search was ended, as the job did not wait meanwhile"
	case err != nil:
		lay, words = nil, err.Error()
	}
	w.making.Lock()
	defer w.making.Unlock()
	j, taken, err := w.d.jobs.Relay(ctx, j.ID, j.Lay, lay != nil, words)
	switch {
	case err == nil && taken:
		log.Info("better lay", zap.String("lay", words))
		err = w.make(ctx, j, lay)
	case err == nil:
		log.Info("no better lay", zap.String("reason", words))
	}
	if control.IsRefusal(err) {
		err = nil // a person was faster: the job is canceled while it is made, or gone
	}
	return true, err
}

// endSearch ends the search as soon as the job's lay can no longer be replaced.
func (w *worker) endSearch(ctx context.Context, end context.CancelFunc, j ledger.Job) {
	kicks, leave := w.d.jobs.Listen(w.device.Name)
	defer leave()
	for {
		if control.IsRefusal(w.d.jobs.Lays(ctx, j.ID, j.Lay)) {
			end()
		}
		select {
		case <-ctx.Done():
			return
		case <-kicks:
		}
	}
}

// unsought writes into the history of jobs for which a search was going on at a kill that it found nothing.
func (d *Daemon) unsought(ctx context.Context) error {
	jobs, err := d.jobs.Jobs(ctx, ledger.Filter{States: []ledger.State{ledger.Held}, Faulty: true})
	if err != nil {
		return err
	}
	for _, j := range jobs {
		if j.Fault != "" {
			continue
		}
		events, err := d.jobs.Events(ctx, j.ID)
		if err != nil {
			return err
		}
		asked := false
		for _, e := range events {
			asked = e.Kind == control.BetterAsked || asked && e.Kind != control.NotRelaid && e.Kind != control.Relaid
		}
		if !asked {
			continue
		}
		if _, _, err := d.jobs.Relay(ctx, j.ID, j.Lay, false, control.SearchCut); err != nil {
			return err
		}
	}
	return nil
}

// seek calls the search; where it panics, nothing is found.
func (w *worker) seek(search func() ([]byte, string, error)) (lay []byte, words string, err error) {
	defer func() {
		if r := recover(); r != nil {
			w.log.Error("panic while a lay was sought", zap.String("stage", "better"), zap.Any("panic", r), zap.ByteString("stack", debug.Stack()))
			lay, err = nil, fmt.Errorf("tracewheel itself failed on it (%v): please report it with the file", r)
		}
	}()
	return search()
}
