package making

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"tracewheel/config/samples"
	"tracewheel/devices"
	"tracewheel/devices/calibration"
	"tracewheel/devices/gcode"
	"tracewheel/devices/hpgl"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/control/answers"
	"tracewheel/pipeline/testsquare"
)

// made takes a draft as far as bytes.
func made(t *testing.T, h *Maker, r Request) whole {
	t.Helper()
	w, err := h.Make(t.Context(), r)
	if err != nil || w.Refused || w.Hold != "" {
		t.Fatalf("%s on %s: %v, %q %q", r.Name, r.Device, err, w.Reason, w.Hold)
	}
	return wholeOf(t, w)
}

// TestToolUp reads trials back by the readers, which share no code with the encoders: nothing is drawn,
// no move runs below the safe height, and the whole trial covers the same ground as the job.
func TestToolUp(t *testing.T) {
	h := &Maker{Room: Sample()}
	for _, device := range []string{"roll-plotter", "desk-plotter", "knife-table"} {
		file := "stagehand-apron.svg"
		if device == "knife-table" {
			file = "leaf-crown.svg"
		}
		r := Request{Name: file, Source: samples.Read(file), Device: device}
		job, err := h.Make(t.Context(), r)
		if err != nil || len(job.Program.Blocks) == 0 {
			t.Logf("%s does not take %s: %s", device, file, job.Reason)
			if device != "desk-plotter" {
				t.Fail()
			}
			continue
		}
		for _, how := range []string{control.ToolUpDry, control.ToolUpBounds} {
			r.Answers = map[string]string{answers.ToolUp: how}
			w := made(t, h, r)
			if w.Program.DrawnMM != 0 || w.Program.Chained {
				t.Errorf("%s %s: %.1f mm drawn", how, device, w.Program.DrawnMM)
			}
			if device == "knife-table" {
				trace := gcode.Read(w.Program.Bytes(), gcode.ReadOptions{})
				for _, m := range trace.Moves {
					if m.From != m.To && min(m.FromZ, m.ToZ) < w.Profile.Blade.SafeZ-1e-3 {
						t.Fatalf("%s: a move across at %v", how, m)
					}
				}
				whole := gcode.Read(job.Program.Bytes(), gcode.ReadOptions{})
				if a, b := box(trace.Moves), box(whole.Moves); a != b {
					t.Errorf("%s covers %v, the job %v", how, a, b)
				}
				continue
			}
			d, err := hpgl.Read(w.Program.Bytes(), hpgl.OptionsFor(w.Profile))
			if err != nil || len(d.Traces) > 0 || len(d.Errors()) > 0 || strings.Contains(string(w.Program.Bytes()), "PD") {
				t.Errorf("%s %s: %d lines drawn, %v %v", how, device, len(d.Traces), d.Errors(), err)
			}
		}
	}
}

func box(moves []devices.Move) [4]int {
	b := orb.MultiPoint{moves[1].To}.Bound()
	for _, m := range moves[2:] {
		b = b.Extend(m.To)
	}
	return [4]int{int(b.Min[0] * 100), int(b.Min[1] * 100), int(b.Max[0] * 100), int(b.Max[1] * 100)}
}

// TestSquareOfEachDevice: an independent reader of the bytes finds the square where the order says, its
// sides and diagonals as wanted; under a calibration in force, by as much as that says.
func TestSquareOfEachDevice(t *testing.T) {
	for _, device := range []string{"roll-plotter", "desk-plotter", "knife-table"} {
		room := Sample()
		room.Dir = t.TempDir()
		for _, c := range []devices.Correction{{}, {ScaleX: 1.004, ScaleY: 0.998, Skew: 0.002}} {
			o, _, err := testsquare.Plot(room, device, testsquare.Wish{Width: 300, Height: 300, Count: 1}, time.Now())
			if err != nil {
				t.Fatal(err)
			}
			o.InForce = c
			src, err := json.Marshal(o)
			if err != nil {
				t.Fatal(err)
			}
			w := made(t, &Maker{Room: room}, Request{Name: "a.square.json", Source: src, Device: device})
			if device == "knife-table" {
				if len(w.Departures) > 0 {
					t.Errorf("a simulated blade leaves the square by %v", w.Departures)
				}
				continue
			}
			d, err := hpgl.Read(w.Program.Bytes(), hpgl.OptionsFor(w.Profile))
			if err != nil {
				t.Fatal(err)
			}
			k := calibration.Compose(c, devices.Correction{})
			at := o.Places[0]
			want := [2]float64{k.ScaleX*(at[0]+300) + k.Skew*(at[1]+300), k.ScaleY * (at[1] + 300)}
			found := false
			for _, tr := range d.Traces {
				for _, p := range tr.Path.Points {
					found = found || len(tr.Path.Points) >= 4 && max(p[0]-want[0], want[0]-p[0], p[1]-want[1], want[1]-p[1]) < 0.025
				}
			}
			if !found {
				t.Errorf("%s: no corner at %v", device, want)
			}
		}
	}
}

// TestSquareByKnifeAndPen: where a pen is mounted beside the blade it letters the square, and the blade
// cuts nothing but the outline.
func TestSquareByKnifeAndPen(t *testing.T) {
	room := emptyRoom(t)
	d := room.Devices["knife-table"]
	d.Pen.Present = true
	d.Gantry.PenUp, d.Gantry.PenDown = []string{"M5"}, []string{"M3 S90"}
	room.Devices["knife-table"] = d
	o, file, err := testsquare.Plot(room, "knife-table", testsquare.Wish{Width: 300, Height: 300, Count: 2}, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	src, err := json.Marshal(o)
	if err != nil {
		t.Fatal(err)
	}
	w := made(t, New(room), Request{Name: file, Source: src, Device: "knife-table"})
	cuts, letters := 0, 0
	for _, s := range w.Strokes {
		switch {
		case s.Tool == devices.Knife && s.Role == "cut":
			cuts++
		case s.Tool == devices.Pen && s.Role == "text":
			letters++
		default:
			t.Errorf("%s by the %s", s.Role, s.Tool)
		}
	}
	if cuts != 2 || letters < 50 || len(w.Departures) > 0 {
		t.Errorf("%d cuts, %d strokes of letters, %v", cuts, letters, w.Departures)
	}
}

// TestLadder: each rung takes its own offset, the whole program is safe, and a square on it is cut to
// the device's own compensation where the offsets agree.
func TestLadder(t *testing.T) {
	room := emptyRoom(t)
	o, _, err := testsquare.Plot(room, "knife-table", testsquare.Wish{Ladder: []float64{0.3, 0.5, 0.7}}, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	src, err := json.Marshal(o)
	if err != nil {
		t.Fatal(err)
	}
	r := Request{Name: "l.square.json", Source: src, Device: "knife-table"}
	w := made(t, &Maker{Room: room}, r)
	if w.Program.Pieces != 3 {
		t.Errorf("%d rungs", w.Program.Pieces)
	}
	r.Answers = map[string]string{answers.ToolUp: control.ToolUpBounds}
	if up := made(t, &Maker{Room: room}, r); up.Program.DrawnMM != 0 {
		t.Error("bounds of a ladder draw")
	}
}
