package control

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"tracewheel/pipeline/control/answers"
	"tracewheel/pipeline/ledger"
)

// OnRoll stands in place of a remnant's number for the roll.
const OnRoll = "roll"

// TellFit sets the function that lays a job on a remnant to tell whether it fits; its error says why not.
func (d *Jobs) TellFit(fit func(ctx context.Context, j ledger.Job, on ledger.Remnant) error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.fit = fit
}

// ReleaseOn has a held job laid on the remnant with a number that a person chose, or on the roll again by OnRoll. On a
// device that waits for a release nothing moves: the job is made anew and shown, and is released by another wish. A
// remnant that is too small is refused before anything is changed.
func (d *Jobs) ReleaseOn(ctx context.Context, id int64, chosen string, answers map[string]string) error {
	if len(answers) > 0 {
		return refuse(fmt.Sprintf("tracewheel release %d with the answer, and again with --remnant", id), "a remnant is chosen once the job is made: give its answer first")
	}
	j, err := d.led.Job(ctx, id)
	if err == nil {
		err = d.refuseFixedLay(&j)
	}
	if err != nil {
		return err
	}
	var on ledger.Remnant
	if chosen = strings.TrimSpace(chosen); chosen != OnRoll {
		if on, err = d.holding(ctx, j, chosen); err != nil {
			return err
		}
	} else if j.Remnant.No == 0 && j.Ready {
		return refuse(fmt.Sprintf("tracewheel release %d", id), fmt.Sprintf("job %d is laid on the roll already", id))
	}
	d.wishes.Lock()
	defer d.wishes.Unlock()
	_, err = d.change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
		if err := d.refuseFixedLay(j); err != nil {
			return ledger.Step{}, err
		}
		if on.No != 0 { // another person may have booked or corrected it while the pieces were laid
			if is, err := d.led.RemnantOf(ctx, j.Material, on.No); err != nil || is.Remnant != on {
				return ledger.Step{}, refuse("tracewheel stock lists them", fmt.Sprintf("remnant %d has changed meanwhile", on.No))
			}
		}
		text := "to be laid on the roll"
		if on.No != 0 {
			say := d.led.Rolls().Say
			text = fmt.Sprintf("to be laid on remnant %d of %s, %s long and %s wide", on.No, j.Material, say(on.Length), say(on.Width))
		}
		j.Remnant, j.Lay, j.Ready, j.Released = on, "", false, false // the lay is of what it was laid on before
		j.State, j.Reason = ledger.Pending, ""
		return ledger.Step{Kind: "release", Text: released + ", " + text}, nil
	})
	return err
}

// refuseFixedLay refuses a job that cannot be laid on another material than it has.
func (d *Jobs) refuseFixedLay(j *ledger.Job) error {
	show := fmt.Sprintf("tracewheel show %d", j.ID)
	switch {
	case j.State != ledger.Held:
		return d.cannot(j, "laid on another piece of its material")
	case j.Asks != "":
		return refuse(show, fmt.Sprintf("job %d waits for an answer first: %s", j.ID, j.Asks))
	case j.Answers[answers.ToolUp] != "":
		return refuse(show, fmt.Sprintf("job %d is a trial, and uses no material", j.ID))
	case j.Fixed:
		return refuse(fmt.Sprintf("tracewheel cancel %d and drop the draft again", j.ID),
			fmt.Sprintf("job %d was released or tried with the tool up already, and keeps the lay that was seen then", j.ID))
	case j.Ready && j.Laid == 0:
		return refuse(show, fmt.Sprintf("nothing of job %d is laid on a material of which stock is kept", j.ID))
	}
	return d.isServed(j)
}

