package control

import (
	"context"
	"fmt"
	"maps"
	"slices"

	"tracewheel/pipeline/control/answers"
	"tracewheel/pipeline/control/asker"
	"tracewheel/pipeline/ledger"
)

// Hold keeps a waiting job from being sent until it is released.
func (d *Jobs) Hold(ctx context.Context, id int64) error {
	_, err := d.change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
		switch j.State {
		case ledger.Pending:
		case ledger.Held:
			return ledger.Step{}, nil
		case ledger.Processing:
			return ledger.Step{}, refuse(fmt.Sprintf("tracewheel pause %d", id),
				fmt.Sprintf("job %d is being sent already; it can be paused", id))
		default:
			return ledger.Step{}, d.cannot(j, "held")
		}
		j.State, j.Released, j.Reason = ledger.Held, false, "held by a person"
		return ledger.Step{Kind: "hold", Text: j.Reason}, nil
	})
	return err
}

// Release releases a held job: it is sent or, where answers to its question are given, made anew. A cutter's job is
// sent only with the confirmation BedClear.
func (d *Jobs) Release(ctx context.Context, id int64, given map[string]string, said Confirmation) error {
	return d.ReleaseLay(ctx, id, given, said, "")
}

// ReleaseLay is Release by a person who names the lay that was shown, by its sum or the beginning of it. It is refused
// where the job has another lay by now, and where its lay was replaced and the person names none.
func (d *Jobs) ReleaseLay(ctx context.Context, id int64, given map[string]string, said Confirmation, lay string) error {
	if _, is := given[answers.ToolUp]; is {
		return refuse(fmt.Sprintf("tracewheel dry %d", id), "a job is not made a trial by an answer")
	}
	if why := answers.Uncountable(given); why != "" {
		return refuse(fmt.Sprintf("tracewheel release %d --copies 2", id), why)
	}
	d.wishes.Lock()
	defer d.wishes.Unlock()
	j, err := d.led.Job(ctx, id)
	if err != nil {
		return err
	}
	if j.Ready && len(given) == 0 {
		if err := d.bedFree(ctx, j, "release"); err != nil {
			return err
		}
	}
	if len(given) == 0 {
		if err := d.suffices(ctx, id); err != nil {
			return err
		}
	}
	if lay == "" {
		if lay, err = d.onlyLay(ctx, j); err != nil {
			return err
		}
	}
	_, err = d.change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
		if j.Lay != "" && !j.IsLay(lay) {
			return ledger.Step{}, otherLay(j)
		}
		if j.State != ledger.Held {
			return ledger.Step{}, d.cannot(j, "released")
		}
		if len(given) > 0 {
			if err := notAnswered(j, given); err != nil {
				return ledger.Step{}, err
			}
			return answered(j, given), nil
		}
		if j.Asks != "" {
			return ledger.Step{}, refuse(fmt.Sprintf("tracewheel release %d with the answer it asks for: %s", id, answers.Flags()),
				fmt.Sprintf("job %d waits for an answer: %s", id, j.Asks))
		}
		if err := d.isServed(j); err != nil {
			return ledger.Step{}, err
		}
		text := released
		if j.Ready { // otherwise it is made first, and a cutter's job waits again
			if err := d.wants(ctx, j, said, BedClear); err != nil {
				return ledger.Step{}, err
			}
			text = d.saying(j, text, said)
		}
		if asker.IsDemo(ctx) {
			text = releasedByDemo
		}
		j.State, j.Reason, j.Released, j.Fixed = ledger.Pending, "", j.Ready, j.Fixed || j.Ready
		return ledger.Step{Kind: "release", Text: text}, nil
	})
	return err
}

// The events of a search for a better lay: that it was asked for, and that it gave nothing or a lay that takes the place of the job's.
const BetterAsked, NotRelaid, Relaid = "better asked", "no better lay", "better lay"

// onlyLay gives the sum of the lay that a release without a named lay means: the job's lay, provided it was never
// replaced.
func (d *Jobs) onlyLay(ctx context.Context, j ledger.Job) (string, error) {
	events, err := d.led.Events(ctx, j.ID)
	if err != nil || slices.ContainsFunc(events, func(e ledger.Event) bool { return e.Kind == Relaid }) {
		return "", err
	}
	return j.Lay, nil
}

