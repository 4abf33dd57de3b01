package making

import (
	"math"
	"path/filepath"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/devices/gcode"
	"tracewheel/devices/hpgl"
	"tracewheel/geom"
)

// kickSeconds is what the pretend machines take of a sudden change of velocity: five milliseconds of
// their full acceleration; common practice.
const kickSeconds = 0.005

// TestEstimatesAreTrue lets the pretend machines carry out, in steps of time, what a reader finds in
// the bytes of every shown draft, and holds the estimate that people are told against it: 10 %.
func TestEstimatesAreTrue(t *testing.T) {
	for _, file := range draftFiles(t) {
		for _, device := range []string{"roll-plotter", "desk-plotter", "knife-table"} {
			t.Run(device+"/"+filepath.Base(file), func(t *testing.T) {
				room := wideRoom()
				d := room.Devices[device]
				d.Port.Baud = 0 // the line's part is held against a line of its own
				room.Devices[device] = d
				w := makeFor(t, room, file, device)
				took := plotterTakes(t, w)
				if device == "knife-table" {
					took = gantryTakes(w)
				}
				said := w.Program.Seconds
				t.Logf("%.1f s said, %.1f s taken, %+.1f %%", said, took, 100*(said/took-1))
				if math.Abs(said-took) > 0.1*took {
					t.Errorf("%.1f s said, %.1f s taken", said, took)
				}
			})
		}
	}
}

func gantryTakes(w whole) float64 {
	g := w.Profile.Gantry
	s := stepper{Acceleration: g.Acceleration, Rapid: g.FeedTravel / 60, Kick: g.Acceleration * kickSeconds}
	return s.seconds(gcode.Read(w.Program.Bytes(), gcode.ReadOptions{}).Moves)
}

// plotterTakes adds to the ways of the pen what lifting, changing it and feeding paper take.
func plotterTakes(t *testing.T, w whole) float64 {
	if w.Profile.Language == devices.GCode {
		return 0
	}
	d, err := hpgl.Read(w.Program.Bytes(), hpgl.OptionsFor(w.Profile))
	if err != nil {
		t.Fatal(err)
	}
	const paperSeconds, penSeconds = 5, 3 // common practice
	p := w.Profile.Pen
	s := stepper{Acceleration: p.Acceleration, Rapid: p.TravelSpeed, Kick: p.Acceleration * kickSeconds}
	var took float64
	at, pen, page := orb.Point{}, 0, 0
	for _, tr := range d.Traces {
		if tr.Page != page {
			took, page, pen, at = took+paperSeconds, tr.Page, 0, orb.Point{}
		}
		if tr.Pen != pen {
			took, pen = took+penSeconds, tr.Pen
		}
		moves, end := along(tr.Path, p.Speed)
		took += s.seconds([]devices.Move{{Rapid: true, From: at, To: tr.Path.Points[0]}}) + p.LiftSeconds + s.seconds(moves)
		at = end
	}
	return took
}

func along(p geom.Path, speed float64) (moves []devices.Move, end orb.Point) {
	end = p.Points[0]
	for i := range p.Segments() {
		a, b := p.Segment(i)
		moves, end = append(moves, devices.Move{From: a, To: b, Feed: speed * 60}), b
	}
	return moves, end
}
