package daemon_test

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"tracewheel/pipeline/daemon"
	"tracewheel/pipeline/daemon/daemontest"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
)

func TestReload(t *testing.T) {
	h := daemontest.New(t)
	h.Device.Hold = make(chan struct{})
	h.Start()
	h.Drop("roll-plotter", "a.svg", "a\nb")
	h.Becomes(1, ledger.Processing)
	set := h.Settings
	for what, change := range map[string]func(*daemon.Settings){
		"the store":       func(s *daemon.Settings) { s.Store = filepath.Join(h.Dir, "elsewhere") },
		"no device":       func(s *daemon.Settings) { s.Devices = nil },
		"the busy device": func(s *daemon.Settings) { s.Devices = s.Devices[1:] },
	} {
		s := set
		change(&s)
		if err := h.Daemon.Reload(s, func() {}); err == nil {
			t.Errorf("%s changed while the daemon ran", what)
		}
	}
	close(h.Device.Hold)
	h.Becomes(1, ledger.Completed)
	set.Devices = append(slices.Clone(set.Devices[:1]), job.Device{Name: "new-plotter"})
	if err := h.Daemon.Reload(set, func() {}); err != nil {
		t.Fatal(err)
	}
	h.Drop("new-plotter", "b.svg", "b")
	h.Drop("knife-table", "left.svg", "l")
	h.Becomes(2, ledger.Completed)
	time.Sleep(100 * time.Millisecond)
	if _, err := os.Stat(filepath.Join(h.Settings.Inbox, "knife-table", "left.svg")); err != nil {
		t.Errorf("a device that left took a file: %v", err)
	}
}

func TestStopTwiceAndServiceManager(t *testing.T) {
	h := daemontest.New(t)
	var told []string
	h.Options.Notify = func(s string) { told = append(told, s) }
	h.Start()
	d := h.Daemon
	h.Stop()
	if err := d.Stop(context.Background()); err != nil {
		t.Error(err)
	}
	if !slices.Equal(told, []string{"READY=1", "STOPPING=1"}) {
		t.Errorf("the service manager was told %q", told)
	}
	if err := d.Reload(h.Settings, func() {}); err == nil {
		t.Error("a stopped daemon was reloaded")
	}
}
