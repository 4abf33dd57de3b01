package control

import (
	"context"
	"fmt"

	"tracewheel/pipeline/ledger"
)

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
