package control

import (
	"context"
	"fmt"
	"slices"

	"tracewheel/pipeline/ledger"
)

// Begin writes that a sending begins; only after it has returned may a byte be sent. A job that is not waiting is
// refused, and so is one whose sending had begun before: such a job goes on through Resume alone. Close must follow.
func (d *Jobs) Begin(ctx context.Context, id int64, blocks int, total int64) (ledger.Job, error) {
	d.wishes.Lock()
	defer d.wishes.Unlock()
	held := false
	j, err := d.led.Job(ctx, id)
	if err != nil {
		return j, err
	}
	after, err := d.unseen(ctx, &j)
	if err != nil {
		return j, err
	}
	j, err = d.change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
		if j.State != ledger.Pending || !j.Ready || j.Sends != 0 {
			return ledger.Step{}, fmt.Errorf("%w: job %d is not waiting to be sent", ledger.ErrState, id)
		}
		if err := d.stays(j); err != nil {
			return ledger.Step{}, err
		}
		if held = d.needsGo(j) && !j.Released; held { // the device had no blade when the job was made
			j.State, j.Reason = ledger.Held, d.goWords(j)
			return ledger.Step{Kind: "hold", Text: j.Reason}, nil
		}
		if held = after != 0; held {
			j.State, j.Released, j.Reason = ledger.Held, false, unseenWords(j, after)
			return ledger.Step{Kind: "hold", Text: j.Reason}, nil
		}
		j.Send.Blocks, j.Send.Total = blocks, total
		send := d.newSend(*j, 0)
		j.State, j.Reason = ledger.Processing, ""
		return ledger.Step{Kind: "begin", Text: fmt.Sprintf("%d bytes", total), Send: &send}, nil
	})
	if err == nil && held {
		err = refuse(fmt.Sprintf("tracewheel release %d", id), fmt.Sprintf("job %d waits for release", id))
	}
	if err == nil {
		d.open(j, -1)
	}
	return j, err
}

// newSend gives the record of a new run of a job's program. A run that goes on in the middle keeps what was surely
// drawn before; one from the start has fresh material.
func (d *Jobs) newSend(j ledger.Job, first int) ledger.Send {
	now := d.now()
	s := ledger.Send{No: j.Sends + 1, Began: now, Updated: now, First: first, Blocks: j.Send.Blocks,
		Total: j.Send.Total, Sure: -1, Stroke: -1, Tool: ledger.Unknown}
	if first > 0 {
		s.Sure, s.Stroke, s.Held = j.Send.Sure, j.Send.Stroke, j.Send.Held
	}
	return s
}

// open lets a job take wishes while it runs. The caller holds d.wishes from here to the change to processing, so that
// no wish can come between the two. sent is the last stroke that counts as sent.
func (d *Jobs) open(j ledger.Job, sent int) {
	d.mu.Lock()
	defer d.mu.Unlock()
	l := &live{send: j.Send, written: d.now(), poke: make(chan struct{}, 1), over: make(chan struct{}), idle: make(chan struct{}),
		last: Progress{Job: j.ID, Device: j.Device, State: j.State, Total: j.Send.Total, Stroke: -1, Piece: -1, Sent: max(sent, j.Send.Stroke), Sure: j.Send.Stroke, SureBlock: j.Send.Sure}}
	d.live[j.ID] = l
	go d.writeProgress(l)
}

// Attach sets how a running job's sender is told of wishes; wishes that came before are passed on now.
func (d *Jobs) Attach(id int64, h Sending) {
	d.mu.Lock()
	l := d.live[id]
	if l == nil {
		d.mu.Unlock()
		return
	}
	l.sending = h
	pending := l.pending
	l.pending = nil
	d.mu.Unlock()
	for _, wish := range pending {
		wish(h)
	}
}

// End is how a run of a job ended.
type End struct {
	// State is ledger.Completed, Canceled or Stopped.
	State  ledger.State
	Reason string
	Bytes  int64
	// Total is the number of bytes to be sent where that is more than the program has.
	Total int64
	// Sure and Stroke are the last block and stroke that are surely drawn, -1 where there is none or it is not known.
	Sure, Stroke int
	// Held is where the blade stood, nil where it is not known.
	Held *ledger.Place
	// InDoubt is true where what was called sure during the run no longer is.
	InDoubt bool
	// ToolUp is true where the device confirmed that the tool is up.
	ToolUp bool
	// Unsent is true where surely no byte was sent: what was known before the run still holds.
	Unsent bool
}

