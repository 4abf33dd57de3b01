package check

import (
	"fmt"
	"math"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// mostPlaces is how many places of one fault are told one by one.
const mostPlaces = 5

// outlineCrosses finds where an outline, a cut-out or a closed sew line crosses or touches itself: a
// knife would cut into the piece there, and no allowance can be built.
func outlineCrosses(s *subject) []pattern.Finding {
	var out []pattern.Finding
	if s.outline != nil {
		out = s.crossingsOf("outline", s.outline, s.crossings)
	}
	for i := range s.p.Cutouts {
		c := &s.p.Cutouts[i]
		out = append(out, s.crossingsOf("cut-out", c, c.SelfCrossings(20))...)
	}
	for i := range s.p.Sew {
		if line := &s.p.Sew[i]; line.Closed && s.p.Cut != nil {
			out = append(out, s.crossingsOf("sew line", line, line.SelfCrossings(20))...)
		}
	}
	return out
}

func (s *subject) crossingsOf(what string, line *geom.Path, found []geom.Crossing) []pattern.Finding {
	var out []pattern.Finding
	left := 0
	for _, c := range found {
		if liesOnItself(line, c) {
			continue
		}
		if len(out) == mostPlaces {
			left++
			continue
		}
		out = append(out, s.at(pattern.RuleOutlineCrosses, c.At,
			fmt.Sprintf("the %s crosses itself at %s", what, s.place(c.At)),
			"take out the loop there"))
	}
	if left > 0 {
		out[len(out)-1].Message += fmt.Sprintf(", and at %d more places", left)
	}
	return out
}

// liesOnItself tells a stretch that is run twice from a true crossing.
func liesOnItself(line *geom.Path, c geom.Crossing) bool {
	a, b := line.Segment(c.I)
	p, q := line.Segment(c.J)
	u, v := geom.Unit(geom.Sub(b, a)), geom.Unit(geom.Sub(q, p))
	if math.Abs(geom.Cross(u, v)) > 1e-6 {
		return false
	}
	// Two stretches in one line that share more than a point: the ends of both, measured along u.
	lo := math.Max(0, math.Min(geom.Dot(u, geom.Sub(p, a)), geom.Dot(u, geom.Sub(q, a))))
	hi := math.Min(geom.Dist(a, b), math.Max(geom.Dot(u, geom.Sub(p, a)), geom.Dot(u, geom.Sub(q, a))))
	return hi-lo > geom.Tiny
}
