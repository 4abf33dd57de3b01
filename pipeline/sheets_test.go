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
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/making"
)

// TestSheetsWaitForAPerson sends a plot of several sheets through the daemon to a pretend plotter: it
// stops before each fresh sheet with the pen away, goes on in place when a person says so, and what is
// drawn in the end is what was made, each sheet once.
func TestSheetsWaitForAPerson(t *testing.T) {
	room := making.Sample()
	d, m := room.Devices["desk-plotter"], room.Materials["card-sheet"]
	d.Width, m.Width = 800, 800
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

	h := newHouse(t)
	h.set.Devices = []job.Device{{Name: "desk-plotter"}}
	line, end := pretend.NewLine(pretend.LineOptions{Flow: devices.FlowRTSCTS})
	plotter := pretend.NewPlotter(end, pretend.PlotterOptions{Flow: devices.FlowRTSCTS})
	t.Cleanup(plotter.Close)
	house := making.New(room)
	h.opts.Build = house.Build
	sender := NewPortSender(func() *config.Workroom { return room }, house.Rest, zap.NewNop())
	sender.open = func(devices.PortProfile) (devices.Line, error) { return line, nil }
	h.opts.Send = sender.Send
	h.start()
	data, err := os.ReadFile("../testdata/drafts/pinafore-in.dxf")
	if err != nil {
		t.Fatal(err)
	}
	h.drop("desk-plotter", "pinafore-in.dxf", string(data))
	for sheet := 2; sheet <= whole.Pages; sheet++ {
		before := len(plotter.Received())
		h.until("a wait for a fresh sheet", func() bool {
			j := h.job(1)
			return j.State == ledger.Stopped && strings.Contains(j.Reason, "fresh sheet") &&
				strings.Contains(j.Reason, "sheet "+string(rune('0'+sheet))+" of")
		})
		if !plotter.PenUp() {
			t.Fatalf("the pen is down while sheet %d is waited for", sheet)
		}
		if got := read(plotter.Received()); got.Pages != sheet-1 {
			t.Errorf("%d sheets are drawn when sheet %d is waited for (%d bytes, %d before)", got.Pages, sheet, len(plotter.Received()), before)
		}
		if err := h.d.Desk().Resume(t.Context(), 1, "", ""); err != nil {
			t.Fatal(err)
		}
	}
	h.becomes(1, ledger.Completed)
	if got := read(plotter.Received()); len(got.Traces) != len(whole.Traces) || got.Pages != whole.Pages {
		t.Errorf("%d lines on %d sheets drawn, %d on %d made", len(got.Traces), got.Pages, len(whole.Traces), whole.Pages)
	}
}

// TestOtherLanguageIsNotSent: a job that was made before the workroom file gave its device another language
// is not sent in the old one.
func TestOtherLanguageIsNotSent(t *testing.T) {
	room := making.Sample()
	w := makeFor(t, room, "../testdata/drafts/apron-mm.svg", "roll-plotter")
	s := NewPortSender(func() *config.Workroom { return room }, making.New(room).Rest, nil)
	s.open = func(devices.PortProfile) (devices.Line, error) {
		t.Error("its port is opened")
		return nil, devices.ErrGone
	}
	out := s.Send(t.Context(), job.Run{Job: 1, Device: "knife-table", Program: w.Program})
	if out.State != ledger.Stopped || !strings.Contains(out.Reason, "made in hpgl2, and by the workroom file knife-table now speaks gcode") {
		t.Errorf("%+v", out)
	}
}