// otherLay refuses a release for a lay that is not the one that was shown.
func otherLay(j *ledger.Job) error {
	return refuse(fmt.Sprintf("tracewheel show %d, then: tracewheel release %d --lay %s", j.ID, j.ID, j.LayShown()),
		fmt.Sprintf("the lay of job %d has changed since it was shown: look at it again", j.ID))
}

// notAnswered refuses an answer to a question that is no longer asked: of two people who answer, the first would not
// know that the cut follows the second.
func notAnswered(j *ledger.Job, given map[string]string) error {
	for _, what := range slices.Sorted(maps.Keys(given)) {
		if was, is := j.Answers[what]; is && j.Asks == "" {
			return refuse(fmt.Sprintf("tracewheel release %d without it keeps that answer; for another, tracewheel cancel %d and drop the draft again", j.ID, j.ID),
				fmt.Sprintf("job %d has its answer already: %s %s", j.ID, what, was))
		}
	}
	return nil
}

// answered takes answers over. They change the pieces, so the program is made anew; a cutter's job is then shown and
// released again, because nobody has seen the new one.
func answered(j *ledger.Job, given map[string]string) ledger.Step {
	all := maps.Clone(j.Answers)
	if all == nil {
		all = map[string]string{}
	}
	maps.Copy(all, given)
	j.Answers, j.Asks, j.Ready, j.Released = all, "", false, false
	j.State, j.Reason = ledger.Pending, ""
	return ledger.Step{Kind: "release", Text: "released by a person with " + answers.Said(given)}
}

// Seen notes that a person has seen why a job was refused.
func (d *Jobs) Seen(ctx context.Context, id int64) error {
	_, err := d.change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
		if j.State != ledger.Aborted {
			return ledger.Step{}, d.cannot(j, "noted as seen")
		}
		return ledger.Step{Kind: ledger.EventSeen, Text: "by a person"}, nil
	})
	return err
}

// Cancel ends a job. A running one stops within half a second of the device's own buffer; its state changes when the
// sender confirms it. The machine is told before any lock or disk may cause a wait: to stop is always safe, and a kill
// before it is written leaves the job stopped. It is told again under the lock. A stopped job of a printer is taken
// out of its print queue; where that fails it is stopped again, and a second cancel ends it here alone.
func (d *Jobs) Cancel(ctx context.Context, id int64) error { return d.cancel(ctx, id, false) }

// CancelAgain repeats the cancel to a printer's queue that had not confirmed it when the program ended. It is called
// at a start only.
func (d *Jobs) CancelAgain(ctx context.Context, id int64) error { return d.cancel(ctx, id, true) }

func (d *Jobs) cancel(ctx context.Context, id int64, again bool) error {
	first := d.tell(id, Sending.Cancel)
	d.wishes.Lock()
	defer d.wishes.Unlock()
	told, running := d.tellAgain(id, first, Sending.Cancel)
	drew := d.drew(ctx, id, running)
	asks := false // the sending takes back what an earlier one handed over to a printer
	j, err := d.change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
		if told && j.State == ledger.Canceled {
			return ledger.Step{}, nil // the sender had ended before
		}
		if j.State.Ended() {
			return ledger.Step{}, d.cannot(j, "canceled")
		}
		if running {
			// After a kill before the sender answers, the job must not wait for a person again.
			send := j.Send
			send.Cancel = true
			return ledger.Step{Kind: "cancel asked", Text: "a person asked for it", Send: &send}, nil
		}
		if asks = j.State == ledger.Stopped && j.Sends > 0 && d.prints(j.Device) && (again || !j.Send.Cancel || j.Send.End == "cut short"); asks {
			send := d.newSend(*j, 0)
			j.State, j.Reason, send.Cancel = ledger.Processing, "", true
			return ledger.Step{Kind: "cancel asked", Text: "a person asked for it; what was handed over is taken back", Send: &send}, nil
		}
		j.State, j.Reason = ledger.Canceled, "canceled by a person"
		if j.Sends > 0 {
			j.Reason = d.canceledWords(j, j.Send, j.Reason+"; "+j.Send.FarSaid())
		}
		_, ranMM := drew(j.Send)
		return ledger.Step{Kind: "cancel", Text: j.Reason, RanMM: ranMM}, nil
	})
	if asks && err == nil {
		d.open(j, -1)
		d.tell(id, Sending.Cancel)
		d.Kick(j.Device)
	}
	return stoppedBut(told, err)
}

