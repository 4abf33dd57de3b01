package check

import (
	"fmt"
	"math"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// notchNearCorner finds notches so near a corner of the cut line that they are cut away or mistaken
// for it: 15 mm, and 5 mm past the allowance, are kept free (common practice). Left alone are pen
// marks, nicks at the end of a fold or an inner line, and notches that mark an allowance's width,
// which sit at just that distance.
func notchNearCorner(s *subject) []pattern.Finding {
	var out []pattern.Finding
	corners := s.corners()
	if len(corners) == 0 {
		return nil
	}
	for _, n := range s.notches() {
		if !n.cuts() || n.OnSew || n.near.Dist > onLine || s.endsALine(n) {
			continue
		}
		least := math.Max(15, n.allowance+5)
		d, at := s.toCorner(n, corners)
		if d >= least-chordRoom || s.isAWidth(d) {
			continue
		}
		out = append(out, s.at(pattern.RuleNotchNearCorner, n.At,
			fmt.Sprintf("%s lies %s from the corner %s, nearer than %s", s.called(n), s.say.length(d), s.place(at), s.say.length(least)),
			"move it along the edge, together with its partner on the other piece"))
	}
	return out
}

// corners are the sharp vertices of the outline.
func (s *subject) corners() []int {
	if s.outline == nil {
		return nil
	}
	var out []int
	for _, e := range s.p.EdgesOf(s.outline) {
		if turnAt(s.outline, e.First) >= sharpTurn {
			out = append(out, e.First)
		}
	}
	return out
}

// toCorner is the way along the outline to the nearest corner.
func (s *subject) toCorner(n notch, corners []int) (d float64, at [2]float64) {
	d = math.Inf(1)
	total := s.perimeter
	for _, i := range corners {
		way := math.Abs(s.starts[i] - n.near.S)
		if way = math.Min(way, total-way); way < d {
			d, at = way, s.outline.Points[i]
		}
	}
	return d, at
}

// endsALine tells whether the notch sits at the end of the fold, of the grain or of an inner line.
func (s *subject) endsALine(n notch) bool {
	close := func(p [2]float64) bool { return geom.Dist(n.At, p) <= 2 }
	for _, seg := range []*pattern.Segment{s.p.FoldLine(), s.p.Second, s.p.Grain} {
		if seg != nil && (close(seg.A) || close(seg.B)) {
			return true
		}
	}
	for _, m := range s.p.Marks {
		if k := len(m.Path.Points); k > 0 && !m.Path.Closed && (close(m.Path.Points[0]) || close(m.Path.Points[k-1])) {
			return true
		}
	}
	return false
}

// isAWidth tells whether a distance is one of the piece's allowances.
func (s *subject) isAWidth(d float64) bool {
	if w := s.profile(); w != nil {
		for i := range w.edges {
			if len(w.edges[i].samples) > 0 && math.Abs(w.edges[i].base-d) <= 1 {
				return true
			}
		}
	}
	return s.p.Allowance != nil && math.Abs(*s.p.Allowance-d) <= 1
}
