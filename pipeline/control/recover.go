package control

import (
	"context"
	"fmt"

	"tracewheel/pipeline/ledger"
)

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

// Unrecorded corrects a job whose folder shows that n sendings began where the ledger counts fewer: it is stopped, and
// what was sent and drawn is unknown. blocks and total are those of its program, 0 without one. It is called at a
// start only, and again after a crash during it.
func (d *Jobs) Unrecorded(ctx context.Context, id int64, n, blocks int, total int64) (ledger.Job, error) {
	reason := fmt.Sprintf("its folder shows that sending %d was begun, which the ledger does not know (was the ledger brought back from a copy, or its journal taken away?); what was sent and made is %s; see to the machine, then: tracewheel resume or cancel", n, ledger.Unknown)
	for {
		j, err := d.change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
			step := ledger.Step{Kind: ledger.SendingFound, Text: reason}
			switch {
			case j.State == ledger.Held:
				j.State, j.Released, j.Reason = ledger.Pending, false, reason
			case j.State == ledger.Processing:
				send := j.Send
				send.Ended, send.End, send.Tool, send.Cancel = d.now(), "cut short", ledger.Unknown, false
				j.State, j.Reason, step.Send = ledger.Stopped, reason, &send
			case j.Sends < n:
				j.Send.Blocks, j.Send.Total = blocks, total
				send := d.newSend(*j, 0)
				j.State, j.Released, j.Reason, step.Send = ledger.Processing, false, reason, &send
			default:
				return ledger.Step{}, nil
			}
			return step, nil
		})
		if err != nil || j.State == ledger.Stopped && j.Sends >= n {
			return j, err
		}
	}
}
