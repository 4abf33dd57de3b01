package daemon

import (
	"context"
	"errors"
	"fmt"
	"runtime/debug"

	"go.uber.org/zap"

	"tracewheel/pipeline/control"
)

// sends tells that something is being sent: no search for a lay may take the processor from it.
func (d *Daemon) sends() bool { return d.sending.Load() > 0 }

// betterNext seeks a better lay for the next job for which a person asked.
func (w *worker) betterNext(ctx context.Context) (bool, error) {
	j, seek, err := w.d.jobs.Sought(ctx, w.device.Name)
	if err != nil || j.ID == 0 {
		return false, err
	}
	in, err := w.draft(ctx, j)
	if err != nil {
		return true, w.putAside(ctx, j.ID, err)
	}
	lay, words, err := w.seek(func() ([]byte, string, error) {
		if w.d.opts.Better == nil {
			return nil, "", errors.New("no lay is sought here")
		}
		return w.d.opts.Better(ctx, in, seek)
	})
	switch {
	case ctx.Err() != nil:
		return false, nil // the wish is gone with the program; the job stands as it stood
	case err != nil:
		words = err.Error()
	}
	w.making.Lock()
	defer w.making.Unlock()
	j, err = w.d.jobs.Relay(ctx, j.ID, j.Lay, lay != nil, words)
	if err == nil && lay != nil {
		w.log.Info("better lay", zap.Int64("job", j.ID), zap.String("stage", "better"), zap.String("lay", words))
		err = w.make(ctx, j, lay)
	}
	if control.IsRefusal(err) {
		err = nil // a person was faster: it is released or canceled now
	}
	return true, err
}

// seek calls a search; one that panics finds nothing.
func (w *worker) seek(search func() ([]byte, string, error)) (lay []byte, words string, err error) {
	defer func() {
		if r := recover(); r != nil {
			w.log.Error("panic while a lay was sought", zap.String("stage", "better"), zap.Any("panic", r), zap.ByteString("stack", debug.Stack()))
			lay, err = nil, fmt.Errorf("tracewheel itself failed on it (%v): please report it with the file", r)
		}
	}()
	return search()
}
