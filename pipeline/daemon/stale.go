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

// revision is when a program was made, and under which settings of this run.
type revision struct {
	taken int64
	at    time.Time
}

func (d *Daemon) now() revision { return revision{d.taken.Load(), time.Now()} }

// lately is how old a program may be that is sent without a look whether it would be made otherwise now:
// what was measured may change at any time, but hardly between the making and the sending of a job that
// waits for nothing.
const lately = 5 * time.Second

func (m revision) fresh(now revision) bool { return m.taken == now.taken && now.at.Sub(m.at) < lately }

// madeAt notes when a job's program was made.
func (w *worker) madeAt(job int64, m revision) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.made[job] = m
}

// stale tells a waiting job whose program is not what its draft would give now, as where the workroom
// file changed or the blade's offset was measured meanwhile. Such a job is made anew, and on a cutter is
// let go anew: nobody has seen it yet.
func (w *worker) stale(ctx context.Context, log *zap.Logger, j ledger.Job, prog devices.Program) (bool, error) {
	w.mu.Lock()
	fresh := w.made[j.ID].fresh(w.d.now())
	delete(w.made, j.ID) // it is sent now or made anew
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
		err = nil // a person was faster: it is canceled or held now
	}
	return true, err
}
