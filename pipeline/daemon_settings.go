package pipeline

import (
	"time"

	"tracewheel/config"
	"tracewheel/pipeline/inbox"
)

// SettingsOf takes the daemon's part out of a workroom file.
func SettingsOf(w *config.Workroom) Settings {
	s := Settings{Inbox: w.Path(w.Folders.Inbox), Store: w.Path(w.Folders.Store), Returned: w.Path(w.Folders.Returned),
		Watch: inbox.Settings{Settle: time.Duration(w.Watch.Settle), Limit: time.Duration(w.Watch.Limit),
			Rescan: time.Duration(w.Watch.Rescan)},
		Keep: time.Duration(w.Keep)}
	for _, name := range w.DeviceNames() {
		s.Devices = append(s.Devices, Device{Name: name, Cuts: w.Devices[name].Kind.Cuts()})
	}
	return s
}
