package making

import (
	"bytes"
	"context"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"tracewheel/config"
	"tracewheel/config/samples"
	"tracewheel/devices"
	"tracewheel/devices/calibration"
	"tracewheel/devices/gcode"
	"tracewheel/devices/knife"
	"tracewheel/devices/knife/blade"
	"tracewheel/geom"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/testsquare"
)

// calibrated keeps a calibration of a device with a correction along x.
func calibrated(t *testing.T, c *testsquare.Calibrations, at time.Time, x float64) {
	t.Helper()
	res := calibration.Result{ScaleX: 1, ScaleY: 1, X: calibration.Uncertainty{Wide: 1e-4}, Y: calibration.Uncertainty{Wide: 1e-4},
		Correction: devices.Correction{ScaleX: x, ScaleY: 1}}
	if _, err := testsquare.NewForm(testsquare.Order{}, 0.5, 1, "mm").Keep(c, res, at); err != nil {
		t.Fatal(err)
	}
}

func emptyRoom(t *testing.T) *config.Workroom {
	t.Helper()
	room := Sample()
	room.Dir = t.TempDir()
	return room
}

func calibrationsOf(t *testing.T, room *config.Workroom, device string) *testsquare.Calibrations {
	t.Helper()
	c, err := testsquare.Load(room, device)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// TestUnreadableCalibration: by the wrong size a garment is spoiled and nobody sees it, so nothing is
// drawn.
func TestUnreadableCalibration(t *testing.T) {
	room := emptyRoom(t)
	c := calibrationsOf(t, room, "roll-plotter")
	calibrated(t, c, time.Now(), 1.004)
	if err := os.WriteFile(filepath.Join(room.Path(room.Folders.Store), "calibration", "roll-plotter", "calibration-0001.json"), []byte("{"), 0o600); err != nil {
		t.Fatal(err)
	}
	w, err := New(room).Make(t.Context(), Request{Name: "stagehand-apron.svg", Source: samples.Read("stagehand-apron.svg"), Device: "roll-plotter"})
	if err != nil || !w.Refused || len(w.Program.Blocks) > 0 || !strings.Contains(w.Reason, "calibration-0001.json") {
		t.Errorf("%v, %q", err, w.Reason)
	}
}

// ladderOf plots a ladder and gives its form.
func ladderOf(t *testing.T, room *config.Workroom, offsets ...float64) *testsquare.Form {
	t.Helper()
	o, _, err := testsquare.Plot(room, "knife-table", testsquare.Wish{Ladder: offsets}, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	return testsquare.NewForm(o, 1, 1, "mm")
}

// TestBladeIsUsed: the best offset of a ladder is what the next job is cut with, until it is withdrawn
// or the workroom file says another.
func TestBladeIsUsed(t *testing.T) {
	room := emptyRoom(t)
	form, c := ladderOf(t, room, 0.3, 0.4, 0.6), calibrationsOf(t, room, "knife-table")
	if _, err := form.KeepBlade(room, c, 0.9, time.Now()); err == nil {
		t.Error("an offset that was never tried")
	}
	best, err := form.Rung(2)
	if err != nil || best != 0.4 {
		t.Fatal(best, err)
	}
	crown := Request{Name: "leaf-crown.svg", Source: samples.Read("leaf-crown.svg"), Device: "knife-table"}
	radius := func() float64 {
		w := made(t, New(room), crown)
		least := math.Inf(1)
		for _, m := range gcode.Read(w.Program.Bytes(), gcode.ReadOptions{}).Moves {
			if m.Arc && m.FromZ <= 0 {
				least = min(least, m.Radius())
			}
		}
		return least // a turn on the spot goes round the tip
	}
	expect := func(what string, offset float64) {
		t.Helper()
		if r := radius(); math.Abs(r-offset) > 0.002 {
			t.Errorf("%s: turned at %.3f mm, want %.2f", what, r, offset)
		}
		if p, _ := room.On("knife-table", ""); math.Abs(testsquare.SettingOf(room, "knife-table", time.Now()).On(p).Blade.Offset-offset) > 1e-9 {
			t.Errorf("%s: a job would be made with another", what)
		}
	}
	expect("before", 0.5)
	if _, err := form.KeepBlade(room, c, best, time.Now()); err != nil {
		t.Fatal(err)
	}
	expect("recorded", 0.4)
	d := room.Devices["knife-table"]
	d.Blade.Offset = 0.55
	room.Devices["knife-table"] = d
	expect("a new blade in the workroom file", 0.55)
	d.Blade.Offset = 0.5
	room.Devices["knife-table"] = d
	if _, err := c.Withdraw("Ada", testsquare.WithdrawBlade, "", time.Now()); err != nil {
		t.Fatal(err)
	}
	expect("withdrawn", 0.5)
}

// TestRestAfterCalibration: a cut that was held is ended as it began, although a calibration and a
// blade offset were recorded meanwhile; a job made anew has them.
func TestRestAfterCalibration(t *testing.T) {
	room := emptyRoom(t)
	h := New(room)
	in := job.Draft{Name: "leaf-crown.svg", Source: samples.Read("leaf-crown.svg"), Device: "knife-table"}
	before := made(t, h, in)
	calibrated(t, calibrationsOf(t, room, "knife-table"), time.Now(), 1.003)
	if _, err := ladderOf(t, room, 0.3, 0.4, 0.6).KeepBlade(room, calibrationsOf(t, room, "knife-table"), 0.4, time.Now()); err != nil {
		t.Fatal(err)
	}
	if after := made(t, h, in); bytes.Equal(after.Program.Bytes(), before.Program.Bytes()) {
		t.Fatal("a job made anew does not know the calibration")
	}
	kept, err := json.Marshal(before.Program) // as in the store
	if err != nil {
		t.Fatal(err)
	}
	var whole devices.Program
	if err := json.Unmarshal(kept, &whole); err != nil {
		t.Fatal(err)
	}
	rest, err := h.Rest(context.Background(), in, job.Rest{Whole: whole, Stroke: 1})
	if err != nil {
		t.Fatal(err)
	}
	if *rest.Setting != (devices.Setting{}) {
		t.Errorf("made with %+v", *rest.Setting)
	}
}

// TestLadderCorners holds what the technician is told to look for: compensated for too small an offset
// the simulated blade cuts a corner short, for too large a one it runs past.
func TestLadderCorners(t *testing.T) {
	const truth, side = 0.5, 30
	square := geom.Path{Closed: true, Corners: []bool{true, true, true, true}, Points: []orb.Point{{20, 20}, {20 + side, 20}, {20 + side, 20 + side}, {20, 20 + side}}}
	for _, c := range []struct {
		offset      float64
		short, past bool
	}{{0.3, true, false}, {0.5, false, false}, {0.7, false, true}} {
		p := Sample().Devices["knife-table"].Profile
		p.Blade.Offset = c.offset
		motions, _, err := knife.Compensate([]devices.Stroke{{Tool: devices.Knife, Role: "cut", Path: square, Fixed: true}}, p)
		if err != nil {
			t.Fatal(err)
		}
		prog, err := gcode.Encode(motions, p)
		if err != nil {
			t.Fatal(err)
		}
		corner, miss, beyond := orb.Point{20 + side, 20 + side}, math.Inf(1), 0.0
		for _, cut := range blade.Simulate(gcode.Read(prog.Bytes(), gcode.ReadOptions{}).Moves, blade.Options{Offset: truth, Heading: math.Pi / 2}).Cuts {
			for _, q := range cut.Path.Points {
				if geom.Dist(q, corner) < 2 {
					miss, beyond = min(miss, geom.Dist(q, corner)), max(beyond, q[1]-corner[1], q[0]-corner[0])
				}
			}
		}
		if (miss > 0.1) != c.short && !c.past || (beyond > 0.1) != c.past {
			t.Errorf("compensated for %.1f: the corner is missed by %.3f, overrun by %.3f", c.offset, miss, beyond)
		}
	}
}
