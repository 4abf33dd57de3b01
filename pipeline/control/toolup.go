package control

import (
	"context"
	"fmt"

	"tracewheel/pipeline/control/answers"
	"tracewheel/pipeline/ledger"
)

// How a trial moves: the whole of a draft, or once round its bounds.
const (
	ToolUpDry    = "dry"
	ToolUpBounds = "bounds"
)

// ToolUp makes a new job of a waiting or held one that runs it with the tool up, by how ToolUpDry or ToolUpBounds,
// releases it at once and gives its number. A cutter needs the confirmation BedClear. The job itself is held, so that
// it never starts before its trial.
func (d *Jobs) ToolUp(ctx context.Context, id int64, how string, said Confirmation) (int64, error) {
	if how != ToolUpDry && how != ToolUpBounds {
		return 0, fmt.Errorf("%q is neither %s nor %s", how, ToolUpDry, ToolUpBounds)
	}
	d.wishes.Lock()
	defer d.wishes.Unlock()
	old, err := d.led.Job(ctx, id)
	if err != nil {
		return 0, err
	}
	if err := d.bedFree(ctx, old, how); err != nil {
		return 0, err
	}
	old, err = d.change(ctx, id, func(j *ledger.Job) (ledger.Step, error) {
		switch {
		case j.Asks != "":
			return ledger.Step{}, refuse(fmt.Sprintf("tracewheel show %d", id), fmt.Sprintf("job %d waits for an answer first: %s", id, j.Asks))
		case j.State != ledger.Held && j.State != ledger.Pending:
			return ledger.Step{}, d.cannot(j, "tried with the tool up")
		}
		if err := d.isServed(j); err != nil {
			return ledger.Step{}, err
		}
		if err := d.wants(ctx, j, said, BedClear); err != nil {
			return ledger.Step{}, err
		}
		j.Fixed = true // the lay that is tried is the one that will be cut
		if j.State == ledger.Held {
			return ledger.Step{}, nil
		}
		j.State, j.Released, j.Reason = ledger.Held, false, "held while it is tried with the tool up"
		return ledger.Step{Kind: "hold", Text: j.Reason}, nil
	})
	if err != nil {
		return 0, err
	}
	given := answers.With(old.Answers, answers.ToolUp, how)
	text := d.saying(&old, ledger.Job{Answers: given, AgainOf: id}.TrialSaid()+", asked for by a person", said)
	return d.copyJob(ctx, old, ledger.Arrival{Answers: given, Text: text, Released: true})
}