// Close writes how a run ended. Wishes wait meanwhile, so that each meets either the sender or the new state.
func (d *Jobs) Close(ctx context.Context, id int64, e End) (ledger.Job, error) {
	d.wishes.Lock()
	defer d.wishes.Unlock()
	kind := map[ledger.State]string{ledger.Completed: "done", ledger.Canceled: "canceled", ledger.Stopped: "stopped"}[e.State]
	if kind == "" {
		return ledger.Job{}, fmt.Errorf("%w: a run cannot end as %s", ledger.ErrState, e.State)
	}
	d.mu.Lock()
	l := d.live[id]
	d.mu.Unlock()
	if l != nil {
		l.rest()
		if err := d.writeRemarks(ctx, l); err != nil {
			return ledger.Job{}, err
		}
	}
	if err := d.recordProcessing(ctx, id, e.State); err != nil {
		return ledger.Job{}, err
	}
	var before []ledger.Send
	if e.Unsent && !e.InDoubt {
		var err error
		if before, err = d.led.Sends(ctx, id); err != nil {
			return ledger.Job{}, err
		}
	}
	drew := d.drew(ctx, id, false)
	j, err := d.change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
		send := j.Send
		if l != nil {
			send.Bytes, send.Total = max(send.Bytes, l.send.Bytes), max(send.Total, l.send.Total)
			send.Sure, send.Stroke = max(send.Sure, l.send.Sure), max(send.Stroke, l.send.Stroke)
			send.Held = latest(send.Held, l.send.Held)
		}
		send.Bytes, send.Sure, send.Stroke = max(send.Bytes, e.Bytes), max(send.Sure, e.Sure), max(send.Stroke, e.Stroke)
		send.Held = latest(send.Held, e.Held)
		send.Total = max(send.Total, e.Total, send.Bytes) // a blade that was held is lowered again, which takes further bytes
		if e.InDoubt {
			send.Sure, send.Stroke, send.Held = -1, -1, nil
		}
		send.Ended, send.Updated, send.Tool, send.End = d.now(), d.now(), ledger.Unknown, kind
		if e.ToolUp {
			send.Tool = "up"
		}
		if d.prints(j.Device) {
			send.Tool = ledger.NoTool
		}
		if i := slices.IndexFunc(before, func(s ledger.Send) bool { return s.No == send.No-1 }); i >= 0 {
			s := before[i]
			send.First, send.Total, send.Bytes, send.Tool = s.First, s.Total, s.Bytes, s.Tool
			send.Sure, send.Stroke, send.Held = s.Sure, s.Stroke, s.Held
		}
		j.State, j.Reason = e.State, e.Reason
		if send.Cancel && e.State == ledger.Stopped && !d.prints(j.Device) { // of a printer's queue it is not known
			// A person had canceled, and the sender ended for another reason before it was told.
			j.State, j.Reason = ledger.Canceled, "canceled by a person; "+e.Reason
		}
		if j.State == ledger.Canceled {
			j.Reason = d.canceledWords(j, send, j.Reason)
		}
		step := ledger.Step{Kind: kind, Text: j.Reason, Send: &send}
		drawnMM, ranMM := drew(send)
		if step.RanMM = ranMM; !e.Unsent {
			step.DrawnMM = drawnMM
		}
		return step, nil
	})
	if err != nil {
		return j, err
	}
	d.mu.Lock()
	delete(d.live, id)
	d.mu.Unlock()
	d.Kick(j.Device)
	return j, nil
}

// latest gives the later of two places of a run. A run that began again before the first place may have come less far.
func latest(before, now *ledger.Place) *ledger.Place {
	if now == nil || before != nil && now.Stroke < before.Stroke {
		return before
	}
	return now
}

// recordProcessing writes the state between for a job that waited for a person and completed before its sender reported that it
// went on: processing-stopped may not become completed.
func (d *Jobs) recordProcessing(ctx context.Context, id int64, to ledger.State) error {
	if to != ledger.Completed {
		return nil
	}
	_, err := d.change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
		if j.State != ledger.Stopped {
			return ledger.Step{}, nil
		}
		j.State, j.Reason = ledger.Processing, ""
		return ledger.Step{Kind: "went on"}, nil
	})
	return err
}
