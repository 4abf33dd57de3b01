package control

import (
	"context"
	"fmt"
	"slices"

	"tracewheel/pipeline/control/answers"
	"tracewheel/pipeline/ledger"
)

// unseen is the job after which a device needs a person's word before j may begin: its last run was canceled, and whether
// the tool was up then is unknown. 0 means that there is none, or that a person released j since then.
func (d *Jobs) unseen(ctx context.Context, j *ledger.Job) (int64, error) {
	last, err := d.led.LastRun(ctx, j.Device, 0, 0)
	if err != nil || !last.Unseen || d.prints(j.Device) {
		return 0, err
	}
	canceled, err := d.led.Events(ctx, last.Job)
	if err != nil {
		return 0, err
	}
	own, err := d.led.Events(ctx, j.ID)
	if err != nil {
		return 0, err
	}
	var since int64
	for _, e := range canceled {
		if e.To == ledger.Canceled && e.From != e.To {
			since = e.Seq
		}
	}
	for i, e := range own { // a trial is released as it comes
		if e.Seq > since && (e.Kind == "release" || i == 0 && j.Answers[answers.ToolUp] != "") {
			return 0, nil
		}
	}
	return last.Job, nil
}

// WaitsUnseen tells a job that waits behind another one that is held until a person has seen to their device.
func (d *Jobs) WaitsUnseen(ctx context.Context, j ledger.Job) (bool, error) {
	after, err := d.unseen(ctx, &j)
	if err != nil || after == 0 {
		return false, err
	}
	held, err := d.led.Jobs(ctx, ledger.Filter{Device: j.Device, States: []ledger.State{ledger.Held}, Faulty: true})
	return slices.ContainsFunc(held, func(o ledger.Job) bool { return o.Reason == unseenWords(&o, after) }), err
}

func unseenWords(j *ledger.Job, after int64) string {
	return fmt.Sprintf("job %d was canceled, and whether the tool is up is %s: see to %s, its tool and what lies under it, then: tracewheel release %d", after, ledger.Unknown, j.Device, j.ID)
}

// canceledWords say with the reason of a canceled job what follows where nobody knows whether the tool is up.
func (d *Jobs) canceledWords(j *ledger.Job, s ledger.Send, reason string) string {
	if s.Tool != ledger.Unknown || s.NothingSent() || d.needsGo(j) || d.prints(j.Device) {
		return reason
	}
	return fmt.Sprintf("%s; see to %s: its next job does not begin before you release it", reason, j.Device)
}
