package check

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// foldNotStraight finds fold lines on which the piece cannot be unfolded: those that do not lie on a
// straight stretch of the outline, and those with a part of the piece beyond them.
func foldNotStraight(s *subject) []pattern.Finding {
	if !s.sound {
		return nil
	}
	for _, fold := range s.p.Folds() {
		if f := s.foldNotStraight(&fold); f != nil {
			return f
		}
	}
	return nil
}

func (s *subject) foldNotStraight(fold *pattern.Segment) []pattern.Finding {
	const rule = pattern.RuleFoldNotStraight
	long := geom.Dist(fold.A, fold.B)
	if long < 1 {
		return one(s.at(rule, fold.A, "the fold line has no length", "draw the fold along its whole edge"))
	}
	far, side := s.awayFromFold(*fold)
	if far.d > 1 {
		f := s.at(rule, far.at, fmt.Sprintf("the fold line leaves the edge of the piece by %s at %s",
			s.say.length(far.d), s.place(far.at)),
			"draw the edge on the fold as one straight line, and the fold line upon it")
		f.Stretch = []orb.Point{fold.A, fold.B}
		return one(f)
	}
	if covered := s.onFold(*fold); covered < 0.5*long {
		f := s.at(rule, geom.Lerp(fold.A, fold.B, 0.5),
			fmt.Sprintf("only %s of the %s fold line lie on a straight edge of the piece",
				s.say.number(covered), s.say.length(long)),
			"draw the edge on the fold as one straight line, and the fold line upon it")
		f.Stretch = []orb.Point{fold.A, fold.B}
		return one(f)
	}
	if side != nil {
		return one(s.at(rule, *side, fmt.Sprintf("the piece reaches over the fold line at %s", s.place(*side)),
			"a piece on the fold lies on one side of it; draw one half only"))
	}
	return nil
}

type away struct {
	at orb.Point
	d  float64
}

// awayFromFold finds where the fold line is furthest from the outline, and a vertex beyond the fold,
// seen from where most of the piece lies. A fold line drawn out past the piece at its ends is no
// fault.
func (s *subject) awayFromFold(fold pattern.Segment) (far away, beyond *orb.Point) {
	u := geom.Unit(geom.Sub(fold.B, fold.A))
	var left, right away
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range s.outline.Points {
		along := geom.Dot(u, geom.Sub(p, fold.A))
		lo, hi = math.Min(lo, along), math.Max(hi, along)
		switch h := geom.Cross(u, geom.Sub(p, fold.A)); {
		case h > left.d:
			left = away{at: p, d: h}
		case -h > right.d:
			right = away{at: p, d: -h}
		}
	}
	for k := range 21 {
		along := math.Max(lo, math.Min(hi, geom.Dist(fold.A, fold.B)*float64(k)/20))
		p := geom.Add(fold.A, geom.Mul(u, along))
		if _, near := s.onOutline.Nearest(p); near.Dist > far.d {
			far = away{at: p, d: near.Dist}
		}
	}
	less := left
	if right.d < left.d {
		less = right
	}
	if less.d > 2*plateau {
		return far, &less.at
	}
	return far, nil
}

// onFold is how much of the outline lies on the fold line.
func (s *subject) onFold(fold pattern.Segment) float64 {
	var sum float64
	for i := range s.outline.Segments() {
		if a, b := s.outline.Segment(i); fold.Holds(a, b) {
			sum += geom.Dist(a, b)
		}
	}
	return math.Min(sum, geom.Dist(fold.A, fold.B))
}
