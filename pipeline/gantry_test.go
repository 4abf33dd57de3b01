package pipeline

import (
	"slices"
	"strings"
	"testing"

	"tracewheel/devices"
	"tracewheel/pipeline/daemon/daemontest"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/making"
)

// TestPenOnAGantryWaits: a pen on a gantry draws nothing before a person has released the job, unless the
// workroom file lets that device start by itself.
func TestPenOnAGantryWaits(t *testing.T) {
	for _, itself := range []bool{false, true} {
		room := making.Sample()
		d := room.Devices["roll-plotter"]
		d.Kind, d.Language, d.StartsByItself = devices.PenGantry, devices.GCode, itself
		room.Devices["pen-table"] = d
		set := settingsOf(room)
		h := daemontest.New(t)
		at := slices.IndexFunc(set.Devices, func(o job.Device) bool { return o.Name == "pen-table" })
		h.Settings.Devices = append(h.Settings.Devices, set.Devices[at])
		h.Start()
		h.Drop("pen-table", "skirt.svg", "a")
		if !itself {
			if j := h.Becomes(1, ledger.Held); !strings.Contains(j.Reason, "keep hands out of its reach") {
				t.Errorf("no caution before the release: %q", j.Reason)
			}
			if got := h.Device.Sendings("pen-table"); len(got) != 0 {
				t.Errorf("it moved unasked: %q", got)
			}
			if err := h.Daemon.Jobs().Release(t.Context(), 1, nil, ""); err != nil {
				t.Fatal(err)
			}
		}
		h.Becomes(1, ledger.Completed)
		h.Stop()
	}
}
