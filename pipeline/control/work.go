package control

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"go.uber.org/zap"

	"tracewheel/pipeline/control/asker"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
)

// Reserve, StillThere, Known and Enter are what the inbox asks of Jobs. Reserve gives the number of the next job.
func (d *Jobs) Reserve() int64 { return d.led.Reserve() }

// StillThere gives an error where store or ledger no longer lie where they were opened: then nothing is to be taken or
// sent.
func (d *Jobs) StillThere() error { return cmp.Or(d.st.StillThere(), d.led.StillThere()) }

// Known tells whether a job is in the ledger.
func (d *Jobs) Known(ctx context.Context, id int64) (bool, error) { return d.led.Known(ctx, id) }

// Enter writes new jobs down and wakes their devices' workers.
func (d *Jobs) Enter(ctx context.Context, all ...ledger.Arrival) error {
	d.mu.Lock()
	for i, a := range all {
		if who := d.dropped[[2]string{a.Device, a.File}]; who != "" {
			all[i].Text += " (" + who + ")"
		} else {
			all[i].Text = asker.Sign(ctx, a.Text)
		}
	}
	d.mu.Unlock()
	jobs, err := d.led.EnterAll(ctx, all)
	d.mu.Lock()
	for _, j := range jobs { // of those that are not entered it still holds
		if key := [2]string{j.Device, j.File}; d.dropped[key] != "" {
			d.log.Info("a draft is dropped by a person", zap.Int64("job", j.ID), zap.String("device", j.Device), zap.String("who", d.dropped[key]))
			delete(d.dropped, key)
		}
	}
	d.mu.Unlock()
	for _, j := range jobs {
		d.changed(j)
	}
	return err
}

// Late notes that a job's file was written to after it was taken. A waiting job is held, because it may be half a
// draft; the whole draft comes as a job of its own. For a job that is gone nothing is done.
func (d *Jobs) Late(ctx context.Context, id int64) error {
	const text = "its file went on being written after it was taken, so this may be half of it; the whole lies in the inbox again and becomes a job of its own"
	d.wishes.Lock()
	defer d.wishes.Unlock()
	j, err := d.change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
		switch j.State {
		case ledger.Pending:
			j.State, j.Reason, j.Released = ledger.Held, text, false
		case ledger.Held:
			j.Reason = text + "; " + j.Reason
		}
		return ledger.Step{Kind: "written late", Text: text}, nil
	})
	if errors.Is(err, ledger.ErrNoJob) {
		return nil
	}
	if err == nil {
		d.log.Warn(text, zap.Int64("job", id), zap.String("device", j.Device), zap.String("file", j.File), zap.String("state", string(j.State)))
	}
	return err
}

// Made is the result of making a job: a program, or a question.
type Made struct {
	Style  string
	Pieces int
	// Order is what the ticket orders; Names are the names of the pieces, nil where they are not known.
	Order ledger.Order
	Names []ledger.Piece
	Files []ledger.File
	// Ready is true where the program stands in the store.
	Ready bool
	// Asks is the question that a person must answer first.
	Asks string
	// Note is for the history.
	Note string
	// Answers are those with which it was made; where a person gave others meanwhile, it is made again.
	Answers map[string]string
	// Lay is the sum of the lay that it was made with, one of Files; empty where the job keeps the lay that it has.
	Lay string
	// Laid is how much of its material the job takes, mm; Fits are rectangles of material on which it can be laid.
	Laid float64
	Fits []ledger.Rectangle
}

// Ready writes what was made of a waiting job: the job stays pending, or is held for an answer or for a release. A job
// that a person held meanwhile stays held.
func (d *Jobs) Ready(ctx context.Context, id int64, m Made) (ledger.Job, error) {
	d.wishes.Lock() // whether a job is ready decides what a release of it requires
	defer d.wishes.Unlock()
	return d.change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
		if j.State.Ended() {
			return ledger.Step{}, fmt.Errorf("%w: job %d ended meanwhile", ledger.ErrState, id)
		}
		if !maps.Equal(j.Answers, m.Answers) {
			return ledger.Step{Kind: "made", Text: "with answers that were changed meanwhile; it is made again"}, nil
		}
		j.Style, j.Pieces, j.Order, j.Ready, j.Asks = m.Style, m.Pieces, m.Order, m.Ready, m.Asks
		j.Laid, j.Fits = m.Laid, m.Fits
		if m.Lay != "" {
			j.Lay = m.Lay
		}
		j.Reason = beforeSearch(j.Reason)
		hold := m.Asks
		if hold == "" && !j.Released && d.needsGo(j) {
			hold = d.goWords(j)
			if j.State == ledger.Pending && j.Reason != "" {
				hold = j.Reason + "; " + hold
			}
		}
		if hold == "" && j.State == ledger.Held && strings.HasPrefix(j.Reason, betterFound) {
			hold = "held by a person, and has a better lay now; look at it before it is released"
		}
		if hold != "" {
			j.State, j.Reason = ledger.Held, hold
		}
		text := cmp.Or(m.Note, pattern.Count(m.Pieces, "piece"))
		return ledger.Step{Kind: "made", Text: text, Files: m.Files, Pieces: m.Names}, nil
	})
}

