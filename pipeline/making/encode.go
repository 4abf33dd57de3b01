package making

import (
	"fmt"

	"tracewheel/devices"
	"tracewheel/devices/gcode"
	"tracewheel/devices/hpgl"
	"tracewheel/devices/knife"
	"tracewheel/pipeline/pattern"
)

// Encoded is a program as it is sent, with the report of the knife's compensation.
type Encoded struct {
	Program devices.Program
	Knife   knife.Report
}

// encode writes the strokes in the device's language; no other place knows both devices and languages. before are the
// findings so far.
func (m *Maker) encode(pl Planned, p Prepared, on Setup, before []pattern.Finding) (Encoded, Judged) {
	var out Encoded
	var j Judged
	var err error
	switch on.Profile.Language {
	case devices.HPGL, devices.HPGL2:
		out.Program, err = hpgl.Encode(pl.Strokes, on.Profile)
	case devices.GCode:
		var motions []devices.Motion
		motions, out.Knife, err = knife.CompensateAround(pl.Strokes, pl.around, on.Profile)
		if err == nil {
			out.Program, err = gcode.Encode(motions, on.Profile)
		}
		j.Notes = out.Knife.Notes
	default:
		err = fmt.Errorf("no device language %q is known", on.Profile.Language)
	}
	if err != nil {
		j.add(pl.notMade(err, p.Ready))
		return out, j
	}
	out.Program.Called(pl.Strokes)
	j.add(m.tooFine(out.Knife.TooFine, pl, p.Ready, before))
	j.Notes = append(j.Notes, out.Program.Notes...)
	return out, j
}
