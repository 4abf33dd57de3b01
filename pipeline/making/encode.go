package making

import (
	"fmt"

	"tracewheel/devices"
	"tracewheel/devices/gcode"
	"tracewheel/devices/hpgl"
	"tracewheel/devices/knife"
)

// encode chooses the language: the one place that knows both what a device is and how it is told.
func (h *Maker) encode(w *Work) error {
	var err error
	switch w.Profile.Language {
	case devices.HPGL, devices.HPGL2:
		w.Program, err = hpgl.Encode(w.Strokes, w.Profile)
	case devices.GCode:
		var motions []devices.Motion
		motions, w.Knife, err = knife.CompensateAround(w.Strokes, w.around, w.Profile)
		if err == nil {
			w.Program, err = gcode.Encode(motions, w.Profile)
		}
		w.Notes = append(w.Notes, w.Knife.Notes...)
	default:
		err = fmt.Errorf("nothing here speaks %q", w.Profile.Language)
	}
	if err != nil {
		w.notMade(err)
		return nil
	}
	w.Program.Called(w.Strokes)
	h.tooFine(w)
	w.Notes = append(w.Notes, w.Program.Notes...)
	return nil
}
