package machines

import (
	"tracewheel/config"
	"tracewheel/devices/talk"
	"tracewheel/pipeline/ledger"
)

// printing tells how a sheet printer is.
func (d *State) printing(room *config.Workroom, left map[string]ledger.Job) {
	d.State, d.Detail = string(talk.Idle), "its sheets are put into "+room.Path(room.Folders.Made)
	if j, is := left[d.Name]; is {
		d.Job = j.ID
		d.Detail += "; " + leftWords(j)
	}
}
