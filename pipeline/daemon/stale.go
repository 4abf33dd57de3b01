package daemon

import (
	"bytes"
	"context"
	"time"

	"go.uber.org/zap"

	"tracewheel/devices"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/ledger"
)

// revision says when a program was made, and by which settings of this run.
type revision struct {
	taken int64
	at    time.Time
}

func (d *Daemon) now() revision { return revision{d.taken.Load(), time.Now()} }

// lately is the greatest age of a program that is sent without asking whether it would be made otherwise now.
// Measurements may change at any time, but hardly between the making and the sending of a job that waits for nothing.
const lately = 5 * time.Second

func (m revision) fresh(now revision) bool { return m.taken == now.taken && now.at.Sub(m.at) < lately }

// madeAt notes when a job's program was made.
func (w *worker) madeAt(job int64, m revision) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.made[job] = m
}

// stale tells whether the program of a waiting job differs from what its draft would give now, for example because the
// workroom file or the measured blade offset changed. Such a job is made anew, and a cutter's job is released anew,
// because nobody has seen the new program.
func (w *worker) stale(ctx context.Context, log *zap.Logger, j ledger.Job, prog devices.Program) (bool, error) {
	w.mu.Lock()
	fresh := w.made[j.ID].fresh(w.d.now())
	delete(w.made, j.ID) // it is sent or made anew now
	w.mu.Unlock()
	if fresh {
		return false, nil
	}
	built, _, err := w.build(ctx, j, nil, false)
	if err != nil || bytes.Equal(built.Program.Bytes(), prog.Bytes()) {
		return false, err
	}
	log.Warn("its draft would be made otherwise now than when it was made, so it is made anew", zap.String("reason", prog.Changed(built.Program)))
	if _, err = w.d.jobs.MakeAnew(ctx, j.ID, prog.Changed(built.Program)); control.IsRefusal(err) {
		err = nil // a person was faster: the job is canceled or held now
	}
	return true, err
}
