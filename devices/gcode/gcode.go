// Package gcode writes a gantry's motions as RS-274, and reads RS-274 back with code of its own. It writes the part of
// the language that nearly every controller takes: absolute millimetres, G0 to G3 with I and J from the arc's start, a
// feed on the first move after every rapid, lines of at most 70 characters that end in a line feed.
package gcode

import (
	"cmp"
	"errors"
	"fmt"
	"math"

	"tracewheel/devices"
	"tracewheel/geom"
)

// maxFaults bounds the faults of one job that are reported.
const maxFaults = 20

// Encode writes motions for a profile of language gcode. Every block is one line, so that the device can be stopped
// after each. Block.Seconds is the line's share of devices.Chain, for a controller that looks ahead, with the first
// line starting at the bed's corner.
//
// The profile's correction is applied last; where it turns circles into ellipses, arcs are fitted anew. All faults are
// reported at once: moves that leave the bed, rapids across below the safe height, heights under the floor, the
// machine's own lines that cannot be sent.
func Encode(motions []devices.Motion, p devices.Profile) (devices.Program, error) {
	e, err := newEncoder(p)
	if err != nil {
		return devices.Program{}, err
	}
	e.prelude()
	for i, m := range motions {
		e.motion(i, m)
	}
	e.footer()
	if len(e.faults) > 0 {
		return devices.Program{}, errors.Join(e.faults...)
	}
	return e.finish(), nil
}

// encoder is the state of the machine after the lines so far: its place on the written grid, its height, its feed.
type encoder struct {
	p      devices.Profile
	out    printer
	prog   devices.Program
	legs   []devices.Leg // one for each block
	faults []error

	adjust  geom.Affine // the correction
	floor   float64
	at      spot  // place of the machine, grid steps as sent
	placed  bool  // at is known
	truly   place // its place in the motions, before correction and rounding
	z       float64
	penUp   bool
	turnNow float64 // rotary axis, radians
	feed    int64   // in force; 0 after a rapid
	stroke  int
	piece   int
	name    string
	strokes map[int]bool
	pieces  map[int]bool
	outside bool // reported for the present stroke
	cut     bool // the present motion counts as drawn
}

func newEncoder(p devices.Profile) (*encoder, error) {
	dec := cmp.Or(p.Gantry.Decimals, 4)
	var errs []error
	if dec != 3 && dec != 4 {
		errs = append(errs, fmt.Errorf("device %q: gantry.decimals is %d; write 3 or 4", p.Name, dec))
	}
	if !(p.Width > 0) || p.Length < 0 {
		errs = append(errs, fmt.Errorf("device %q: the bed measures %v by %v mm; give width and length", p.Name, p.Length, p.Width))
	}
	if (p.Kind.Cuts() || len(p.Gantry.PenUp) == 0) && !(p.Blade.SafeZ > 0) {
		errs = append(errs, fmt.Errorf("device %q: blade.safe_z is %v mm; it must clear the material", p.Name, p.Blade.SafeZ))
	}
	if !p.Kind.Cuts() && (len(p.Gantry.PenUp) == 0) != (len(p.Gantry.PenDown) == 0) {
		errs = append(errs, fmt.Errorf("device %q: gantry.pen_up and gantry.pen_down go together; give both or neither", p.Name))
	}
	errs = append(errs, checkOwnLines(p)...)
	e := &encoder{
		p: p, out: newPrinter(dec), adjust: geom.Identity, floor: p.Gantry.FloorZ, stroke: -1, piece: -1,
		strokes: map[int]bool{}, pieces: map[int]bool{},
	}
	e.floor = cmp.Or(e.floor, p.Blade.CutZ)
	if c := p.Correction; !c.IsZero() {
		e.adjust = geom.Affine{A: c.ScaleX, C: c.Skew, D: c.ScaleY}
		if !(c.ScaleX > 0.5 && c.ScaleX < 2 && c.ScaleY > 0.5 && c.ScaleY < 2 && math.Abs(c.Skew) < 0.5) {
			errs = append(errs, fmt.Errorf("device %q: a calibration of %+v cannot be; measure the test square again", p.Name, c))
		}
	}
	return e, errors.Join(errs...)
}