// MakeAnew has a waiting job made again because its draft would be made otherwise now; changed says why.
func (d *Jobs) MakeAnew(ctx context.Context, id int64, changed string) (ledger.Job, error) {
	return d.change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
		if j.State != ledger.Pending {
			return ledger.Step{}, fmt.Errorf("%w: job %d does not wait any more", ledger.ErrState, id)
		}
		j.Ready, j.Released = false, false
		why := "because " + changed
		j.Reason = "made anew, " + why
		return ledger.Step{Kind: "made anew", Text: why}, nil
	})
}

// PutAside holds a waiting job whose files cannot be read. When they can be read again, a person releases it and it is
// made.
func (d *Jobs) PutAside(ctx context.Context, id int64, cause string) (ledger.Job, error) {
	return d.change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
		if j.State != ledger.Pending {
			return ledger.Step{}, fmt.Errorf("%w: job %d does not wait any more", ledger.ErrState, id)
		}
		j.Ready, j.Released, j.State = false, false, ledger.Held
		j.Reason = fmt.Sprintf("%s; bring them back from a copy, then: tracewheel release %d; or cancel it and drop the draft again", cause, id)
		return ledger.Step{Kind: "put aside", Text: cause}, nil
	})
}

// Refuse ends a job whose draft was refused; the report is in returned/ already.
func (d *Jobs) Refuse(ctx context.Context, id int64, m Made, reason string) (ledger.Job, error) {
	return d.change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
		j.Style, j.Pieces, j.Order = m.Style, m.Pieces, m.Order
		j.State, j.Reason, j.Ready, j.Asks = ledger.Aborted, reason, false, ""
		return ledger.Step{Kind: "refused", Text: reason, Files: m.Files, Pieces: m.Names}, nil
	})
}

// AwaitPort writes into the reason of a waiting job that starts by itself that it starts when its port is back; waits
// is false for any other job. The history has one line of it, however often it is called.
func (d *Jobs) AwaitPort(ctx context.Context, id int64, gone error) (waits bool, err error) {
	text := fmt.Sprintf("%v; it goes on by itself once that is back", gone)
	j, err := d.led.Job(ctx, id)
	if err != nil || j.State != ledger.Pending || d.needsGo(&j) {
		return false, err
	}
	if j.Reason == text {
		return true, nil
	}
	_, err = d.change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
		if j.State != ledger.Pending {
			return ledger.Step{}, nil // a person was faster
		}
		j.Reason = text
		return ledger.Step{Kind: "waits", Text: text}, nil
	})
	return true, err
}

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
	go d.scribe(l)
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
	if err := d.wentOn(ctx, id, e.State); err != nil {
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

// wentOn writes the state between for a job that waited for a person and completed before its sender reported that it
// went on: processing-stopped may not become completed.
func (d *Jobs) wentOn(ctx context.Context, id int64, to ledger.State) error {
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

// CutShort corrects a job that a kill interrupted while it was sent: it is stopped, with what is known of it, or
// canceled where a person had asked for that. It is called at a start only.
func (d *Jobs) CutShort(ctx context.Context, id int64) (ledger.Job, error) {
	drew := d.drew(ctx, id, false)
	return d.change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
		send := j.Send
		send.Ended, send.End, send.Tool = d.now(), "cut short", ledger.Unknown
		why := "the program ended in the middle of sending; " + send.FarSaid()
		j.State, j.Reason = ledger.Stopped, why+"; see to the machine, then: tracewheel resume or cancel"
		if d.prints(j.Device) { // the queue may still hold it, and is asked again to cancel
			why, send.Tool = "the program ended while the sheets were handed over", ledger.NoTool
			if send.Cancel {
				why += ", and the queue had not confirmed a person's cancel"
			}
			j.Reason = fmt.Sprintf("%s; tracewheel resume %d first looks whether they were, and hands nothing over twice; or: tracewheel cancel %d", why, id, id)
		} else if send.Cancel {
			j.State, j.Reason = ledger.Canceled, d.canceledWords(j, send, "canceled by a person; "+why)
		}
		drawnMM, ranMM := drew(send)
		return ledger.Step{Kind: "cut short", Text: j.Reason, Send: &send, DrawnMM: drawnMM, RanMM: ranMM}, nil
	})
}