// stoppedBut gives the error for a stop that reached the machine and could not be written down: it says both.
func stoppedBut(told bool, err error) error {
	if told && err != nil && !IsRefusal(err) {
		return fmt.Errorf("the machine was told to stop, but: %w", err)
	}
	return err
}

// Pause stops a running job: a pen at the end of its stroke, a knife at once, lifted. As with Cancel the machine is
// told first, and told again under the lock.
func (d *Jobs) Pause(ctx context.Context, id int64) error {
	first := d.tell(id, Sending.Pause)
	d.wishes.Lock()
	defer d.wishes.Unlock()
	told, running := d.tellAgain(id, first, Sending.Pause)
	d.pausing(id, true)
	_, err := d.change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
		switch {
		case j.State == ledger.Stopped:
			return ledger.Step{}, nil
		case j.State == ledger.Pending || j.State == ledger.Held:
			return ledger.Step{}, refuse(fmt.Sprintf("tracewheel hold %d", id), fmt.Sprintf("job %d is not being sent yet; it can be held", id))
		case j.State != ledger.Processing || !running:
			return ledger.Step{}, d.cannot(j, "paused")
		}
		return ledger.Step{Kind: "pause asked", Text: "a person asked for it"}, nil
	})
	if err == nil {
		d.stillPaused(id)
	}
	return stoppedBut(told, err)
}

func (d *Jobs) cannot(j *ledger.Job, what string) error {
	return refuse(j.WhatMay(d.serves(j.Device)), fmt.Sprintf("job %d is %s and cannot be %s", j.ID, j.State.Plain(), what))
}

// Sheet takes a person's answer for a device that does not tell whether all is drawn: the sheet is whole, which
// completes the job, or spoilt, which ends it as canceled. It is accepted for a running job whose sender has asked,
// and for a stopped one whose bytes were all sent. No machine moves by it.
func (d *Jobs) Sheet(ctx context.Context, id int64, whole bool) error {
	d.wishes.Lock()
	defer d.wishes.Unlock()
	d.mu.Lock()
	l := d.live[id]
	asked := l != nil && l.last.Ending
	d.mu.Unlock()
	says := "a person says that it is spoilt"
	if whole {
		says = "a person says that it is whole"
	}
	drew := d.drew(ctx, id, l != nil)
	_, err := d.change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
		switch {
		case asked:
			return ledger.Step{Kind: "sheet", Text: says}, nil
		case l != nil:
			return ledger.Step{}, refuse(fmt.Sprintf("wait for the device, or: tracewheel cancel %d", id),
				fmt.Sprintf("job %d is still being sent, and its device has not fallen silent", id))
		case j.State != ledger.Stopped:
			return ledger.Step{}, d.cannot(j, "judged")
		case whole && !j.Send.AllSent():
			return ledger.Step{}, refuse(fmt.Sprintf("tracewheel resume %d, or: tracewheel spoilt %d", id, id),
				fmt.Sprintf("job %d was cut short: %d of %d bytes were sent, so it is not whole", id, j.Send.Bytes, j.Send.Total))
		case whole:
			j.State, j.Reason = ledger.Completed, says
			return ledger.Step{Kind: "done", Text: says}, nil
		}
		j.State, j.Reason = ledger.Canceled, d.canceledWords(j, j.Send, says)
		_, ranMM := drew(j.Send)
		return ledger.Step{Kind: "cancel", Text: j.Reason, RanMM: ranMM}, nil
	})
	if err == nil && asked {
		d.tell(id, func(h Sending) { h.Sheet(whole) })
	}
	return err
}
