package making

import (
	"os"
	"strings"
	"testing"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/control/answers"
)

// TestTrialMovesNoPaperOn: a trial of a plot in frames or sheets stays on the paper that lies there, asks
// nobody for a fresh sheet, and says so.
func TestTrialMovesNoPaperOn(t *testing.T) {
	data, err := os.ReadFile("../../testdata/drafts/pinafore-in.dxf")
	if err != nil {
		t.Fatal(err)
	}
	for _, long := range []string{"frames", "sheets"} {
		room := wideRoom()
		d := room.Devices["desk-plotter"]
		if d.Plot.Long = long; long == "frames" {
			d.Length = 0
		}
		room.Devices["desk-plotter"] = d
		for _, how := range []string{control.ToolUpDry, control.ToolUpBounds} {
			w := made(t, New(room), Request{Source: data, Name: "pinafore-in.dxf", Device: "desk-plotter",
				Answers: map[string]string{answers.ToolUp: how}})
			for i, b := range w.Program.Blocks {
				if text := string(b.Bytes); b.WaitForPerson != "" || strings.Contains(text, "FR") || strings.Contains(text, "AF") || strings.Contains(text, "PG") {
					t.Errorf("%s of %s: block %d is %q and waits for %q", how, long, i, text, b.WaitForPerson)
				}
			}
			if notes := strings.Join(w.Notes, "; "); !strings.Contains(notes, "no paper is moved on: all "+long) {
				t.Errorf("%s of %s says %q", how, long, notes)
			}
		}
	}
}

// TestFramesFollowEachOther draws the same plot in frames on a roll without a stop, and has a device
// that takes neither refuse it with the length that would do.
func TestFramesFollowEachOther(t *testing.T) {
	room := wideRoom()
	d := room.Devices["desk-plotter"]
	d.Length, d.Plot.Long, d.Plot.FrameLength, d.Patterns = 0, "frames", 400, devices.PatternsEveryCopy
	room.Devices["desk-plotter"] = d
	w := makeFor(t, room, "../../testdata/drafts/pinafore-in.dxf", "desk-plotter")
	for i, b := range w.Program.Blocks {
		if b.WaitForPerson != "" {
			t.Errorf("block %d waits for a person", i)
		}
	}
	if n := strings.Count(string(w.Program.Bytes()), "FR;"); n < 2 {
		t.Errorf("%d advances", n)
	}
	tall := w.Lay.LengthUsed

	d.Plot.Long, d.Length = "refuse", 0
	room.Devices["desk-plotter"] = d
	data, err := os.ReadFile("../../testdata/drafts/pinafore-in.dxf")
	if err != nil {
		t.Fatal(err)
	}
	room.Materials["card-sheet"] = config.Material{Width: 800, Margin: 10, Gap: 5, Face: "right"}
	long, err := New(room).Make(t.Context(), Request{Source: data, Name: "pinafore-in.dxf", Device: "desk-plotter"})
	if err != nil {
		t.Fatal(err)
	}
	if !long.Refused || !strings.Contains(long.Reason, "greatest length that would do is 819.1 mm") {
		t.Errorf("%.0f mm on a device of 16 bits: refused %v, %q", tall, long.Refused, long.Reason)
	}
}
