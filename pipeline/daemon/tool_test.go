package daemon_test

import (
	"strings"
	"testing"

	"tracewheel/pipeline/control"
	"tracewheel/pipeline/control/asker"
	"tracewheel/pipeline/daemon/daemontest"
	"tracewheel/pipeline/ledger"
)

// TestMetresOfATool: each run counts what went down its line, also one that was cut short, gone on with or canceled, and
// once; a change begins anew and keeps what the old one had come to, over a start of the program.
// The pretend device's program is "IN;" and six strokes of three bytes and 100 mm each.
func TestMetresOfATool(t *testing.T) {
	h := daemontest.New(t)
	tool := func() ledger.Tool {
		t.Helper()
		tool, err := h.Daemon.Jobs().Tool(t.Context(), "roll-plotter")
		if err != nil {
			t.Fatal(err)
		}
		return tool
	}
	strokes := func(bytes int64) int64 { return 100 * max(0, (bytes-3)/3) }
	ctx := asker.ByLogin(t.Context(), "sam", "Nell")
	id := h.Running("roll-plotter")
	if is := tool(); is.MM != 0 || is.Said(false, "mm") != "" {
		t.Errorf("before anything was counted: %+v, %q", is, is.Said(false, "mm"))
	}
	if err := h.Daemon.Jobs().ToolChanged(ctx, "roll-plotter", -1); !control.IsRefusal(err) {
		t.Errorf("a change while a job is on the line: %v", err)
	}
	h.Stop()
	h.Device.Hold = nil
	h.Start()
	short := strokes(h.Becomes(id, ledger.Stopped).Send.Bytes)
	if is := tool().MM; is != short || short < 100 || short > 500 {
		t.Errorf("a run that was cut short counts %d mm, and %d mm went down its line", is, short)
	}
	if err := h.Daemon.Jobs().Resume(t.Context(), id, "stroke", ""); err != nil {
		t.Fatal(err)
	}
	h.Becomes(id, ledger.Completed)
	if is := tool().MM; is != short+500 { // s1 to s5
		t.Errorf("gone on with from the second stroke it counts %d mm, not %d", is, short+500)
	}
	if err := h.Daemon.Jobs().ToolChanged(ctx, "roll-plotter", 0); err != nil {
		t.Fatal(err)
	}
	if err := h.Daemon.Jobs().ToolChanged(ctx, "roll-plotter", 0); !control.IsRefusal(err) {
		t.Errorf("a second change by somebody who had not seen the first: %v", err)
	}
	h.Stop()
	h.Start()
	is := tool()
	if is.MM != 0 || len(is.Changes) != 1 || is.Changes[0].MM != short+500 || is.Changes[0].Who != `login sam, "Nell"` || is.Changes[0].At.IsZero() {
		t.Errorf("after the change: %+v", is)
	}
	h.Drop("roll-plotter", "next.svg", daemontest.SixStrokes)
	h.Becomes(id+1, ledger.Completed)
	if is := tool(); is.MM != 600 || !strings.Contains(is.Said(false, "mm"), "its pen has drawn 0.6 m since it was changed on") {
		t.Errorf("a whole job counts %d mm: %s", is.MM, is.Said(false, "mm"))
	}
	for _, no := range []string{"laser", "knife-table"} {
		err := h.Daemon.Jobs().ToolChanged(ctx, no, -1)
		if (err == nil) != (no == "knife-table") {
			t.Errorf("%s: %v", no, err)
		}
	}
}
