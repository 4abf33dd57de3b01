package pipeline

import (
	"os"
	"strings"
	"testing"

	"go.uber.org/zap"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/devices/hpgl"
	"tracewheel/devices/pretend"
	"tracewheel/pipeline/daemon/daemontest"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/sending"
)

// leftOpen is a line that a second job finds open.
type leftOpen struct{ devices.Line }

func (leftOpen) Close() error { return nil }

// TestSheetsWaitForAPerson sends a plot of several sheets through the daemon to a pretend plotter: it
// stops before each fresh sheet with the pen away, goes on in place when a person says so, and what is
// drawn in the end is what was made, each sheet once.
func TestSheetsWaitForAPerson(t *testing.T) {
	room := making.Sample()
	d, m := room.Devices["desk-plotter"], room.Materials["card-sheet"]
	d.Width, m.Width, d.Patterns = 600, 600, devices.PatternsEveryCopy
	room.Devices["desk-plotter"], room.Materials["card-sheet"] = d, m
	want := makeFor(t, room, "../testdata/drafts/pinafore-in.dxf", "desk-plotter")
	read := func(p []byte) hpgl.Drawing {
		d, err := hpgl.Read(p, hpgl.OptionsFor(want.Profile))
		if err != nil || len(d.Errors()) > 0 {
			t.Fatal(err, d.Errors())
		}
		return d
	}
	whole := read(want.Program.Bytes())
	if whole.Pages < 3 {
		t.Fatalf("%d sheets: a test of several needs three", whole.Pages)
	}

	h := daemontest.New(t)
	h.Settings.Devices = []job.Device{{Name: "desk-plotter"}}
	line, end := pretend.NewLine(pretend.LineOptions{Flow: devices.FlowRTSCTS})
	plotter := pretend.NewPlotter(end, pretend.PlotterOptions{Flow: devices.FlowRTSCTS})
	t.Cleanup(plotter.Close)
	maker := making.New(room)
	h.Options.Build = maker.Build
	sender := sending.New(func() *config.Workroom { return room }, maker.Rest, zap.NewNop())
	sender.Open = func(devices.PortProfile) (devices.Line, error) { return leftOpen{line}, nil }
	h.Options.Send = sender.Send
	h.Start()
	data, err := os.ReadFile("../testdata/drafts/pinafore-in.dxf")
	if err != nil {
		t.Fatal(err)
	}
	h.Drop("desk-plotter", "pinafore-in.dxf", string(data))
	for sheet := 2; sheet <= whole.Pages; sheet++ {
		before := len(plotter.Received())
		h.Until("a wait for a fresh sheet", func() bool {
			j := h.Job(1)
			return j.State == ledger.Stopped && strings.Contains(j.Reason, "fresh sheet") &&
				strings.Contains(j.Reason, "sheet "+string(rune('0'+sheet))+" of")
		})
		if !plotter.PenUp() {
			t.Fatalf("the pen is down while sheet %d is waited for", sheet)
		}
		if got := read(plotter.Received()); got.Pages != sheet-1 {
			t.Errorf("%d sheets are drawn when sheet %d is waited for (%d bytes, %d before)", got.Pages, sheet, len(plotter.Received()), before)
		}
		if err := h.Daemon.Jobs().Resume(t.Context(), 1, "", ""); err != nil {
			t.Fatal(err)
		}
	}
	h.Becomes(1, ledger.Completed)
	if got := read(plotter.Received()); len(got.Traces) != len(whole.Traces) || got.Pages != whole.Pages {
		t.Errorf("%d lines on %d sheets drawn, %d on %d made", len(got.Traces), got.Pages, len(whole.Traces), whole.Pages)
	}

	// The next job is not drawn on the last sheet of this one.
	h.Drop("desk-plotter", "again.dxf", string(data))
	h.Until("a wait for the first sheet of the next job", func() bool {
		j := h.Job(2)
		return j.State == ledger.Stopped && strings.Contains(j.Reason, "fresh sheet") && strings.Contains(j.Reason, "sheet 1 of")
	})
	if got := read(plotter.Received()); len(got.Traces) != len(whole.Traces) {
		t.Errorf("%d lines are drawn while the next job's sheet is waited for, %d were before", len(got.Traces), len(whole.Traces))
	}
	if err := h.Daemon.Jobs().Resume(t.Context(), 2, "", ""); err != nil {
		t.Fatal(err)
	}
	h.Until("a wait for its second sheet", func() bool {
		j := h.Job(2)
		return j.State == ledger.Stopped && strings.Contains(j.Reason, "sheet 2 of")
	})
}