// prelude sets every mode that the program relies on, one group to a line, and lifts the tool before the first move
// across.
func (e *encoder) prelude() {
	for _, l := range modes {
		e.line(l, 0, devices.Leg{Stop: true})
	}
	e.up()
	for _, l := range e.p.Gantry.Header {
		e.line(l, 0, devices.Leg{Stop: true})
	}
	e.prog.Prelude = len(e.prog.Blocks)
}

var modes = []string{"G21", "G90 G17 G94", "G54"}

// up lifts the tool to the safe height.
func (e *encoder) up() {
	if e.penLines() {
		e.pen(e.p.Gantry.PenUp, true)
		return
	}
	e.rise(e.p.Blade.SafeZ)
	if e.penBeside() && !e.penUp {
		e.pen(e.p.Gantry.PenUp, true)
	}
}

// penLines reports whether the tool goes up and down by the machine's own lines.
func (e *encoder) penLines() bool { return !e.p.Kind.Cuts() && len(e.p.Gantry.PenUp) > 0 }

// penBeside reports whether a pen is mounted beside a blade.
func (e *encoder) penBeside() bool {
	return e.p.Kind.Cuts() && e.p.Pen.Present && len(e.p.Gantry.PenUp) > 0
}

// pen writes the machine's own lines that raise or lower the pen.
func (e *encoder) pen(lines []string, up bool) {
	e.penUp, e.feed = up, 0 // the feed that those lines leave in force is not known
	for k, l := range lines {
		leg := devices.Leg{Stop: true}
		if k == 0 {
			leg.Pause = e.p.Pen.LiftSeconds / 2
		}
		e.line(l, 0, leg)
	}
}

func (e *encoder) footer() {
	e.endStroke()
	e.stroke, e.piece = -1, -1
	if !e.isUp() {
		e.up()
	}
	if at := e.p.Gantry.Park; at != nil {
		e.travel(-1, devices.Motion{To: *at})
	}
	for _, l := range e.p.Gantry.Footer {
		e.line(l, 0, devices.Leg{Stop: true})
	}
	e.line("M2", 0, devices.Leg{})
}

func (e *encoder) finish() devices.Program {
	p := e.prog
	p.Language = devices.GCode
	p.Strokes, p.Pieces = len(e.strokes), len(e.pieces)
	p.Chained = e.p.Kind == devices.DragKnife && e.p.Blade.Offset > 0
	for i, s := range devices.Chain(e.legs, e.p.Gantry.Acceleration) {
		p.Blocks[i].Seconds = s
		p.DrawnMM += p.Blocks[i].DrawnMM
		p.Seconds += s
	}
	p.Abort = e.abort()
	switch {
	case !e.p.Gantry.Arcs:
		p.Notes = append(p.Notes, fmt.Sprintf("arcs are written as chords within %.3f mm", chordTol))
	case !e.p.Correction.Similar():
		p.Notes = append(p.Notes, fmt.Sprintf("the calibration makes ellipses of circles: arcs were fitted anew within %.3f mm", refitTol))
	}
	return p
}

// abort lifts the tool from wherever a block ends, even if no block of the prelude was sent.
func (e *encoder) abort() []byte {
	var b []byte
	add := func(l string) { b = append(append(b, l...), '\n') }
	for _, l := range modes {
		add(l)
	}
	if !e.penLines() {
		add("G0 Z" + e.out.mm(e.p.Blade.SafeZ))
	}
	if e.penLines() || e.penBeside() {
		for _, l := range e.p.Gantry.PenUp {
			add(l)
		}
	}
	add("M2")
	return b
}

func (e *encoder) fault(i int, m devices.Motion, format string, args ...any) {
	if len(e.faults) == maxFaults {
		return
	}
	where := fmt.Sprintf("motion %d, stroke %d", i, m.Stroke)
	if e.name != "" {
		where += fmt.Sprintf(" of piece %q", e.name)
	}
	e.faults = append(e.faults, fmt.Errorf("device %q: %s: %s", e.p.Name, where, fmt.Sprintf(format, args...)))
}
