package machines

import (
	"context"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/devices/queue"
	"tracewheel/devices/talk"
	"tracewheel/pipeline/ledger"
)

// printing tells how a sheet printer is.
func (d *State) printing(ctx context.Context, room *config.Workroom, left map[string]ledger.Job) {
	d.State, d.Detail = string(talk.Idle), "its sheets are put into "+room.Path(room.Folders.Made)
	if s := room.Devices[d.Name].Sheets; s.Output == devices.ToQueue {
		p, err := (&queue.Queue{Name: s.Queue}).Printer(ctx)
		d.Detail = p.Says
		switch {
		case err != nil:
			d.State, d.Detail = string(talk.Absent), err.Error()
		case p.Stopped:
			d.State = string(talk.Paused)
		}
	}
	if j, is := left[d.Name]; is {
		d.Job = j.ID
		d.Detail += "; " + leftWords(j)
	}
}
