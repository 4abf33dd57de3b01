package making

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/devices/gcode"
	"tracewheel/devices/knife"
	"tracewheel/devices/knife/blade"
	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// AnswerAsSimulated is the answer by which a person lets a cut go although the simulated blade leaves
// the line.
const AnswerAsSimulated = "as-simulated"

// prove reads the bytes back and runs a simulated blade over them, without the calibration, which is
// the machine's own affair. What would not be cut as drawn holds the job. The heading before the
// first move is anybody's guess: a square one from the alignment stroke is the usual bad one.
func (h *Maker) prove(w *Work) error {
	if w.Profile.Language != devices.GCode {
		return nil
	}
	plain := w.Program
	if !w.Profile.Correction.IsZero() {
		p := w.Profile
		p.Correction = devices.Correction{}
		motions, _, err := knife.CompensateAround(w.Strokes, w.around, p)
		if err != nil {
			return err
		}
		if plain, err = gcode.Encode(motions, p); err != nil {
			return err
		}
	}
	trace := gcode.Read(plain.Bytes(), gcode.OptionsFor(w.Profile))
	for _, f := range append(trace.Faults, gcode.Unsafe(trace, w.Profile)...) {
		w.refuse(pattern.NewFinding(pattern.RuleNotDrawn, "the program is not safe to send: "+f.Error(), "this is a fault of the program; keep the draft and report it"))
	}
	if w.Refused || w.Profile.Kind != devices.DragKnife {
		return nil
	}
	w.simulate(trace)
	return nil
}

func (w *Work) simulate(trace gcode.Trace) {
	res := blade.Simulate(trace.Moves, blade.Options{Offset: w.Profile.Blade.Offset, Heading: w.worstHeading(), Top: 0})
	w.Cuts = res.Cuts
	w.Departures = blade.Compare(res.Cuts, w.Knife.Wanted, blade.Tolerances{
		Waste: []geom.Path{w.Knife.Align}, WasteReach: 3*w.Profile.Blade.Offset + 1,
	})
	if len(w.Departures) > 0 && w.Request.Answers[AnswerAsSimulated] == "" {
		more := ""
		if n := len(w.Departures) - 1; n > 0 {
			more = fmt.Sprintf(" (and %d more places)", n)
		}
		w.Hold = fmt.Sprintf("simulated: %s%s; look at the as-cut picture, then `release JOB --as-simulated` or cancel",
			w.departure(w.Departures[0]), more)
	}
}

// departure tells of one, with the piece that it is on.
func (w *Work) departure(d blade.Departure) string {
	if d.Stroke >= 0 && d.Stroke < len(w.Strokes) && w.Strokes[d.Stroke].Name != "" {
		return fmt.Sprintf("on piece %q %s", w.Strokes[d.Stroke].Name, d)
	}
	return d.String()
}

// worstHeading is square to the alignment stroke: what a blade left at random is likely to be off.
func (w *Work) worstHeading() float64 {
	if len(w.Knife.Align.Points) < 2 {
		return 0
	}
	d := geom.Sub(w.Knife.Align.Points[1], w.Knife.Align.Points[0])
	return math.Atan2(d[1], d[0]) + math.Pi/2
}

// mark makes a place for the picture of a departure.
func departurePlaces(ds []blade.Departure) []orb.Point {
	out := make([]orb.Point, 0, len(ds))
	for _, d := range ds {
		out = append(out, d.At)
	}
	return out
}
