package check

import (
	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// notchOnFold finds notches along the fold: opened out they would be cuts in the middle of the
// piece. A nick at the fold's end, on the edge that crosses it, is how a centre is marked.
func notchOnFold(s *subject) []pattern.Finding {
	var out []pattern.Finding
	for _, fold := range s.p.Folds() {
		out = append(out, s.notchOnFold(fold)...)
	}
	return out
}

func (s *subject) notchOnFold(fold pattern.Segment) []pattern.Finding {
	var out []pattern.Finding
	for _, n := range s.notches() {
		if !n.cuts() || geom.Dist(n.At, fold.A) <= 2*onLine || geom.Dist(n.At, fold.B) <= 2*onLine {
			continue
		}
		a, b := s.outline.Segment(n.near.Segment)
		if fold.Holds(n.near.Point, n.near.Point) && fold.Holds(a, b) && n.near.Dist <= onLine {
			out = append(out, s.at(pattern.RuleNotchOnFold, n.At, s.called(n)+" lies along the fold",
				"take it out, or make it a pen mark; mark the centre by nicks at the ends of the fold"))
		}
	}
	return out
}
