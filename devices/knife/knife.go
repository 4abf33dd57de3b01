// Package knife brings the tip of a blade onto the wanted lines. It takes strokes and the blade offset and gives the
// motions of the pivot. A tangential knife, whose blade a motor turns, and a pen, on a gantry of its own or beside a
// blade, run along the path itself.
package knife

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"tracewheel/devices"
	"tracewheel/geom"
)

// A drag knife's tip trails its pivot by the blade offset d and moves only along the blade; so to cut
// along a tip path t(s) with unit tangent T the pivot must run along t + d T. That is exact for any
// path once the blade stands along it:
//
//	line from A to B           line from A + d T to B + d T
//	arc of radius R about C    arc about C of radius sqrt(R^2 + d^2), ahead by atan(d/R)
//	corner at V, T0 to T1      arc about V of radius d, the short way round
//
// (After the track of a bicycle's back wheel: Dunbar, Bosman and Nooij, "The Track of a Bicycle
// Back Tire", Mathematics Magazine 74, 2001.)

// Report says what was decided while the motions were made.
type Report struct {
	// Align is the pivot's way on the stroke in waste that gave the blade its heading; empty where
	// none was needed.
	Align geom.Path
	// Wanted are the strokes as the blade is meant to make them: the given ones, but a row of plunges is single points,
	// and what a pen beside the blade draws has no path. A simulated cut is compared with these.
	Wanted []devices.Stroke
	// Swivels, Lifts and Plunges count turns on the spot, those of them made at the swivel height,
	// and stabs.
	Swivels, Lifts, Plunges int
	// MaxSwivel is the largest turn on the spot, radians, at most pi.
	MaxSwivel float64
	// TooFine are the features that the blade cannot cut well; Stroke is the number of the stroke.
	TooFine []FineStroke
	// Notes say to a person what is made otherwise than drawn.
	Notes []string
}

// FineStroke is a feature too fine for the blade on one of the strokes.
type FineStroke struct {
	Stroke int
	Feature
}

// Compensate gives the pivot's motions for strokes in the order given, for the kind of tool that
// the profile names. Lengths are mm, feeds mm/min.
//
// A drag knife first takes its heading from an alignment stroke in waste, fifteen blade offsets or
// more, and keeps track of it from there: each stroke is entered with the blade already along it.
// All faults are reported at once: an unusable profile, strokes that cannot be cut, no free place
// for the alignment stroke.
func Compensate(strokes []devices.Stroke, p devices.Profile) ([]devices.Motion, Report, error) {
	return CompensateAround(strokes, nil, p)
}

// CompensateAround is Compensate on a bed where other strokes are cut already: the alignment stroke keeps clear of them
// and out of their pieces.
func CompensateAround(strokes, cut []devices.Stroke, p devices.Profile) ([]devices.Motion, Report, error) {
	var rep Report
	if err := errors.Join(checkProfile(p), checkStrokes(strokes, p)); err != nil {
		return nil, rep, err
	}
	w := newWriter(p, &rep)
	if p.Kind.Cuts() {
		strokes = fromTheEdge(strokes)
	}
	rep.Wanted = append(rep.Wanted, strokes...)
	jobs := make([]job, len(strokes))
	for i, s := range strokes {
		jobs[i] = w.prepare(i, s)
	}
	if w.style == dragging && slices.ContainsFunc(jobs, func(j job) bool { return !j.pen }) {
		if err := w.align(slices.Concat(strokes, cut), jobs); err != nil {
			return nil, rep, err
		}
	}
	for _, j := range jobs {
		w.cut(j)
	}
	return w.out, rep, nil
}

// checkProfile names every value with which cloth or machine would be damaged.
func checkProfile(p devices.Profile) error {
	b, g := p.Blade, p.Gantry
	var errs []error
	bad := func(wrong bool, format string, args ...any) {
		if wrong {
			errs = append(errs, fmt.Errorf("device %q: "+format, append([]any{p.Name}, args...)...))
		}
	}
	bad(!(g.FeedCut > 0), "gantry.feed_cut is %v mm/min; give the speed at which it cuts", g.FeedCut)
	if !p.Kind.Cuts() {
		return errors.Join(errs...)
	}
	bad(!(b.Offset >= 0) || b.Offset > 20, "blade.offset is %v mm; measure from the pivot to the tip", b.Offset)
	bad(!(b.CutZ < 0), "blade.cut_z is %v mm; the cutting depth lies below the material's top face at 0", b.CutZ)
	bad(!(b.SwivelZ <= 0) || b.SwivelZ < b.CutZ,
		"blade.swivel_z is %v mm; it must lie between 0 and cut_z, or nothing holds the tip when the blade turns", b.SwivelZ)
	bad(!(b.SafeZ > 0), "blade.safe_z is %v mm; it must clear the material", b.SafeZ)
	bad(!(g.FeedPlunge > 0), "gantry.feed_plunge is %v mm/min; give the speed at which it goes down", g.FeedPlunge)
	bad(p.Kind == devices.DragKnife && b.Offset > 0 && !(g.FeedSwivel > 0),
		"gantry.feed_swivel is %v mm/min; give the speed at which the blade turns", g.FeedSwivel)
	bad(b.Passes < 0, "blade.passes is %v; give how often each line is cut", b.Passes)
	bad(!(b.Overcut >= 0), "blade.overcut is %v mm; it cannot be less than 0", b.Overcut)
	return errors.Join(errs...)
}

// checkStrokes names every stroke that a blade cannot follow.
func checkStrokes(strokes []devices.Stroke, p devices.Profile) error {
	var errs []error
	for i, s := range strokes {
		if err := checkStroke(s, p); err != nil {
			errs = append(errs, &StrokeError{Stroke: i, Name: s.Name, Fine: refusedFine(s, p), Err: err})
		}
	}
	return errors.Join(errs...)
}

func checkStroke(s devices.Stroke, p devices.Profile) error {
	if len(s.Path.Points) == 0 {
		return errors.New("it has no points; leave it out")
	}
	for _, pt := range s.Path.Points {
		if math.IsNaN(pt[0]+pt[1]) || math.IsInf(pt[0]+pt[1], 0) {
			return errors.New("a coordinate is no number")
		}
	}
	if beside(s, p) {
		return checkBeside(p)
	}
	if f := refusedFine(s, p); f != nil {
		at := f.At
		return fmt.Errorf("its outline at (%v, %v) is less than %v mm across, too small for a blade that trails %v mm; leave it out or cut it by hand",
			geom.Rounded(at[0], 1), geom.Rounded(at[1], 1), geom.Rounded(smallest*p.Blade.Offset, 1), p.Blade.Offset)
	}
	return nil
}

// refusedFine is the fault of a piece too small to be cut round: a row of stabs would not free it.
func refusedFine(s devices.Stroke, p devices.Profile) *Feature {
	if isPiece(s) && !beside(s, p) {
		for _, f := range TooFine(s.Path, p) {
			if f.Stabbed {
				return &f
			}
		}
	}
	return nil
}

// isPiece tells whether a stroke is an outline that frees a piece, and not a feature inside one.
func isPiece(s devices.Stroke) bool { return s.Role == "cut" && s.Path.Closed }
