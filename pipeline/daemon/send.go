package daemon

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"runtime/debug"
	"slices"
	"time"

	"go.uber.org/zap"

	"tracewheel/devices"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
)

// sendNext sends the device's next job: first one that a person resumed, otherwise the ready one whose turn it is.
// While a job of this device is stopped nothing else is sent to it: a half-made piece lies there, perhaps with the
// tool down, and only a person can decide what to do. If it is canceled then, the next job is held until a person has
// seen to the machine, and those behind it wait. The same holds while the ledger has a damaged line that may be such a
// job.
func (w *worker) sendNext(ctx context.Context) (bool, error) {
	begun, err := w.d.jobs.Jobs(ctx, ledger.Filter{BegunOn: w.device.Name})
	if err != nil {
		return false, err
	}
	for _, j := range begun {
		if j.State == ledger.Processing {
			return true, w.send(ctx, j)
		}
	}
	if len(begun) > 0 {
		return false, nil
	}
	j, again, err := w.first(ctx, "sent", ledger.Filter{Ready: true})
	if err != nil || j.ID == 0 {
		return again, err
	}
	if waits, err := w.d.jobs.WaitsUnseen(ctx, j); waits || err != nil {
		return false, err
	}
	return true, w.send(ctx, j)
}

// send writes, acts, and writes again: before the first byte the ledger and then a mark in the job's folder say that
// sending begins, and before anything else is sent to this device the ledger says how it ended.
func (w *worker) send(ctx context.Context, j ledger.Job) error {
	log := w.log.With(zap.Int64("job", j.ID), zap.String("stage", "send"), zap.String("file", j.File))
	if trial := j.TrialSaid(); trial != "" {
		log = log.With(zap.String("trial", trial))
	}
	if err := w.d.jobs.StillThere(); err != nil {
		return err
	}
	if err := w.noPort(ctx, j); err != nil {
		return err
	}
	prog, err := w.d.jobs.Sendable(ctx, j)
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if err != nil {
		return w.unusable(ctx, log, j, err)
	}
	if j.State == ledger.Pending {
		stale, err := w.stale(ctx, log, j, prog)
		if errors.Is(err, control.ErrNotSaved) {
			return w.unusable(ctx, log, j, err)
		}
		if stale || err != nil {
			return w.putAside(ctx, j.ID, err)
		}
		if j, err = w.d.jobs.Begin(ctx, j.ID, len(prog.Blocks), int64(prog.Len())); err != nil {
			if control.IsRefusal(err) {
				return nil // a person was faster
			}
			return err
		}
	}
	run := [2]int64{j.ID, int64(j.Send.No)}
	if run == w.sent {
		return fmt.Errorf("the result of job %d could not be saved, so it will not be resent. Restart tracewheel, then: tracewheel show %d", j.ID, j.ID)
	}
	before, err := w.d.ledger.LastRun(ctx, j.Device, j.ID, j.Send.No)
	if err != nil {
		return err
	}
	earlier, err := w.d.ledger.Sends(ctx, j.ID)
	if err != nil {
		return err
	}
	earlier = slices.DeleteFunc(earlier, func(s ledger.Send) bool { return s.No >= j.Send.No })
	w.sent = run
	log.Info("sending", zap.Int("from_block", j.Send.First), zap.Int64("bytes", j.Send.Total))
	began := time.Now()
	var end control.End
	switch err := w.d.store.MarkSent(j.ID, j.Send.No, began); {
	case errors.Is(err, fs.ErrExist):
		return fmt.Errorf("sending %d of job %d had begun before, by its folder, so it will not be resent. Restart tracewheel, then: tracewheel show %d", j.Send.No, j.ID, j.ID)
	case err != nil:
		end = control.End{State: ledger.Stopped, Reason: fmt.Sprintf("nothing was sent, because that could not be noted: %v", err), Sure: -1, Stroke: -1, Unsent: true}
	default:
		end = w.callSender(ctx, j, prog, before, earlier)
	}
	// The outcome must be written even when the daemon is ending.
	last := context.WithoutCancel(ctx)
	id := j.ID
	err = w.lasting(ctx, "journal", func() (err error) {
		j, err = w.d.jobs.Close(last, id, end)
		if errors.Is(err, ledger.ErrNoJob) { // no wish removes a job that is being sent, so its row is damaged
			err = fmt.Errorf("the ledger has no line of job %d, which was sent%s", id, ledger.MendRow)
		}
		return err
	})
	if err != nil {
		return err
	}
	seconds := zap.Float64("seconds", float64(time.Since(began).Milliseconds())/1000)
	if j.State == ledger.Completed {
		fields := append([]zap.Field{zap.String("state", string(j.State)), zap.Int("pieces", j.Pieces)}, drawn(prog)...)
		log.Info("done", append(fields, zap.Int64("bytes", j.Send.Bytes), seconds)...)
	} else {
		of := zap.Int64("of_bytes", j.Send.Total)
		if j.Send.Bytes == 0 {
			of = zap.String("sent", "nothing")
		}
		log.Warn("ended before its time", zap.String("state", string(j.State)), zap.String("reason", j.Reason),
			zap.Int64("bytes", j.Send.Bytes), of, seconds, zap.String("tool", j.Send.Tool))
	}
	return nil
}

// noPort keeps a job that starts by itself waiting while its port is missing: it has not begun, so nobody needs to say
// from where it continues. For a job that a person released it gives nil: its sending fails, it is stopped, and a
// person releases it again.
func (w *worker) noPort(ctx context.Context, j ledger.Job) error {
	if j.State != ledger.Pending || w.d.opts.Port == nil {
		return nil
	}
	gone := w.d.opts.Port(w.device.Name)
	if gone == nil {
		return nil
	}
	waits, err := w.d.jobs.AwaitPort(ctx, j.ID, gone)
	if waits {
		return gone
	}
	return err
}

// callSender runs the sender and gives its outcome as the end of the run.
func (w *worker) callSender(ctx context.Context, j ledger.Job, prog devices.Program, last ledger.LastRun, earlier []ledger.Send) (end control.End) {
	sure := devices.StrokeEndsOf(prog)
	defer func() {
		if r := recover(); r != nil {
			w.log.Error("panic while sending", zap.Int64("job", j.ID), zap.String("stage", "send"), zap.Any("panic", r), zap.ByteString("stack", debug.Stack()))
			end = control.End{State: ledger.Stopped, Sure: -1, Stroke: -1,
				Reason: fmt.Sprintf("tracewheel itself failed while sending (%v); see to the machine first", r)}
		}
	}()
	w.d.sending.Add(1)
	defer w.d.sending.Add(-1)
	out := w.d.opts.Send(ctx, job.Run{Job: j.ID, Device: j.Device, Program: prog, From: j.Send.First, Held: j.Send.Held, Last: last, Earlier: earlier,
		Attach: func(h control.Sending) { w.d.jobs.Attach(j.ID, h) },
		Progress: func(p control.Progress) {
			p.Job, p.Device = j.ID, j.Device
			w.d.jobs.Progress(p)
		},
		Draft: func() (job.Draft, error) { return w.draft(ctx, j) }})
	return control.End{State: out.State, Reason: out.Reason, Bytes: out.Bytes, Total: out.Total, Sure: out.SureBlock,
		Stroke: sure.Stroke(out.SureBlock), ToolUp: out.ToolUp, Held: out.Held, InDoubt: out.InDoubt, Unsent: out.Bytes == 0}
}
