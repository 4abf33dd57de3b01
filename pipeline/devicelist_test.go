package pipeline

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"tracewheel/config"
	"tracewheel/devices/port"
	"tracewheel/devices/pretend"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/daemon/daemontest"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/machines"
)

// twoMachines is a workroom with a plotter and a cutter on pseudo-terminals and a machine on a port that
// is not there.
func twoMachines(t *testing.T, plot pretend.PlotterOptions) (*config.Workroom, *pretend.Plotter, *pretend.Cutter) {
	t.Helper()
	plot.Flow = "xon-xoff"
	p := newReplugged(t, func(l pretend.Link) interface{ Close() } { return pretend.NewPlotter(l, plot) })
	c := newReplugged(t, func(l pretend.Link) interface{ Close() } {
		return pretend.NewCutter(l, pretend.CutterOptions{Rate: 500})
	})
	dir := t.TempDir()
	room := roomOf(t, fmt.Sprintf(`workroom: Wardrobe room
folders: {inbox: %[3]s/inbox, returned: %[3]s/returned, store: %[3]s/store}
materials: {calico: {width: 1000, length: 1600, margin: 15, gap: 8, cloth: true}, paper: {width: 914, margin: 10, gap: 5}}
devices:
  roll-plotter: {kind: pen-plotter, language: hpgl, material: paper, width: 914, plot: {serial_control: true, long: page-size}, port: {path: %[1]s, baud: 38400, flow: xon-xoff, stall: 10}}
  knife-table: {kind: drag-knife, language: gcode, material: calico, width: 1000, length: 1600, port: {path: %[2]s, baud: 115200, flow: line-ack, planner: 8, start_wait: 0}}
  old-plotter: {kind: pen-plotter, language: hpgl, material: paper, width: 914, port: {path: %[3]s/unplugged, baud: 9600, flow: xon-xoff}}
`, p.path, c.path, dir))
	return room, p.now.(*pretend.Plotter), c.now.(*pretend.Cutter)
}

// served starts a daemon for a workroom without pictures.
func served(t *testing.T, room *config.Workroom) *daemontest.Workroom {
	h := daemontest.New(t)
	h.Settings, h.Options = faultDaemon(room)
	h.Options.Log = daemontest.New(t).Options.Log
	h.Start()
	return h
}

func stateOf(t *testing.T, room *config.Workroom, device string) machines.State {
	t.Helper()
	for _, d := range machines.States(t.Context(), room) {
		if d.Name == device {
			return d
		}
	}
	t.Fatalf("no device %q", device)
	return machines.State{}
}

// TestDevicesTellTheTruth asks again and again while jobs begin, run, are paused by a person and at the
// machine, stop and end. Each answer is true, and no byte of a job is disturbed by it.
func TestDevicesTellTheTruth(t *testing.T) {
	room, plotter, cutter := twoMachines(t, pretend.PlotterOptions{Rate: 3000, Faults: pretend.Faults{PauseAfter: 2500}})
	want := makeDraft(t, room, faultDraft, "roll-plotter")
	h := served(t, room)
	for device, state := range map[string]string{"roll-plotter": "idle", "knife-table": "idle", "old-plotter": "absent"} {
		if d := stateOf(t, room, device); d.State != state || d.Detail == "" || !d.NeedsCalibration {
			t.Errorf("%s: %+v", device, d)
		}
	}
	stop := make(chan struct{})
	var asking sync.WaitGroup
	defer asking.Wait()
	defer close(stop)
	for range 2 { // two people who ask all the time, also while the job begins
		asking.Go(func() {
			for {
				select {
				case <-stop:
					return
				case <-time.After(30 * time.Millisecond):
					machines.States(t.Context(), room)
				}
			}
		})
	}
	says := func(device, state, detail string) {
		t.Helper()
		var last machines.State
		h.Until(device+" "+state+" "+detail, func() bool {
			last = stateOf(t, room, device)
			return last.State == state && strings.Contains(last.Detail, detail)
		})
	}
	h.DropWhole("roll-plotter", "cuff.svg", faultDraft)
	says("roll-plotter", "busy", "job 1, ")
	says("roll-plotter", "paused", "paused at its own panel")
	plotter.Release()
	says("roll-plotter", "busy", "job 1, ")
	if err := h.Daemon.Jobs().Pause(t.Context(), 1); err != nil {
		t.Fatal(err)
	}
	says("roll-plotter", "paused", "waits for a person")
	if err := h.Daemon.Jobs().Resume(t.Context(), 1, "", ""); err != nil {
		t.Fatal(err)
	}
	h.Becomes(1, ledger.Completed)
	got := plotter.Received()
	for _, q := range []string{"OE;", "OS;"} { // also those of the list
		got = bytes.ReplaceAll(got, []byte(q), nil)
	}
	got = bytes.TrimPrefix(got, []byte("\x03;"))
	if !bytes.Equal(got, want.Program.Bytes()) || plotter.Lost() > 0 {
		t.Errorf("the plotter got %d bytes, not the %d of the job", len(got), want.Program.Len())
	}
	h.DropWhole("knife-table", "cuff.svg", faultDraft)
	h.Becomes(2, ledger.Held)
	if err := h.Daemon.Jobs().Release(t.Context(), 2, nil, control.BedClear); err != nil {
		t.Fatal(err)
	}
	says("knife-table", "busy", "job 2, ")
	cutter.PressHold()
	says("knife-table", "paused", "Hold")
	cutter.PressGo()
	says("knife-table", "busy", "job 2, ")
	cutter.Misbehave(pretend.Faults{StallAfter: 1})
	h.Daemon.Jobs().Cancel(t.Context(), 2) //nolint:errcheck // the state tells
	h.Becomes(2, ledger.Canceled)
	says("knife-table", "absent", "nothing answers")
}

