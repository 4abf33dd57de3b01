package making

import (
	"fmt"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/devices/gcode"
	"tracewheel/devices/knife"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/testsquare"
)

// squareStrokes reads an order and draws it.
func (h *Maker) squareStrokes(w *Work) error {
	o, err := testsquare.ReadOrder(w.Request.Source, w.Request.Device)
	if err != nil {
		w.refuse(pattern.NewFinding(pattern.RuleUnreadable, err.Error(), fmt.Sprintf("tracewheel square plot %s", w.Request.Device)))
		return nil
	}
	w.order = &o
	w.setting.Correction = o.InForce
	h.on(w, o.Device, "")
	w.Notes = append(w.Notes, fmt.Sprintf("test square %d; measured, tell: tracewheel square record %s", o.No, o.Device))
	if len(o.Ladder) > 0 {
		w.Notes = append(w.Notes, fmt.Sprintf("blade offsets %v mm; as many nicks as the number stand under each square", o.Ladder))
		return nil
	}
	tool, lettered := devices.Pen, w.Profile.HasPen()
	if w.Profile.Kind.Cuts() {
		tool = devices.Knife
	}
	if !lettered {
		w.Notes = append(w.Notes, "nothing is lettered: the nick stands inside the lower left corner, its line along the bottom")
	}
	w.Strokes = o.Draw(tool, lettered, fmt.Sprintf("%s, plot %d", o.Device, o.No))
	w.fromStroke()
	return nil
}

// ladder cuts each rung with an offset of its own: every one takes a new heading in its own waste.
func (h *Maker) ladder(w *Work) error {
	margin := w.Material.Margin
	all, skip := []devices.Motion{}, w.Request.FromStroke
	up := w.Request.Answers[control.AnswerToolUp]
	base := 0
	at := orb.Point{margin + testsquare.LadderLeft, margin}
	for i, offset := range w.order.Ladder {
		strokes := w.order.Rung(i, at)
		if skip >= len(strokes) {
			skip -= len(strokes)
			continue
		}
		strokes, skip = strokes[skip:], 0
		p := w.Profile
		p.Blade.Offset = offset
		p.Blade.Align, p.Blade.AlignAt = 0, w.order.AlignAt(i, at)
		motions, _, err := knife.Compensate(strokes, p)
		if err != nil {
			w.refuse(pattern.NewFinding(pattern.RuleNotDrawn, fmt.Sprintf("offset %.2f mm: %v", offset, err), "try other offsets"))
			return nil
		}
		for _, m := range motions {
			if m.Stroke >= 0 {
				m.Stroke += base
			}
			all = append(all, m)
		}
		base += len(strokes)
		w.Strokes = append(w.Strokes, strokes...)
	}
	if up != "" {
		return h.motionsUp(w, all)
	}
	var err error
	if w.Program, err = gcode.Encode(all, w.Profile); err != nil {
		w.refuse(pattern.NewFinding(pattern.RuleNotDrawn, err.Error(), "look at the device's keys in the workroom file"))
		return nil
	}
	w.Notes = append(w.Notes, w.Program.Notes...)
	h.unsafe(w, w.Program)
	return nil
}

// unsafe refuses a program that would not be safe to send.
func (h *Maker) unsafe(w *Work, prog devices.Program) gcode.Trace {
	trace := gcode.Read(prog.Bytes(), gcode.OptionsFor(w.Profile))
	for _, f := range append(trace.Faults, gcode.Unsafe(trace, w.Profile)...) {
		w.refuse(pattern.NewFinding(pattern.RuleNotDrawn, "the program is not safe to send: "+f.Error(), "this is a fault of the program; keep the file and report it"))
	}
	return trace
}