// holding gives the remnant with a number if it is of the job's material, free and large enough, and otherwise a
// refusal.
func (d *Jobs) holding(ctx context.Context, j ledger.Job, chosen string) (on ledger.Remnant, err error) {
	const list = "tracewheel stock lists them"
	no, err := strconv.ParseInt(chosen, 10, 64)
	if err != nil || no < 1 {
		return on, refuse(list, fmt.Sprintf("%q is no number of a remnant: they count from 1; %s means the roll", chosen, OnRoll))
	}
	is, err := d.led.RemnantOf(ctx, j.Material, no)
	if err != nil {
		return on, stockRefusal(err)
	}
	if no == j.Remnant.No && is.Remnant == j.Remnant && j.Ready {
		return on, refuse(fmt.Sprintf("tracewheel release %d", j.ID), fmt.Sprintf("job %d is laid on remnant %d already", j.ID, no))
	}
	others, err := d.led.Jobs(ctx, ledger.Filter{Unended: true, Faulty: true})
	if err != nil {
		return on, err
	}
	for _, o := range others {
		if o.ID != j.ID && o.Fault == "" && o.Remnant.No == no && o.State != ledger.Held && o.Answers[answers.ToolUp] == "" {
			return on, refuse(fmt.Sprintf("tracewheel show %d, or choose another: %s", o.ID, list), fmt.Sprintf("remnant %d is taken by job %d, which is released", no, o.ID))
		}
	}
	d.mu.Lock()
	fit := d.fit
	d.mu.Unlock()
	if fit == nil {
		return is.Remnant, nil
	}
	if err := fit(ctx, j, is.Remnant); err != nil {
		say := d.led.Rolls().Say
		return on, refuse(d.elsewhere(&j),
			fmt.Sprintf("job %d does not fit remnant %d, which is %s long and %s wide: %s", j.ID, no, say(is.Length), say(is.Width), err))
	}
	return is.Remnant, nil
}

// elsewhere says on what else a job can be laid that does not fit a remnant.
func (d *Jobs) elsewhere(j *ledger.Job) string {
	roll := "it stays laid on the roll"
	if j.Remnant.No != 0 || !j.Ready {
		roll = fmt.Sprintf("on the roll: tracewheel release %d --remnant %s", j.ID, OnRoll)
	}
	if _, offer := j.StockSaid(d.led.Rolls().Unit); offer != "" {
		return offer + "; " + roll
	}
	return "no other remnant that is known holds it; " + roll
}

// suffices refuses the release of a job whose chosen remnant is too small by now. A roll that is too short is only a
// warning.
func (d *Jobs) suffices(ctx context.Context, id int64) error {
	j, err := d.led.Job(ctx, id)
	if err != nil || j.Remnant.No == 0 || j.State != ledger.Held || !j.Ready {
		return err
	}
	is, err := d.led.RemnantOf(ctx, j.Material, j.Remnant.No)
	if err != nil {
		err = stockRefusal(err)
	} else if short, _ := j.StockSaid(d.led.Rolls().Unit); short != "" {
		err = refuse("", short)
	} else if is.Width < j.Remnant.Width-0.5 {
		err = refuse("", fmt.Sprintf("remnant %d is narrower now than when the job was laid on it", is.No))
	}
	if r, is := err.(*Refusal); is {
		r.Hint = d.elsewhere(&j)
	}
	return err
}

// OffRemnant holds a job that could not be made on the chosen remnant; it is laid on the roll when it is released.
func (d *Jobs) OffRemnant(ctx context.Context, id int64, why string) (ledger.Job, error) {
	return d.change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
		if j.State.Ended() {
			return ledger.Step{}, fmt.Errorf("%w: job %d ended meanwhile", ledger.ErrState, id)
		}
		no := j.Remnant.No
		j.Remnant, j.Ready, j.Released, j.State = ledger.Remnant{}, false, false, ledger.Held
		j.Reason = fmt.Sprintf("it does not fit remnant %d: %s; tracewheel release %d --remnant %s has it laid on the roll again", no, why, id, OnRoll)
		return ledger.Step{Kind: "hold", Text: j.Reason}, nil
	})
}
