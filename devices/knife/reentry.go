package knife

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
)

// Held is where a blade was held in a cut: the pivot's place, mm as sent, and its direction, of length 1. Tip is true where
// it turned: At is the blade's tip then, and Dir zero. Above is true where the blade had not reached the material yet.
type Held struct {
	At, Dir    orb.Point
	Tip, Above bool
}

// Reentry gives what is left of a stroke whose blade was held: from the overlap before that place to the end, and past
// the start as far as a closed line is overcut. Each deeper pass needs the whole line, so with several passes the
// beginning is cut again as well. Short strokes, stabs, nicks, and slits drawn out and back are made again as a whole.
func Reentry(s devices.Stroke, held Held, p devices.Profile) []devices.Stroke {
	whole := []devices.Stroke{s}
	overlap, length := p.Blade.ReentryOverlap, s.Path.Length()
	if s.Tool != devices.Knife || s.Role == "drill" || s.Role == "notch" || length < 4*overlap || outAndBack(s.Path) {
		return whole
	}
	d := 0.0
	if p.Kind == devices.DragKnife && !held.Tip {
		d = p.Blade.Offset
	}
	at, ok := TipAlong(s.Path, d, uncorrected(held.At, p.Correction), held.Dir)
	from := at - overlap
	if held.Above {
		from = at // nothing is cut yet that could be overlapped
	}
	if !ok || from <= 0 {
		return whole
	}
	part := func(s0, s1 float64) devices.Stroke {
		out := s
		out.Path, out.Fixed = s.Path.Sub(s0, s1), true
		return out
	}
	end := length
	if s.Path.Closed {
		end += p.Blade.Overcut
	}
	parts := []devices.Stroke{part(from, end)}
	if p.Blade.Passes > 1 {
		parts = append(parts, part(0, at+overlap))
	}
	return parts
}

// outAndBack tells whether a line retraces itself: an open one that ends at its start, or a closed one without an inside.
func outAndBack(p geom.Path) bool {
	const same = 0.02 // mm
	if !p.Closed {
		return geom.Dist(p.Points[0], p.Points[len(p.Points)-1]) <= same
	}
	return math.Abs(p.SignedArea()) <= same*p.Length()
}

// uncorrected is the place that a calibration turns into at.
func uncorrected(at orb.Point, c devices.Correction) orb.Point {
	if c.IsZero() {
		return at
	}
	y := at[1] / c.ScaleY
	return orb.Point{(at[0] - c.Skew*y) / c.ScaleX, y}
}
