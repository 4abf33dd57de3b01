package knife

import (
	"fmt"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
)

// beside tells whether a stroke is drawn by a pen mounted beside a blade.
func beside(s devices.Stroke, p devices.Profile) bool {
	return s.Tool == devices.Pen && p.Kind.Cuts()
}

// checkBeside names what keeps a cutter from drawing.
func checkBeside(p devices.Profile) error {
	switch {
	case !p.Pen.Present:
		return fmt.Errorf("it is drawn with a pen, and device %q only cuts; leave it out, plot it, or set pen.present where a pen is mounted", p.Name)
	case len(p.Gantry.PenUp) == 0 || len(p.Gantry.PenDown) == 0:
		return fmt.Errorf("it is drawn with the pen beside the blade of device %q, and gantry.pen_up and gantry.pen_down do not say by which lines that moves", p.Name)
	}
	return nil
}

// drawn is a pen's stroke, moved so that the pen is on it when the pivot is not.
func (w *writer) drawn(j job, p geom.Path) job {
	j.pen = true
	w.rep.Wanted[j.index].Path = geom.Path{}
	at := w.p.Gantry.PenAt
	p = tidy(p.Apply(geom.Translate(-at[0], -at[1])))
	j.line = newOutline(p, blend{})
	if len(j.line.elems) == 0 {
		j.stabs = p.Points[:1]
	}
	return j
}

// draw puts the pen down and runs along a stroke; the blade stays up and keeps its heading.
func (w *writer) draw(j job) {
	emit := func(m devices.Motion) {
		m.Tool = devices.Pen
		w.emit(m)
	}
	dots := j.stabs
	if len(dots) == 0 {
		dots = []orb.Point{j.line.elems[0].a}
	}
	w.travel(dots[0])
	emit(devices.Motion{Kind: devices.Plunge, To: w.pos})
	for _, e := range j.line.elems {
		m := devices.Motion{Kind: devices.CutLine, To: e.b, Feed: w.feedCut}
		if e.arc {
			m.Kind, m.Centre, m.CCW = devices.CutArc, e.c, e.sweep > 0
		}
		emit(m)
	}
	emit(devices.Motion{Kind: devices.Raise, To: w.pos})
}
