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
	"tracewheel/pipeline/control/answers"
	"tracewheel/pipeline/pattern"
)

// Proved is where the simulated blade's tip cuts, and where that differs from the wanted line.
type Proved struct {
	Cuts       []blade.Cut
	Departures []blade.Departure
}

// prove reads the bytes back and runs a simulated blade over them, without the calibration, which corrects the machine
// alone. A cut that would not be as drawn holds the job. The blade's heading before the first move is not known; one at a
// right angle to the alignment stroke is taken, as the worst usual one.
func (m *Maker) prove(en Encoded, pl Planned, on Setup, given map[string]string) (Proved, Judged, error) {
	if on.Profile.Language != devices.GCode {
		return Proved{}, Judged{}, nil
	}
	plain := en.Program
	if !on.Profile.Correction.IsZero() {
		p := on.Profile
		p.Correction = devices.Correction{}
		motions, _, err := knife.CompensateAround(pl.Strokes, pl.around, p)
		if err != nil {
			return Proved{}, Judged{}, err
		}
		if plain, err = gcode.Encode(motions, p); err != nil {
			return Proved{}, Judged{}, err
		}
	}
	trace, j := readBack(plain, on.Profile, "draft")
	if j.Refused || on.Profile.Kind != devices.DragKnife {
		return Proved{}, j, nil
	}
	out := simulate(trace, en.Knife, on.Profile.Blade.Offset)
	if len(out.Departures) > 0 && given[answers.AsSimulated] == "" {
		more := ""
		if n := len(out.Departures) - 1; n > 0 {
			more = fmt.Sprintf(" (and %d more places)", n)
		}
		j.Hold = fmt.Sprintf("simulated: %s%s; look at the as-cut picture, then `release JOB --as-simulated` or cancel",
			departure(out.Departures[0], pl.Strokes), more)
	}
	return out, j, nil
}

// readBack refuses a program that would not be safe to send; kept names the file that a person should keep then.
func readBack(p devices.Program, prof devices.Profile, kept string) (gcode.Trace, Judged) {
	trace := gcode.Read(p.Bytes(), gcode.OptionsFor(prof))
	var all []pattern.Finding
	for _, f := range append(trace.Faults, gcode.Unsafe(trace, prof)...) {
		all = append(all, pattern.NewFinding(pattern.RuleNotDrawn, "the program is not safe to send: "+f.Error(), "this is a fault of the program; keep the "+kept+" and report it"))
	}
	return trace, Judged{Findings: all, Refused: len(all) > 0}
}

// simulate runs a blade that trails by an offset, mm, over a program.
func simulate(trace gcode.Trace, made knife.Report, offset float64) Proved {
	res := blade.Simulate(trace.Moves, blade.Options{Offset: offset, Heading: worstHeading(made), Top: 0})
	return Proved{Cuts: res.Cuts, Departures: blade.Compare(res.Cuts, made.Wanted, blade.Tolerances{
		Waste: []geom.Path{made.Align}, WasteReach: 3*offset + 1,
	})}
}

// departure says one departure in words, with its piece.
func departure(d blade.Departure, strokes []devices.Stroke) string {
	if d.Stroke >= 0 && d.Stroke < len(strokes) && strokes[d.Stroke].Name != "" {
		return fmt.Sprintf("on piece %q %s", strokes[d.Stroke].Name, d)
	}
	return d.String()
}

// worstHeading is at a right angle to the alignment stroke, about as far off as a blade that was left anyhow.
func worstHeading(made knife.Report) float64 {
	if len(made.Align.Points) < 2 {
		return 0
	}
	d := geom.Sub(made.Align.Points[1], made.Align.Points[0])
	return math.Atan2(d[1], d[0]) + math.Pi/2
}

// departurePlaces are the places that the picture marks.
func departurePlaces(ds []blade.Departure) []orb.Point {
	out := make([]orb.Point, 0, len(ds))
	for _, d := range ds {
		out = append(out, d.At)
	}
	return out
}