// TestOneDeviceOnAPort: a device that is given the port of another by another name is told, and nothing
// is sent to it.
func TestOneDeviceOnAPort(t *testing.T) {
	room, plotter, _ := twoMachines(t, pretend.PlotterOptions{})
	link := filepath.Join(t.TempDir(), "the-same")
	at, err := port.Where(room.Devices["roll-plotter"].Port)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(at, link); err != nil {
		t.Fatal(err)
	}
	d := room.Devices["old-plotter"]
	d.Port.Path = link
	room.Devices["old-plotter"] = d
	for _, name := range []string{"roll-plotter", "old-plotter"} {
		if s := stateOf(t, room, name); s.State != "error" || !strings.Contains(s.Detail, "are on one port") || !strings.Contains(s.Detail, link) {
			t.Errorf("%s: %+v", name, s)
		}
	}
	h := served(t, room)
	h.DropWhole("old-plotter", "cuff.svg", faultDraft)
	if j := h.Becomes(1, ledger.Stopped); !strings.Contains(j.Reason, "are on one port") || len(plotter.Received()) > 0 {
		t.Errorf("%q; %d bytes were sent", j.Reason, len(plotter.Received()))
	}
}

// TestStalledHoldsNoOther: while a plotter takes nothing, the jobs of another device are sent and end.
func TestStalledHoldsNoOther(t *testing.T) {
	room, plotter, cutter := twoMachines(t, pretend.PlotterOptions{Rate: 6000, Faults: pretend.Faults{StallAfter: 2000}})
	want := makeDraft(t, room, faultDraft, "knife-table")
	h := served(t, room)
	h.DropWhole("roll-plotter", "cuff.svg", faultDraft)
	h.Until("it stalls", func() bool { return len(plotter.Received()) > 1000 && h.Job(1).State == ledger.Processing })
	for id := int64(2); id <= 3; id++ {
		h.DropWhole("knife-table", fmt.Sprintf("cuff-%d.svg", id), faultDraft)
		h.Becomes(id, ledger.Held)
		if err := h.Daemon.Jobs().Release(t.Context(), id, nil, control.BedClear); err != nil {
			t.Fatal(err)
		}
		h.Becomes(id, ledger.Completed)
		if s := h.Job(1).State; s != ledger.Processing {
			t.Fatalf("the stalled job is %s already: this proves nothing", s)
		}
	}
	if got := cutter.Received(); !bytes.Equal(got, append(want.Program.Bytes(), want.Program.Bytes()...)) {
		t.Errorf("the cutter got %d bytes, not twice %d", len(got), want.Program.Len())
	}
	j := h.Becomes(1, ledger.Stopped)
	if !strings.Contains(j.Reason, "device") || j.Send.Tool != ledger.Unknown {
		t.Errorf("%q, tool %s", j.Reason, j.Send.Tool)
	}
}
