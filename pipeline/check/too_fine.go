package check

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// tooFine finds shapes finer than a dragged blade can turn: two corners closer than twice the
// distance between its axis and its tip, and notches with a mouth narrower than that. The blade
// then swings more than it cuts, and tears.
func tooFine(s *subject) []pattern.Finding {
	if !s.lim.Cuts || s.lim.BladeOffset <= 0 || !s.sound {
		return nil
	}
	least := 2 * s.lim.BladeOffset
	var places []orb.Point
	places = append(places, closeCorners(s.outline, least)...)
	for i := range s.p.Cutouts {
		places = append(places, closeCorners(&s.p.Cutouts[i], least)...)
	}
	for _, n := range s.p.Notches {
		if n.Width > 0 && n.Width < least && n.Kind != pattern.NotchNick && n.Kind != pattern.NotchPen {
			places = append(places, n.At)
		}
	}
	if len(places) == 0 {
		return nil
	}
	message := fmt.Sprintf("the shape at %s is finer than %s, which is what this blade can turn in",
		s.place(places[0]), s.say.length(least))
	if len(places) > 1 {
		message += fmt.Sprintf("; so are %d more places", len(places)-1)
	}
	return one(s.at(pattern.RuleTooFine, places[0], message, "round the shape, draw it larger, or cut it by hand"))
}

// sharpTurn is the turn from which a blade has to swing at a corner.
const sharpTurn = 30 * math.Pi / 180

// closeCorners lists the starts of stretches shorter than least between two sharp corners.
func closeCorners(line *geom.Path, least float64) []orb.Point {
	var out []orb.Point
	for i := range line.Segments() {
		a, b := line.Segment(i)
		if d := geom.Dist(a, b); d >= least || d < geom.Tiny {
			continue
		}
		if turnAt(line, i) >= sharpTurn && turnAt(line, (i+1)%len(line.Points)) >= sharpTurn {
			out = append(out, a)
		}
	}
	return out
}

// turnAt is the turn at a vertex in radians, without its sign; 0 at the ends of an open line.
func turnAt(line *geom.Path, i int) float64 {
	n := len(line.Points)
	if !line.Closed && (i == 0 || i == n-1) {
		return 0
	}
	in := geom.Sub(line.Points[i], line.Points[(i+n-1)%n])
	out := geom.Sub(line.Points[(i+1)%n], line.Points[i])
	return math.Abs(math.Atan2(geom.Cross(in, out), geom.Dot(in, out)))
}
